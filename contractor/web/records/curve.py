"""A pump's curve as its maker prints it: a line a point, flow and head each with their unit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from contractor.accounts.models import Units
from contractor.register.typed import number
from contractor.web.quantities import read, written
from diagnostics.engine.quantities import UnitError, conversion, from_si, to_si

KINDS = ("water_flow", "length")
OWN = {Units.SI: ("L/s", "m"), Units.INCH_POUND: ("gpm", "ft")}
SUCH = {Units.SI: "0.4 L/s 9 m", Units.INCH_POUND: "6.3 gpm 30 ft"}
SAID = "A line a point, flow rising: flow and head with their units, such as {such}."


def lines_of(points: Iterable[Sequence[float]], units: str, mark: str = "") -> list[str]:
    """Points of flow [m3/s] and head [m] in the reader's units."""
    own = OWN[Units(units)]
    return [
        " ".join(
            f"{written(f'{from_si(value, unit, kind):.6g}', mark)} {unit}"
            for value, unit, kind in zip(point, own, KINDS, strict=True)
        )
        for point in points
    ]


class CurveField(forms.CharField):
    """Flow [m3/s] and head [m] of each line. An unchanged curve keeps the numbers it was stored with."""

    def __init__(self, units: str, mark: str = "", **options: Any) -> None:
        self.units, self.mark = units, mark
        said = SAID.format(such=SUCH[Units(units)])
        super().__init__(
            **{**options, "required": False, "widget": forms.Textarea({"rows": 4}), "help_text": said}
        )

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(lines_of(value, self.units, self.mark)) if isinstance(value, list) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        before = str(self.prepare_value(initial) or "")
        return before.split() != str(data or "").split()

    def clean(self, value: Any) -> list[list[float]]:
        lines = [line for line in super().clean(value).splitlines() if line.strip()]
        return [self.point(line) for line in lines]

    def point(self, line: str) -> list[float]:
        words = line.split()
        if len(words) != len(KINDS) * 2:
            raise ValidationError(
                f"“{line.strip()}” is no point of the curve; expected flow and head with their units, "
                f"such as {SUCH[Units(self.units)]}."
            )
        return [self._si(*each) for each in zip(words[::2], words[1::2], KINDS, strict=True)]

    def _si(self, typed: str, unit: str, kind: str) -> float:
        try:
            if conversion(unit, kind).is_mass_flow:
                raise UnitError(unit, "a mass a time; this is a volume a time", "gpm, L/s or m**3/h")
            return float(to_si(number(read(typed, self.mark)), unit, kind))
        except UnitError as error:
            raise ValidationError(f"“{unit}”: {error.reason}; expected {error.expected}.") from error
        except ValueError as error:
            raise ValidationError(f"{error}.") from error

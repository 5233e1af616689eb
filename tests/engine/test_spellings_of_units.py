"""Spellings that can mean one thing only are taken; those that leave something open are not."""

from __future__ import annotations

import pytest

from diagnostics.engine.quantities import KINDS, UnitError, conversion
from diagnostics.engine.spellings import ALSO


@pytest.mark.parametrize(
    ("also", "unit", "kind"),
    [
        ("GPM", "gpm", "water_flow"),
        ("Gpm", "gpm", "water_flow"),
        ("barg", "bar_gauge", "refrigerant_pressure"),
        ("BARG", "bar_gauge", "refrigerant_pressure"),
        ("bara", "bar_abs", "refrigerant_pressure"),
        ("sqft", "ft**2", "area"),
        ("sq ft", "ft**2", "area"),
        ("sqm", "m**2", "area"),
        ("US GPM", "gpm", "water_flow"),
        ("LPM", "L/min", "water_flow"),
        ("M3/H", "m**3/h", "water_flow"),
        ("kPag", "kPa_gauge", "refrigerant_pressure"),
        ("KW", "kW", "power"),
        ("°f", "degF", "temperature"),
    ],
)
def test_another_spelling_means_the_same(also: str, unit: str, kind: str) -> None:
    one, other = conversion(also, kind), conversion(unit, kind)
    assert (one.scale, one.offset, one.gauge) == (other.scale, other.offset, other.gauge)


def test_a_gauge_pressure_is_no_pressure_difference() -> None:
    with pytest.raises(UnitError, match="neither gauge nor absolute"):
        conversion("barg", "pressure_difference")


def test_every_spelling_means_its_unit() -> None:
    for spelling, unit in ALSO.items():
        fits = [kind for kind in KINDS if kind != "flow_coefficient" and _fits(unit, kind)]
        assert fits, unit
        for kind in fits:
            for typed in (spelling, spelling.upper()):
                one, other = conversion(typed, kind), conversion(unit, kind)
                assert (one.scale, one.offset, one.gauge) == (other.scale, other.offset, other.gauge)


def _fits(unit: str, kind: str) -> bool:
    try:
        conversion(unit, kind)
    except UnitError:
        return False
    return True

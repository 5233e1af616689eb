"""The engine's figures as rows of a table: value, 95 % interval, US unit where readings used one."""

from __future__ import annotations

from diagnostics.engine.records import Interval
from reporting.documents import words
from reporting.documents.facts import VisitReport
from reporting.documents.hand import hand
from reporting.documents.inch_pound import UNITS
from reporting.documents.verdicts import rf_of
from reporting.documents.verdicts import set_by as set_by_words

US_UNITS = frozenset({"degF", "psig", "psia", "gpm", "inHg_vacuum", "MBH", "ft_H2O", "inH2O"})
M2K_PER_W_OF_US = 0.1761101838
W_OF_BTU_PER_H = 0.29307107
GPM = UNITS["kg/s"]

Row = tuple[str, str, str, str]


def uses_us_units(report: VisitReport) -> bool:
    return hand().inch_pound or any(line.typed_unit in US_UNITS for line in report.readings)


def result_rows(report: VisitReport) -> tuple[list[Row], list[str]]:
    """Rows of what is known, and the names of what is not."""
    answer = report.answer
    rows = [
        _row("Excess approach", answer.excess_approach_k, "K", 1.0, ("°F", 1.8)),
        _row("Cleanliness", answer.cleanliness, "%", 100.0, None),
        _row("Water flow", answer.water_flow_kg_per_s, "kg/s", 1.0, (GPM.unit, GPM.factor)),
        _row("Heat", answer.heat_w, "kW", 1e-3, ("MBH", 1e-3 / W_OF_BTU_PER_H)),
        _row("Conductance UA", answer.ua_w_per_k, "kW/K", 1e-3, ("MBH/°F", 1e-3 / W_OF_BTU_PER_H / 1.8)),
    ]
    rows += _fouling_rows(report)
    return [row for row in rows if row[1]], [row[0] for row in rows if not row[1]]


def _row(name: str, value: Interval | None, unit: str, scale: float, us: tuple[str, float] | None) -> Row:
    if value is None:
        return name, "", "", ""
    middle, ends = words.interval_parts(value, unit, scale)
    return name, middle, ends, words.interval_parts(value, us[0], us[1])[0] if us else ""


def _fouling_rows(report: VisitReport) -> list[Row]:
    fouling, limit = rf_of(report.answer), report.answer.limit
    rows: list[Row] = []
    exponent = fouling_exponent(report)
    if fouling is None:
        rows.append(("Fouling resistance", "", "", ""))
    else:
        value, unit = fouling
        middle, ends = words.scientific_interval(value, unit, exponent)
        rows.append(("Fouling resistance", middle, ends, _us_fouling(value.value, unit)))
    if limit is not None:
        told = words.scientific(limit.value, limit.unit, exponent)
        set_by = words.sentence(set_by_words(report.answer) or words.for_people(limit.source)).rstrip(".")
        rows.append(("Its limit", told, set_by, _us_fouling(limit.value, limit.unit)))
    return rows


def _us_fouling(value: float, unit: str) -> str:
    if unit != "m2K/W":
        return ""
    return f"{words.fixed(value / M2K_PER_W_OF_US, 5)}{words.HARD}h·ft²·°F/Btu"


def scaled(value: Interval, exponent: int) -> Interval:
    """The same value counted in powers of ten."""
    return scaled_by(value, 10.0**-exponent)


def scaled_by(value: Interval, factor: float) -> Interval:
    return Interval(value.value * factor, value.low * factor, value.high * factor)


def fouling_exponent(report: VisitReport) -> int:
    """The power of ten that the limit, or else the value, is written in: one for the whole document."""
    if report.answer.limit is not None:
        return words.power_of_ten(report.answer.limit.value)
    fouling = rf_of(report.answer)
    if fouling is not None:
        return words.power_of_ten(fouling[0].value)
    known = [abs(f.value) for e in report.earlier if (f := e.fouling("m2K/W") or e.fouling("K/W"))]
    return words.power_of_ten(max(known)) if known else 0

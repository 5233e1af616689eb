"""What a reading is asked about: slips of point, unit, hose and mode; never a sick machine."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from contractor.register.models import Exchanger, Site, Unit
from contractor.register.typed import settle
from contractor.visits.models import Reading, Visit
from contractor.visits.plausibility import USUAL, questions_about
from contractor.visits.quantities import COLUMNS, READING

SEA_LEVEL_PA = 101_325.0
DAY = dt.datetime(2027, 3, 3, 9, tzinfo=dt.UTC)


def read(
    mode: str = "cooling", *, modes: str = "both", elevation_m: float | None = 0.0, **typed: Any
) -> Reading:
    """A reading that is in no database, from what was typed: entering_water="85 degF"."""
    plain = {name: typed.pop(name) for name in ("minutes_running", "phases") if name in typed}
    entries = {name: dict(zip(("value", "unit"), text.split(), strict=False)) for name, text in typed.items()}
    settled = settle(READING, entries, barometric_pa=SEA_LEVEL_PA)
    assert settled.errors == []
    site = Site(name="Block A", elevation_m=elevation_m)
    visit = Visit(site=site, window_start=DAY, window_end=DAY + dt.timedelta(hours=2))
    exchanger = Exchanger(unit=Unit(tag="HR-1"), name="1", modes=modes)
    return Reading(visit=visit, exchanger=exchanger, mode=mode, taken_at=DAY, as_typed=settled.as_typed,
                   **settled.columns, **plain)  # fmt: skip


def codes(reading: Reading) -> list[str]:
    return [question.code for question in questions_about(reading)]


GOOD = {
    "entering_water": "85.2 degF", "leaving_water": "95.1 degF", "water_flow": "9 gpm",
    "water_pressure_drop": "11 ftH2O", "head_pressure": "318 psig", "suction_pressure": "118 psig",
    "liquid_line": "92 degF", "suction_line": "55 degF", "discharge_line": "165 degF",
    "compressor_power": "2.1 kW", "amps": "9.4 A", "volts": "230 V", "power_factor": "0.92",
    "entering_air": "75 degF", "entering_air_wet_bulb": "63 degF", "leaving_air": "56 degF",
}  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "fan_power_w", "asked"),
    [
        ("water_to_air_heat_pump", None, False),
        ("water_to_water_heat_pump", None, True),
        ("water_cooled_chiller", None, True),
        ("water_cooled_chiller", 400.0, False),
    ],
)
def test_a_fan_on_the_meter_of_a_machine_without_one_is_asked_about(
    kind: str, fan_power_w: float | None, asked: bool
) -> None:
    reading = read(**GOOD)
    reading.power_includes_fan = True
    reading.exchanger.unit.kind, reading.exchanger.unit.fan_power_w = kind, fan_power_w
    assert ("fan_on_a_machine_without_one" in codes(reading)) is asked
    reading.power_includes_fan = False
    assert "fan_on_a_machine_without_one" not in codes(reading)


def test_a_good_reading_is_asked_nothing() -> None:
    assert codes(read(**GOOD, minutes_running=15, phases=1)) == []


@pytest.mark.parametrize(
    ("typed", "code", "words"),
    [
        ({"entering_water": "852 degF"}, "entering_water_unusual", "Was 85.2 degF meant?"),
        ({"head_pressure": "3180 psig"}, "head_pressure_unusual", "Was 318 psig meant?"),
        ({"entering_water": "85 degC"}, "entering_water_unusual", "Was 8.5 degC meant?"),
        ({"volts": "23 V"}, "volts_unusual", "Was 230 V meant?"),
        ({"power_factor": "92"}, "power_factor_unusual", "Was 0.92 meant?"),
        ({"suction_pressure": "0 kPa_abs"}, "suction_pressure_unusual", "Please read it again."),
        ({"water_flow": "-9 gpm"}, "water_flow_unusual", "Please read it again."),
        ({"phases": 2}, "phases_unusual", "usual is 1 or 3"),
        ({"minutes_running": 4.0}, "not_steady_yet", "ten minutes"),
        ({"minutes_running": 1e300}, "minutes_running_unusual", "1e+300 minutes, longer than a year"),
        ({"minutes_running": -5.0}, "minutes_running_unusual", "expected the minutes"),
        (
            {"head_pressure": "118 psig", "suction_pressure": "318 psig"},
            "suction_above_head",
            "hoses exchanged",
        ),
        (
            {"liquid_line": "165 degF", "discharge_line": "92 degF"},
            "liquid_above_discharge",
            "clamps exchanged",
        ),
        ({"entering_water": "95 degF", "leaving_water": "85 degF"}, "water_change_of_wrong_sign", "warmer"),
        ({"entering_water": "50 degF", "leaving_water": "110 degF"}, "water_change_large", "nearly stopped"),
    ],
)
def test_a_slip_is_asked_about_with_the_value_as_typed(typed: dict[str, Any], code: str, words: str) -> None:
    (question,) = questions_about(read(**typed))
    assert question.code == code
    assert words in question.text
    for text in typed.values():
        assert not isinstance(text, str) or text in question.text


def test_in_heating_the_leaving_water_is_the_colder() -> None:
    warm, cold = "50 degF", "42 degF"
    assert codes(read("heating", entering_water=warm, leaving_water=cold)) == []
    assert codes(read("heating", entering_water=cold, leaving_water=warm)) == ["water_change_of_wrong_sign"]


def test_water_that_hardly_changes_is_not_of_the_wrong_sign() -> None:
    assert codes(read(entering_water="85 degF", leaving_water="84.5 degF")) == []


def test_a_chillers_evaporator_is_not_read_in_cooling() -> None:
    assert codes(read("cooling", modes="heating", entering_water="55 degF")) == ["mode_not_of_exchanger"]


def test_an_unknown_elevation_matters_to_gauges_only() -> None:
    assert codes(read(elevation_m=None, head_pressure="318 psig")) == ["elevation_not_known"]
    assert codes(read(elevation_m=None, head_pressure="2300 kPa_abs")) == []


def test_every_column_that_may_be_read_has_a_usual_range() -> None:
    assert set(USUAL) == set(COLUMNS)


@given(st.data())
def test_any_value_that_parses_gets_questions_and_never_an_error(data: st.DataObject) -> None:
    typed = {}
    for quantity in data.draw(st.lists(st.sampled_from(READING), unique=True, max_size=5)):
        value = data.draw(st.floats(-1e12, 1e12, allow_nan=False))
        unit = data.draw(st.sampled_from(quantity.expected.replace(" or ", ", ").split(", ")))
        typed[quantity.name] = f"{value:.6g} {unit}"
    mode = data.draw(st.sampled_from(["cooling", "heating"]))
    for question in questions_about(read(mode, **typed)):
        assert question.text.endswith((".", "?"))
        assert question.pointer.startswith("/")


@given(st.sampled_from(READING), st.floats(0.001, 0.999))
def test_within_the_usual_range_a_value_alone_is_asked_nothing(quantity: Any, share: float) -> None:
    low, high = USUAL[quantity.column]
    unit = "dimensionless" if quantity.kind == "ratio" else quantity.si_unit
    assert codes(read(**{quantity.name: f"{low + share * (high - low)!r} {unit}"})) == []


@pytest.mark.parametrize("quantity", READING, ids=lambda quantity: quantity.name)
@pytest.mark.parametrize("typed", ["1e300", "-1e300", "1e-300"])
def test_what_no_machine_can_show_is_kept_and_asked_about(quantity: Any, typed: str) -> None:
    unit = "dimensionless" if quantity.kind == "ratio" else quantity.si_unit
    reading = read(**{quantity.name: f"{typed} {unit}"})
    asked = [question for question in questions_about(reading) if question.code.endswith("_unusual")]
    if quantity.kind == "pressure_difference" and typed == "1e-300":
        assert asked == [], "no drop at all is a reading, and often a finding"
    else:
        assert [question.pointer for question in asked] == [f"/as_typed/{quantity.name}"]
        assert len(asked[0].text) < 160

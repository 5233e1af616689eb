"""What people type: numbers in several hands, units of the trade, SI and as typed made one."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from contractor.http.problems import Problem
from contractor.register import services
from contractor.register.quantities import EXCHANGER, SITE, TABLE_ROW, UNIT, WATER_TEST
from contractor.register.typed import SI_AS_TYPED, Quantity, number, settle, settle_facts
from contractor.visits.quantities import READING
from diagnostics.engine import quantities
from tests import make

SEA_LEVEL_PA = 101_325.0
EVERY = [*SITE, *UNIT, *EXCHANGER, *TABLE_ROW, *WATER_TEST, *READING]


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("85.2", 85.2),
        ("85,2", 85.2),
        (" 85.2 ", 85.2),
        ("-5", -5.0),
        ("\u22125", -5.0),  # a phone's own minus sign
        ("+.5", 0.5),
        ("1e3", 1000.0),
        ("1 250", 1250.0),
        ("1\u202f250", 1250.0),
        (",5", 0.5),
        ("85,25", 85.25),
        ("1,2345", 1.2345),
        (85, 85.0),
        (85.2, 85.2),
    ],
)
def test_numbers_are_read_as_a_phone_types_them(typed: object, value: float) -> None:
    assert number(typed) == value


@pytest.mark.parametrize(
    "typed", ["", " ", "abc", "1.2.3", "1,2,3", "1.234,5", "0x10", "--5", "85 degF", "nan", "inf", "-inf",
              "1_000", "\u0661\u0662", "5\u00b2", "9" * 41, 10**400, None, [], {}, True]
)  # fmt: skip
def test_what_is_no_number_is_refused_in_words(typed: object) -> None:
    with pytest.raises(ValueError, match="expected"):
        number(typed)


def test_a_comma_that_might_group_thousands_is_asked_about() -> None:
    with pytest.raises(ValueError, match=r"might be 1.234 or 1234"):
        number("1,234")


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_number_a_program_sends_is_read_as_it_is(value: float) -> None:
    assert number(value) == value
    assert number(repr(value)) == value


@given(st.text(max_size=60))
def test_no_text_does_more_than_give_a_finite_number_or_a_refusal(text: str) -> None:
    try:
        assert math.isfinite(number(text))
    except ValueError as error:
        assert "expected" in str(error)


@given(st.text(max_size=45))
def test_no_unit_does_more_than_convert_or_be_refused(unit: str) -> None:
    flow = Quantity("water_flow", "water_flow_m3_per_s", "water_flow")
    settled = settle([flow], {"water_flow": {"value": "1", "unit": unit}}, barometric_pa=SEA_LEVEL_PA)
    assert bool(settled.errors) != bool(settled.columns)


@pytest.mark.parametrize(
    "unit",
    ["m**9**9**9", "m^9^9^9", "(m**9)**9**9", "m**(9**9**9)", "9**9**9", "m**99999", "m**-9**9", "m**9^9"],
)
def test_a_power_of_powers_does_not_keep_the_service_busy(unit: str) -> None:
    settled = settle(EXCHANGER, {"area": {"value": 1, "unit": unit}}, barometric_pa=SEA_LEVEL_PA)
    assert settled.errors[0]["pointer"] == "/as_typed/area/unit"


@pytest.mark.parametrize("quantity", EVERY, ids=lambda quantity: quantity.name)
def test_every_quantity_takes_its_own_si_unit_and_those_it_suggests(quantity: Quantity) -> None:
    suggested = quantity.expected.replace(" or ", ", ").split(", ")
    for unit in (quantity.si_unit, *suggested):
        settled = settle(
            [quantity], {quantity.name: {"value": "1", "unit": unit}}, barometric_pa=SEA_LEVEL_PA
        )
        assert settled.errors == []
        assert sum(value is not None for value in settled.columns.values()) == 1


@pytest.mark.parametrize("quantity", EVERY, ids=lambda quantity: quantity.name)
def test_one_in_si_stays_one(quantity: Quantity) -> None:
    entry = {"value": "1", "unit": quantity.si_unit}
    settled = settle([quantity], {quantity.name: entry}, barometric_pa=SEA_LEVEL_PA)
    assert settled.columns[quantity.column] == pytest.approx(1.0)


def test_every_kind_has_a_unit_that_means_si() -> None:
    for kind, unit in SI_AS_TYPED.items():
        assert quantities.conversion(unit, kind).scale == pytest.approx(1.0)


# by hand: 36 MBH = 36 000 Btu/h * 0.2930711 W; 0.5 ft2 * 0.09290304 m2; 10 ftH2O * 2989.067 Pa
@pytest.mark.parametrize(
    ("known", "name", "value", "unit", "column", "si"),
    [
        (UNIT, "capacity", "36", "MBH", "capacity_w", 10_550.56),
        (UNIT, "high_head_cutout", "600", "psig", "high_head_cutout_pa_gauge", 600 * 6894.757),
        (UNIT, "high_head_cutout", "614.696", "psia", "high_head_cutout_pa_gauge", 600 * 6894.757),
        (EXCHANGER, "area", "0.5", "ft**2", "area_m2", 0.04645152),
        (EXCHANGER, "design_pressure_drop", "10", "ftH2O", "design_pressure_drop_pa", 29_890.67),
        (SITE, "antifreeze_fraction", "25", "%", "antifreeze_fraction", 0.25),
        (TABLE_ROW, "superheat_low", "9", "delta_degF", "superheat_low_k", 5.0),
    ],
)
def test_units_of_the_trade_become_si(
    known: Any, name: str, value: str, unit: str, column: str, si: float
) -> None:
    settled = settle(known, {name: {"value": value, "unit": unit}}, barometric_pa=SEA_LEVEL_PA)
    assert settled.columns[column] == pytest.approx(si, rel=1e-5)


def test_a_flow_by_mass_is_refused_where_only_volume_has_a_place() -> None:
    settled = settle(EXCHANGER, {"design_flow": {"value": 1, "unit": "kg/s"}}, barometric_pa=SEA_LEVEL_PA)
    assert "gpm" in str(settled.errors[0]["detail"])


@given(st.floats(1e-3, 1e6), st.sampled_from(["W", "kW", "MBH", "Btu/h", "ton_refrigeration"]))
def test_both_forms_alike_are_taken_and_both_forms_apart_are_refused(value: float, unit: str) -> None:
    as_typed = {"capacity": {"value": value, "unit": unit}}
    once = settle_facts(UNIT, {"as_typed": as_typed}, {}, barometric_pa=SEA_LEVEL_PA)
    sent_back = {"capacity_w": once["capacity_w"], "as_typed": once["as_typed"]}
    assert settle_facts(UNIT, sent_back, {}, barometric_pa=SEA_LEVEL_PA) == once
    with pytest.raises(Problem, match="both alike"):
        settle_facts(
            UNIT, {**sent_back, "capacity_w": once["capacity_w"] * 1.01}, {}, barometric_pa=SEA_LEVEL_PA
        )


@pytest.mark.django_db
def test_si_alone_counts_as_typed_in_si_and_null_clears_both() -> None:
    unit = make.unit()
    services.change_unit(unit, {"as_typed": {"capacity": {"value": "3", "unit": "ton_refrigeration"}}})
    # 3 tons of refrigeration are 36 000 Btu/h
    assert unit.capacity_w == pytest.approx(10_550.56, rel=1e-5)
    services.change_unit(unit, {"capacity_w": 11_000.0})
    assert unit.as_typed == {"capacity": {"value": "11000.0", "unit": "W"}}
    services.change_unit(unit, {"capacity_w": None})
    assert (unit.capacity_w, unit.as_typed) == (None, {})

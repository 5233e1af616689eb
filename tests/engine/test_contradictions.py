"""Readings that no surface shows: the number is withheld, the reading named, and what would be right."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.records import Assessment, ReadingSet
from tests.engine.case import codes, history
from tests.engine.test_unread_lines import CLEAN, FACTS, ROUTINE, kelvin

KNOWN = replace(CLEAN, liquid_line_k=kelvin(91.1), discharge_line_k=kelvin(155.0), compressor_power_w=2400.0)
READ = replace(ROUTINE, liquid_line_k=kelvin(96.5), discharge_line_k=kelvin(160.0))


def judge(row: ReadingSet) -> Assessment:
    return assess(FACTS, row, history(KNOWN), draws=4000)


def said(answer: Assessment) -> str:
    return " ".join(one.text for one in answer.warnings)


def withheld(answer: Assessment) -> bool:
    return answer.excess_approach_k is None and answer.verdict == "undecided"


@pytest.mark.parametrize("power_kw", [26.0, 99.0, 12.0])
def test_power_that_the_waters_heat_cannot_hold_is_named(power_kw: float) -> None:
    # By hand: 9 gpm by 9.3 degF is 12.2 kW into the water; a compressor takes a fifth to a third of it.
    answer = judge(replace(READ, compressor_power_w=power_kw * 1000))
    assert withheld(answer)
    assert answer.decides_next == "compressor_power"
    assert f"compressor_power tells {power_kw:.3g} kW" in said(answer)
    assert "right would be 1.2 to 5.5 kW" in said(answer)


def test_power_that_fits_withholds_nothing() -> None:
    answer = judge(replace(READ, compressor_power_w=2600.0))
    assert answer.excess_approach_k is not None
    assert "power_beyond_heat" not in codes(answer)


@pytest.mark.parametrize("power_w", [None, 2600.0])
def test_a_flow_with_a_decimal_slipped_is_named_with_what_would_fit(power_w: float | None) -> None:
    answer = judge(
        replace(READ, water_flow_m3_per_s=10 * (READ.water_flow_m3_per_s or 0.0), compressor_power_w=power_w)
    )
    assert withheld(answer)
    assert answer.decides_next == "water_flow"
    assert "water_flow (5.68 L/s was read, about 0.5" in said(answer) or "about 0.6" in said(answer)


def test_water_leaving_above_condensing_and_a_surface_too_good_is_named() -> None:
    answer = judge(replace(READ, leaving_water_k=kelvin(107.0)))
    assert withheld(answer)
    assert answer.decides_next == "leaving_water"
    assert "leaving_water was read 41.7 degC, below condensing at 40." in said(answer)


def test_an_antifreeze_of_unknown_strength_is_asked_for() -> None:
    facts = replace(FACTS, antifreeze="methanol")
    cold = replace(
        READ,
        mode="heating",
        entering_water_k=kelvin(25.0),
        leaving_water_k=kelvin(18.0),
        suction_pressure_pa=515_000.0,
        suction_line_k=kelvin(10.0),
    )
    answer = assess(facts, cold, history(), draws=1000)
    assert withheld(answer)
    assert "the fraction of methanol is not known, and plain water would freeze there" in said(answer)
    assert "no antifreeze" not in said(answer)
    assert answer.decides_next == "antifreeze_fraction"
    assert "antifreeze_fraction" in answer.do_next

"""A liquid line that was not read: the answer is wide, of the right sign, and asks for the line."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.records import Assessment, ExchangerFacts, ReadingSet
from diagnostics.engine.surface import above_entering
from tests.engine.case import START, codes, history

FACTS = ExchangerFacts(unit="HP-2", refrigerant="R410A", exchanger="coaxial")
PSI_PA, ATMOSPHERE_PA = 6894.757, 101_325.0
GPM = 6.309e-5
"""m3/s (definition of the US gallon)."""


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8 + 273.15


CLEAN = ReadingSet(
    unit="HP-2",
    taken_at=START,
    mode="cooling",
    purpose="clean_reference",
    minutes_running=20.0,
    entering_water_k=kelvin(85.0),
    leaving_water_k=kelvin(94.3),
    water_flow_m3_per_s=9.0 * GPM,
    head_pressure_pa=315.0 * PSI_PA + ATMOSPHERE_PA,
    suction_pressure_pa=130.0 * PSI_PA + ATMOSPHERE_PA,
    suction_line_k=kelvin(58.0),
)
ROUTINE = replace(
    CLEAN,
    taken_at=START + timedelta(days=180),
    purpose="routine",
    head_pressure_pa=340.0 * PSI_PA + ATMOSPHERE_PA,
)


@pytest.fixture(scope="module")
def judged() -> Assessment:
    return assess(FACTS, ROUTINE, history(CLEAN))


def test_without_liquid_lines_the_excess_approach_is_what_condensing_rose_by(judged: Assessment) -> None:
    # By hand: water, flow and heat are the same at both visits, and R410A condenses at 37.5 degC at 315 psig
    # and at 40.5 degC at 340 psig: 3.0 K of excess approach.
    excess = judged.excess_approach_k
    assert excess is not None
    assert excess.value == pytest.approx(3.0, abs=0.7)
    assert excess.low < 3.0 < excess.high
    assert excess.high - excess.low < 12.0


def test_unread_liquid_lines_leave_a_wider_answer_than_read_ones(judged: Assessment) -> None:
    read = assess(
        FACTS,
        replace(ROUTINE, liquid_line_k=kelvin(96.5)),
        history(replace(CLEAN, liquid_line_k=kelvin(91.1))),
    )
    wide, narrow = judged.excess_approach_k, read.excess_approach_k
    assert wide is not None and narrow is not None
    assert wide.high - wide.low > 1.5 * (narrow.high - narrow.low)
    assert wide.low < narrow.value < wide.high


def test_the_liquid_line_decides_and_is_asked_for(judged: Assessment) -> None:
    assert judged.verdict == "undecided"
    assert judged.decides_next == "liquid_line"
    assert "liquid line" in judged.do_next
    assert "cleaner_than_reference" not in codes(judged)


def test_nothing_is_called_cleaner_than_a_reference_that_is_not_there() -> None:
    alone = assess(FACTS, CLEAN, history())
    assert alone.reference == ()
    assert "no_reference" in codes(alone)
    assert "cleaner_than_reference" not in codes(alone)


def test_an_assumed_liquid_never_leaves_colder_than_the_water_came() -> None:
    for liquid in (280.0, 299.0, 300.0, 303.0, 320.0):
        assert above_entering(liquid, 300.0, 1.0) > 300.0
    assert above_entering(320.0, 300.0, 1.0) == pytest.approx(320.0, abs=1e-6)


def test_a_liquid_line_that_was_read_is_left_as_read() -> None:
    assert above_entering(299.0, 300.0, 0.0) == 299.0


def test_the_sentence_asks_for_what_decides() -> None:
    enter_table = assess(FACTS, CLEAN, history())
    assert enter_table.decides_next is None
    assert "operating table" in enter_table.do_next
    rated = assess(replace(FACTS, capacity_w=10_000.0), ROUTINE, history())
    assert rated.verdict == "undecided"
    assert rated.decides_next is None
    assert rated.do_next.startswith(("Enter the operating table", "Read a clean visit"))
    no_gauges = replace(ROUTINE, head_pressure_pa=None, liquid_line_k=kelvin(96.5))
    blind = assess(FACTS, no_gauges, history(replace(CLEAN, liquid_line_k=kelvin(91.1))))
    assert blind.verdict == "undecided"
    assert blind.decides_next == "head_pressure"
    assert "head pressure" in blind.do_next

"""A reversing valve that lets hot gas through explains an open heat balance; no probe is blamed alone."""

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.virtual_unit import NO_FAULTS, solve_many
from tests.engine.case import FACTS, TWO_CLEAN, codes, reading
from tests.engine.test_suspects import judge, named, off
from tests.studies import virtual_cases


def said(answer: object) -> str:
    """What is said of the reversing valve."""
    texts = [one.text for one in answer.warnings if "reversing valve" in one.text]  # type: ignore[attr-defined]
    return texts[0] if texts else ""


@cache
def cases(leak: float, count: int = 24) -> Sequence[virtual_cases.VirtualCase]:
    """Heat pumps of the virtual unit whose valve has begun to leak since two clean visits."""
    rng = np.random.default_rng(5)
    world = virtual_cases.World(with_tables=False, moved_share=0.0)
    found: list[virtual_cases.VirtualCase] = []
    while len(found) < count:
        plan = virtual_cases._plan(rng, world, 1)
        if plan.unit.machine != "heat_pump":
            continue
        plan = replace(plan, faults=replace(plan.faults, reversing_valve_leak=leak))
        faults = [NO_FAULTS] * virtual_cases.CLEAN_VISITS + [plan.faults]
        units = [virtual_cases._on_the_day(rng, plan.unit) for _ in faults]
        states = solve_many(units, plan.conditions, faults)
        if all(map(virtual_cases._runs, states)):
            found.append(virtual_cases._case(rng, plan, states, world))
    return found


def told(case: virtual_cases.VirtualCase) -> object:
    return assess(case.facts, case.reading, case.history(2, False), draws=200)


@pytest.mark.parametrize(("leak", "least"), [(0.2, 0.75), (0.3, 0.95)])
def test_a_valve_that_leaks_is_named_and_no_reading_is_blamed_without_it(leak, least):
    answers = [told(case) for case in cases(leak)]
    blamed = [one for one in answers if "reading_suspect" in codes(one) and not said(one)]
    assert blamed == []
    assert np.mean([said(one) != "" for one in answers]) >= least
    shares = [int(re.search(r"about (\d+) %", said(one))[1]) / 100 for one in answers if said(one)]
    assert np.median(shares) == pytest.approx(leak, abs=0.05)


def test_a_valve_that_is_tight_is_not_named():
    assert [said(told(case)) for case in cases(0.0)] == [""] * 24


def test_alone_it_holds_the_verdict_back_in_heating_where_the_suction_line_tells_the_mixture():
    alone = [one for one in map(told, cases(0.3)) if "reversing_valve_suspect" in codes(one)]
    heating = [one for one in alone if one.more["approach_is_to"] == "dew temperature"]
    assert heating and {one.verdict for one in heating} == {"undecided"}
    steps = {one.do_next.partition(":")[0] for one in alone if "first" not in one.do_next}
    assert steps == {"Measure the suction line on both sides of the reversing valve"}
    assert all("superheat is" not in one.do_next for one in alone)


def test_a_flow_meter_that_reads_low_could_be_a_leak_too_and_one_that_reads_high_could_not():
    low, high = (judge(off(reading(0.0), "water_flow_kg_per_s", factor)) for factor in (0.7, 1.4))
    assert "without water_flow (" in named(low) and "reversing valve" in named(low)
    assert "without water_flow (" in named(high) and said(high) == ""


def test_a_machine_without_a_reversing_valve_has_none_that_leaks():
    facts = replace(FACTS, machine="chiller")
    row = off(reading(0.0), "water_flow_kg_per_s", 0.7)
    answer = assess(facts, row, TWO_CLEAN, draws=200)
    assert "without water_flow (" in named(answer) and said(answer) == ""

"""Next step, next check, what decides the number and the reason against acid never contradict each other."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import cache

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnostics.engine import wording
from diagnostics.engine.assessment import assess
from diagnostics.engine.causes import CAUSES, CHECKS, OUTCOMES, REMEDIES, Findings, Surface, decided, rank
from diagnostics.engine.causes.deciding import READ_AGAIN, surface_of
from diagnostics.engine.causes.explaining import explained
from diagnostics.engine.causes.names import CONFIRMED_BY, FOULED, NOTHING_WRONG, OTHER_FAULT
from diagnostics.engine.causes.ranking import Ranking
from diagnostics.engine.causes.seen import Seen, seen_of
from diagnostics.engine.causes.steps import is_chemical
from diagnostics.engine.causes.weighing import Weighed
from diagnostics.engine.records import History, ReadingSet
from diagnostics.engine.uncertainty import instrument_table
from diagnostics.engine.wording import READ_WORDS, Situation, do_next
from tests.engine.case import FACTS, TWO_CLEAN, reading
from tests.engine.causes_case import HEAT_PUMP, read_with

COLUMNS = ("head_pressure", "liquid_line", "leaving_water", "water_flow", "strainer", "minutes_running")


@cache
def bare() -> tuple[ReadingSet, Seen]:
    read = replace(read_with("exchanger_fouled"), strainer=None, back_flush=None)
    return read, seen_of(HEAT_PUMP, read, History(), None, instrument_table(None))


@st.composite
def chances(draw: st.DrawFn) -> list[float]:
    """Probabilities of all causes: one that leads by any amount, the rest spread anyhow."""
    parts = [draw(st.floats(0.0, 1.0)) ** 4 + 1e-6 for _ in CAUSES]
    lead = draw(st.integers(0, len(CAUSES) - 1))
    share = draw(st.sampled_from([0.0, 0.3, 0.55, 0.7, 0.85, 0.99]))
    total = sum(parts)
    return [(1 - share) * one / total + (share if place == lead else 0.0) for place, one in enumerate(parts)]


@st.composite
def surfaces(draw: st.DrawFn) -> Surface | None:
    """What an assessment says, by the engine's own sentences."""
    if draw(st.integers(0, 5)) == 0:
        return None
    verdict = draw(st.sampled_from(["fouled", "clean", "undecided"]))
    withheld = verdict == "undecided" and draw(st.booleans())
    read = replace(
        bare()[0],
        strainer=draw(st.sampled_from([None, "clean", "not_fitted"])),
        back_flush=draw(st.sampled_from([None, "no_change"])),
    )
    suspect = draw(st.sampled_from([None, None, *COLUMNS[:4]]))
    moved = draw(st.sampled_from([None, None, "subcooling is 9 K above the clean visits"]))
    now = Situation(
        read,
        verdict,
        withheld,
        suspect if verdict == "undecided" else None,
        draw(st.sampled_from([None, *COLUMNS[:4]])),
        draw(st.sampled_from([None, "Enter the operating table from the unit's manual: it would halve it."])),
        draw(st.sampled_from([None, 0.6, 1.0])),
        moved,
        no_gauges=withheld and draw(st.booleans()),
        air=draw(st.sampled_from(["not_tested", "ruled_out", "in_doubt"])),
        was_read=draw(st.booleans()),
        takes_heat="hot-gas reheat" if verdict == "undecided" and draw(st.integers(0, 4)) == 0 else None,
        trips_too_early=withheld and draw(st.integers(0, 4)) == 0,
        visits_contradict=verdict == "undecided" and draw(st.integers(0, 4)) == 0,
    )
    over = {"fouled": 0.97, "clean": 0.02}.get(verdict, draw(st.floats(0.05, 0.95)))
    code = draw(st.sampled_from(sorted(READ_AGAIN))) if withheld and not now.no_gauges else None
    column = wording.asked_for(now) if verdict == "undecided" else None
    return Surface(verdict, None if withheld else over, code, do_next(now), column)


def ranking_of(values: list[float], read: ReadingSet, findings: Findings) -> Ranking:
    seen = bare()[1]
    weighed = [
        Weighed((name,), 1 / len(CAUSES), 0.0, one, np.zeros(len(seen.names)), 2.0)
        for name, one in zip(CAUSES, values, strict=True)
    ]
    weighed.sort(key=lambda one: -one.probability)
    return Ranking(**explained(HEAT_PUMP, read, findings, seen, weighed))


FOUND = st.dictionaries(st.sampled_from(sorted(OUTCOMES)), st.integers(0, 2), max_size=15).map(
    lambda found: {name: OUTCOMES[name][at % len(OUTCOMES[name])] for name, at in found.items()}
)


def said_by(sentence: str, part: str) -> bool:
    return part in sentence or part in sentence[:1].lower() + sentence[1:]


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(chances(), surfaces(), FOUND, st.sampled_from([None, "nothing", "deposit"]))
def test_whatever_is_found_the_parts_of_the_answer_never_contradict(values, surface, found, brought):
    read, findings = bare()[0], Findings(found, descale_brought=brought)
    alone = ranking_of(values, read, findings)
    told = decided(alone, surface, read, findings)
    step, check, refusal = told.do_next, told.next_check, told.why_not_chemical
    plain = step.removeprefix("The question is open again, since the descale was in vain. ")
    assert told.causes == alone.causes
    assert is_chemical(step) == (refusal is None)
    if found.get("open_strainer") in ("dirty", "blocked"):
        assert plain.startswith(f"Clean the strainer ({found['open_strainer']})")
        assert check is None and refusal
        return
    if plain.startswith("Nothing to"):
        assert check is None
    if check is not None:
        asked = wording.check_of(surface.do_next) if surface else None
        assert str(check["words"]) in step or (asked == check["check"] and surface.do_next in step)
        assert check["check"] not in found
    if surface is None:
        return
    if surface.cannot_be_judged is not None:
        assert refusal and said_by(step, wording.clause(surface.do_next))
    if surface.verdict == "clean" or (surface.probability_over_limit or 0.0) < 0.5:
        assert refusal
    if surface.decides_next is not None:
        named = wording.short_words(surface.decides_next)
        assert (
            named in step
            or said_by(step, wording.clause(surface.do_next))
            or (wording.clause(surface.do_next) in step)
        )


@settings(max_examples=400, deadline=None)
@given(chances(), FOUND)
def test_nothing_is_done_to_the_refrigerant_before_its_own_check_or_at_low_confidence(values, found):
    read, findings = bare()[0], Findings(found)
    told = ranking_of(values, read, findings)
    for cause, confirming in CONFIRMED_BY.items():
        if REMEDIES[cause] in told.do_next and told.next_check is None:
            assert told.probability(cause) >= 0.75 and confirming in found
    if "certified" in told.do_next and told.next_check is None:
        assert max(values) >= 0.75


@settings(max_examples=200, deadline=None)
@given(chances(), FOUND)
def test_the_reason_against_acid_names_the_check_that_is_asked_for(values, found):
    told = ranking_of(values, bare()[0], Findings(found))
    if told.causes[0]["cause"] != FOULED or "(dirty)" in told.do_next or "(blocked)" in told.do_next:
        return
    refusal = str(told.why_not_chemical)
    named = {"has not been seen clean": "open_strainer", "a back-flush is quicker": "back_flush",
             "the static test with the machine off": "static_test"}  # fmt: skip
    for words, check in named.items():
        if words in refusal:
            assert told.next_check is not None and told.next_check["check"] == check


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"head_pressure_pa": 5.0e5}, "head pressure"),
        ({"leaving_water_k": 302.15}, "leaving water temperature"),
        ({"suction_line_k": 272.15}, "suction line temperature"),
        ({"liquid_line_k": 325.15}, "liquid line temperature"),
        ({"minutes_running": 4.0}, "ten minutes of steady running"),
    ],
)
def test_readings_that_contradict_each_other_are_named_and_no_acid_is_spoken_of(changes, named):
    read = replace(reading(0.0), **changes)
    answer = assess(FACTS, read, TWO_CLEAN, draws=500)
    told = decided(rank(FACTS, read, TWO_CLEAN), surface_of(answer), read)
    assert surface_of(answer).cannot_be_judged in READ_AGAIN
    assert named in told.do_next and "again" in told.do_next
    assert told.why_not_chemical
    if told.next_check is not None:
        assert told.next_check["check"] in ("read_again", "read_data_plate", "trace_hoses")


def test_a_clean_surface_with_nothing_wrong_asks_for_no_check():
    read = read_with("nothing_wrong")
    alone = rank(HEAT_PUMP, read)
    assert alone.causes[0]["cause"] == NOTHING_WRONG
    clean = Surface(
        "clean", 0.02, None, "Nothing to do on the water side: the surface is within its fouling limit."
    )
    told = decided(replace(alone, next_check=alone.checks["vent_water"]), clean, read)
    assert told.do_next == clean.do_next and told.next_check is None


def test_a_dirty_strainer_comes_first_and_what_the_number_needs_is_read_afterwards():
    read = read_with("exchanger_fouled", strainer="dirty")
    surface = Surface("undecided", 0.7, None, "Read the liquid line temperature", "liquid_line")
    told = decided(rank(HEAT_PUMP, read), surface, read)
    assert told.do_next.startswith("Clean the strainer (dirty), then read again, with the liquid line")
    assert told.next_check is None and told.why_not_chemical


def test_a_number_that_says_fouled_where_nothing_seems_wrong_sends_nobody_with_acid():
    read, _ = bare()
    alone = ranking_of([0.9 if name == NOTHING_WRONG else 0.005 for name in CAUSES], read, Findings())
    plan = Surface("fouled", 0.97, None, "Plan a chemical descale; first the label")
    look = Surface("fouled", 0.97, None, "Look at the strainer, then back-flush: the surface is fouled.")
    assert decided(alone, plan, read).do_next.startswith("Read the full set again")
    told = decided(alone, look, read)
    assert told.do_next == look.do_next and told.next_check["check"] == "open_strainer"
    assert "nothing wrong" in told.why_not_chemical


def test_every_column_that_may_decide_has_words():
    assert all(wording.short_words(name) and "_" not in wording.column_words(name) for name in READ_WORDS)
    assert set(CHECKS) == set(OUTCOMES)


OTHER_LEADS = [0.96 if name == OTHER_FAULT else 0.002 for name in CAUSES]


@pytest.mark.parametrize(
    ("step", "over"),
    [
        ("Read the compressor power again: the other readings contradict it.", 0.97),
        ("Switch off the hot-gas reheat and read again: it was probably on, and takes heat.", 0.6),
    ],
)
def test_what_the_heat_balance_names_comes_before_a_fault_without_a_name(step, over):
    read, _ = bare()
    verdict = "fouled" if over > 0.95 else "undecided"
    told = decided(ranking_of(OTHER_LEADS, read, Findings()), Surface(verdict, over, None, step), read)
    assert told.do_next == step and told.why_not_chemical


def test_a_coil_that_took_hot_gas_comes_before_a_back_flush_too():
    read, _ = bare()
    fouled = [0.96 if name == FOULED else 0.002 for name in CAUSES]
    off = Surface("undecided", 0.97, None, "Switch off the desuperheater and read again: it was probably on.")
    done = Findings({"open_strainer": "clean", "back_flush": "no_change", "static_test": "at_saturation"})
    told = decided(ranking_of(fouled, read, done), off, read, done)
    assert told.do_next == off.do_next
    assert told.why_not_chemical.startswith("Not acid yet: a coil probably took hot gas")


def test_clean_visits_that_contradict_each_other_keep_acid_away_and_are_asked_about():
    read, _ = bare()
    fouled = [0.96 if name == FOULED else 0.002 for name in CAUSES]
    two = Surface("undecided", 0.99, None, "Retire one clean visit or read a third: they contradict.")
    before = decided(ranking_of(fouled, read, Findings()), two, read)
    assert "to decide it, retire one clean visit or read a third" in before.do_next
    done = Findings({"open_strainer": "clean", "back_flush": "no_change", "static_test": "at_saturation"})
    told = decided(ranking_of(fouled, read, done), two, read, done)
    assert told.do_next == two.do_next and "contradict each other" in told.why_not_chemical


@pytest.mark.parametrize("tested", [False, True])
def test_air_is_a_condition_of_chemical_work_until_the_static_test_was_made(tested):
    """Gas in a condenser looks like scale: settled static pressure against saturation tells (trade)."""
    read, _ = bare()
    fouled = [0.96 if name == FOULED else 0.002 for name in CAUSES]
    done = {"open_strainer": "clean", "back_flush": "no_change"}
    findings = Findings({**done, "static_test": "at_saturation"} if tested else done)
    told = ranking_of(fouled, read, findings)
    assert is_chemical(told.do_next) and told.why_not_chemical is None
    assert ("static test" in told.do_next or "static pressure" in told.do_next) == (not tested)


@pytest.mark.parametrize("unsteady", ["early", "drift"])
def test_no_cause_is_told_as_certain_from_readings_that_had_not_settled(unsteady):
    read = read_with("exchanger_fouled", minutes_running=20.0)
    sure = rank(HEAT_PUMP, read)
    assert sure.probability(FOULED) > 0.8
    before = replace(read, taken_at=read.taken_at - timedelta(minutes=4))
    before = replace(before, entering_water_k=before.entering_water_k - 0.7)
    early = replace(read, minutes_running=6.0)
    told = rank(HEAT_PUMP, early) if unsteady == "early" else rank(HEAT_PUMP, read, History((before,)))
    assert max(float(one["probability"]) for one in told.causes) < 0.6
    surface = Surface("undecided", None, "not_steady", "Read everything again.", "minutes_running")
    assert "nothing is wrong" not in decided(told, surface, read).why_not_chemical
    shown = rank(HEAT_PUMP, replace(early, fault_lockout="high_head"))
    assert shown.probability(FOULED) > rank(HEAT_PUMP, early).probability(FOULED)


@pytest.mark.parametrize("known", [{}, {"capacity_w": HEAT_PUMP.capacity_w}])
def test_what_to_enter_next_and_what_it_would_buy_is_told_beside_a_cause(known):
    bare_facts = replace(HEAT_PUMP, capacity_w=None, design_flow_m3_per_s=None, area_m2=None)
    facts, read = replace(bare_facts, **known), read_with("nothing_wrong")
    surface = surface_of(assess(facts, read, History(), draws=3000))
    assert surface.do_next.startswith("Enter the operating table")
    told = decided(rank(facts, read), surface, read, Findings()).do_next
    assert told.startswith("Nothing to mend") and "to decide it, enter the operating table" in told
    assert "would narrow to" in told or "with it to about" in told

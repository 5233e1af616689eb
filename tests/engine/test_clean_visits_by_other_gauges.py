"""Clean visits are seen by the gauges they were read with, and by their own pressure drop."""

from dataclasses import replace
from datetime import timedelta, timezone

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.causes import rank
from diagnostics.engine.records import History, InstrumentAccuracy
from tests.engine.case import FACTS, LIMIT, TWO_CLEAN, clean, codes, history, reading
from tests.engine.causes_case import HEAT_PUMP, WHEN, read_with

DIALS = (InstrumentAccuracy("head_pressure", 60e3, 20e3, relative=False, source="dial gauge"),)
FINE = (InstrumentAccuracy("head_pressure", 3e3, 2e3, relative=False, source="digital gauge"),)


def judge(row, past, instruments=None):
    return assess(FACTS, row, past, instruments, draws=8000)


def half(answer):
    span = answer.fouling_resistance_m2k_per_w
    return (span.high - span.low) / 2


def test_better_gauges_today_make_no_better_gauges_of_the_clean_visits():
    """Limits of 60 kPa, repeating: u = 35 kPa, 0.6 K of saturation at the 59 kPa/K of R410A."""
    past = [replace(one, gauge_set="old") for one in TWO_CLEAN.readings]
    row = replace(reading(LIMIT), gauge_set="new")
    told = judge(row, History(readings=past, instruments={"old": DIALS, "new": FINE}), FINE)
    blind = judge(row, History(readings=past), FINE)
    assert half(told) > 1.3 * half(blind)
    assert told.inputs_digest != blind.inputs_digest


def test_accuracies_of_the_same_set_or_alike_move_nothing():
    past = [replace(one, gauge_set="mine") for one in TWO_CLEAN.readings]
    row = replace(reading(LIMIT), gauge_set="mine")
    bare = judge(row, History(readings=past), FINE)
    assert judge(row, History(readings=past, instruments={"mine": DIALS}), FINE) == bare
    other = replace(row, gauge_set="other")
    alike = judge(other, History(readings=past, instruments={"mine": FINE}), FINE)
    assert alike == judge(other, History(readings=past), FINE)


def test_causes_see_clean_visits_by_their_own_gauges_too():
    sound = replace(
        read_with("nothing_wrong"),
        purpose="clean_reference",
        taken_at=WHEN - timedelta(days=200),
        gauge_set="old",
    )
    row = replace(read_with("exchanger_fouled", "plain"), gauge_set="new")
    rough = tuple(replace(one, repeating=300e3) for one in DIALS)
    told = rank(HEAT_PUMP, row, History(readings=(sound,), instruments={"old": rough}), instruments=FINE)
    blind = rank(HEAT_PUMP, row, History(readings=(sound,)), instruments=FINE)
    assert told.probability("exchanger_fouled") != blind.probability("exchanger_fouled")


def narrowed(one):
    """A fifth more flow by the pressure drop than by the meter: dp ~ V^1.8, so 1.2^1.8 = 1.39."""
    return replace(one, water_pressure_drop_pa=1.6 * one.water_pressure_drop_pa)


def test_a_clean_visit_with_a_drop_above_clean_for_its_flow_says_so_and_its_curve_is_left_out():
    row = reading(0.0)
    answer = judge(row, history(*(narrowed(one) for one in TWO_CLEAN.readings)))
    told = next(one.text for one in answer.warnings if one.code == "reference_narrowed")
    assert "the passage was narrowed then already, or the curve on record is not this exchanger's" in told
    assert answer.fouling_resistance_m2k_per_w.low < 0 < answer.fouling_resistance_m2k_per_w.high


def test_no_surface_is_called_clean_by_such_visits_alone():
    row = reading(0.0)
    past = [narrowed(one) for one in TWO_CLEAN.readings]
    answer = judge(row, history(*past))
    assert answer.verdict == "undecided" and "why_undecided" in codes(answer)
    assert judge(row, history(*past, clean(40.0))).verdict == "clean"
    assert judge(row, TWO_CLEAN).verdict == "clean"


@pytest.mark.parametrize("hours", [-7, 2])
def test_how_the_moment_was_typed_moves_no_number(hours):
    row = reading(LIMIT)
    zone = timezone(timedelta(hours=hours))
    same = replace(row, taken_at=row.taken_at.astimezone(zone), taken_at_as_typed="4 March, morning", line=7)
    one, other = judge(row, TWO_CLEAN), judge(same, TWO_CLEAN)
    assert one.inputs_digest == other.inputs_digest
    assert one.fouling_resistance_m2k_per_w == other.fouling_resistance_m2k_per_w


def test_superheat_that_moved_is_not_called_charge():
    answer = judge(reading(0.0, superheat_k=13.0), TWO_CLEAN)
    told = next(one.text for one in answer.warnings if one.code == "charge_moved")
    assert "put the expansion device or the charge right" in told

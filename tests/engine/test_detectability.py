"""What a unit's instruments can tell: the smallest fouling called, and that it is called as often as said."""

from dataclasses import replace

import numpy as np
import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.detectability import detectability
from diagnostics.engine.forward import draw_repeating_errors, with_instrument_noise
from diagnostics.engine.records import ExchangerFacts, History, InstrumentAccuracy, UnitEvent
from diagnostics.engine.uncertainty import instrument_table
from tests.engine.case import DAY, FACTS, HEATING, LIMIT, START, TWO_CLEAN, clean, history, reading


def test_what_it_says_would_be_called_is_called_nine_times_in_ten():
    smallest = detectability(FACTS, TWO_CLEAN, "cooling").smallest["as_it_is"]
    instruments, called, cases = instrument_table(), 0, 60
    for seed in range(cases):
        rng = np.random.default_rng([7, seed])
        repeating = draw_repeating_errors(instruments, rng)
        rows = [
            with_instrument_noise(row, instruments, rng, repeating)
            for row in (*TWO_CLEAN.readings, reading(smallest))
        ]
        answer = assess(FACTS, rows[-1], history(*rows[:-1]), draws=1500)
        called += answer.verdict == "fouled"
    # 60 cases at 0.9: two and a half standard errors are 0.097
    assert 0.80 <= called / cases <= 1.0


def test_a_better_thermometer_a_flow_meter_and_a_clean_visit_each_bring_it_lower():
    row = replace(reading(0.0), water_flow_kg_per_s=None, compressor_power_w=None)
    found = detectability(FACTS, replace(TWO_CLEAN, readings=(*TWO_CLEAN.readings, row)), "cooling")
    assert found.rests_on == "a reading"
    for name in ("thermometers_twice_as_good", "with_a_flow_meter", "one_more_clean_reference"):
        assert found.smallest[name] < found.smallest["as_it_is"]


def test_stated_instruments_move_it_as_foretold():
    plain = detectability(FACTS, TWO_CLEAN, "cooling")
    good = [InstrumentAccuracy(f"{end}_water", 0.1, 0.05, False) for end in ("entering", "leaving")]
    better = detectability(FACTS, TWO_CLEAN, "cooling", good)
    assert better.smallest["as_it_is"] == pytest.approx(
        plain.smallest["thermometers_twice_as_good"], rel=0.03
    )


def test_without_a_clean_visit_the_next_to_enter_is_named():
    found = detectability(FACTS, History(), "cooling")
    assert found.enter_next == "operating_table"  # can be entered today, a clean visit must be waited for
    assert "what to enter next for a surer number is the operating table" in found.sentence
    seen = detectability(FACTS, history(clean(0.0)), "cooling")
    assert seen.smallest["as_it_is"] < found.smallest["as_it_is"]


def test_each_mode_is_told_by_its_own_clean_visits():
    cold = history(clean(0.0, point=HEATING), clean(20.0, point=HEATING))
    warm = detectability(FACTS, cold, "heating")
    assert warm.smallest["as_it_is"] < detectability(FACTS, TWO_CLEAN, "heating").smallest["as_it_is"]


def test_a_bare_unit_says_what_it_lacks():
    found = detectability(ExchangerFacts("CH-1", "R134a", "shell_and_tube"), History(), "heating")
    assert found.smallest == {}
    assert "operating table" in found.sentence and "no clean visit" in found.why_not


def test_every_assessment_carries_the_sentence():
    answer = assess(FACTS, reading(0.0), TWO_CLEAN, draws=2000)
    assert "would be called with 90 % confidence" in answer.more["detectability"]


def test_the_next_step_and_what_to_enter_next_are_one_opinion():
    answer = assess(FACTS, reading(1.1 * LIMIT), History(), draws=2000)
    assert answer.verdict == "undecided"
    assert answer.do_next.startswith("Enter the operating table from the unit's manual")
    assert "what to enter next for a surer number is the operating table" in answer.more["detectability"]


def test_it_stands_on_all_that_is_known_today_not_on_the_last_readings_day():
    late = history(reading(LIMIT, days=300.0), clean(320.0), clean(340.0, flow=0.8))
    kinds = [one.kind for one in detectability(FACTS, late, "cooling").reference]
    assert kinds.count("clean_reference") == 2
    early = history(*TWO_CLEAN.readings, reading(LIMIT, days=300.0))
    changed = UnitEvent(FACTS.unit, START + 400 * DAY, "charge_changed")
    voided = detectability(FACTS, replace(early, events=(changed,)), "cooling")
    assert "clean_reference" not in {one.kind for one in voided.reference}


def test_another_gauge_set_does_not_share_the_clean_visits_errors():
    named = history(*(replace(row, gauge_set="A") for row in TWO_CLEAN.readings))
    same, other = (
        detectability(FACTS, named, "cooling", gauge_set=name).smallest["as_it_is"] for name in ("A", "B")
    )
    assert other > 1.02 * same

"""The answer as a whole: the truth found, the same answer twice, the history's rule, what is withheld."""

import json
import random
from dataclasses import asdict, replace
from datetime import timedelta

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.records import History, InstrumentAccuracy, UnitEvent
from tests.engine.case import (
    COOLING,
    DAY,
    FACTS,
    HEATING,
    LIMIT,
    START,
    TWO_CLEAN,
    clean,
    codes,
    history,
    reading,
    table_row,
)

DRAWS = 4000


def judge(row, past=TWO_CLEAN, facts=FACTS, **rest):
    return assess(facts, row, past, draws=DRAWS, **rest)


@pytest.mark.parametrize("truth", [0.0, LIMIT / 2, 2 * LIMIT, 4 * LIMIT])
@pytest.mark.parametrize("point", [COOLING, HEATING], ids=["cooling", "heating"])
def test_exact_readings_give_the_truth_back(truth, point):
    past = history(clean(point=point), clean(20.0, point=point, flow=0.8))
    found = judge(reading(truth, point), past).fouling_resistance_m2k_per_w
    assert found.low < truth < found.high
    assert found.value == pytest.approx(truth, abs=1.5e-5 + 0.05 * truth)


def test_verdicts_on_clean_and_fouled_surfaces():
    assert judge(reading(0.0)).verdict == "clean"
    fouled = judge(reading(2 * LIMIT))
    assert fouled.verdict == "fouled"
    assert fouled.probability_over_limit > 0.9
    assert fouled.excess_approach_k.value > 1.0
    assert fouled.cleanliness.value < 0.8


def test_the_three_ways_of_telling_fouling_agree():
    answer = judge(reading(2 * LIMIT))
    per_area, plain = answer.fouling_resistance_m2k_per_w, answer.fouling_resistance_k_per_w
    assert per_area.value == pytest.approx(plain.value * FACTS.area_m2)
    zones = answer.more["zones_ua_w_per_k"][0]
    assert answer.cleanliness.value == pytest.approx(1 - plain.value * zones, abs=0.02)


def test_the_same_inputs_give_the_same_answer_and_others_another_digest():
    row = reading(LIMIT)
    assert judge(row) == judge(row)
    assert (
        judge(row).inputs_digest
        != judge(replace(row, leaving_water_k=row.leaving_water_k + 0.1)).inputs_digest
    )


def test_the_order_of_the_history_does_not_matter():
    past = list(TWO_CLEAN.readings)
    random.Random(3).shuffle(past)
    assert judge(reading(LIMIT), history(*reversed(past))) == judge(reading(LIMIT))


def test_only_earlier_clean_visits_of_this_unit_count():
    row = reading(2 * LIMIT, days=10.0)
    assert [used.kind for used in judge(row).reference].count("clean_reference") == 1
    strangers = history(*(replace(one, unit="HP-2") for one in TWO_CLEAN.readings))
    assert all(used.kind != "clean_reference" for used in judge(row, strangers).reference)


def test_a_clean_visit_is_never_its_own_judge():
    first, second = TWO_CLEAN.readings
    assert all(used.kind != "clean_reference" for used in judge(first).reference)
    told = [used.taken_at for used in judge(second).reference if used.kind == "clean_reference"]
    assert told == [first.taken_at_as_typed]


def test_routine_rows_do_not_inform_one_another():
    row = reading(2 * LIMIT)
    crowd = history(*TWO_CLEAN.readings, *(reading(LIMIT, days=100.0 + n) for n in range(5)))
    assert judge(row, crowd) == judge(row)


@pytest.mark.parametrize(
    "what", ["charge_changed", "compressor_replaced", "expansion_replaced", "exchanger_replaced"]
)
def test_an_event_voids_the_clean_visits_before_it(what):
    past = History(readings=TWO_CLEAN.readings, events=(UnitEvent("HP-1", START + 10 * DAY, what),))
    kinds = [used.kind for used in judge(reading(0.0), past).reference]
    assert kinds.count("clean_reference") == 1


def test_a_descale_a_later_event_and_anothers_event_void_nothing():
    events = (
        UnitEvent("HP-1", START + 10 * DAY, "descaled"),
        UnitEvent("HP-1", START + 900 * DAY, "charge_changed"),
        UnitEvent("HP-2", START + 10 * DAY, "charge_changed"),
    )
    answer = judge(reading(0.0), History(readings=TWO_CLEAN.readings, events=events))
    assert [used.kind for used in answer.reference].count("clean_reference") == 2


def test_every_further_source_narrows_the_interval():
    row = reading(LIMIT)

    def width(past):
        span = judge(row, past).fouling_resistance_m2k_per_w
        return span.high - span.low

    bare, table = history(), History(tables=(table_row(),))
    one, two = history(clean()), TWO_CLEAN
    assert width(bare) > width(table) > width(one) > width(two)


def test_a_better_instrument_narrows_the_interval():
    row = reading(LIMIT)
    better = [
        InstrumentAccuracy("leaving_water", 0.05, 0.02, False),
        InstrumentAccuracy("entering_water", 0.05, 0.02, False),
    ]
    spans = [judge(row, instruments=given).fouling_resistance_m2k_per_w for given in (None, better)]
    assert spans[1].high - spans[1].low < spans[0].high - spans[0].low


def test_the_same_gauges_as_at_the_clean_visit_know_better_than_others():
    row = reading(LIMIT)
    spans = [judge(one).fouling_resistance_m2k_per_w for one in (row, replace(row, gauge_set="B"))]
    assert spans[0].high - spans[0].low < spans[1].high - spans[1].low


def test_without_an_area_the_answer_is_in_kelvin_per_watt():
    answer = judge(reading(2 * LIMIT), facts=replace(FACTS, area_m2=None, bore_m=None))
    assert answer.fouling_resistance_m2k_per_w is None
    assert answer.limit.unit == "K/W"
    assert "area_unknown" in codes(answer)
    assert answer.verdict == "fouled"


def test_the_area_of_tubes_follows_from_bore_length_and_count():
    facts = replace(FACTS, area_m2=None, bore_m=0.016, length_m=1 / (3.14159265 * 0.016 * 2), count=2)
    answer = judge(reading(2 * LIMIT), facts=facts)
    assert answer.limit.unit == "m2K/W"
    assert answer.fouling_resistance_m2k_per_w.value == pytest.approx(2 * LIMIT, rel=0.1)


def test_without_any_reference_fouling_is_withheld_and_the_table_asked_for():
    facts = replace(FACTS, area_m2=None, bore_m=None, capacity_w=None)
    answer = judge(reading(2 * LIMIT), history(), facts)
    assert answer.fouling_resistance_k_per_w is None
    assert answer.verdict == "undecided"
    assert answer.heat_w.value == pytest.approx(12_500, rel=0.01)
    assert "no_reference" in codes(answer)
    assert "operating table" in answer.do_next


def test_the_lumped_conductance_is_told_where_it_exists():
    answer = judge(reading(0.0))
    assert answer.more["ua_is"] == "lumped"
    low_flow = judge(reading(0.0, flow=0.35))
    assert low_flow.ua_w_per_k is not None


def test_first_order_propagation_agrees_with_the_draws():
    answer = judge(reading(LIMIT))
    by_draws = (answer.fouling_resistance_k_per_w.high - answer.fouling_resistance_k_per_w.low) / 3.92
    assert answer.more["first_order_standard_uncertainty_k_per_w"] == pytest.approx(by_draws, rel=0.15)
    assert sum(answer.more["variance_shares"].values()) == pytest.approx(1.0, abs=1e-3)


def test_an_undecided_case_names_a_reading_that_decides():
    answer = judge(reading(1.1 * LIMIT))
    assert answer.verdict == "undecided"
    assert answer.decides_next in {
        "leaving_water",
        "entering_water",
        "head_pressure",
        "water_flow",
        "liquid_line",
    }
    assert judge(reading(0.0)).decides_next is None


def test_the_answer_is_plain_json():
    assert json.loads(json.dumps(asdict(judge(reading(LIMIT)))))["verdict"] == "undecided"


@pytest.mark.parametrize("name", ["R22", "R32", "R134a", "R407C", "R454B", "R513A", "R1234ze(E)",
                                  "R1233zd(E)", "R123", "R404A", "R507A", "R448A", "R449A"])  # fmt: skip
@pytest.mark.parametrize("mode", ["cooling", "heating"])
def test_every_refrigerant_gives_the_truth_back_in_both_modes(name, mode):
    from diagnostics.engine.forward import reading_of, solve, with_fouling
    from tests.engine.case import UNIT

    point = COOLING if mode == "cooling" else HEATING
    unit = replace(UNIT, exchanger=replace(UNIT.exchanger, refrigerant=name, area_m2=1.4))
    facts = replace(FACTS, refrigerant=name, area_m2=1.4)

    def read(fouling, days, purpose="clean_reference"):
        state = solve(with_fouling(unit, fouling), point)
        return reading_of(state, unit="HP-1", taken_at=START + timedelta(days=days), purpose=purpose)

    past = history(read(0.0, 0), read(0.0, 20))
    found = judge(read(2 * LIMIT, 700, "routine"), past, facts).fouling_resistance_m2k_per_w
    assert found.low < 2 * LIMIT < found.high


def test_the_smallest_resistance_called_shrinks_with_a_better_instrument():
    found = judge(reading(LIMIT)).more["smallest_called_fouled_in_limit_unit"]
    assert LIMIT < found["as_it_is"] < 2 * LIMIT
    assert found["thermometers_twice_as_good"] < found["as_it_is"]
    assert found["one_more_clean_reference"] < found["as_it_is"]

"""Chillers and plain condensers: whose water is whose, what looks alike, and what is never opened unasked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from diagnostics.engine.causes import rank
from diagnostics.engine.causes.evidence import Findings, usual_range_k
from diagnostics.engine.causes.explaining import explained
from diagnostics.engine.causes.machines import cause_words, check_words, may_be_plain, remedy_words, side_of
from diagnostics.engine.causes.names import CAUSES, CHECKS, CONFIRMED_BY, FOULED, REMEDIES
from diagnostics.engine.causes.priors import prior_of
from diagnostics.engine.causes.seen import seen_of
from diagnostics.engine.causes.weighing import Weighed
from diagnostics.engine.consequence import limit_by_consequence
from diagnostics.engine.records import MACHINES, ExchangerFacts, History, ReadingSet
from diagnostics.engine.uncertainty import instrument_table
from diagnostics.engine.virtual_unit import Conditions, Faults, rated_unit, readings, solve
from tests.engine.causes_case import HEAT_PUMP, WHEN, read_with

EVAPORATOR = ExchangerFacts(
    "EV", "R134a", "shell_and_tube", area_m2=30.0, capacity_w=473e3, water_source="closed_loop"
)
CHILLED = ReadingSet(
    "EV", WHEN, "heating", entering_water_k=285.15, leaving_water_k=279.65, water_flow_m3_per_s=0.0209
)


@pytest.mark.parametrize("source", ["closed_loop", "cooling_tower", None])
@pytest.mark.parametrize("kind", ["shell_and_tube", "plate_and_frame"])
def test_chilled_water_at_its_usual_temperature_is_no_cold_loop(source, kind):
    found = rank(replace(EVAPORATOR, water_source=source, exchanger=kind), CHILLED)
    assert found.causes[0]["cause"] == "nothing_wrong"
    assert found.probability("loop_water_cold") < 0.05
    assert found.do_next.startswith("Nothing to mend")


def test_a_range_entered_for_the_chilled_water_is_evidence():
    own = replace(EVAPORATOR, loop_low_k=288.15, loop_high_k=293.15)
    assert usual_range_k(EVAPORATOR, "heating") is None
    assert usual_range_k(own, "heating") == (288.15, 293.15)
    assert rank(own, CHILLED).causes[0]["cause"] == "loop_water_cold"


@pytest.mark.parametrize("machine", ["water_cooled_chiller", "water_to_water_heat_pump"])
def test_a_machine_with_other_water_has_no_air_coil_to_look_at(machine):
    said = str(rank(replace(EVAPORATOR, machine=machine), CHILLED).as_json())
    assert "air coil" not in said and "filter, fan" not in said


def test_only_the_record_makes_a_chiller_of_it_and_unknown_is_said():
    bare = replace(HEAT_PUMP, exchanger="shell_and_tube", refrigerant="R134a")
    told = {machine: cause_words("air_side_fault", replace(bare, machine=machine)) for machine in MACHINES}
    assert cause_words("air_side_fault", bare) == (
        "the machine's other side is at fault: its air or its other water"
    )
    assert "other water" in told["water_cooled_chiller"] and "air" in told["water_to_air_heat_pump"]
    assert "evaporator" in told["water_cooled_condenser"]
    kinds = ("coaxial", "brazed_plate", "shell_and_tube", "plate_and_frame")
    unrecorded = [side_of(replace(HEAT_PUMP, exchanger=kind)) for kind in kinds]
    assert unrecorded == ["air", "air", "either", "either"]
    for machine in (None, *MACHINES):
        one = replace(bare, machine=machine)
        assert check_words("look_at_air_side", one) and remedy_words("air_side_fault", one)


def test_a_plain_condenser_is_one_by_record_or_where_a_small_machine_is_not_told():
    small = replace(EVAPORATOR, capacity_w=24e3)
    assert may_be_plain(small) and not may_be_plain(EVAPORATOR) and not may_be_plain(HEAT_PUMP)
    assert not may_be_plain(replace(small, machine="water_cooled_chiller"))
    assert may_be_plain(replace(HEAT_PUMP, machine="water_cooled_condenser"))


@pytest.mark.parametrize(
    ("refrigerant", "capacity", "machine"),
    [("R507A", 24e3, None), ("R507A", 24e3, "water_cooled_condenser"), ("R134a", 24e3, None),
     ("R134a", 150e3, "water_cooled_condenser")],
)  # fmt: skip
@pytest.mark.parametrize("warmer", [6.0, 12.0])
def test_a_warm_room_is_not_taken_for_a_restricted_valve(refrigerant, capacity, machine, warmer):
    facts = ExchangerFacts(
        "CR", refrigerant, "shell_and_tube", capacity_w=capacity, water_source="city_water", machine=machine
    )
    unit = rated_unit(facts)
    state = solve(unit, Conditions("cooling", 290.4, other_water_k=unit.rated_water_heating_k + warmer))
    assert state.converged
    found = rank(facts, readings(state, unit="CR", taken_at=WHEN))
    assert found.causes[0]["cause"] == "nothing_wrong"
    assert found.probability("metering_restricted") < 0.2


def test_an_evaporators_limit_does_not_stand_on_the_towers_coldest_day():
    limit = limit_by_consequence(EVAPORATOR, "heating")
    assert limit is not None
    assert limit.worst_day_k == pytest.approx(284.15)  # about 12 degC less a kelvin: common practice
    assert limit_by_consequence(
        replace(EVAPORATOR, loop_low_k=280.15, loop_high_k=290.0), "heating"
    ).worst_day_k == (280.15)


def test_a_cold_rooms_evaporating_level_is_not_taken_for_a_fault_without_a_name():
    """A plain condenser whose machine evaporates 8 K above the level a chiller is sized for."""
    facts = ExchangerFacts("CR", "R507A", "shell_and_tube", capacity_w=24e3, water_source="city_water")
    unit = rated_unit(facts)
    state = solve(
        unit, Conditions("cooling", 290.4, other_water_k=unit.rated_water_heating_k + 12.0), Faults()
    )
    assert state.converged
    read = readings(state, unit="CR", taken_at=WHEN)
    found = rank(facts, read)
    assert found.probability("other_fault") < 0.1


def test_scale_on_a_tower_is_likelier_than_gas_where_the_readings_fit_both():
    unit = rated_unit(HEAT_PUMP)
    read = readings(
        solve(unit, Conditions("cooling", 301.15), Faults(air_share=0.0, scale_m2k_per_w=1.7e-4)),
        unit="HP-1",
        taken_at=WHEN,
    )
    bare = replace(read, liquid_line_k=None, water_pressure_drop_pa=None)
    found = rank(HEAT_PUMP, bare)
    assert found.probability(FOULED) > found.probability("non_condensables")


def test_a_static_test_comes_before_the_circuit_is_opened_for_gas():
    found = rank(HEAT_PUMP, read_with("non_condensables"))
    assert found.causes[0]["cause"] == "non_condensables"
    assert found.next_check is not None and found.next_check["check"] == "static_test"
    assert CHECKS["static_test"].words in found.do_next
    assert "recovers" not in found.do_next


def test_a_fault_without_a_name_says_what_it_rests_on():
    read = replace(read_with("exchanger_fouled"), suction_line_k=330.0)
    seen = seen_of(HEAT_PUMP, read, History(), None, instrument_table(None))
    alone = [Weighed(("other_fault",), 0.01, 0.0, 1.0, np.zeros(len(seen.names)), 2.0)]
    told = explained(HEAT_PUMP, read, Findings(), seen, alone)["causes"][0]
    assert told["cause"] == "other_fault"
    assert told["reasons"][0] == "for: no known cause moves the values together as they were read"
    assert "superheat" in told["reasons"][1]


def _weighed(rng: np.random.Generator, count: int) -> list[Weighed]:
    chances = rng.dirichlet(np.full(len(CAUSES), 0.25))
    return [
        Weighed((name,), 1 / len(CAUSES), 0.0, float(one), np.zeros(count), 2.0)
        for name, one in zip(CAUSES, chances, strict=True)
    ]


def test_whatever_the_ranking_the_next_step_is_that_of_the_likeliest_cause_or_of_the_next_check():
    read = replace(read_with("exchanger_fouled"), strainer="clean", back_flush="no_change")
    seen = seen_of(HEAT_PUMP, read, History(), None, instrument_table(None))
    rng = np.random.default_rng(5)
    for _ in range(60):
        told = explained(HEAT_PUMP, read, Findings(), seen, _weighed(rng, len(seen.names)))
        leader = str(told["causes"][0]["cause"])
        check, step, refusal = told["next_check"], told["do_next"], told["why_not_chemical"]
        if refusal is None:
            assert leader == FOULED and step.startswith("Chemical work is reasonable")
            continue
        if leader != FOULED:
            assert cause_words(leader, HEAT_PUMP) in refusal
        if step.startswith("Nothing to mend"):
            assert leader == "nothing_wrong" and check is None
        elif REMEDIES[leader] in step:
            assert (
                leader not in CONFIRMED_BY
                or CONFIRMED_BY[leader] not in CHECKS
                or check is None
                or (check["check"] != CONFIRMED_BY[leader])
            )
        else:
            assert (
                check is not None and str(check["words"]) in step and cause_words(leader, HEAT_PUMP) in step
            )
        if "recovers" in step or "certified" in step:
            assert leader in CONFIRMED_BY


def test_gas_is_seldom_before_anything_is_read():
    before = prior_of(HEAT_PUMP, History(), WHEN)
    assert before["non_condensables"] < 0.1 * before[FOULED]  # common practice


def evaporator_read(facts: ExchangerFacts, condenser_water_k: float, superheat_k: float | None) -> ReadingSet:
    """A sound chiller's evaporator; with a superheat of its own the suction and discharge gas is as cool."""
    state = solve(rated_unit(facts), Conditions("heating", 285.15, other_water_k=condenser_water_k))
    assert state.converged
    read = readings(state, unit=facts.unit, taken_at=WHEN)
    if superheat_k is None:
        return read
    less = state.superheat_k - superheat_k
    return replace(
        read, suction_line_k=state.suction_line_k - less, discharge_line_k=state.discharge_line_k - less
    )


@pytest.mark.parametrize("condenser_water_k", [287.0, 293.0, 302.6])
@pytest.mark.parametrize(
    ("refrigerant", "expansion", "superheat_k"),
    [("R134a", None, None), ("R134a", None, 0.4), ("R123", None, 0.4), ("R1233zd(E)", "electronic", 0.4)],
)
def test_a_sound_evaporator_is_sound_whatever_the_towers_water_and_flooded_or_not(
    refrigerant, expansion, superheat_k, condenser_water_k
):
    """Common practice: flooded evaporators run with next to no superheat; towers follow the weather."""
    facts = replace(EVAPORATOR, refrigerant=refrigerant, capacity_w=800e3, area_m2=None, expansion=expansion)
    found = rank(facts, evaporator_read(facts, condenser_water_k, superheat_k))
    assert found.causes[0]["cause"] == "nothing_wrong"


def test_with_an_electronic_valve_on_record_no_superheat_is_a_valve_that_feeds_too_much():
    facts = replace(EVAPORATOR, capacity_w=800e3, area_m2=None, expansion="electronic")
    assert rank(facts, evaporator_read(facts, 302.6, 0.4)).causes[0]["cause"] == "metering_overfeeding"

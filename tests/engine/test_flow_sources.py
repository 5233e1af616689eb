"""Water flow from every source, compared before it is combined."""

from dataclasses import replace

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.flow_combining import combine
from diagnostics.engine.flow_sources import FlowPart, FlowSource
from tests.engine.case import FACTS, LIMIT, TWO_CLEAN, codes, reading


def judge(row, past=TWO_CLEAN, facts=FACTS):
    return assess(facts, row, past, draws=3000)


def source(kind, ln_flow, spread):
    return FlowSource(kind, ln_flow, (FlowPart(spread, "water_flow", (kind,)),))


def test_every_source_tells_the_true_flow_of_a_clean_unit():
    told = judge(reading(0.0)).more["flow_by_source_kg_per_s"]
    assert set(told) == {"meter", "pressure_drop", "refrigerant_heat"}
    for flow in told.values():
        assert flow == pytest.approx(0.55, rel=0.03)


def test_pressure_drop_beside_a_meter_bears_witness_and_is_not_averaged_in():
    answer = judge(reading(4 * LIMIT))
    assert answer.more["flow_by_source_kg_per_s"]["pressure_drop"] > 0.58
    assert "pressure_drop" not in answer.more["flow_sources_used"]
    assert answer.water_flow_kg_per_s.value == pytest.approx(0.55, rel=0.02)


def test_pressure_drop_far_above_the_meter_is_named_a_narrowed_bore():
    row = reading(0.0)
    answer = judge(replace(row, water_pressure_drop_pa=2.0 * row.water_pressure_drop_pa))
    text = next(warning.text for warning in answer.warnings if warning.code == "flow_sources_disagree")
    assert "narrowed bore" in text


def test_pressure_drop_far_below_the_meter_is_named_a_wrong_curve():
    row = reading(0.0)
    answer = judge(replace(row, water_pressure_drop_pa=0.4 * row.water_pressure_drop_pa))
    assert any("wrong curve" in warning.text for warning in answer.warnings)


def test_heat_that_contradicts_the_meter_widens_the_flow():
    row = reading(0.0)
    wrong = judge(replace(row, compressor_power_w=1.6 * row.compressor_power_w))
    right = judge(row)
    assert "flow_sources_disagree" in codes(wrong)

    def width(answer):
        return answer.water_flow_kg_per_s.high - answer.water_flow_kg_per_s.low

    assert width(wrong) > 1.5 * width(right)


@pytest.mark.parametrize("truth", [0.0, 2 * LIMIT, 4 * LIMIT])
def test_the_curve_alone_is_corrected_for_the_bore_that_the_deposit_narrows(truth):
    row = replace(reading(truth), water_flow_kg_per_s=None, compressor_power_w=None)
    answer = judge(row)
    assert answer.more["flow_sources_used"] == ["pressure_drop"]
    span = answer.fouling_resistance_m2k_per_w
    assert span.low < truth < span.high


def test_the_refrigerant_side_is_refused_below_three_kelvin_of_superheat():
    answer = judge(reading(0.0, superheat_k=2.0))
    assert "refrigerant_heat" not in answer.more["flow_by_source_kg_per_s"]
    assert answer.more["refrigerant_side_heat_w"] is None


def test_volts_amps_and_power_factor_stand_in_for_a_power_meter():
    row = reading(0.0)
    amps = row.compressor_power_w / (3**0.5 * 400 * 0.85)
    electric = replace(row, compressor_power_w=None, amps_a=amps, volts_v=400.0, phases=3, power_factor=0.85)
    told = judge(electric).more["refrigerant_side_heat_w"]
    assert told == pytest.approx(judge(row).more["refrigerant_side_heat_w"], rel=1e-9)


def test_two_that_agree_are_averaged_by_their_precision():
    # weights 1/0.01 and 1/0.04: 0.8 and 0.2
    both = combine([source("meter", 0.0, 0.1), source("refrigerant_heat", 0.1, 0.2)], None, maybe_scaled=True)
    assert both.ln_mass_flow == pytest.approx(0.02)
    assert both.warnings == ()
    assert combine([], None, maybe_scaled=True) is None


def test_leaving_one_out_names_the_suspect():
    sources = [
        source("meter", 0.30, 0.03),
        source("pressure_drop", 0.0, 0.06),
        source("refrigerant_heat", 0.02, 0.05),
    ]
    said = {one.code: one.text for one in combine(sources, None, maybe_scaled=False).warnings}
    assert said["flow_source_suspect"].startswith("without the flow meter the others agree")
    agreeing = [replace(sources[0], ln_mass_flow=0.01), *sources[1:]]
    assert combine(agreeing, None, maybe_scaled=False).warnings == ()


VALVE = replace(FACTS, balancing_valve_kv_m3_per_h=4.0)


def valve_drop(flow_kg_per_s, kv=4.0, density=995.6):
    """Pressure drop [Pa] over the valve by the definition of Kv: 1 bar at Kv m3/h of water (IEC 60534)."""
    hourly = flow_kg_per_s / density * 3600
    return 1e5 * (hourly / kv) ** 2 * density / 1000


def test_a_balancing_valves_curve_tells_the_flow():
    row = replace(
        reading(0.0),
        water_flow_kg_per_s=None,
        water_pressure_drop_pa=None,
        compressor_power_w=None,
        balancing_valve_pressure_drop_pa=valve_drop(0.55),
    )
    answer = judge(row, facts=VALVE)
    assert answer.more["flow_sources_used"] == ["balancing_valve"]
    assert answer.water_flow_kg_per_s.value == pytest.approx(0.55, rel=0.01)
    # 5 % of the curve and 0.5 * (2 % and 1 % rectangular) of the gauge: 5.04 % as one standard deviation
    width = answer.water_flow_kg_per_s.high - answer.water_flow_kg_per_s.low
    assert width == pytest.approx(2 * 1.96 * 0.0504 * 0.55, rel=0.06)


def test_a_valve_is_trusted_on_a_scaled_surface_where_the_coils_own_drop_is_not():
    row = replace(
        reading(4 * LIMIT), water_flow_kg_per_s=None, balancing_valve_pressure_drop_pa=valve_drop(0.55)
    )
    answer = judge(row, facts=VALVE)
    assert "balancing_valve" in answer.more["flow_sources_used"]
    assert "pressure_drop" not in answer.more["flow_sources_used"]


def test_a_valve_that_stands_elsewhere_is_named():
    row = replace(reading(0.0), balancing_valve_pressure_drop_pa=4 * valve_drop(0.55))
    texts = [warning.text for warning in judge(row, facts=VALVE).warnings]
    assert any("another position than on record" in text and "not moved" in text for text in texts)


@pytest.mark.parametrize(
    ("drop", "heat", "words"),
    [
        (0.35, -0.2, "antifreeze stronger"),
        (-0.35, 0.2, "antifreeze weaker"),
        (0.3, 0.3, "the flow meter: that is the one to look at first"),
    ],
)
def test_the_order_of_three_sources_names_the_likely_mistake(drop, heat, words):
    sources = [
        source("meter", 0.0, 0.02),
        source("pressure_drop", drop, 0.06),
        source("refrigerant_heat", heat, 0.05),
    ]
    said = {one.code: one.text for one in combine(sources, None, maybe_scaled=True).warnings}
    assert words in said["flow_sources_pattern"]


def test_one_gauge_behind_two_pressure_drops_is_named():
    sources = [
        source("meter", 0.0, 0.02),
        source("balancing_valve", 0.3, 0.05),
        source("pressure_drop", 0.3, 0.06),
    ]
    said = {one.code: one.text for one in combine(sources, None, maybe_scaled=True).warnings}
    assert "one gauge that reads high" in said["flow_sources_pattern"]


@pytest.mark.parametrize("name", ["hot_gas_reheat", "desuperheater_coil"])
def test_a_coil_that_takes_hot_gas_is_asked_about_and_no_verdict_stands_on_it(name):
    facts = replace(FACTS, **{name: True})
    off = judge(reading(4 * LIMIT), facts=facts)
    assert name in codes(off) and off.verdict == "fouled"
    row = reading(4 * LIMIT)
    on = judge(replace(row, compressor_power_w=1.6 * row.compressor_power_w), facts=facts)
    assert "hot_gas_taken" in codes(on)
    assert on.verdict == "undecided"


def test_with_vapour_injection_the_compressors_states_tell_no_flow():
    """Common practice: more leaves such a compressor than entered it."""
    row = reading(2 * LIMIT)
    without, with_it = (judge(row, facts=replace(FACTS, vapour_injection=one)) for one in (False, True))
    by_source = "flow_by_source_kg_per_s"
    assert "refrigerant_heat" in without.more[by_source] and "refrigerant_heat" not in with_it.more[by_source]
    assert "vapour_injection" in codes(with_it) and with_it.fouling_resistance_m2k_per_w is not None

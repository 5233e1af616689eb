"""Water flow from every source, compared before it is combined."""

from dataclasses import replace

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.flow_sources import FlowPart, FlowSource, combine
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

"""The limit by consequence against hand calculation and rules of the trade."""

from dataclasses import replace

import numpy as np
import pytest

from diagnostics.engine.consequence import first_reached, limit_by_consequence
from diagnostics.engine.records import ExchangerFacts
from diagnostics.engine.virtual_unit import Conditions, Faults, rated_unit, solve
from tests.published.sources import published

FACTS = ExchangerFacts(
    "HP-1",
    "R410A",
    "coaxial",
    area_m2=1.0,
    capacity_w=10e3,
    design_flow_m3_per_s=5.5e-4,
    water_source="cooling_tower",
)


@published(first_reached, source="numpy.interp, straight-line interpolation")
def test_a_threshold_is_reached_where_a_straight_line_says():
    scales, values = np.array([0.0, 1e-4, 3e-4, 7e-4]), np.array([20.0, 21.0, 24.0, 31.0])
    for threshold in (20.5, 22.0, 30.0):
        expected = np.interp(threshold, values, scales)
        assert first_reached(scales, values, threshold) == pytest.approx(expected)
        assert first_reached(scales, -values, -threshold) == pytest.approx(expected)
    assert np.isnan(first_reached(scales, values, 32.0))


@published(
    limit_by_consequence,
    source="hand calculation: condensing rises by heat flux times scale, power by 2.2 to 3.2 % a "
    "kelvin at one displacement (cycles computed with CoolProp)",
)
def test_ten_per_cent_of_power_is_reached_where_heat_flux_and_the_cycle_say():
    found = limit_by_consequence(FACTS, "cooling")
    state = solve(rated_unit(FACTS), Conditions("cooling", 305.65))
    flux = state.heat_w / 1.0
    low, high = (0.10 / share / flux for share in (0.032, 0.022))
    assert found.set_by == "power"
    assert low <= found.value_m2k_per_w <= high


def test_at_the_limit_the_unit_itself_takes_a_tenth_more_power():
    found = limit_by_consequence(FACTS, "cooling")
    clean, scaled = (
        solve(rated_unit(FACTS), Conditions("cooling", 305.65), Faults(scale_m2k_per_w=scale))
        for scale in (0.0, found.value_m2k_per_w)
    )
    assert scaled.power_w / clean.power_w == pytest.approx(1.10, abs=0.002)


def test_a_cut_out_just_above_the_clean_head_sets_the_limit_at_half_the_margin():
    unit = rated_unit(FACTS)
    clean = solve(unit, Conditions("cooling", 305.65))
    near = replace(FACTS, high_head_cutout_pa=clean.head_pa + 2e5)
    found = limit_by_consequence(near, "cooling")
    assert (found.set_by, found.mode) == ("high_head", "cooling")
    assert "high-head cut-out" in found.source
    scaled = solve(unit, Conditions("cooling", 305.65), Faults(scale_m2k_per_w=found.value_m2k_per_w))
    assert scaled.head_pa == pytest.approx(clean.head_pa + 1e5, rel=1e-3)


def test_a_hotter_loop_leaves_less_margin_to_the_cut_out():
    facts = replace(FACTS, high_head_cutout_pa=3.4e6)
    scales = []
    for high in (307.15, 309.15, 311.15):
        found = limit_by_consequence(replace(facts, loop_low_k=288.15, loop_high_k=high), "cooling")
        told = {(mode, name): scale for mode, name, scale in found.reached_m2k_per_w}
        scales.append(told["cooling", "high_head"])
    assert len(scales) == 3
    assert scales[0] > scales[1] > scales[2]


def test_a_chillers_two_exchangers_have_limits_of_their_own():
    chiller = ExchangerFacts("CH-1", "R134a", "shell_and_tube", capacity_w=400e3)
    condenser, evaporator = (limit_by_consequence(chiller, mode) for mode in ("cooling", "heating"))
    assert (condenser.mode, evaporator.mode) == ("cooling", "heating")
    assert condenser.value_m2k_per_w != evaporator.value_m2k_per_w


def test_without_capacity_and_flow_there_is_no_unit_to_ask():
    assert limit_by_consequence(ExchangerFacts("HP-1", "R410A", "coaxial"), "cooling") is None

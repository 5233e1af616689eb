"""Rig and temperature cap: refusals and directions."""

from dataclasses import replace

import pytest

from diagnostics.engine.descaling import rig as r
from diagnostics.engine.descaling.temperature_cap import temperature_cap
from diagnostics.engine.errors import OutOfRange, UnknownName

PSI = 6894.757
CIRCUIT = r.Circuit(
    (r.Hose(10.0, 0.019),), ("entrance", "exit"), 5e-4, 30e3, return_height_m=1.0, highest_point_m=2.0
)


@pytest.mark.parametrize(
    "pressures", [(None, 450 * PSI), (450 * PSI, None), (0.0, 450 * PSI), (float("nan"), 1e6)]
)
def test_without_both_pressures_there_is_no_cap_and_it_says_which_is_missing(pressures):
    with pytest.raises(OutOfRange, match=r"low side rating|relief setting"):
        temperature_cap("R410A", *pressures, 333.15)


def test_the_label_rules_where_the_refrigerant_bears_more():
    cap = temperature_cap("R410A", 800 * PSI, 800 * PSI, 318.15)
    assert (cap.temperature_k, cap.because) == (318.15, "label")


def test_a_blends_model_error_and_a_high_site_make_the_cap_no_warmer():
    at_sea = temperature_cap("R454B", 300 * PSI, 600 * PSI, 373.15)
    up_high = temperature_cap("R454B", 300 * PSI, 600 * PSI, 373.15, barometric_pa=80_000.0)
    assert up_high.temperature_k < at_sea.temperature_k


def test_a_rating_beyond_the_critical_point_leaves_the_label():
    assert temperature_cap("R32", 2000 * PSI, 2000 * PSI, 333.15).because == "label"


def test_the_more_lift_hose_and_fittings_the_less_flow():
    pump = r.SMALL_TRANSFER_PUMP
    flow = r.settles_at(pump, CIRCUIT).flow_m3_per_s
    for harder in (
        replace(CIRCUIT, return_height_m=4.0),
        replace(CIRCUIT, hoses=(r.Hose(40.0, 0.019),)),
        replace(CIRCUIT, fittings=(*CIRCUIT.fittings, *["elbow_90"] * 8)),
        replace(CIRCUIT, filter_pressure_drop_pa=20e3),
        replace(CIRCUIT, solution_ratio=1.2),
    ):
        assert r.settles_at(pump, harder).flow_m3_per_s < flow


def test_a_point_too_high_to_fill_is_refused_and_no_pump_serves_a_tower():
    with pytest.raises(ValueError, match="to fill a point"):
        r.settles_at(r.SMALL_TRANSFER_PUMP, replace(CIRCUIT, highest_point_m=13.0))
    assert r.pump_word(replace(CIRCUIT, highest_point_m=40.0), 1e-4) == "neither"


def test_unknown_fittings_and_kinds_are_refused_with_the_known_ones():
    with pytest.raises(UnknownName, match="elbow_90"):
        r.circuit_pressure_pa(replace(CIRCUIT, fittings=("twist",)), 1e-4)
    with pytest.raises(UnknownName, match="coaxial"):
        r.flow_wanted_m3_per_s("spiral", 1e-4)


def test_at_rest_only_the_lift_counts():
    assert r.circuit_pressure_pa(replace(CIRCUIT, return_height_m=0.0), 0.0) == 0.0

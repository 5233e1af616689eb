"""After the acid: neutralising, discharge, rinsing; what they refuse and how they move."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from diagnostics.engine.descaling import discharge, gas, rinsing
from diagnostics.engine.descaling import neutralising as n
from diagnostics.engine.descaling.acids import ACIDS
from diagnostics.engine.errors import OutOfRange, UnknownName


@given(
    st.sampled_from(sorted(ACIDS)),
    st.floats(0.05, 2),
    st.floats(0, 0.4),
    st.floats(5.0, 8.0),
)
def test_neutralising_to_a_ph_and_reading_the_ph_back_agree(name, acid, used, ph):
    bath = n.Bath(name, acid, used * acid * ACIDS[name].protons / 2)
    sodium = n.sodium_to_reach(bath, ph)
    assert n.bath_ph(bath, sodium) == pytest.approx(ph, abs=1e-3)


@given(st.sampled_from(sorted(ACIDS)), st.floats(2.0, 7.5))
def test_the_higher_the_ph_wanted_the_more_neutraliser(name, ph):
    bath = n.Bath(name, 0.5, 0.1)
    assert n.sodium_to_reach(bath, ph + 0.5) > n.sodium_to_reach(bath, ph)


@given(st.sampled_from(["hydrochloric", "sulfamic", "glycolic", "formic"]), st.floats(0, 0.45))
def test_what_scale_has_used_up_needs_no_neutralising(name, used):
    fresh, spent = n.Bath(name, 1.0), n.Bath(name, 1.0, used)
    assert n.sodium_to_reach(fresh, 5.5) - n.sodium_to_reach(spent, 5.5) == pytest.approx(2 * used)


def test_a_bath_that_stands_above_the_target_already_needs_none():
    assert n.agent_to_reach_kg(n.Bath("hydrochloric", 0.1, 0.05), 0.05, 3.0, "sodium_carbonate") == 0


def test_dicalcium_phosphate_coming_down_asks_for_more():
    assert (
        n.sodium_to_reach(n.Bath("phosphoric", 0.5, 0.2), 5.5)
        > n.sodium_to_reach(n.Bath("phosphoric", 0.5), 5.5) - 2 * 0.2
    )


@pytest.mark.parametrize("low", [4.9, 2.0, 0.0])
def test_no_target_is_set_for_a_sewer_limit_below_five(low):
    with pytest.raises(OutOfRange, match="lower pH limit"):
        n.target_ph(low, 9.0)


def test_narrow_limits_are_met_in_the_middle():
    assert n.target_ph(7.0, 7.6) == pytest.approx(7.3)


def test_caustic_is_not_for_the_surface_and_an_unknown_neutraliser_is_refused():
    with pytest.raises(UnknownName, match="sodium_carbonate"):
        n.surface_agent_kg(0.03, "sodium_hydroxide")
    with pytest.raises(UnknownName, match="sodium_bicarbonate"):
        n.agent("chalk")


@pytest.mark.parametrize("route", discharge.NEVER)
@pytest.mark.parametrize("ph", [5.0, 7.0, 9.0])
def test_nothing_goes_to_storm_drain_ground_well_or_septic_tank(route, ph):
    limits = discharge.SiteLimits(works_designed_for_acid=True)
    assert discharge.reasons_against(route, ph, 293.15, limits)


def test_works_designed_for_acid_take_what_others_do_not_but_never_hazardous_waste():
    limits = discharge.SiteLimits(lowest_ph=2.5, works_designed_for_acid=True)
    assert not discharge.reasons_against("sewer", 3.0, 293.15, limits)
    assert discharge.reasons_against("sewer", 2.0, 293.15, limits)


def test_a_limited_metal_that_nobody_measured_holds_the_discharge():
    limits = discharge.SiteLimits(concentrations_mg_per_l={"copper": 4.57})
    assert "not been measured" in discharge.reasons_against("sewer", 7.0, 293.15, limits)[0]
    assert not discharge.reasons_against("sewer", 7.0, 293.15, limits, {"copper": 3.0})
    assert "above 4.57" in discharge.reasons_against("sewer", 7.0, 293.15, limits, {"copper": 80.0})[0]


@pytest.mark.parametrize("missing", [float("nan")])
def test_a_ph_or_temperature_not_read_never_passes(missing):
    assert discharge.reasons_against("sewer", missing, 293.15, discharge.SiteLimits())
    assert discharge.reasons_against("sewer", 7.0, missing, discharge.SiteLimits())
    assert rinsing.rinse_lacks(missing, 7.0, missing, 0.05, missing) == ("time", "ph", "conductivity")


def test_an_unknown_route_is_refused():
    with pytest.raises(UnknownName, match="sewer"):
        discharge.reasons_against("the river", 7.0, 293.15, discharge.SiteLimits())


@given(st.floats(1e-6, 1), st.floats(0.0, 1), st.floats(0.01, 5))
@example(1e-6, 1.0, 0.01171875)
def test_the_rinses_needed_are_enough_and_one_fewer_is_not(share, held, rinse):
    count = rinsing.rinses_needed(share, held, rinse)
    assert rinsing.share_after_rinses(count, held, rinse) <= share * (1 + 1e-6)
    if count > 1:
        assert rinsing.share_after_rinses(count - 1, held, rinse) > share * (1 - 1e-6)


@given(st.floats(0, 100), st.floats(1, 1000))
def test_the_share_of_a_room_is_a_share(volume, room):
    assert 0 <= gas.share_of_room(volume, room) < 1

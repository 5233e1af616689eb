"""Scaling indices: how they move, and what they refuse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnostics.engine import speciation as s
from diagnostics.engine import water_chemistry as w
from diagnostics.engine.errors import OutOfRange

LIME = w.WaterAnalysis(8.0, 600.0, 250.0, 180.0, 60.0, 80.0)


def test_the_hotter_the_skin_the_more_scale_every_index_promises():
    cold, hot = w.scaling_indices(LIME, 293.15), w.scaling_indices(LIME, 323.15)
    assert hot.langelier_by_formula > cold.langelier_by_formula
    assert hot.langelier_by_equilibria > cold.langelier_by_equilibria
    assert hot.ryznar < cold.ryznar and hot.puckorius < cold.puckorius
    assert hot.larson_skold == cold.larson_skold


@given(st.floats(50, 4000), st.floats(5, 1000), st.floats(20, 600), st.floats(278, 333))
def test_the_two_ways_to_the_saturation_ph_stay_within_a_third_of_a_unit(solids, calcium, alkalinity, kelvin):
    formula = w.saturation_ph_by_formula(solids, calcium, alkalinity, kelvin)
    equilibria = w.saturation_ph_by_equilibria(solids, calcium, alkalinity, kelvin)
    assert abs(formula - equilibria) < 0.36


def test_arrays_give_what_their_elements_give():
    kelvins = np.array([283.15, 298.15, 323.15])
    together = w.saturation_ph_by_equilibria(500.0, 250.0, 200.0, kelvins)
    assert together == pytest.approx([w.saturation_ph_by_equilibria(500.0, 250.0, 200.0, t) for t in kelvins])


def test_without_chloride_or_sulphate_there_is_no_larson_skold():
    assert w.scaling_indices(w.WaterAnalysis(8.0, 600, 250, 180), 310.0).larson_skold is None


@pytest.mark.parametrize("wrong", [0.0, -5.0, float("nan")])
def test_a_hardness_that_cannot_be_is_refused_by_name(wrong):
    with pytest.raises(OutOfRange, match="calcium hardness"):
        w.saturation_ph_by_formula(500, wrong, 200, 298.15)


def test_alkalinity_that_is_all_hydroxide_leaves_no_bicarbonate_and_says_so():
    with pytest.raises(OutOfRange, match="bicarbonate"):
        w.saturation_ph_by_equilibria(500, 250, 5, 298.15, ph=10.5)


@given(st.floats(0, 14))
def test_protons_given_up_lie_between_none_and_all_and_rise_with_ph(ph):
    citric = (3.13, 4.76, 6.40)
    assert 0 <= s.protons_given_up(ph, citric) <= 3
    assert s.protons_given_up(ph + 0.5, citric) > s.protons_given_up(ph, citric)

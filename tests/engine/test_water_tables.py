"""Water and antifreeze: limits, small fractions, refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnostics.engine.errors import OutOfRange, UnknownName
from diagnostics.engine.records import ANTIFREEZES as RECORDED
from diagnostics.engine.waters import ANTIFREEZES, water

MIXED = [name for name in ANTIFREEZES if name != "none"]
PROPERTIES = [
    "density_kg_per_m3",
    "specific_heat_j_per_kg_k",
    "viscosity_pa_s",
    "conductivity_w_per_m_k",
    "prandtl",
]


def test_the_records_and_the_waters_know_the_same_antifreezes():
    assert tuple(ANTIFREEZES) == RECORDED


@pytest.mark.parametrize("antifreeze", MIXED)
@pytest.mark.parametrize("quantity", PROPERTIES)
def test_no_antifreeze_is_plain_water(antifreeze, quantity):
    found = getattr(water(antifreeze, 0.0), quantity)(290.0)
    assert found == pytest.approx(getattr(water(), quantity)(290.0), rel=1e-12)


@pytest.mark.parametrize("antifreeze", MIXED)
@pytest.mark.parametrize("quantity", PROPERTIES)
def test_small_fractions_lie_between_water_and_a_tenth(antifreeze, quantity):
    ends = [getattr(water(antifreeze, fraction), quantity)(290.0) for fraction in (0.0, 0.1)]
    between = getattr(water(antifreeze, 0.05), quantity)(290.0)
    assert min(ends) <= between <= max(ends)


@pytest.mark.parametrize("antifreeze", MIXED)
def test_there_is_no_jump_where_the_fitted_range_begins(antifreeze):
    below, above = water(antifreeze, 0.0999), water(antifreeze, 0.1001)
    for quantity in PROPERTIES:
        assert getattr(below, quantity)(290.0) == pytest.approx(getattr(above, quantity)(290.0), rel=3e-3)
    assert below.freezing_point_k == pytest.approx(above.freezing_point_k, abs=0.05)


@pytest.mark.parametrize("antifreeze", MIXED)
def test_more_antifreeze_freezes_later(antifreeze):
    points = [water(antifreeze, fraction).freezing_point_k for fraction in np.linspace(0.0, 0.5, 11)]
    assert (np.diff(points) < 0).all()


@given(kelvin=st.floats(280.0, 312.0), antifreeze=st.sampled_from(MIXED), fraction=st.floats(0.0, 0.6))
def test_values_are_those_of_a_liquid(kelvin, antifreeze, fraction):
    mixture = water(antifreeze, fraction)
    assert 850 < mixture.density_kg_per_m3(kelvin) < 1120
    assert 2800 < mixture.specific_heat_j_per_kg_k(kelvin) < 4400
    assert 3e-4 < mixture.viscosity_pa_s(kelvin) < 3e-2
    assert 0.25 < mixture.conductivity_w_per_m_k(kelvin) < 0.65


def test_a_vector_gives_what_its_scalars_give():
    mixture, kelvin = water("ethylene_glycol", 0.25), np.array([270.0, 285.0, 300.0])
    for quantity in PROPERTIES:
        one_by_one = [getattr(mixture, quantity)(float(each)) for each in kelvin]
        assert all(isinstance(value, float) for value in one_by_one)
        assert getattr(mixture, quantity)(kelvin) == pytest.approx(one_by_one, rel=1e-12)


def test_water_at_its_freezing_point_is_not_refused():
    assert water().density_kg_per_m3(273.15) == pytest.approx(999.8, abs=0.1)


def test_water_that_would_freeze_is_refused_or_nan():
    with pytest.raises(OutOfRange, match=r"water temperature 270 K is outside the range 273\.15"):
        water().density_kg_per_m3(270.0)
    assert np.isnan(water(errors="nan").density_kg_per_m3(270.0))
    assert water("propylene_glycol", 0.3).density_kg_per_m3(270.0) > 1000


def test_alcohols_are_continued_smoothly_above_their_published_range():
    mixture = water("methanol", 0.2)
    assert mixture.published_to_k == pytest.approx(313.15)
    kelvin = np.linspace(305.0, 330.0, 200)
    for quantity in PROPERTIES[:4]:
        steps = np.diff(getattr(mixture, quantity)(kelvin))
        assert np.abs(np.diff(steps)).max() < 0.1 * np.abs(steps).max()


@pytest.mark.parametrize(
    ("antifreeze", "fraction", "words"),
    [
        ("propylene_glycol", 0.7, "outside the range 0 to 0.6 by volume"),
        ("methanol", -0.1, "outside the range 0 to 0.6 by mass"),
        ("ethanol", None, "without a fraction; expected 0 to 0.6 by mass"),
        ("ethylene_glycol", float("nan"), "outside the range"),
        ("none", 0.3, "without an antifreeze"),
    ],
)
def test_impossible_fractions_are_refused_in_words(antifreeze, fraction, words):
    with pytest.raises(ValueError, match=words):
        water(antifreeze, fraction)


def test_an_unknown_antifreeze_is_answered_with_those_known():
    with pytest.raises(UnknownName, match=r"salt.*propylene_glycol.*ethanol"):
        water("salt", 0.2)

"""Fouling resistance, cleanliness, limits and the verdict against tables and arithmetic shown."""

import numpy as np
import pytest
from scipy.stats import norm

from diagnostics.engine import fouling as f
from tests.published.sources import published

BOTT = "Bott, Fouling of Heat Exchangers (1995), definitions; hand calculation: 1/2400 - 1/3000 = 8.3333e-5"


@published(f.fouling_resistance, f.cleanliness, f.over_surface, source=BOTT)
def test_a_fifth_of_the_conductance_lost():
    assert f.fouling_resistance(2400.0, 3000.0) == pytest.approx(8.3333e-5, rel=1e-4)
    assert f.cleanliness(2400.0, 3000.0) == pytest.approx(0.8)
    assert f.over_surface(2400.0, 3000.0) == pytest.approx(0.25)


@published(
    f.resistance_from_cleanliness,
    f.over_surface,
    source="Kakac & Liu, Heat Exchangers, ch. 5 (relations); hand calculation (1 - CF)/(CF 3000)",
)
@pytest.mark.parametrize(
    ("cleanliness", "resistance", "surface"),
    [(0.95, 1.7544e-5, 0.05263), (0.90, 3.7037e-5, 0.11111), (0.85, 5.8824e-5, 0.17647)],
)
def test_cleanliness_resistance_and_surface_tell_one_story(cleanliness, resistance, surface):
    assert f.resistance_from_cleanliness(cleanliness, 3000.0) == pytest.approx(resistance, rel=1e-4)
    assert f.over_surface(cleanliness * 3000.0, 3000.0) == pytest.approx(surface, abs=1e-5)


def test_a_surface_better_than_clean_stays_negative():
    assert f.fouling_resistance(3100.0, 3000.0) < 0


@published(
    f.imperial_to_si,
    f.allowance,
    source="UFGS-15620A prints 0.0001, 0.00025, 0.0005 h ft2 F/Btu as 0.000018, 0.000044, 0.000088 m2 K/W",
)
@pytest.mark.parametrize(("imperial", "si"), [(0.0001, 0.000018), (0.00025, 0.000044), (0.0005, 0.000088)])
def test_american_fouling_units(imperial, si):
    assert f.imperial_to_si(imperial) == pytest.approx(si, abs=5e-7)


@published(f.imperial_to_si, source="NIST SP 811 (from memory): 1 h ft2 F/Btu = 0.176110 m2 K/W")
def test_the_exact_factor():
    foot, btu = 0.3048, 1055.05585262
    assert f.imperial_to_si(1.0) == pytest.approx(3600 * foot**2 / (1.8 * btu), rel=1e-8)
    assert f.imperial_to_si(1.0) == pytest.approx(0.176110, abs=1e-6)


@published(f.allowance, source="TEMA RGP-T-2.4, hot side to 240 F, water to 125 F, over 3 ft/s (from memory)")
@pytest.mark.parametrize(
    ("source", "imperial"),
    [
        ("cooling_tower", 0.001),
        ("closed_loop", 0.001),
        ("well", 0.001),
        ("city_water", 0.001),
        ("pond", 0.002),
    ],
)
def test_allowances_by_water_source(source, imperial):
    assert f.allowance(source).value_m2k_per_w == pytest.approx(imperial * 0.176110, rel=1e-5)
    assert "TEMA" in f.allowance(source).source


def test_an_unknown_water_source_gets_a_stated_default_and_a_wrong_word_an_error():
    assert "not known" in f.allowance(None).source
    with pytest.raises(ValueError, match="cooling_tower"):
        f.allowance("the river")


@published(f.deposit_thickness, source="flat layer, x = k Rf: 2.2 W/(mK) and 0.001 h ft2 F/Btu give 0.387 mm")
def test_thickness_on_a_flat_surface():
    assert f.deposit_thickness(f.imperial_to_si(0.00025), 2.2) == pytest.approx(0.097e-3, abs=5e-7)
    assert f.deposit_thickness(f.imperial_to_si(0.001), 2.2) == pytest.approx(0.387e-3, abs=5e-7)


@published(
    f.deposit_thickness,
    source="Incropera & DeWitt, cylinder wall, Rf = Di/2 ln(Di/(Di - 2x))/k; 1 mm, 2.2, 16 mm: 4.8557e-4",
)
def test_thickness_in_a_tube_exceeds_what_a_flat_layer_needs():
    assert f.deposit_thickness(4.8557e-4, 2.2, 0.016) == pytest.approx(1e-3, rel=1e-4)
    assert f.deposit_thickness(1e-3 / 2.2, 2.2, 0.016) < 1e-3


@published(
    f.probability_over, source="JCGM 101:2008, 7.5: share of the draws; normal distribution, one sigma 0.1587"
)
def test_probability_beyond_a_limit():
    draws = np.random.default_rng(3).standard_normal(200_000)
    assert f.probability_over(draws, 1.0) == pytest.approx(0.1587, abs=0.003)


@published(
    f.verdict, source="the rule of this engine as stated, after JCGM 106:2012, 8.3 (guarded decisions)"
)
@pytest.mark.parametrize(
    ("probability", "low", "high", "expected"),
    [
        (0.90, 1.5, 3.0, "fouled"),
        (0.899, 1.5, 3.0, "undecided"),
        (0.10, -0.5, 1.2, "clean"),
        (0.101, -0.5, 1.2, "undecided"),
        (0.02, -2.0, 0.9, "undecided"),  # half-width 1.45 exceeds the limit: never clean
        (0.97, 0.8, 4.0, "undecided"),  # half-width 1.6: fouled only if all lies beyond
        (0.99, 1.1, 4.0, "fouled"),
    ],
)
def test_the_verdict_has_to_be_earned(probability, low, high, expected):
    assert f.verdict(probability, low, high, 1.0) == expected


@published(
    f.smallest_called_fouled, source="scipy.stats.norm quantiles, after Currie, Anal. Chem. 40 (1968) 586"
)
@pytest.mark.parametrize(("spread", "needed"), [(0.3, 0.9), (0.6, 0.975)])
def test_the_smallest_resistance_called_nine_times_in_ten(spread, needed):
    smallest = f.smallest_called_fouled(1.0, spread)
    assert smallest == pytest.approx(1.0 + spread * (norm.ppf(needed) + norm.ppf(0.9)), rel=1e-4)
    seen = np.random.default_rng(4).normal(smallest, spread, 4000)
    called = [
        f.verdict(norm.sf(1.0, value, spread), value - 1.96 * spread, value + 1.96 * spread, 1.0) == "fouled"
        for value in seen
    ]
    assert np.mean(called) == pytest.approx(0.9, abs=0.02)

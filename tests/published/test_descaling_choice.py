"""Expected deposit, time and noise of a descale against hand calculation, published hours and standards."""

import math

import pytest

from diagnostics.engine.descaling import dissolving as d
from diagnostics.engine.descaling import expected as e
from diagnostics.engine.descaling import noise as n
from diagnostics.engine.pumps import curve_through
from tests.published.sources import published


@published(
    e.expected_deposit,
    source="Bayes' rule by hand: well 0.50 0.02 0.02 0.30 0.06 0.10, a fizzing flake 20 0.1 0.1 0.3",
)
def test_a_fizzing_flake_from_a_well_is_carbonate_by_bayes_rule():
    # 10, 0.002, 0.002, 0.09, 0.06, 0.10 together 10.254
    found = e.expected_deposit("well", ["flake_fizzes"])
    assert found["carbonate"] == pytest.approx(10 / 10.254, rel=1e-9)
    assert found["iron"] == pytest.approx(0.09 / 10.254, rel=1e-9)
    assert sum(found.values()) == pytest.approx(1.0)


@published(
    e.signs_of_water,
    source="UFC 3-240-13FN (2005), appendix B, examples B-1 and B-2: index +1.43 deposits carbonate, as read",
)
@pytest.mark.parametrize(
    ("index", "sign"), [(1.43, ("scaling_water",)), (-0.7, ("dissolving_water",)), (0.2, ())]
)
def test_the_sign_of_the_index_tells_whether_water_deposits(index, sign):
    assert e.signs_of_water(langelier_at_skin=index)[0] == sign


@published(
    e.share_by_acid,
    source="UFC 3-240-13FN (2005), chapter 9: acid for carbonate and iron; silica and sulphate not, as read",
)
def test_acid_is_for_carbonate_and_iron():
    assert e.share_by_acid(dict.fromkeys(e.KINDS, 1 / 6)) == pytest.approx(2 / 6)


@published(
    d.sherwood_in_tube,
    source="Linton & Sherwood (1950): 0.023 Re^0.83 Sc^(1/3), from memory; by logarithms at Re 1e4, Sc 1000",
)
def test_transfer_in_a_tube_at_re_10000():
    # log10: -1.63827 + 0.83 * 4 + 1 = 2.68173
    assert d.sherwood_in_tube(1e4, 1000.0) == pytest.approx(10**2.68173, rel=1e-4)


@published(
    d.least_time_s,
    source="hand calculation of the flux with tabulated water at 25 degC (rho 997.05 kg/m3, mu 0.890 mPa s)",
)
def test_the_shortest_time_by_hand():
    # Re = 1 * .016 * 997.05 / .89e-3 = 17924; Sc = .89e-3 / 997.05 / 3e-9 = 297.5
    sherwood = 0.023 * 17924**0.83 * 297.5 ** (1 / 3)  # 521
    flux = sherwood * 3e-9 / 0.016 * (0.10 * 997.05 / 36.461e-3)  # mol/(m2 s) of protons
    by_hand = 0.5e-3 * 2000 / 0.100087 * 2 / flux
    assert d.least_time_s(0.5e-3, 2000.0, "hydrochloric", 0.10, 1.0, 0.016) == pytest.approx(
        by_hand, rel=5e-3
    )


@published(
    d.warmth_factor, source="Arrhenius by hand: 30 kJ/mol, 25 to 35 degC: exp(3608.3 (1/298.15 - 1/308.15))"
)
def test_ten_kelvin_warmer_is_half_as_fast_again():
    assert d.warmth_factor(308.15, 298.15) == pytest.approx(math.exp(3608.3 * 1.08845e-4), rel=1e-4)


@published(
    d.circulating_time_s,
    source="UFC 3-240-13FN (2005), 9-2.5.3: 1 to 2 h; plate makers: 4 to 8 h at 120 to 140 degF; as read",
)
@pytest.mark.parametrize(
    ("acids", "kelvin", "low", "high"),
    [(["hydrochloric"], 298.15, 1, 2), (["phosphoric"], 325.0, 4, 8)],
)
def test_one_batch_takes_the_published_hours(acids, kelvin, low, high):
    found = d.circulating_time_s(acids, kelvin, (1, 1, 1), hold_s=0.0)
    assert low <= found.value / 3600 <= high
    assert found.high / 3600 == pytest.approx(high)
    assert found.low / 3600 <= low


@published(n.sound_level_db, source="ISO 9613-2:1996, 7.1: 6 dB less for each doubling (20 log10 2 = 6.02)")
def test_a_doubled_distance_takes_six_decibels():
    assert n.sound_level_db(80.0, 1.0) - n.sound_level_db(80.0, 2.0) == pytest.approx(6.02, abs=0.01)


@published(
    n.together_db, source="acoustics textbooks: two equal sources are 3 dB louder than one (10 log10 2)"
)
def test_two_equal_pumps_are_three_decibels_louder():
    assert n.together_db([65.0, 65.0]) == pytest.approx(68.01, abs=0.01)
    with pytest.raises(ValueError, match="one or more"):
        n.together_db([])


@published(
    curve_through,
    source="White, Fluid Mechanics, 11.6: fit of H = 120 - 2 Q^2 form (points by hand: 100, 98, 92, 82 kPa)",
)
def test_a_printed_pump_curve_is_recovered():
    # p = 100 - 2 q^2 kPa with q in 0.1 L/s: greatest flow sqrt(50) * 0.1 L/s
    found = curve_through([(0.0, 100e3), (1e-4, 98e3), (2e-4, 92e3), (3e-4, 82e3)])
    assert found.shut_off_pressure_pa == pytest.approx(100e3)
    assert found.greatest_flow_m3_per_s == pytest.approx(math.sqrt(50) * 1e-4)
    with pytest.raises(ValueError, match="falling"):
        curve_through([(0.0, 5.0), (1e-4, 6.0)])

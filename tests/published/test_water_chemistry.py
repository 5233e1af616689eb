"""Scaling indices and carbonate equilibria against published tables, examples and constants."""

import numpy as np
import pytest

from diagnostics.engine import speciation as s
from diagnostics.engine import water_chemistry as w
from tests.published.sources import published

UFC = "UFC 3-240-13FN (25 May 2005), appendix B, examples B-1 and B-2 and tables B-2, B-7, as read"


def kelvin(fahrenheit):
    return (fahrenheit + 459.67) / 1.8


@published(w.saturation_ph_by_formula, source=UFC)
def test_the_tower_water_of_the_printed_example_is_within_what_formula_and_table_differ():
    # TDS 1000, Ca 500, Alk 100, 120 F: 9.30 + 0.20 + 1.57 - (2.30 + 2.00) = 6.77
    assert w.saturation_ph_by_formula(1000, 500, 100, kelvin(120)) == pytest.approx(6.77, abs=0.12)


@published(w.saturation_ph_by_formula, source=f"{UFC}: factor B of table B-2")
@pytest.mark.parametrize(
    ("fahrenheit", "factor"),
    [(40, 2.48), (60, 2.20), (80, 1.95), (86, 1.88), (100, 1.74), (120, 1.57), (140, 1.40), (170, 1.19)],
)
def test_the_temperature_factor_follows_the_printed_table(fahrenheit, factor):
    # A = 0 at TDS 10, C = 0 at Ca 10^0.4, D = 0 at Alk 1: pHs = 9.3 + B
    found = w.saturation_ph_by_formula(10, 10**0.4, 1, kelvin(fahrenheit)) - 9.3
    assert found == pytest.approx(factor, abs=0.12)


@published(w.langelier_index, w.ryznar_index, w.puckorius_index, source=UFC)
def test_the_three_indices_of_the_printed_example_tell_three_stories():
    assert w.langelier_index(8.2, 6.77) == pytest.approx(1.43, abs=0.005)
    assert w.ryznar_index(8.2, 6.77) == pytest.approx(5.34, abs=0.005)
    assert w.puckorius_index(6.77, 100) == pytest.approx(6.07, abs=0.01)


@published(w.equilibrium_ph, source=UFC)
def test_the_settled_ph_is_the_tables_and_not_the_misprinted_formulas():
    assert w.equilibrium_ph(100) == pytest.approx(7.47, abs=0.005)
    assert abs(1.485 * 2 + 4.54 - 7.47) > 0.03


@published(w.scaling_indices, source=f"{UFC}; both ways to pHs within the 0.25 that methods differ by")
def test_all_indices_of_one_water_come_together():
    found = w.scaling_indices(w.WaterAnalysis(8.2, 1000, 500, 100, 100, 150), kelvin(120))
    assert found.langelier_by_formula == pytest.approx(1.43, abs=0.12)
    assert found.ryznar == pytest.approx(5.34, abs=0.24)
    assert found.puckorius == pytest.approx(6.07, abs=0.24)
    assert found.langelier_by_equilibria == pytest.approx(found.langelier_by_formula, abs=0.25)
    assert found.larson_skold == pytest.approx((100 / 35.453 + 150 / 48.03) / (100 / 50.04), rel=1e-3)


@published(
    w.larson_skold_index,
    source="hand calculation in equivalents: Cl 100, SO4 150, HCO3 200 mg/L as ions: "
    "(2.8206 + 3.1229)/3.2777 = 1.8133",
)
def test_chloride_and_sulphate_over_bicarbonate():
    assert w.larson_skold_index(100, 150, 200 / 61.017 * 50.0435) == pytest.approx(1.8133, abs=5e-4)


@published(
    w.saturation_ph_by_equilibria,
    w.saturation_ph_by_formula,
    source="Standard Methods 2330 worked outside the engine (equation by hand) for TDS 500, Ca 250, Alk 200",
)
@pytest.mark.parametrize(
    ("celsius", "formula", "equilibria"),
    [(10, 7.553, 7.319), (25, 7.259, 7.097), (40, 6.979, 6.897), (50, 6.800, 6.772)],
)
def test_both_ways_to_the_saturation_ph(celsius, formula, equilibria):
    kelvins = 273.15 + celsius
    assert w.saturation_ph_by_formula(500, 250, 200, kelvins) == pytest.approx(formula, abs=2e-3)
    assert w.saturation_ph_by_equilibria(500, 250, 200, kelvins) == pytest.approx(equilibria, abs=0.01)
    assert abs(formula - equilibria) < 0.25


@published(
    s.pk_carbonic,
    s.pk_bicarbonate,
    s.pk_calcite,
    s.pk_water,
    s.carbon_dioxide_solubility_mol_per_l,
    source="Stumm & Morgan, Aquatic Chemistry, constants at 25 degC (from memory): pK1 6.35, pK2 10.33, "
    "pKs 8.48, pKw 14.00, pKH 1.47",
)
def test_constants_at_25_degrees():
    assert s.pk_carbonic(298.15) == pytest.approx(6.35, abs=0.005)
    assert s.pk_bicarbonate(298.15) == pytest.approx(10.33, abs=0.005)
    assert s.pk_calcite(298.15) == pytest.approx(8.48, abs=0.005)
    assert s.pk_water(298.15) == pytest.approx(14.00, abs=0.01)
    dissolved = s.carbon_dioxide_solubility_mol_per_l(101_325, 298.15)
    assert -np.log10(dissolved) == pytest.approx(1.47, abs=0.005)


@published(
    s.pk_bicarbonate,
    s.pk_calcite,
    source="Standard Methods 2330, table of constants by temperature (from memory): 10, 40 and 50 degC",
)
@pytest.mark.parametrize(
    ("celsius", "second", "calcite"), [(10, 10.49, 8.41), (40, 10.22, 8.58), (50, 10.17, 8.66)]
)
def test_constants_at_other_temperatures(celsius, second, calcite):
    assert s.pk_bicarbonate(273.15 + celsius) == pytest.approx(second, abs=0.006)
    assert s.pk_calcite(273.15 + celsius) == pytest.approx(calcite, abs=0.006)


@published(
    s.activity_exponent,
    source="Debye-Hueckel constant of water at 25 degC, A = 0.509, and the Davies equation (from memory): "
    "activity coefficient 0.78 at 0.1 mol/L",
)
def test_activity_of_an_ion_of_one_charge():
    assert s.activity_exponent(1e-6, 298.15) / 1e-3 == pytest.approx(0.509, abs=0.005)
    assert 10 ** -s.activity_exponent(0.1, 298.15) == pytest.approx(0.78, abs=0.01)


@published(s.protons_given_up, source="half a proton at pH = pK, whatever the acid (Henderson, 1908)")
@pytest.mark.parametrize("pka", [3.75, 3.83, 4.76])
def test_half_of_a_weak_acid_is_spent_at_its_pk(pka):
    assert s.protons_given_up(pka, (pka,)) == pytest.approx(0.5)
    assert s.protons_given_up(pka + 1, (pka,)) == pytest.approx(10 / 11)


@published(
    s.bicarbonate_charge_mol_per_l,
    source="pure water under 1 atm of carbon dioxide stands at pH 3.9 (from memory)",
)
def test_soda_water_is_as_sour_as_it_is():
    ph = 3.91
    assert s.bicarbonate_charge_mol_per_l(ph, 101_325, 298.15) == pytest.approx(10**-ph, rel=0.05)


@published(
    w.skin_temperature_k, source="Newton's law of cooling: 30 kW/m2 over 6000 W/(m2 K) is 5 K, by hand"
)
def test_the_skin_is_warmer_than_the_water_by_flux_over_film():
    assert w.skin_temperature_k(308.0, 30e3, 6000.0) == pytest.approx(313.0)

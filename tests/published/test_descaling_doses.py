"""Acids, deposits, metals and doses against stoichiometry shown, published procedures and tables."""

import pytest
from chemicals import MW, CAS_from_any

from diagnostics.engine.descaling import acids as a
from diagnostics.engine.descaling import deposit, doses, metals
from diagnostics.engine.records import Interval
from tests.published.sources import published

STOICHIOMETRY = "hand calculation: M_CaCO3 n/(2 M_acid) with M 100.087 and the acids' molar masses"
UFC = "UFC 3-240-13FN (25 May 2005), chapter 9, as read"


@published(a.deposit_per_acid, a.acid_per_deposit, a.acid, source=STOICHIOMETRY)
@pytest.mark.parametrize(
    ("name", "dissolved", "taken"),
    [
        ("hydrochloric", 1.3725, 0.7286),
        ("phosphoric", 0.5107, 1.9582),
        ("sulfamic", 0.5154, 1.9402),
        ("citric", 0.7814, 1.2797),
        ("citric_monohydrate", 0.7144, 1.3997),
        ("glycolic", 0.6580, 1.5197),
        ("formic", 1.0873, 0.9197),
        ("acetic", 0.8333, 1.2000),
        ("lactic", 0.5556, 1.8000),
        ("nitric", 0.7942, 1.2592),
    ],
)
def test_a_kilogram_of_acid_dissolves_what_its_protons_allow(name, dissolved, taken):
    assert a.deposit_per_acid(name) == pytest.approx(dissolved, abs=1e-4)
    assert a.acid_per_deposit(name) == pytest.approx(taken, abs=1e-4)
    assert a.acid(name).molar_mass_kg_per_mol * taken < 1


@published(a.acid, a.mineral, source="chemicals library: molar masses by CAS number")
@pytest.mark.parametrize(
    ("find", "ours", "theirs"),
    [
        (a.acid, "hydrochloric", "hydrochloric acid"),
        (a.acid, "phosphoric", "phosphoric acid"),
        (a.acid, "sulfamic", "sulfamic acid"),
        (a.acid, "citric", "citric acid"),
        (a.acid, "glycolic", "glycolic acid"),
        (a.acid, "formic", "formic acid"),
        (a.mineral, "calcium_carbonate", "calcium carbonate"),
        (a.mineral, "magnesium_carbonate", "magnesium carbonate"),
        (a.mineral, "haematite", "1309-37-1"),
    ],
)
def test_molar_masses_are_the_librarys(find, ours, theirs):
    library = MW(CAS_from_any(theirs))
    assert find(ours).molar_mass_kg_per_mol * 1000 == pytest.approx(library, rel=2e-4)


@published(
    a.deposit_per_acid, a.mineral, source="hand calculation: Fe2O3 + 6 HCl, Fe3O4 + 8 HCl, Fe(OH)3 + 3 HCl"
)
@pytest.mark.parametrize(
    ("name", "dissolved"),
    [
        ("haematite", 0.7300),
        ("magnetite", 0.7938),
        ("ferric_hydroxide", 0.9770),
        ("magnesium_carbonate", 1.1562),
    ],
)
def test_iron_and_magnesium_take_their_own_share_of_hydrochloric_acid(name, dissolved):
    assert a.deposit_per_acid("hydrochloric", name) == pytest.approx(dissolved, abs=2e-4)


@published(a.utilisation, source="Henderson-Hasselbalch worked by hand with pK 3.13, 4.76, 6.40; 3.83; 3.75")
@pytest.mark.parametrize(
    ("name", "ph", "share"),
    [("citric", 4.0, 0.34), ("citric", 5.0, 0.55), ("glycolic", 4.0, 0.60), ("formic", 4.0, 0.64)],
)
def test_a_weak_acid_is_used_as_far_as_its_pk_and_the_ph_allow(name, ph, share):
    # citric at pH 4: a1 = 10^0.87 = 7.41, a2 = a1 10^-0.76 = 1.29, a3 = a2 10^-2.4 = 0.005;
    # (7.41 + 2 * 1.29 + 3 * 0.005)/9.71/3 = 0.34
    assert a.utilisation(name, ph, 0.3) == pytest.approx(share, abs=0.01)


@published(
    a.used_of_strong, source=f"{UFC}, 9-2.6: 10 % at the start, discard below 3 %, so 7 of 10 parts are used"
)
def test_a_strong_acid_is_used_down_to_the_strength_at_which_it_is_discarded():
    assert a.used_of_strong(3 / 10) == pytest.approx(0.7)


@published(
    doses.acid_in_solution_kg,
    a.deposit_per_acid,
    source="hand calculation: 1 L of 10 % hydrochloric acid of density 1048 holds 104.8 g, for 143.8 g of "
    "CaCO3 (1.20 lb for a US gallon)",
)
def test_a_litre_of_ten_per_cent_hydrochloric_acid():
    held = doses.acid_in_solution_kg(1e-3, 0.10, 1048.0)
    assert held == pytest.approx(0.1048)
    dissolved = held * a.deposit_per_acid("hydrochloric")
    assert dissolved == pytest.approx(0.1438, abs=1e-4)
    assert dissolved / 0.45359 * 3.78541 == pytest.approx(1.20, abs=0.005)


@published(
    doses.product_volume_m3,
    doses.product_mass_kg,
    source="hand calculation: muriatic acid of 31.45 % and density 1160 (20 degrees Baume) holds 364.8 g of "
    "pure acid a litre, for 500.7 g of CaCO3",
)
def test_product_that_holds_a_kilogram_of_acid():
    # 0.3145 * 1160 = 364.8 kg/m3 of acid, so 2.741 L a kilogram; 364.8 * 1.3725 = 500.7 g CaCO3 a litre
    litres = doses.product_volume_m3(1.0, 0.3145, 1160.0) * 1000
    assert litres == pytest.approx(2.741, abs=1e-3)
    assert a.deposit_per_acid("hydrochloric") / litres == pytest.approx(0.5007, abs=2e-4)
    assert doses.product_mass_kg(1.0, 0.3145) == pytest.approx(3.180, abs=1e-3)


@published(doses.acid_demand_kg, doses.batches, source=f"{UFC}, 9-2.6, and stoichiometry by hand")
def test_what_two_kilograms_of_scale_take_of_ten_per_cent_acid():
    # 2 kg * 0.7286 / 0.7 = 2.082 kg of acid; 15 L of 10 % at 1048 hold 1.572 kg: two batches
    demand = doses.acid_demand_kg(2.0, "hydrochloric", 0.7)
    assert demand == pytest.approx(2.082, abs=1e-3)
    found = doses.batches(
        Interval(demand, demand / 2, 2 * demand), doses.acid_in_solution_kg(0.015, 0.1, 1048)
    )
    assert (found.fewest, found.likely, found.most) == (1, 2, 3)


@published(doses.portions, source="common practice: a dose goes in by portions, a quarter at most")
def test_a_dose_is_split_in_four_at_the_least():
    assert doses.portions(8.0) == (2.0, 2.0, 2.0, 2.0)


@published(
    doses.strength_by_titration,
    doses.strength_from_alkali,
    source="definition of the equivalent: 1 mol/L alkali, 10 g of sample, 36.461 g/mol: 27.43 mL are 10 %",
)
def test_strength_by_drops_and_by_burette_agree():
    burette = doses.strength_from_alkali(27.43e-3, 1.0, 10e-3, 36.461e-3, 1)
    assert burette == pytest.approx(0.100, abs=1e-4)
    # drops of 0.05 mL: 548.6 of them, each worth 0.05e-3 * 36.461e-3 / 0.01
    assert doses.strength_by_titration(548.6, 0.05e-3 * 36.461e-3 / 0.01) == pytest.approx(burette, rel=1e-4)


@published(
    deposit.deposit_mass_kg,
    deposit.deposit_mass_range,
    source="thickness k Rf: 0.001 h ft2 F/Btu at 2.2 W/(m K) is 0.387 mm; 2 m2 of calcite so thick, 2710 "
    "kg/m3, "
    "weigh 2.10 kg",
)
def test_the_mass_of_a_layer_four_tenths_of_a_millimetre_thick():
    assert deposit.deposit_mass_kg(1.7611e-4, 2.0, 2.2, 2710.0) == pytest.approx(
        0.387e-3 * 2 * 2710, rel=2e-3
    )
    drawn = deposit.deposit_mass_range(Interval(1.7611e-4, 1.7e-4, 1.82e-4), 2.0)
    # porous and thin to dense and thick: 0.8 * 1200 to 2.9 * 2710, times 2 * 1.7611e-4
    assert 0.34 < drawn.low < 0.6 and 2.1 < drawn.high < 3.4


@published(
    metals.compatibility, metals.strictest, source=f"{UFC}, 9-2.2.6 (limitations of hydrochloric acid)"
)
@pytest.mark.parametrize("metal", ["stainless_304", "stainless_316", "galvanised_steel", "aluminium"])
def test_hydrochloric_acid_is_forbidden_where_the_published_criteria_forbid_it(metal):
    found = metals.compatibility(metal, "hydrochloric")
    assert found.state == "forbidden" and "UFC" in found.source
    assert metals.strictest(["copper", metal], ["hydrochloric"]) == "forbidden"


@published(
    metals.compatibility,
    source="makers' manuals for plate exchangers and chillers: no nitric acid on copper braze, no "
    "phosphoric on "
    "titanium, 5 % phosphoric on brazed plates",
)
@pytest.mark.parametrize(
    ("metal", "acid", "state"),
    [
        ("copper_brazed_stainless", "nitric", "forbidden"),
        ("copper_brazed_stainless", "hydrochloric", "forbidden"),
        ("titanium", "phosphoric", "forbidden"),
        ("copper_brazed_stainless", "phosphoric", "allowed"),
    ],
)
def test_what_makers_of_plates_allow_and_forbid(metal, acid, state):
    assert metals.compatibility(metal, acid).state == state

"""Metals against acids, cleaner sheets, deposits and doses: completeness, refusals, ranges."""

from dataclasses import fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnostics.engine.descaling import acids, deposit, doses, metals
from diagnostics.engine.descaling.cleaners import CLEANERS, cleaner, fitness
from diagnostics.engine.errors import OutOfRange, UnknownName
from diagnostics.engine.records import Interval

PAIRS = [(material, acid) for material in metals.MATERIALS for acid in acids.ACIDS]


@pytest.mark.parametrize(("material", "acid"), PAIRS)
def test_every_material_has_a_word_and_a_source_for_every_acid(material, acid):
    found = metals.compatibility(material, acid)
    assert found.state in metals.STATES
    assert found.reason and found.source


@pytest.mark.parametrize("unknown", ["unknown", "", "unobtainium", None])
def test_an_unknown_metal_is_refused_by_an_error_that_lists_the_known_ones(unknown):
    with pytest.raises(UnknownName, match="cupronickel"):
        metals.compatibility(unknown, "citric")
    with pytest.raises(UnknownName, match="cupronickel"):
        fitness(cleaner("citric"), ["copper", unknown])


def test_no_material_named_at_all_is_refused_too():
    with pytest.raises(ValueError, match="every metal and seal"):
        fitness(cleaner("citric"), [])
    with pytest.raises(ValueError, match="every metal and seal"):
        metals.strictest([], ["citric"])


@pytest.mark.parametrize("sheet", CLEANERS.values(), ids=CLEANERS)
@pytest.mark.parametrize("material", metals.MATERIALS)
def test_a_cleaner_is_refused_by_every_metal_or_seal_that_forbids_its_acid(sheet, material):
    states = {metals.compatibility(material, acid).state for acid in sheet.acids}
    found = fitness(sheet, [material])
    if "forbidden" in states or material in sheet.forbids:
        assert not found.usable and found.against[0].material == material
    elif "only_inhibited" in states:
        assert found.usable == sheet.inhibited
    else:
        assert found.usable and not found.against


def test_one_forbidden_part_among_many_refuses_the_cleaner():
    sheet = cleaner("inhibited_hydrochloric")
    assert fitness(sheet, ["copper", "epdm"]).usable
    found = fitness(sheet, ["copper", "epdm", "stainless_316"])
    assert not found.usable and [row.material for row in found.against] == ["stainless_316"]


def test_without_its_inhibitor_hydrochloric_acid_is_refused_on_copper():
    bare = replace(cleaner("inhibited_hydrochloric"), inhibited=False)
    assert not fitness(bare, ["copper"]).usable


@pytest.mark.parametrize("sheet", CLEANERS.values(), ids=CLEANERS)
def test_every_property_of_a_sheet_says_where_it_is_from(sheet):
    plain = {"name", "acids", "acid_shares", "form", "sources"}
    sourced = {name for name, source in sheet.sources if source}
    silent = {one.name for one in fields(sheet) if one.name not in plain | sourced}
    assert silent <= {"renewal_ph"} and (sheet.renewal_ph is None or "renewal_ph" in sourced)


@pytest.mark.parametrize("sheet", CLEANERS.values(), ids=CLEANERS)
def test_a_sheets_figures_are_in_order(sheet):
    low, usual, high = sheet.strengths
    assert 0 < low <= usual <= high <= sheet.product_strength
    assert sum(sheet.acid_shares) == pytest.approx(1)
    assert len(sheet.acids) == len(sheet.acid_shares)
    assert (sheet.product_density_kg_per_m3 is None) == (sheet.form == "powder")
    assert set(sheet.forbids) <= set(metals.MATERIALS)
    assert set(sheet.acids) <= set(acids.ACIDS)


def test_an_unknown_cleaner_or_deposit_is_an_error_that_lists_the_known_ones():
    with pytest.raises(UnknownName, match="sulfamic"):
        cleaner("the blue one")
    with pytest.raises(UnknownName, match="magnetite"):
        acids.mineral("silica")


@given(st.floats(2, 6), st.sampled_from(["citric", "glycolic", "formic", "acetic"]))
def test_the_later_a_weak_bath_is_renewed_the_more_of_it_is_used(ph, name):
    assert acids.utilisation(name, ph + 0.5, 0.5) >= acids.utilisation(name, ph, 0.5)


def test_only_one_of_phosphoric_acids_protons_is_credited_however_high_the_ph():
    assert acids.utilisation("phosphoric", 6.5, 5.0) == pytest.approx(1.0, abs=0.02)


def test_deposit_of_a_clean_surface_is_none_and_of_a_negative_resistance_none_too():
    assert deposit.deposit_mass_kg(-1e-5, 2.0, 2.0, 2000.0) == 0
    assert deposit.deposit_mass_range(Interval(-5e-5, -6e-5, -4e-5), 2.0).high == 0


def test_an_unknown_area_makes_the_range_of_deposit_far_wider():
    known = deposit.deposit_mass_range(Interval(1e-4, 0.9e-4, 1.1e-4), 1.0)
    guessed = deposit.deposit_mass_range(Interval(1e-4, 0.9e-4, 1.1e-4), None, 20_000.0)
    assert guessed.high / guessed.low > 3 * known.high / known.low


def test_with_neither_area_nor_heat_the_deposit_is_refused():
    with pytest.raises(OutOfRange, match="heat rejected"):
        deposit.deposit_mass_range(Interval(1e-4, 0.9e-4, 1.1e-4), None)


@given(st.floats(0.1, 50), st.floats(0.05, 1))
def test_portions_add_up_and_none_is_larger_than_allowed(dose, share):
    split = doses.portions(dose, share)
    assert sum(split) == pytest.approx(dose)
    assert max(split) <= share * dose * (1 + 1e-9)

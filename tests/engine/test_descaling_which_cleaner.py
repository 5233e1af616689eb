"""Which cleaner: refused and why, mild before strong, strong for old and heavy, or acid is the wrong tool."""

from dataclasses import replace

import pytest

from diagnostics.engine.descaling import acids, choice, metals
from diagnostics.engine.descaling.cleaners import CLEANERS
from diagnostics.engine.descaling.expected import KINDS, PRIORS, SIGNS, expected_deposit
from diagnostics.engine.errors import UnknownName
from diagnostics.engine.records import Interval

SHEETS = tuple(CLEANERS.values())
COAXIAL = choice.Situation(
    materials=("cupronickel", "bronze", "epdm", "polyethylene"),
    unknown_parts=(),
    expected=expected_deposit("cooling_tower", ["flake_fizzes"]),
    deposit=Interval(0.4, 0.2, 0.7),
    solution_m3=0.03,
    treatments=("none",),
    black_slime=False,
    heats_drinking_water=False,
)


def codes(found):
    return {gate.code: gate.weight for gate in found.gates}


@pytest.mark.parametrize("material", metals.MATERIALS)
def test_no_sheet_is_offered_on_what_forbids_it_and_each_refusal_has_its_reason(material):
    """Every material against every sheet: what the table refuses is refused, whatever else is wetted."""
    found = choice.choose(SHEETS, replace(COAXIAL, materials=("ptfe", material)))
    offered, refused = {one.cleaner for one in found.options}, {one.cleaner for one in found.refusals}
    assert offered | refused == set(CLEANERS) and not offered & refused
    for sheet in SHEETS:
        states = {metals.compatibility(material, name).state for name in sheet.acids}
        bad = "forbidden" in states or material in sheet.forbids
        bad = bad or ("only_inhibited" in states and not sheet.inhibited)
        assert (sheet.name in refused) == bad, sheet.name
    for one in found.refusals:
        assert any(material.replace("_", " ") in reason for reason in one.reasons)


def test_mild_comes_before_strong():
    order = [one.cleaner for one in choice.choose(SHEETS, COAXIAL).options]
    strengths = [max(choice.MILDNESS[name] for name in CLEANERS[one].acids) for one in order]
    assert strengths == sorted(strengths) and order[-1] == "inhibited_hydrochloric"


@pytest.mark.parametrize("old", [{"years_since": 8.0}, {"thickness_m": 1e-3}])
def test_strong_comes_first_for_old_and_for_heavy_scale_and_at_its_higher_strength(old):
    found = choice.choose(SHEETS, replace(COAXIAL, **old))
    assert found.strong_first
    assert found.options[0].cleaner == "inhibited_hydrochloric"
    assert found.options[0].strength == CLEANERS["inhibited_hydrochloric"].strengths[2]


def test_strong_never_comes_first_where_a_metal_forbids_it():
    brazed = replace(COAXIAL, materials=("copper_brazed_stainless", "epdm"), years_since=9.0)
    found = choice.choose(SHEETS, brazed)
    assert "inhibited_hydrochloric" not in {one.cleaner for one in found.options}
    assert found.options


@pytest.mark.parametrize("kind", ["silica", "sulphate", "slime", "mud"])
def test_where_acid_is_the_wrong_tool_it_says_what_is_right(kind):
    found = choice.choose(SHEETS, replace(COAXIAL, expected={**dict.fromkeys(KINDS, 0.02), kind: 0.9}))
    assert found.refused and found.wrong_tool == choice.RIGHT_TOOL[kind]


def test_carbonate_and_iron_are_for_acid():
    for kind in ("carbonate", "iron"):
        assert choice.wrong_tool({**dict.fromkeys(KINDS, 0.02), kind: 0.9}) is None


def test_an_unknown_part_refuses_every_cleaner():
    found = choice.choose(SHEETS, replace(COAXIAL, unknown_parts=("flow_switch",)))
    assert found.refused and not found.options
    assert "flow switch" in next(g.words for g in found.gates if g.code == "unknown_metal")


@pytest.mark.parametrize(
    ("change", "code", "weight"),
    [
        ({"treatments": ("nitrite",)}, "nitrite", "flush_first"),
        ({"treatments": ("sulphite", "azole")}, "sulphite", "flush_first"),
        ({"treatments": ("chlorine",)}, "chlorine", "flush_first"),
        ({"treatments": ("bromine",)}, "bromine", "flush_first"),
        ({"treatments": ("other",)}, "treatment_other", "ask"),
        ({"treatments": None}, "treatment_unknown", "ask"),
        ({"treatments": ()}, "treatment_unknown", "ask"),
        ({"black_slime": True}, "sulphide", "refused"),
        ({"black_slime": None}, "slime_unknown", "ask"),
        ({"heats_drinking_water": True}, "drinking_water", "refused"),
        ({"heats_drinking_water": None}, "drinking_water_unknown", "ask"),
    ],
)
def test_what_stands_before_acid_is_told(change, code, weight):
    found = choice.choose(SHEETS, replace(COAXIAL, **change))
    assert codes(found)[code] == weight
    assert found.refused == (weight == "refused")


def test_nothing_stands_before_acid_where_all_was_asked():
    found = choice.choose(SHEETS, COAXIAL)
    assert found.gates == () and not found.refused


def test_nitrite_under_sulfamic_acid_warns_of_violent_gassing():
    found = choice.choose(SHEETS, replace(COAXIAL, treatments=("nitrite",)))
    assert "violently" in found.gates[0].words


def test_an_unknown_treatment_is_an_error_that_lists_the_known_ones():
    with pytest.raises(UnknownName, match="nitrite"):
        choice.choose(SHEETS, replace(COAXIAL, treatments=("chromate",)))


def test_a_bath_warmer_than_its_label_is_refused():
    found = choice.choose(SHEETS, replace(COAXIAL, bath_k=325.0))
    warm = next(one for one in found.refusals if one.cleaner == "inhibited_hydrochloric")
    assert "label's 50 degC" in warm.reasons[0]


def test_one_batch_or_more_follows_from_the_deposit():
    small = {one.cleaner: one for one in choice.choose(SHEETS, COAXIAL).options}
    large = {
        one.cleaner: one
        for one in choice.choose(SHEETS, replace(COAXIAL, deposit=Interval(8.0, 4.0, 14.0))).options
    }
    assert small["inhibited_hydrochloric"].one_batch_is_enough
    for name, one in large.items():
        assert one.batches.likely > small[name].batches.likely
        assert one.time_s.value > small[name].time_s.value
    # by hand: 8 kg CaCO3 x 0.7286 / 0.7 = 8.33 kg HCl; a batch of 30 L at 10 % holds 3.0 kg: three batches
    assert large["inhibited_hydrochloric"].batches.likely == 3


def test_a_batchs_product_is_in_the_labels_terms():
    strong = next(
        one for one in choice.choose(SHEETS, COAXIAL).options if one.cleaner == "inhibited_hydrochloric"
    )
    # by hand: 30 L x 1 kg/L x 10 % / 28 % = 10.71 kg; / 1.14 kg/L = 9.40 L
    assert strong.product_in_a_batch_kg == pytest.approx(10.714, abs=0.01)
    assert strong.product_in_a_batch_m3 * 1000 == pytest.approx(9.40, abs=0.01)


def test_citric_acid_on_iron_is_not_poor_but_sulfamic_is():
    iron = replace(COAXIAL, expected=expected_deposit("closed_loop", ["rust"]))
    remarks = {one.cleaner: one.remarks for one in choice.choose(SHEETS, iron).options}
    assert any("rust" in words for words in remarks["sulfamic"])


@pytest.mark.parametrize("source", PRIORS)
def test_priors_are_probabilities(source):
    assert sum(PRIORS[source]) == pytest.approx(1.0)


@pytest.mark.parametrize("sign", SIGNS)
def test_every_sign_speaks_of_known_kinds_and_names_its_source(sign):
    assert set(SIGNS[sign].ratios) <= set(KINDS) and SIGNS[sign].source and SIGNS[sign].words


def test_an_unknown_sign_or_source_of_water_is_an_error_that_lists_the_known_ones():
    with pytest.raises(UnknownName, match="mud"):
        expected_deposit("well", ["green"])
    with pytest.raises(UnknownName, match="cooling_tower"):
        expected_deposit("spring")


def test_a_mixture_takes_what_its_acids_take_together():
    # by hand: 2/3 x 0.6580 + 1/3 x 1.0873 = 0.8011 kg CaCO3 a kg
    assert 1 / choice.acid_for_deposit(CLEANERS["glycolic_formic"]) == pytest.approx(0.8011, abs=2e-4)
    assert set(CLEANERS["glycolic_formic"].acids) <= set(acids.ACIDS)

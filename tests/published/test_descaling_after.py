"""Gas, neutralising, discharge and rinsing against stoichiometry, regulations and dilution arithmetic."""

import math

import pytest

from diagnostics.engine.descaling import discharge, gas, rinsing
from diagnostics.engine.descaling import neutralising as n
from tests.published.sources import published

BALANCE = "hand calculation: one sodium for each proton, M 84.007 and 105.988"


@published(
    gas.carbon_dioxide_kg,
    gas.gas_volume_m3,
    source="ideal gas: 22.414 L/mol at 0 degC and 1 atm; CaCO3 100.087, MgCO3 84.314 g/mol",
)
@pytest.mark.parametrize(
    ("mineral", "celsius", "litres"),
    [
        ("calcium_carbonate", 0, 0.2239),
        ("calcium_carbonate", 20, 0.2403),
        ("calcium_carbonate", 25, 0.2444),
        ("magnesium_carbonate", 20, 0.2853),
    ],
)
def test_a_gram_of_carbonate_gives_a_quarter_litre_of_gas(mineral, celsius, litres):
    mass = gas.carbon_dioxide_kg(1e-3, mineral)
    assert gas.gas_volume_m3(mass, 273.15 + celsius) * 1000 == pytest.approx(litres, abs=1e-4)
    assert gas.carbon_dioxide_kg(1.0) == pytest.approx(0.4397, abs=1e-4)


@published(gas.gas_volume_m3, source="chemicals and CoolProp libraries: real density of carbon dioxide")
def test_the_ideal_gas_is_close_to_the_real_one():
    from CoolProp.CoolProp import PropsSI

    density = PropsSI("D", "T", 293.15, "P", 101_325, "CO2")
    assert gas.gas_volume_m3(1.0) == pytest.approx(1 / density, rel=0.007)


@published(
    gas.share_of_room,
    gas.room_word,
    source="OSHA 29 CFR 1910.1000 table Z-1, 5000 ppm; short-term limit 30 000 ppm (from memory); 240 L a "
    "kilogram of scale by stoichiometry",
)
@pytest.mark.parametrize(
    ("scale_kg", "room_m3", "word"),
    [
        (0.5, 60, "natural_ventilation"),
        (2.0, 60, "fan_and_meter"),
        (6.0, 30, "forced_ventilation_or_no_work"),
    ],
)
def test_how_much_scale_a_room_bears(scale_kg, room_m3, word):
    volume = gas.gas_volume_m3(gas.carbon_dioxide_kg(scale_kg))
    share = gas.share_of_room(volume, room_m3)
    assert share == pytest.approx(0.24 * scale_kg / room_m3, rel=0.06)
    assert gas.room_word(share) == word


@published(
    gas.fresh_air_m3_per_s,
    source="steady dilution by hand: 0.24 m3 in 1200 s, held to 0.5 % over 0.05 %: 44 L/s",
)
def test_fresh_air_that_holds_the_room():
    assert gas.fresh_air_m3_per_s(0.24, 1200) == pytest.approx(0.24 / 1200 / 0.0045)


@published(n.agent_per_acid, n.agent, source=BALANCE)
@pytest.mark.parametrize(
    ("name", "protons", "bicarbonate", "carbonate"),
    [
        ("hydrochloric", None, 2.3040, 1.4534),
        ("phosphoric", None, 0.857, 0.541),
        ("phosphoric", 2, 1.7145, 1.0816),
        ("sulfamic", None, 0.8652, 0.5458),
        ("citric", None, 1.3118, 0.8275),
        ("citric_monohydrate", None, 1.1993, 0.7566),
        ("glycolic", None, 1.1046, 0.6968),
        ("formic", None, 1.8252, 1.1514),
    ],
)
def test_neutraliser_for_a_kilogram_of_acid(name, protons, bicarbonate, carbonate):
    assert n.agent_per_acid(name, "sodium_bicarbonate", protons) == pytest.approx(bicarbonate, abs=3e-4)
    assert n.agent_per_acid(name, "sodium_carbonate", protons) == pytest.approx(carbonate, abs=3e-4)


@published(
    n.carbon_dioxide_of_agent_kg,
    source="hand calculation: a gram of HCl neutralised with bicarbonate gives 0.660 L at 20 degC",
)
def test_neutralising_gives_gas_too():
    mass = n.carbon_dioxide_of_agent_kg(
        n.agent_per_acid("hydrochloric", "sodium_bicarbonate"), "sodium_bicarbonate"
    )
    assert gas.gas_volume_m3(mass) == pytest.approx(0.660, abs=0.001)


@published(
    n.bath_ph,
    n.sodium_to_reach,
    source="textbook acid-base results (from memory): 0.1 mol/L acetic acid pH 2.88, 0.1 mol/L hydrochloric "
    "acid pH 1.0, equimolar acetate buffer pH 4.76, 0.1 mol/L monosodium phosphate about 4.7, pure water "
    "under "
    "1 atm of carbon dioxide 3.9",
)
def test_ph_of_textbook_solutions():
    assert n.bath_ph(n.Bath("acetic", 0.1)) == pytest.approx(2.88, abs=0.02)
    assert n.bath_ph(n.Bath("hydrochloric", 0.1)) == pytest.approx(1.0, abs=0.02)
    assert n.bath_ph(n.Bath("acetic", 0.2), 0.1, carbon_dioxide_pa=0) == pytest.approx(4.76, abs=0.02)
    assert n.bath_ph(n.Bath("phosphoric", 0.1), 0.1, carbon_dioxide_pa=0) == pytest.approx(4.7, abs=0.1)
    assert n.bath_ph(n.Bath("acetic", 0.0)) == pytest.approx(3.9, abs=0.03)


@published(
    n.sodium_to_reach,
    n.agent_to_reach_kg,
    source="hand calculation: phosphoric acid to pH 4.5 takes one proton, 0.857 kg of bicarbonate a "
    "kilogram; to "
    "pH 6.5 n = 1.167 by pK2 7.198",
)
def test_phosphoric_acid_to_a_sewers_floor_takes_more_than_its_first_proton():
    kilogram = n.Bath("phosphoric", 1 / 97.995e-3 / 100)  # 1 kg in 100 L
    to_its_first = n.agent_to_reach_kg(kilogram, 0.1, 4.5, "sodium_bicarbonate", carbon_dioxide_pa=0)
    assert to_its_first == pytest.approx(0.857, abs=0.01)
    to_six_and_a_half = n.agent_to_reach_kg(kilogram, 0.1, 6.5, "sodium_bicarbonate", carbon_dioxide_pa=0)
    assert to_six_and_a_half == pytest.approx(0.857 * 1.167, rel=0.01)
    fizzing = n.agent_to_reach_kg(kilogram, 0.1, 6.5, "sodium_bicarbonate")
    # under 1 atm of gas: 0.034 * 10^(6.5 - 6.352) = 0.048 mol/L of bicarbonate more, 0.40 kg in 100 L
    assert fizzing - to_six_and_a_half == pytest.approx(0.0479 * 100 * 84.007e-3, rel=0.03)


@published(
    n.target_ph, source="40 CFR 403.5(b)(2), pH 5.0; local codes of 5.5 to 9.5 and 6.0 to 11.0, as read"
)
@pytest.mark.parametrize(("low", "high", "target"), [(5.0, 11.0, 5.5), (5.5, 9.5, 6.0), (6.0, 11.0, 6.5)])
def test_the_bath_is_brought_half_a_unit_above_the_lower_limit(low, high, target):
    assert n.target_ph(low, high) == target


@published(
    n.surface_agent_kg,
    source="UFC 3-240-13FN (2005), 9-2.5.2: 1 % soda ash, 8 lb in 100 US gallons (0.96 %), as read; its "
    "metric "
    "figure is ten times too much",
)
def test_soda_ash_for_the_surface():
    assert n.surface_agent_kg(0.378541) == pytest.approx(8 * 0.45359, rel=0.05)


@published(
    discharge.reasons_against,
    source="40 CFR 403.5(b)(2) and (5): below pH 5.0, above 40 degC; 40 CFR 261.22: pH 2 and 12.5 (from "
    "memory)",
)
@pytest.mark.parametrize(
    ("ph", "celsius", "allowed"),
    [
        (4.9, 25, False),
        (5.0, 25, True),
        (7.0, 41, False),
        (7.0, 40, True),
        (2.0, 25, False),
        (12.5, 25, False),
    ],
)
def test_what_a_sewer_takes(ph, celsius, allowed):
    limits = discharge.SiteLimits(highest_ph=13.0)
    assert (not discharge.reasons_against("sewer", ph, 273.15 + celsius, limits)) == allowed


@published(
    rinsing.share_after_rinses,
    rinsing.rinses_needed,
    source="repeated dilution: a tenth held back leaves 1 part in 1000 after three rinses",
)
def test_three_rinses_of_nine_to_one():
    assert rinsing.share_after_rinses(3, 1.0, 9.0) == pytest.approx(1e-3)
    assert rinsing.rinses_needed(1e-3, 1.0, 9.0) == 3
    assert rinsing.rinses_needed(0.9e-3, 1.0, 9.0) == 4


@published(
    rinsing.share_after_flowing,
    rinsing.flow_needed_m3,
    source="washout of a mixed vessel, exp(-t/tau): 0.368 after one content, 6.908 contents for 1 part in "
    "1000",
)
def test_washing_out_a_mixed_content():
    assert rinsing.share_after_flowing(1.0, 1.0) == pytest.approx(0.3679, abs=1e-4)
    assert rinsing.flow_needed_m3(1e-3, 1.0) == pytest.approx(6.908, abs=1e-3)
    assert math.isclose(rinsing.share_after_flowing(rinsing.flow_needed_m3(0.01, 2.0), 2.0), 0.01)


@published(
    rinsing.rinse_lacks, source="common practice: five to ten minutes, pH and conductivity as the supply's"
)
def test_a_rinse_is_done_when_water_comes_out_as_it_went_in():
    assert rinsing.rinse_lacks(7.3, 7.4, 0.052, 0.050, 400) == ()
    assert rinsing.rinse_lacks(4.0, 7.4, 0.2, 0.050, 100) == ("time", "ph", "conductivity")

"""Header units and what they become in SI. Factors: NIST SP 811 (2008), appendix B.8, unless said."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest import approx

from diagnostics.engine.quantities import from_si
from tests.batch.desk import HEADER, ROW, UNITS, Desk

PSI = 6894.757
ATMOSPHERE = 101325.0
US_GALLON = 3.785412e-3
INCH_OF_MERCURY = 3386.389


@pytest.mark.parametrize(
    ("unit", "typed", "pascal"),
    [
        ("psig", "250", 250 * PSI + ATMOSPHERE),
        ("psia", "250", 250 * PSI),
        ("kPa_gauge", "1800", 1.8e6 + ATMOSPHERE),
        ("kPa_abs", "1800", 1.8e6),
        ("bar_gauge", "18", 1.8e6 + ATMOSPHERE),
        ("bar_abs", "18", 1.8e6),
        ("inHg_vacuum", "10", ATMOSPHERE - 10 * INCH_OF_MERCURY),
    ],
)
@pytest.mark.parametrize("column", ["head_pressure", "suction_pressure", "static_pressure"])
def test_refrigerant_pressures_become_absolute(
    desk: Desk, column: str, unit: str, typed: str, pascal: float
) -> None:
    reading = desk.read(f"{column} [{unit}]", typed)
    assert getattr(reading, f"{column}_pa") == approx(pascal, rel=1e-6)


@pytest.mark.parametrize("column", ["head_pressure", "suction_pressure", "static_pressure"])
@pytest.mark.parametrize(("unit", "told"), [("psi", "psig"), ("kPa", "kPa_gauge"), ("bar", "bar_gauge")])
def test_a_bare_refrigerant_pressure_is_a_header_error_that_says_what_to_write(
    desk: Desk, column: str, unit: str, told: str
) -> None:
    error = desk.header_error(f"{column} [{unit}]")
    assert error.startswith(f"readings.csv:1: {column} [{unit}]: must say gauge or absolute")
    assert told in error


@pytest.mark.parametrize("unit", ["psig", "psia", "kPa_gauge", "bar_abs"])
def test_a_pressure_drop_takes_plain_units_only(desk: Desk, unit: str) -> None:
    error = desk.header_error(f"water_pressure_drop [{unit}]")
    assert "neither gauge nor absolute; expected psi" in error


def test_a_pressure_drop_in_psi_or_feet_of_water(desk: Desk) -> None:
    assert desk.read("water_pressure_drop [psi]", "5").water_pressure_drop_pa == approx(5 * PSI, rel=1e-6)
    # NIST SP 811: conventional foot of water, 2989.067 Pa.
    assert desk.read("water_pressure_drop [ft_H2O]", "1").water_pressure_drop_pa == approx(2989.07, rel=1e-4)


@pytest.mark.parametrize(
    ("unit", "typed"), [("degF", "85"), ("degC", "29.444444"), ("K", "302.594444"), ("degR", "544.67")]
)
def test_a_temperature_in_any_unit(desk: Desk, unit: str, typed: str) -> None:
    assert desk.read(f"entering_water [{unit}]", typed).entering_water_k == approx(302.594444, abs=1e-5)


@pytest.mark.parametrize("unit", ["delta_degF", "delta_degC"])
def test_a_difference_is_no_temperature(desk: Desk, unit: str) -> None:
    assert "a difference" in desk.header_error(f"entering_water [{unit}]")


def table_row(desk: Desk, column: str, cell: str, units: str = UNITS, more: str = "", cells: str = ""):
    tables = f"unit,mode,{column}{more}\nHP-1,cooling,{cell}{cells}\n"
    return desk.run(units=units, tables=tables)


@pytest.mark.parametrize("name", ["superheat", "subcooling", "water_temperature_change"])
@pytest.mark.parametrize("end", ["low", "high"])
@pytest.mark.parametrize(("unit", "typed"), [("delta_degF", "9"), ("delta_degC", "5"), ("K", "5")])
def test_a_temperature_difference_in_its_own_units(
    desk: Desk, name: str, end: str, unit: str, typed: str
) -> None:
    outcome = table_row(desk, f"{name}_{end} [{unit}]", typed)
    assert getattr(outcome.seen.history.tables[0], f"{name}_{end}_k") == approx(5.0)


@pytest.mark.parametrize("unit", ["degF", "degC"])
def test_a_temperature_unit_for_a_difference_is_a_header_error_that_says_so(desk: Desk, unit: str) -> None:
    outcome = table_row(desk, f"superheat_low [{unit}]", "9")
    assert outcome.code == 2
    assert outcome.error == (
        f"tables.csv:1: superheat_low [{unit}]: a temperature, not a difference; "
        "expected delta_degF, delta_degC or K"
    )


@pytest.mark.parametrize(
    ("unit", "typed", "m3_per_s"),
    [("gpm", "10", 10 * US_GALLON / 60), ("L/s", "0.6", 6e-4), ("m^3/h", "3.6", 1e-3), ("m3/h", "3.6", 1e-3)],
)
def test_water_flow_by_volume_stays_a_volume(desk: Desk, unit: str, typed: str, m3_per_s: float) -> None:
    reading = desk.read(f"water_flow [{unit}]", typed)
    assert reading.water_flow_m3_per_s == approx(m3_per_s, rel=1e-6)
    assert reading.water_flow_kg_per_s is None


@pytest.mark.parametrize(("unit", "typed", "kg_per_s"), [("kg/s", "0.6", 0.6), ("lb/h", "1000", 0.1259979)])
def test_water_flow_by_mass_stays_a_mass(desk: Desk, unit: str, typed: str, kg_per_s: float) -> None:
    reading = desk.read(f"water_flow [{unit}]", typed)
    assert reading.water_flow_kg_per_s == approx(kg_per_s, rel=1e-6)
    assert reading.water_flow_m3_per_s is None


def test_a_tables_mass_flow_becomes_a_volume_with_the_density_at_the_entering_port(desk: Desk) -> None:
    # 30 % propylene glycol at 0 degC: 1036.2 kg/m3, ASHRAE Fundamentals table (as read in a maker's manual).
    units = "unit,refrigerant,exchanger,antifreeze,antifreeze_fraction [%]\n"
    units += "HP-1,R410A,coaxial,propylene_glycol,30\n"
    outcome = table_row(desk, "water_flow [kg/s]", "0.5", units, ",entering_water [degC]", ",0")
    row = outcome.seen.history.tables[0]
    assert row.water_flow_m3_per_s == approx(0.5 / 1036.2, rel=5e-4)


def test_a_design_flow_by_mass_is_of_water_at_twenty_degrees(desk: Desk) -> None:
    # Water at 20 degC: 998.2 kg/m3 (IAPWS).
    outcome = desk.run(units="unit,refrigerant,exchanger,design_flow [kg/s]\nHP-1,R410A,coaxial,0.5\n")
    assert outcome.seen.facts.design_flow_m3_per_s == approx(0.5 / 998.207, rel=1e-5)


UNIT_COLUMNS = [
    # Square foot 0.09290304 m2, inch 0.0254 m, foot 0.3048 m: exact.
    ("area [ft^2]", "10", "area_m2", 0.9290304),
    ("area [m2]", "0.9", "area_m2", 0.9),
    ("bore [inch]", "0.625", "bore_m", 0.015875),
    ("bore [mm]", "16", "bore_m", 0.016),
    ("length [ft]", "30", "length_m", 9.144),
    ("count", "12", "count", 12),
    ("count [dimensionless]", "12.0", "count", 12),
    ("design_flow [gpm]", "9", "design_flow_m3_per_s", 9 * US_GALLON / 60),
    ("design_pressure_drop [psi]", "4", "design_pressure_drop_pa", 4 * PSI),
    ("pressure_drop_exponent", "1.8", "pressure_drop_exponent", 1.8),
    ("antifreeze_fraction [%]", "25", "antifreeze_fraction", 0.25),
    ("antifreeze_fraction [percent]", "25", "antifreeze_fraction", 0.25),
    ("antifreeze_fraction", "0.25", "antifreeze_fraction", 0.25),
    ("antifreeze_fraction [dimensionless]", "0.25", "antifreeze_fraction", 0.25),
    # 1 h ft2 F/Btu = 0.1761102 m2 K/W.
    ("fouling_limit [hour*ft^2*delta_degF/Btu]", "0.001", "fouling_limit_m2k_per_w", 1.761102e-4),
    ("fouling_limit [h*ft^2*degF/Btu]", "0.001", "fouling_limit_m2k_per_w", 1.761102e-4),
    ("fouling_limit [m^2*K/W]", "0.000176", "fouling_limit_m2k_per_w", 1.76e-4),
    ("elevation [ft]", "5250", "elevation_m", 1600.2),
    # 1 ton of refrigeration = 12 000 Btu(IT)/h = 3516.853 W; 1 MBH = 1000 Btu(IT)/h = 293.0711 W.
    ("capacity [ton_of_refrigeration]", "3", "capacity_w", 10550.56),
    ("capacity [MBH]", "36", "capacity_w", 10550.56),
    ("loop_low [degF]", "60", "loop_low_k", 288.705556),
    ("loop_high [degC]", "32", "loop_high_k", 305.15),
    ("freeze_cutout [degF]", "15", "freeze_cutout_k", 263.705556),
    ("high_head_cutout [psig]", "600", "high_head_cutout_pa", 600 * PSI + ATMOSPHERE),
    ("low_suction_cutout [kPa_abs]", "400", "low_suction_cutout_pa", 4e5),
]


@pytest.mark.parametrize(("column", "typed", "field", "value"), UNIT_COLUMNS)
def test_every_number_of_a_unit_becomes_si(
    desk: Desk, column: str, typed: str, field: str, value: float
) -> None:
    outcome = desk.run(units=f"unit,refrigerant,exchanger,{column}\nHP-1,R410A,coaxial,{typed}\n")
    assert (outcome.code, outcome.errors) == (0, [])
    assert getattr(outcome.seen.facts, field) == approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("column", "typed", "field", "value"),
    [
        ("minutes_running [min]", "12", "minutes_running", 12.0),
        ("minutes_running [h]", "0.5", "minutes_running", 30.0),
        ("minutes_running", "12", "minutes_running", 12.0),
        ("compressor_power [kW]", "2.5", "compressor_power_w", 2500.0),
        ("compressor_power [hp]", "1", "compressor_power_w", 745.69987),
        ("amps [A]", "9.5", "amps_a", 9.5),
        ("amps", "9.5", "amps_a", 9.5),
        ("volts [V]", "230", "volts_v", 230.0),
        ("volts", "230", "volts_v", 230.0),
        ("phases", "3", "phases", 3),
        ("power_factor", "0.85", "power_factor", 0.85),
        ("power_factor [%]", "85", "power_factor", 0.85),
    ],
)
def test_other_numbers_of_a_reading_become_si(
    desk: Desk, column: str, typed: str, field: str, value: float
) -> None:
    assert getattr(desk.read(column, typed), field) == approx(value, rel=1e-6)


@pytest.mark.parametrize(
    "name",
    [
        "entering_water",
        "leaving_water",
        "liquid_line",
        "suction_line",
        "discharge_line",
        "entering_air",
        "entering_air_wet_bulb",
        "leaving_air",
        "static_coldest",
    ],
)
def test_every_temperature_of_a_reading_becomes_kelvin(desk: Desk, name: str) -> None:
    assert getattr(desk.read(f"{name} [degC]", "20"), f"{name}_k") == approx(293.15)


def test_a_gauge_pressure_is_above_the_barometric_pressure_at_the_units_elevation(desk: Desk) -> None:
    # ASHRAE Fundamentals, standard atmosphere: 1500 m, 84.556 kPa.
    units = "unit,refrigerant,exchanger,elevation [m],high_head_cutout [kPa_gauge]\n"
    units += "HP-1,R410A,coaxial,1500,4000\n"
    outcome = desk.run(f"{HEADER},head_pressure [kPa_gauge]\n{ROW},2000\n", units)
    assert outcome.seen.reading.head_pressure_pa == approx(2_084_556, abs=20)
    assert outcome.seen.facts.high_head_cutout_pa == approx(4_084_556, abs=20)


def test_a_makers_gauge_pressures_are_for_sea_level_wherever_the_unit_stands(desk: Desk) -> None:
    units = "unit,refrigerant,exchanger,elevation [m]\nHP-1,R410A,coaxial,1500\n"
    outcome = table_row(desk, "head_low [kPa_gauge]", "2000", units)
    assert outcome.seen.history.tables[0].head_low_pa == approx(2_101_325)


@pytest.mark.parametrize("name", ["head_low", "head_high", "suction_low", "suction_high"])
def test_a_makers_pressures_must_say_gauge_or_absolute(desk: Desk, name: str) -> None:
    outcome = table_row(desk, f"{name} [psi]", "250")
    assert outcome.code == 2
    assert "must say gauge or absolute; expected psig or psia" in outcome.error


@pytest.mark.parametrize("name", ["high_head_cutout", "low_suction_cutout"])
def test_cut_outs_must_say_gauge_or_absolute(desk: Desk, name: str) -> None:
    outcome = desk.run(units=f"unit,refrigerant,exchanger,{name} [psi]\nHP-1,R410A,coaxial,600\n")
    assert outcome.code == 2
    assert "must say gauge or absolute; expected psig or psia" in outcome.error


@pytest.mark.parametrize(
    "unit",
    ["degF", "degC", "K", "degR"],
)
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(kelvin=st.floats(200, 450))
def test_a_temperature_typed_in_any_unit_comes_back(desk: Desk, unit: str, kelvin: float) -> None:
    typed = repr(from_si(kelvin, unit, "temperature"))
    assert desk.read(f"entering_water [{unit}]", typed).entering_water_k == approx(kelvin, abs=1e-9)


@pytest.mark.parametrize("unit", ["psig", "psia", "kPa_gauge", "bar_abs", "inHg_vacuum", "MPa_abs"])
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(pascal=st.floats(1e3, 5e6))
def test_a_pressure_typed_in_any_unit_comes_back(desk: Desk, unit: str, pascal: float) -> None:
    typed = repr(from_si(pascal, unit, "refrigerant_pressure", barometric_pa=ATMOSPHERE))
    assert desk.read(f"head_pressure [{unit}]", typed).head_pressure_pa == approx(pascal, abs=1e-6)

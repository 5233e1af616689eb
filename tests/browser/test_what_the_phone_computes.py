"""What the phone's own script tells without a signal is what the engine would tell.

The script runs under node, the same file that the pages load.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from typing import Any

import numpy as np
import pytest
from django.conf import settings

from contractor.register.typed import barometric_at, settle
from contractor.visits.quantities import READING
from contractor.web.technician.saturation import FOLDER, file_of, table_of
from contractor.web.technician.selectors import USUAL_EXPONENT
from diagnostics.engine import flow_sources, hydraulics
from diagnostics.engine.refrigerants import REFRIGERANTS, refrigerant
from diagnostics.engine.waters import water

pytestmark = pytest.mark.needs_browser
PHYSICS = settings.BASE_DIR / "contractor" / "web" / "static" / "web" / "crew" / "physics.js"
RUNNER = settings.BASE_DIR / "tests" / "web" / "saturation_on_the_phone.mjs"
STATIC = FOLDER.parent.parent
WITHIN_K = 0.1
ELEVATION_M = 1609.0
PSI = 6894.757293168  # 1 lb = 0.45359237 kg, 1 in = 0.0254 m, g = 9.80665 m/s2: exact by definition


def on_the_phone(cases: list[dict[str, Any]]) -> list[Any]:
    node = shutil.which("node")
    assert node, "node is missing: install Debian's package nodejs"
    done = subprocess.run(
        [node, str(RUNNER), str(PHYSICS)], input=json.dumps(cases), capture_output=True, text=True, check=True
    )  # fmt: skip
    found: list[Any] = json.loads(done.stdout)
    return found


def psig(pressure_pa: float) -> str:
    return repr(float((pressure_pa - barometric_at(ELEVATION_M)) / PSI))


def degrees(kelvin: float) -> str:
    return repr(float(kelvin * 1.8 - 459.67))


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_saturation_superheat_subcooling_and_approach_are_the_engines(name: str) -> None:
    """From -40 degC to 2 K below critical, in gauge units at 1609 m above the sea."""
    fluid = refrigerant(name)
    temperatures = np.linspace(max(233.15, fluid.minimum_temperature_k), fluid.maximum_temperature_k, 187)
    cases, expected = [], []
    for at in temperatures[1:-1]:
        head, suction = float(fluid.bubble_pressure_pa(at)), float(fluid.dew_pressure_pa(at))
        typed = {
            "head_pressure": (psig(head), "refrigerant_pressure", "psig"),
            "suction_pressure": (psig(suction), "refrigerant_pressure", "psig"),
            "liquid_line": (degrees(at - 6.0), "temperature", "degF"),
            "suction_line": (degrees(at + 7.0), "temperature", "degF"),
            "leaving_water": (degrees(at - 3.0), "temperature", "degF"),
            "entering_water": (degrees(at - 8.0), "temperature", "degF"),
        }
        table = str(STATIC / file_of(name))
        cases.append({"typed": typed, "elevation_m": ELEVATION_M, "table": table, "mode": "cooling"})
        expected.append((float(fluid.bubble_temperature_k(head)), float(fluid.dew_temperature_k(suction))))
    for at, (bubble, dew), answer in zip(temperatures[1:-1], expected, on_the_phone(cases), strict=True):
        told = answer["told"]
        assert abs(told["head_saturation_k"] - bubble) < WITHIN_K, at
        assert abs(told["suction_saturation_k"] - dew) < WITHIN_K, at
        assert abs(told["subcooling_k"] - (bubble - (at - 6.0))) < WITHIN_K, at
        assert abs(told["superheat_k"] - (at + 7.0 - dew)) < WITHIN_K, at
        assert abs(told["approach_k"] - (bubble - (at - 3.0))) < WITHIN_K, at
        assert abs(told["water_change_k"] - 5.0) < 1e-6, at


@pytest.mark.parametrize("name", ["R123", "R1233zd(E)"])
def test_a_low_pressure_machines_suction_is_told_in_vacuum(name: str) -> None:
    """The compound gauge's own scale, from as deep as the engine goes (-40 degC) to nothing on the gauge."""
    fluid, inch = refrigerant(name), 3386.389  # Pa a conventional inch of mercury, NIST SP 811 B.8
    deepest = (101325.0 - float(fluid.dew_pressure_pa(fluid.minimum_temperature_k))) / inch
    assert deepest > 28.0, "a deep vacuum is within the table"
    shown = [float(one) for one in np.linspace(0.0, deepest, 60)[:-1]]
    typed = [
        {"suction_pressure": (repr(one), "refrigerant_pressure", "inHg_vacuum"),
         "suction_line": ("5", "temperature", "degC")}
        for one in shown
    ]  # fmt: skip
    cases = [
        {"typed": one, "elevation_m": 0.0, "table": str(STATIC / file_of(name)), "mode": "heating"}
        for one in typed
    ]
    for inches, answer in zip(shown, on_the_phone(cases), strict=True):
        dew = float(fluid.dew_temperature_k(101325.0 - inches * inch))
        assert abs(answer["told"]["suction_saturation_k"] - dew) < WITHIN_K, inches
        assert abs(answer["told"]["superheat_k"] - (278.15 - dew)) < WITHIN_K, inches
        assert answer["told"]["outside"] == []


def test_what_no_table_covers_is_said_and_not_guessed() -> None:
    fluid = refrigerant("R410A")
    below = float(fluid.dew_pressure_pa(fluid.minimum_temperature_k)) * 0.9
    typed = {"suction_pressure": (psig(below), "refrigerant_pressure", "psig")}
    case = {
        "typed": typed,
        "elevation_m": ELEVATION_M,
        "table": str(STATIC / file_of("R410A")),
        "mode": "cooling",
    }
    [answer] = on_the_phone([case])
    assert answer["told"]["suction_saturation_k"] is None and answer["told"]["outside"] == ["suction"]


def test_flow_against_design_is_told_by_the_drop_where_no_meter_is_read() -> None:
    """As the engine's clean curve on plain water at 20 degC; near it elsewhere, which "about" covers."""
    design = {"flow_m3_per_s": 5.5e-4, "pressure_drop_pa": 32_000.0, "exponent": USUAL_EXPONENT}
    assert USUAL_EXPONENT == flow_sources.USUAL_EXPONENT
    drop = {"water_pressure_drop": ("21", "pressure_difference", "kPa")}
    metered = {**drop, "water_flow": ("0.5", "water_flow", "L/s")}
    plain, glycol = {**design, "plain_water": True}, {**design, "plain_water": False}
    shared = {**plain, "drop_is_own": False}
    asked = [(drop, plain), (drop, glycol), (metered, plain), (metered, glycol), (drop, shared)]
    cases = [{"typed": typed, "elevation_m": 0.0, "mode": "cooling", "design": one} for typed, one in asked]
    told = [answer["told"] for answer in on_the_phone(cases)]
    shares = [one["flow_over_design"] for one in told]
    assert [one["flow_is_metered"] for one in told] == [False, False, True, True, False]
    assert shares[1] is None, "antifreeze makes the drop another flow's"
    assert shares[4] is None, "hoses, strainer or a valve take their part of it, or the ports' levels"
    assert shares[2:4] == [pytest.approx(0.5 / 0.55)] * 2
    for kelvin, within in ((293.15, 1e-6), (278.15, 0.04), (308.15, 0.04)):
        flow = hydraulics.flow_from_pressure_drop(21_000.0, 5.5e-4, 32_000.0, USUAL_EXPONENT, water(), kelvin)
        assert shares[0] == pytest.approx(flow / 5.5e-4, rel=within), kelvin


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_the_files_are_the_engines_tables_of_now(name: str) -> None:
    """Else: python -m contractor.web.technician.saturation"""
    kept, now = json.loads((STATIC / file_of(name)).read_text()), table_of(name)
    assert kept["refrigerant"] == name == now["refrigerant"]
    for column in ("temperature_k", "bubble_pa", "dew_pa"):
        assert np.allclose(kept[column], now[column], rtol=1e-5), column


UNITS = {
    "temperature": ("degF", "degC"),
    "refrigerant_pressure": ("psig", "kPa_gauge", "bar_gauge", "inHg_vacuum", "psia", "kPa_abs", "bar_abs"),
    "pressure_difference": ("psi", "ftH2O", "inH2O", "kPa", "bar"),
    "water_flow": ("gpm", "L/s", "L/min", "m**3/h"),
    "power": ("kW", "W"),
}


def test_every_unit_of_the_form_converts_as_the_service_converts_it() -> None:
    cases, expected = [], []
    for quantity in READING:
        for unit in UNITS.get(quantity.kind, ()):
            for text in ("0", "12,5", "-3.25", "410.7"):
                sent = {quantity.name: {"value": text, "unit": unit}}
                settled = settle(READING, sent, barometric_pa=barometric_at(ELEVATION_M)).or_problem()
                expected.append(settled.columns[quantity.column])
                typed = {quantity.name: (text, quantity.kind, unit)}
                cases.append({"typed": typed, "elevation_m": ELEVATION_M, "mode": "heating"})
    assert len(cases) > 100
    for case, si, answer in zip(cases, expected, on_the_phone(cases), strict=True):
        [found] = answer["si"].values()
        assert found == pytest.approx(si, rel=1e-6, abs=1e-9), case


def test_the_phone_reads_numbers_as_the_service_does() -> None:
    typed = ["85.2", " 85 ", "85,2", "1,234", "1.2.3", "", "abc", "1e3", "−4", "٣", ".5", "5."]
    said = [85.2, 85.0, 85.2, None, None, None, None, 1000.0, -4.0, None, 0.5, 5.0]
    assert on_the_phone([{"number": text} for text in typed]) == said


def test_beside_a_value_stands_what_it_is_in_the_other_unit() -> None:
    asked = [
        ("85.2", "temperature", "degF", 0),
        ("100", "refrigerant_pressure", "psig", 0),
        ("x", "power", "kW", 0),
    ]
    # (85.2 - 32) / 1.8 = 29.56; 100 psi = 689.5 kPa
    assert on_the_phone([{"converted": one} for one in asked]) == ["= 29.6 °C", "= 689 kPa gauge", ""]

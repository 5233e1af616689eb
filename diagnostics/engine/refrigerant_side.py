"""The refrigerant side of a reading set: superheat, subcooling, heat, and what its compressor did."""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnostics.engine import balance, fan
from diagnostics.engine.bench import Bench
from diagnostics.engine.records import ReadingSet

LEAST_WORK_J_PER_KG = 5e3
USUAL_LOSS = sum(balance.SHELL_LOSS_LIMITS) / 2


@dataclass(frozen=True, slots=True)
class States:
    """Enthalpy [J/kg] before and behind the compressor and before the valve; power of the compressor alone
    [W]."""

    before: float
    after: float
    at_valve: float
    power_w: float

    def flow(self, loss: float) -> float:
        """Refrigerant mass flow. [kg/s]"""
        return float(balance.refrigerant_flow(self.power_w, loss, self.after, self.before))


@dataclass(frozen=True, slots=True)
class Account:
    """What the refrigerant side tells together: heat [W], ln of isentropic efficiency, ln of volume drawn in
    [m3/s], superheat and subcooling [K]."""

    heat_w: float
    ln_efficiency: float
    ln_volume: float
    superheat_k: float
    subcooling_k: float


def suction_superheat(bench: Bench, reading: ReadingSet) -> float | None:
    """Suction line above dew at the suction pressure. [K]"""
    if reading.suction_line_k is None or reading.suction_pressure_pa is None:
        return None
    return reading.suction_line_k - float(bench.fluid.dew_temperature_k(reading.suction_pressure_pa))


def subcooling(bench: Bench, reading: ReadingSet) -> float | None:
    """Liquid line below bubble at the head pressure. [K]"""
    if reading.liquid_line_k is None or reading.head_pressure_pa is None:
        return None
    return float(bench.fluid.bubble_temperature_k(reading.head_pressure_pa)) - reading.liquid_line_k


def states(bench: Bench, reading: ReadingSet) -> States | None:
    """The compressor's states; None where one was not read or is too near saturation to be told, and where
    vapour is led in midway, so that more leaves the compressor than entered it."""
    if bench.facts.vapour_injection:
        return None
    power = fan.compressor_power(bench.facts, reading)
    superheat = suction_superheat(bench, reading)
    head, discharge, liquid = reading.head_pressure_pa, reading.discharge_line_k, reading.liquid_line_k
    if power is None or superheat is None or head is None or discharge is None or liquid is None:
        return None
    suction, suction_k = reading.suction_pressure_pa, reading.suction_line_k
    if suction is None or suction_k is None or superheat < balance.LEAST_SUPERHEAT_K:
        return None
    if discharge < float(bench.fluid.dew_temperature_k(head)) + balance.LEAST_SUPERHEAT_K:
        return None
    before = float(bench.fluid.vapour_enthalpy_j_per_kg(suction, suction_k))
    after = float(bench.fluid.vapour_enthalpy_j_per_kg(head, discharge))
    if after - before < LEAST_WORK_J_PER_KG:
        return None
    return States(before, after, float(bench.fluid.liquid_enthalpy_j_per_kg(liquid)), power.power_w)


def heat(bench: Bench, reading: ReadingSet) -> float | None:
    """Heat through the water-side exchanger by the refrigerant, None where it can't be told. [W]"""
    told = states(bench, reading)
    return None if told is None else _heat(told, reading.mode, USUAL_LOSS)


def _heat(told: States, mode: str, loss: float) -> float:
    hot = told.after if mode == "cooling" else told.before
    return float(balance.refrigerant_heat(told.flow(loss), hot, told.at_valve))


def account(bench: Bench, reading: ReadingSet, loss: float = USUAL_LOSS) -> Account | None:
    """Everything the refrigerant side tells, at a share of power lost through the shell."""
    told = states(bench, reading)
    superheat, subcooled = suction_superheat(bench, reading), subcooling(bench, reading)
    head, suction, suction_k = reading.head_pressure_pa, reading.suction_pressure_pa, reading.suction_line_k
    if told is None or superheat is None or subcooled is None:
        return None
    assert head is not None and suction is not None and suction_k is not None
    entropy = float(bench.fluid.vapour_entropy_j_per_kg_k(suction, suction_k))
    ideal_k = float(bench.fluid.vapour_temperature_k_from_entropy(head, entropy))
    ideal = float(bench.fluid.vapour_enthalpy_j_per_kg(head, ideal_k)) - told.before
    taken = _heat(told, reading.mode, loss)
    if ideal <= 0 or taken <= 0:
        return None
    density = float(bench.fluid.vapour_density_kg_per_m3(suction, suction_k))
    return Account(
        taken,
        math.log(ideal * (1 - loss) / (told.after - told.before)),
        math.log(told.flow(loss) / density),
        superheat,
        subcooled,
    )

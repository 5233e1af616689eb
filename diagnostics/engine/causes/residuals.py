"""A reading set as a vector that can be held against what the clean unit would show; absent readings are
absent."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnostics.engine import entries, fan, ports
from diagnostics.engine.causes.machines import may_be_flooded
from diagnostics.engine.causes.probability import Array
from diagnostics.engine.records import ExchangerFacts, InstrumentAccuracy, ReadingSet
from diagnostics.engine.refrigerants import refrigerant
from diagnostics.engine.uncertainty import standard_uncertainty
from diagnostics.engine.virtual_unit import State, VirtualUnit
from diagnostics.engine.waters import water

QUANTITIES: tuple[str, ...] = (
    "flow",
    "pressure_drop",
    "water_change",
    "head",
    "suction",
    "superheat",
    "subcooling",
    "discharge",
    "power",
    "air_change",
)
"""What is compared. flow, pressure_drop and power are natural logarithms (over design flow, over design
pressure
drop, over 1 W) [-]; head is the bubble and suction the dew temperature of the pressure [K]; discharge a
temperature [K]; the rest differences [K], positive as a running machine shows them. The approach is head less
leaving water (cooling) or leaving water less suction (heating): it follows from these and is only told."""

RAW_OF_STATE: Mapping[str, str] = {
    "entering_water": "entering_water_k",
    "leaving_water": "leaving_water_k",
    "water_flow": "water_kg_per_s",
    "water_pressure_drop": "water_drop_pa",
    "head_pressure": "head_pa",
    "suction_pressure": "suction_pa",
    "liquid_line": "liquid_line_k",
    "suction_line": "suction_line_k",
    "discharge_line": "discharge_line_k",
    "compressor_power": "power_w",
    "entering_air": "entering_air_k",
    "leaving_air": "leaving_air_k",
}
USUAL_POWER_FACTOR, POWER_BY_AMPS = 0.85, 0.06
AMPS_ONLY_W_PER_A = 589.0
"""Three phases of 400 V at the usual power factor: without volts only amps of two visits are compared, and
the figure drops out."""
AMPS_FROM_VISIT = 0.05
"""Standard uncertainty of power over amps from visit to visit: voltage and power factor (common practice)."""
AMPS_ALONE = 1.0
"""The same from unit to unit, as ln: without a clean visit amps alone tell nothing. [-]"""


@dataclass(frozen=True, slots=True)
class Observed:
    """What one reading set shows: names and values of the quantities, covariance of their random and
    repeating
    errors, and the change of each quantity for one standard uncertainty of each reading."""

    names: tuple[str, ...]
    values: Array
    random: Array
    repeating: Array
    readings: tuple[str, ...]
    sensitivity: Array

    def place(self, name: str) -> int | None:
        """Place of a quantity, None where it was not read."""
        return self.names.index(name) if name in self.names else None


def quantities(
    raw: Mapping[str, Array], facts: ExchangerFacts, unit: VirtualUnit, mode: str
) -> dict[str, Array]:
    """The quantities that some readings allow.

    Parameters
    ----------
    raw : mapping of str to array
        Readings by instrument name, one entry a case. [SI]
    facts : ExchangerFacts
        The register's row.
    unit : VirtualUnit
        The unit as the register knows it.
    mode : str
        cooling or heating.

    Returns
    -------
    dict of str to array
        Quantities by name, see `QUANTITIES`. [K or -]

    References
    ----------
    Common practice: the trade's own diagnostic differences.

    Examples
    --------
    See `observed`.
    """
    fluid = refrigerant(facts.refrigerant, errors="nan")
    found: dict[str, Array] = {}
    exchanger = unit.evaporator if unit.evaporator is not None and mode == "heating" else unit.exchanger
    with np.errstate(divide="ignore", invalid="ignore"):
        if "water_flow" in raw:
            found["flow"] = np.log(raw["water_flow"] / float(exchanger.design_flow_kg_per_s))
        if "water_pressure_drop" in raw:
            found["pressure_drop"] = np.log(raw["water_pressure_drop"] / float(exchanger.design_drop_pa))
        if "compressor_power" in raw:
            found["power"] = np.log(raw["compressor_power"])
    sign = 1.0 if mode == "cooling" else -1.0
    if {"entering_water", "leaving_water"} <= raw.keys():
        found["water_change"] = sign * (raw["leaving_water"] - raw["entering_water"])
    if {"entering_air", "leaving_air"} <= raw.keys():
        found["air_change"] = sign * (raw["entering_air"] - raw["leaving_air"])
    if "head_pressure" in raw:
        found["head"] = np.asarray(fluid.bubble_temperature_k(raw["head_pressure"]))
    if "suction_pressure" in raw:
        found["suction"] = np.asarray(fluid.dew_temperature_k(raw["suction_pressure"]))
    for name, line, base, way in (
        ("superheat", "suction_line", "suction", 1.0),
        ("subcooling", "liquid_line", "head", -1.0),
    ):
        if line in raw and base in found:
            found[name] = way * (raw[line] - found[base])
    if "discharge_line" in raw:
        found["discharge"] = raw["discharge_line"]
    return found


def raw_of_states(states: Sequence[State]) -> dict[str, Array]:
    """What instruments without error would show of some states."""
    found = {}
    for name, attribute in RAW_OF_STATE.items():
        column = [getattr(state, attribute) for state in states]
        if all(value is not None for value in column):
            found[name] = np.array(column, dtype=float)
    return found


def matrix_of_states(
    states: Sequence[State], facts: ExchangerFacts, unit: VirtualUnit, mode: str, names: Sequence[str]
) -> Array:
    """States by quantities; NaN rows for states that no steady reading could show."""
    found = quantities(raw_of_states(states), facts, unit, mode)
    rows = np.stack(
        [found[name] if name in found else np.full(len(states), np.nan) for name in names], axis=1
    )
    steady = np.array([one.converged and not one.beyond for one in states])
    rows[~steady] = np.nan
    return rows


def observed(
    facts: ExchangerFacts,
    reading: ReadingSet,
    unit: VirtualUnit,
    instruments: Mapping[str, InstrumentAccuracy],
) -> Observed:
    """The reading set as quantities with their errors.

    Parameters
    ----------
    facts : ExchangerFacts
        The register's row.
    reading : ReadingSet
        What was read.
    unit : VirtualUnit
        The unit as the register knows it.
    instruments : mapping of str to InstrumentAccuracy
        Accuracy by reading.

    Returns
    -------
    Observed
        Only what was read. [K or -]

    References
    ----------
    JCGM 102:2011, 6.2.1.3, covariance of several results.

    Examples
    --------
    See `ranking.rank`.
    """
    raw, limits = raw_readings(facts, reading, instruments)
    names = tuple(name for name in raw if name not in _of_a_flooded_evaporator(facts, reading))
    base = np.array([raw[name] for name in names])
    spread = np.array([np.hypot(*limits[name]) for name in names])
    moved = np.vstack([base, base + np.diag(spread)])
    found = quantities({n: moved[:, i] for i, n in enumerate(names)}, facts, unit, reading.mode)
    known = tuple(n for n in QUANTITIES if n in found and np.all(np.isfinite(found[n])))
    if not known:
        return Observed((), np.empty(0), np.empty((0, 0)), np.empty((0, 0)), names, np.empty((0, len(names))))
    table = np.stack([found[name] for name in known])
    sensitivity = table[:, 1:] - table[:, :1]
    parts = [sensitivity * np.array([limits[n][i] for n in names]) / spread for i in (0, 1)]
    told_by = {"compressor_power": "amps"} if amps_alone(reading) else {}
    as_read = tuple(told_by.get(name, name) for name in names)
    return Observed(known, table[:, 0], parts[1] @ parts[1].T, parts[0] @ parts[0].T, as_read, sensitivity)


def _of_a_flooded_evaporator(facts: ExchangerFacts, reading: ReadingSet) -> tuple[str, ...]:
    """Readings that tell nothing of a valve, because the suction gas of such a machine is not superheated."""
    suction, line = reading.suction_pressure_pa, reading.suction_line_k
    if suction is None or line is None:
        return ()
    dew = float(np.asarray(refrigerant(facts.refrigerant, errors="nan").dew_temperature_k(suction)))
    return ("suction_line", "discharge_line") if may_be_flooded(facts, line - dew) else ()


def raw_readings(
    facts: ExchangerFacts, reading: ReadingSet, instruments: Mapping[str, InstrumentAccuracy]
) -> tuple[dict[str, float], dict[str, tuple[float, float]]]:
    """Readings by instrument name [SI], and standard uncertainty of their repeating and random parts; the
    pressure drop is the exchanger's own, the power the compressor's."""
    values: dict[str, float | None] = {
        name: getattr(reading, name + suffix)
        for name, suffix in (
            ("entering_water", "_k"),
            ("leaving_water", "_k"),
            ("head_pressure", "_pa"),
            ("suction_pressure", "_pa"),
            ("liquid_line", "_k"),
            ("suction_line", "_k"),
            ("discharge_line", "_k"),
            ("entering_air", "_k"),
            ("leaving_air", "_k"),
        )
    }
    values["water_flow"] = _mass_flow(reading)
    power, by_amps = _power(reading)
    alone = _alone(facts, reading, power)
    values["compressor_power"] = None if alone is None else alone.power_w
    read = reading.water_pressure_drop_pa is not None
    own = ports.own_drop(facts, reading, _density(facts, reading)) if read else None
    values["water_pressure_drop"] = None if own is None else own.drop_pa
    raw = {name: float(value) for name, value in values.items() if value is not None and value > 0.0}
    limits = {name: _parts(instruments[name], value) for name, value in raw.items()}
    if by_amps and power is not None:
        limits["compressor_power"] = (POWER_BY_AMPS * power, 0.02 * power)
        if amps_alone(reading):
            limits["compressor_power"] = (0.01 * power, AMPS_FROM_VISIT * power)
    if alone is not None and alone.spread > 0:
        limits["compressor_power"] = _widened(limits["compressor_power"], alone.spread * alone.power_w)
    if own is not None and own.left_open:
        limits["water_pressure_drop"] = _of_own(own, reading, instruments["water_pressure_drop"])
    return raw, limits


def amps_alone(reading: ReadingSet) -> bool:
    """Whether amps were read with nothing that makes power of them."""
    return reading.amps_a is not None and reading.compressor_power_w is None and reading.volts_v is None


def by_amps_alone(reading: ReadingSet) -> ReadingSet:
    """The set as amps alone show it, to stand beside another of which no more was read."""
    return replace(reading, compressor_power_w=None, volts_v=None, power_factor=None)


def _alone(facts: ExchangerFacts, reading: ReadingSet, power_w: float | None) -> fan.Compressor | None:
    """The compressor's share of the power; amps alone stand only beside others of their kind, fan and all."""
    if power_w is None or power_w <= 0:
        return None
    return fan.Compressor(power_w) if amps_alone(reading) else fan.compressor_alone(facts, reading, power_w)


def _widened(limits: tuple[float, float], more: float) -> tuple[float, float]:
    """Repeating part with something more that repeats."""
    return float(np.hypot(limits[0], more)), limits[1]


def _of_own(own: ports.Own, reading: ReadingSet, accuracy: InstrumentAccuracy) -> tuple[float, float]:
    """Parts of the exchanger's own drop: the gauge errs in what was read, and some of that is taken off."""
    share = own.drop_pa / own.left_pa
    repeating, random = _parts(accuracy, reading.water_pressure_drop_pa or 0.0)
    open_pa = own.drop_pa * math.hypot(*(one.spread for one in own.left_open))
    return _widened((share * repeating, share * random), open_pa)


def _density(facts: ExchangerFacts, reading: ReadingSet) -> float:
    """Of the loop's water, or of plain water where its antifreeze is not known well enough. [kg/m3]"""
    known = entries.antifreeze_stop(facts) is None
    liquid = water(facts.antifreeze, facts.antifreeze_fraction) if known else water("none")
    at = min(max(reading.entering_water_k or 293.15, 274.15), 353.15)
    return float(liquid.density_kg_per_m3(at))


def _parts(accuracy: InstrumentAccuracy, value: float) -> tuple[float, float]:
    size = abs(value) if accuracy.relative else 1.0
    repeating, random = (
        standard_uncertainty(limit * size, accuracy.distribution)
        for limit in (accuracy.repeating, accuracy.random)
    )
    return repeating, max(random, 1e-9)


def _mass_flow(reading: ReadingSet) -> float | None:
    if reading.water_flow_kg_per_s is not None:
        return reading.water_flow_kg_per_s
    if reading.water_flow_m3_per_s is None:
        return None
    at = min(max(reading.entering_water_k or 293.15, 274.15), 353.15)
    density = float(water("none").density_kg_per_m3(at))
    return reading.water_flow_m3_per_s * density


def _power(reading: ReadingSet) -> tuple[float | None, bool]:
    """Power [W], and whether it was told by amps."""
    if reading.compressor_power_w is not None:
        return reading.compressor_power_w, False
    if reading.amps_a is None:
        return None, False
    if reading.volts_v is None:
        return reading.amps_a * AMPS_ONLY_W_PER_A, True
    phases = 3.0**0.5 if (reading.phases or 1) > 2 else 1.0
    factor = reading.power_factor or USUAL_POWER_FACTOR
    return reading.amps_a * reading.volts_v * phases * factor, True

"""From a solved machine to what instruments of a stated accuracy would show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from diagnostics.engine.forward.truth import ForwardState
from diagnostics.engine.records import InstrumentAccuracy, ReadingSet

FIRST_VISIT = datetime(2022, 5, 3, 9, 30, tzinfo=UTC)
FIELDS: dict[str, str] = {
    "entering_water": "entering_water_k",
    "leaving_water": "leaving_water_k",
    "water_flow": "water_flow_kg_per_s",
    "water_pressure_drop": "water_pressure_drop_pa",
    "head_pressure": "head_pressure_pa",
    "suction_pressure": "suction_pressure_pa",
    "liquid_line": "liquid_line_k",
    "suction_line": "suction_line_k",
    "discharge_line": "discharge_line_k",
    "compressor_power": "compressor_power_w",
    "amps": "amps_a",
    "volts": "volts_v",
    "power_factor": "power_factor",
    "entering_air": "entering_air_k",
    "entering_air_wet_bulb": "entering_air_wet_bulb_k",
    "leaving_air": "leaving_air_k",
    "static_pressure": "static_pressure_pa",
    "static_coldest": "static_coldest_k",
}


def reading_of(
    state: ForwardState, *, unit: str, taken_at: datetime, purpose: str = "routine", gauge_set: str = "A"
) -> ReadingSet:
    """The state as a reading set without any instrument error.

    Parameters
    ----------
    state : ForwardState
        A solved machine.
    unit : str
        The unit's tag.
    taken_at : datetime
        When it was read.
    purpose : str
        One of the purposes in `records`.
    gauge_set : str
        The gauge set's name.

    Returns
    -------
    ReadingSet
        True values.

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    >>> from diagnostics.engine.forward import ExchangerTruth, OperatingPoint, UnitTruth, solve
    >>> unit = UnitTruth(exchanger=ExchangerTruth(refrigerant="R410A", area_m2=0.9))
    >>> state = solve(unit, OperatingPoint("cooling", 303.15, 0.55, 12_500.0))
    >>> reading_of(state, unit="HP-1", taken_at=datetime(2024, 5, 1)).mode
    'cooling'
    """
    return ReadingSet(
        unit=unit,
        taken_at=taken_at,
        mode=state.mode,
        purpose=purpose,
        taken_at_as_typed=taken_at.isoformat(),
        minutes_running=20.0,
        gauge_set=gauge_set,
        entering_water_k=state.entering_water_k,
        leaving_water_k=state.leaving_water_k,
        water_flow_kg_per_s=state.water_flow_kg_per_s,
        water_pressure_drop_pa=state.water_pressure_drop_pa,
        head_pressure_pa=state.head_pa,
        suction_pressure_pa=state.suction_pa,
        liquid_line_k=state.liquid_line_k,
        suction_line_k=state.suction_line_k,
        discharge_line_k=state.discharge_line_k,
        compressor_power_w=state.power_w,
    )


def draw_repeating_errors(
    instruments: Mapping[str, InstrumentAccuracy], rng: np.random.Generator
) -> dict[str, float]:
    """One gauge set's repeating errors, each as a multiple of its stated limit.

    Parameters
    ----------
    instruments : mapping of str to InstrumentAccuracy
        Accuracy by column name.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    dict of str to float
        Multiples of the limit, by column name. [-]

    References
    ----------
    JCGM 100:2008, 4.3.7 (limits as a rectangular distribution) and 4.3.4 (as an expanded uncertainty, k = 2).

    Examples
    --------
    >>> draw_repeating_errors({}, np.random.default_rng(1))
    {}
    """
    return {name: _unit_error(accuracy, rng) for name, accuracy in instruments.items()}


def with_instrument_noise(
    reading: ReadingSet,
    instruments: Mapping[str, InstrumentAccuracy],
    rng: np.random.Generator,
    repeating_errors: Mapping[str, float],
) -> ReadingSet:
    """The reading as instruments with these accuracies would show it.

    Each value gets its gauge set's repeating error and a fresh random one. Relative accuracies are
    fractions of the true value (pressures absolute). Where one probe was moved, leaving water shares
    entering water's repeating error.

    Parameters
    ----------
    reading : ReadingSet
        True values.
    instruments : mapping of str to InstrumentAccuracy
        Accuracy by column name; a reading without one stays true.
    rng : numpy.random.Generator
        Source of chance.
    repeating_errors : mapping of str to float
        From `draw_repeating_errors`. [-]

    Returns
    -------
    ReadingSet
        Values as read.

    References
    ----------
    JCGM 100:2008, F.1.2: repeating parts are correlated between readings.

    Examples
    --------
    >>> set_ = ReadingSet(unit="HP-1", taken_at=FIRST_VISIT, mode="cooling", entering_water_k=300.0)
    >>> with_instrument_noise(set_, {}, np.random.default_rng(1), {}).entering_water_k
    300.0
    """
    values: dict[str, float] = {}
    for name, attribute in FIELDS.items():
        accuracy, true = instruments.get(name), getattr(reading, attribute)
        if accuracy is None or true is None:
            continue
        shared = "entering_water" if reading.probe_moved and name == "leaving_water" else name
        error = accuracy.repeating * repeating_errors.get(shared, 0.0)
        error += accuracy.random * _unit_error(accuracy, rng)
        values[attribute] = true * (1.0 + error) if accuracy.relative else true + error
    return replace(reading, **values)  # type: ignore[arg-type]


def _unit_error(accuracy: InstrumentAccuracy, rng: np.random.Generator) -> float:
    if accuracy.distribution == "normal":
        return float(rng.normal(0.0, 0.5))
    return float(rng.uniform(-1.0, 1.0))

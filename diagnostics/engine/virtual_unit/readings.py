"""What a technician reads from a machine, running or at rest."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from diagnostics.engine.records import ReadingSet
from diagnostics.engine.virtual_unit.faults import NO_FAULTS, Faults
from diagnostics.engine.virtual_unit.properties import property_table
from diagnostics.engine.virtual_unit.unit import State, VirtualUnit

REST_K = 298.15


def readings(
    state: State,
    *,
    unit: str,
    taken_at: datetime,
    purpose: str = "routine",
    stage: str = "full",
    gauge_set: str = "A",
    volts_v: float = 400.0,
    phases: int = 3,
    faults: Faults = NO_FAULTS,
) -> ReadingSet:
    """A state as a reading set, every value true; `forward.with_instrument_noise` adds what instruments add.

    Parameters
    ----------
    state : State
        What the machine settled at.
    unit : str
        The unit's tag.
    taken_at : datetime
        When it was read.
    purpose : str
        One of the purposes in `records`.
    stage : str
        full or low.
    gauge_set : str
        The gauge set's name.
    volts_v : float
        Supply. [V]
    phases : int
        Of the supply. [-]
    faults : Faults
        Only for what is seen: the strainer.

    Returns
    -------
    ReadingSet
        True values. [SI]

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    >>> from diagnostics.engine.virtual_unit import Conditions, rated_unit, solve
    >>> state = solve(rated_unit(capacity_w=10e3), Conditions("cooling", 303.15))
    >>> readings(state, unit="HP-1", taken_at=datetime(2024, 5, 1)).strainer
    'clean'
    """
    return ReadingSet(
        unit=unit,
        taken_at=taken_at,
        mode=state.mode,
        purpose=purpose,
        taken_at_as_typed=taken_at.isoformat(),
        stage=stage,
        minutes_running=20.0,
        gauge_set=gauge_set,
        entering_water_k=state.entering_water_k,
        leaving_water_k=state.leaving_water_k,
        water_flow_kg_per_s=state.water_kg_per_s,
        water_pressure_drop_pa=state.water_drop_pa,
        head_pressure_pa=state.head_pa,
        suction_pressure_pa=state.suction_pa,
        liquid_line_k=state.liquid_line_k,
        suction_line_k=state.suction_line_k,
        discharge_line_k=state.discharge_line_k,
        compressor_power_w=state.power_w,
        amps_a=state.amps_a,
        volts_v=volts_v,
        phases=phases,
        power_factor=state.power_factor,
        entering_air_k=state.entering_air_k,
        entering_air_wet_bulb_k=state.air_wet_bulb_k,
        leaving_air_k=state.leaving_air_k,
        strainer=_strainer(float(faults.strainer_blocked)),
        fault_lockout=state.lockout,
    )


def static_pressure_pa(unit: VirtualUnit, coldest_k: float, faults: Faults = NO_FAULTS) -> float:
    """Pressure of the machine at rest, settled: saturation at the coldest liquid, and air on top.

    Parameters
    ----------
    unit : VirtualUnit
        The machine.
    coldest_k : float
        Coldest place that holds liquid. [K]
    faults : Faults
        What is wrong with it; only air shows.

    Returns
    -------
    float
        Static pressure. [Pa]

    References
    ----------
    Dalton's law; the static test is common practice.

    Examples
    --------
    >>> from diagnostics.engine.virtual_unit import rated_unit
    >>> round(static_pressure_pa(rated_unit(capacity_w=10e3), 293.15) / 1e3)
    1447
    """
    table = property_table((unit.refrigerant,))
    rest = float(table.bubble_pressure_pa(np.array([REST_K]))[0])
    settled = float(table.bubble_pressure_pa(np.array([coldest_k]))[0])
    return settled + float(faults.air_share) * rest * coldest_k / REST_K


def _strainer(blocked: float) -> str:
    """What the strainer looks like when it is opened (common practice)."""
    if blocked < 0.3:
        return "clean"
    return "dirty" if blocked < 0.75 else "blocked"

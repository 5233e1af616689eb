"""The operating table that the maker of a machine would print."""

from __future__ import annotations

from collections.abc import Sequence

from diagnostics.engine.records import TableRow
from diagnostics.engine.virtual_unit.solver import solve_many
from diagnostics.engine.virtual_unit.unit import CHILLER, Conditions, State, VirtualUnit
from diagnostics.engine.waters import water

PSI_PA, ATMOSPHERE_PA = 6894.757, 101_325.0
WATERS_K = {"cooling": (283.15, 288.71, 294.26, 299.82, 305.37), "heating": (277.59, 283.15, 288.71, 294.26)}
CHILLED_WATERS_K = (281.15, 285.15, 289.15)
FLOW_RATIOS = (0.65, 1.0)
AIR_K = {"cooling": (299.82, 292.59), "heating": (294.26, 288.15)}


def operating_table(
    unit: VirtualUnit,
    tag: str,
    *,
    modes: Sequence[str] = ("cooling", "heating"),
    flow_ratios: Sequence[float] = FLOW_RATIOS,
    half_width: float = 0.03,
) -> list[TableRow]:
    """Rows by entering water and flow: pressures as rounded ranges, superheat, subcooling, temperature
    change.

    Solved for the clean machine on plain water at sea level, printed as manuals print: gauge pressures to
    1 psi, temperature differences to 1 degF.

    Parameters
    ----------
    unit : VirtualUnit
        The machine.
    tag : str
        The unit's tag.
    modes : sequence of str
        Modes printed; of a chiller, its condenser's and its evaporator's rows.
    flow_ratios : sequence of float
        Flows over design flow. [-]
    half_width : float
        Half the width of the pressure ranges over gauge pressure. [-]

    Returns
    -------
    list of TableRow
        Rows of states that would not trip.

    References
    ----------
    Layout: common practice of makers' manuals.

    Examples
    --------
    >>> from diagnostics.engine.virtual_unit import rated_unit
    >>> len(operating_table(rated_unit(capacity_w=10e3), "HP-1", modes=("cooling",)))
    10
    """
    conditions = [
        _conditions(unit, mode, entering, ratio)
        for mode in modes
        for entering in _waters(unit, mode)
        for ratio in flow_ratios
    ]
    states = solve_many([unit] * len(conditions), conditions)
    return [_row(state, tag, half_width) for state in states if state.converged and state.lockout == "none"]


def _waters(unit: VirtualUnit, mode: str) -> tuple[float, ...]:
    if unit.machine == CHILLER and mode == "heating":
        return CHILLED_WATERS_K
    return WATERS_K[mode]


def _conditions(unit: VirtualUnit, mode: str, entering_k: float, ratio: float) -> Conditions:
    dry, wet = AIR_K[mode]
    other = unit.rated_water_heating_k if mode == "cooling" else unit.rated_water_cooling_k
    return Conditions(
        mode,
        entering_k,
        flow_ratio=ratio,
        air_k=dry,
        air_wet_bulb_k=wet,
        other_water_k=float(other),
    )


def _row(state: State, tag: str, half_width: float) -> TableRow:
    head, suction = (_pressures(value, half_width) for value in (state.head_pa, state.suction_pa))
    superheat, subcooling = (_range(value, 2.0) for value in (state.superheat_k, state.subcooling_k))
    change = _range(abs(state.leaving_water_k - state.entering_water_k), 0.5)
    density = float(water("none").density_kg_per_m3(state.entering_water_k))
    return TableRow(
        unit=tag,
        mode=state.mode,
        entering_water_k=state.entering_water_k,
        water_flow_m3_per_s=state.water_kg_per_s / density,
        head_low_pa=head[0],
        head_high_pa=head[1],
        suction_low_pa=suction[0],
        suction_high_pa=suction[1],
        superheat_low_k=superheat[0],
        superheat_high_k=superheat[1],
        subcooling_low_k=subcooling[0],
        subcooling_high_k=subcooling[1],
        water_temperature_change_low_k=change[0],
        water_temperature_change_high_k=change[1],
        water_pressure_drop_pa=state.water_drop_pa,
    )


def _pressures(value_pa: float, half_width: float) -> tuple[float, float]:
    """Range [Pa] around a pressure, its ends whole psi on the gauge."""
    gauge = (value_pa - ATMOSPHERE_PA) / PSI_PA
    half = max(2.0, half_width * abs(gauge))
    return round(gauge - half) * PSI_PA + ATMOSPHERE_PA, round(gauge + half) * PSI_PA + ATMOSPHERE_PA


def _range(value_k: float, half_k: float) -> tuple[float, float]:
    """Range [K] around a difference, its ends whole degrees Fahrenheit."""
    return round((value_k - half_k) * 1.8) / 1.8, round((value_k + half_k) * 1.8) / 1.8

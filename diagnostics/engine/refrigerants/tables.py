"""Tables of saturation and superheated vapour, computed once a process from CoolProp.

Nothing here sets a reference state (that is global to a process) or builds the property library's own
tables (those are written to the home folder). Mixture models have temperatures at which their solver fails:
points are solved with the help of the phase envelope, those that fail are tried without it, and what still
fails or stands off its neighbours is dropped, so that the spline bridges the gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from diagnostics.engine import property_library as coolprop
from diagnostics.engine.errors import FloatArray
from diagnostics.engine.refrigerants.catalogue import RefrigerantFacts

LOWEST_TEMPERATURE_K = 233.1
"""-40 degC, with a hair below it so that -40.0 itself is inside however it is rounded."""
MARGIN_BELOW_CRITICAL_K = 2.0
LOWEST_SUPERHEAT_K = -5.0
HIGHEST_SUPERHEAT_K = 100.0
_SATURATION_KNOTS = 100
_VAPOUR_PRESSURE_KNOTS = 40
_VAPOUR_SUPERHEAT_KNOTS = 14
_SPIKE_IN_LN_PRESSURE = 1e-4


@dataclass(frozen=True, slots=True)
class SaturationLine:
    """Temperature [K], pressure [Pa], enthalpy [J/kg] and molar density [mol/m3] along bubble or dew."""

    temperature_k: FloatArray
    pressure_pa: FloatArray
    enthalpy_j_per_kg: FloatArray
    molar_density: FloatArray


@dataclass(frozen=True, slots=True)
class VapourGrid:
    """Enthalpy, entropy and density of vapour over pressure [Pa] (rows) and superheat [K] (columns)."""

    pressure_pa: FloatArray
    superheat_k: FloatArray
    enthalpy_j_per_kg: FloatArray
    entropy_j_per_kg_k: FloatArray
    density_kg_per_m3: FloatArray


@dataclass(frozen=True, slots=True)
class PropertyTables:
    """Everything computed for one refrigerant."""

    bubble: SaturationLine
    dew: SaturationLine
    vapour: VapourGrid


def new_state(facts: RefrigerantFacts) -> Any:
    """Return a fresh low-level state object for the refrigerant (mutable: one a thread).

    Parameters
    ----------
    facts : RefrigerantFacts
        The catalogue's row.

    Returns
    -------
    object
        A CoolProp AbstractState with its composition set.
    """
    if facts.model:
        return coolprop.AbstractState("HEOS", facts.model)
    names = [name for name, _ in facts.mass_composition]
    moles = [mass / coolprop.PropsSI("M", name) for name, mass in facts.mass_composition]
    state = coolprop.AbstractState("HEOS", "&".join(names))
    state.set_mole_fractions([mole / sum(moles) for mole in moles])
    return state


def build_tables(facts: RefrigerantFacts) -> PropertyTables:
    """Compute bubble and dew lines and the vapour grid of one refrigerant."""
    critical_k = facts.mixture_critical_k or float(new_state(facts).T_critical())
    highest_k = critical_k - MARGIN_BELOW_CRITICAL_K
    share = np.linspace(1.0, 0.0, _SATURATION_KNOTS) ** 1.6
    temperatures = highest_k - (highest_k - LOWEST_TEMPERATURE_K) * share
    bubble = _saturation_line(facts, 0, temperatures)
    dew = _saturation_line(facts, 1, temperatures)
    return PropertyTables(bubble, dew, _vapour_grid(facts, dew))


def _saturation_line(facts: RefrigerantFacts, quality: int, temperatures: FloatArray) -> SaturationLine:
    state = new_state(facts)
    if not facts.model:
        state.build_phase_envelope("")
    rows = _solve(state, quality, temperatures)
    failed = np.isnan(rows[:, 0])
    if failed.any():
        rows[failed] = _solve(new_state(facts), quality, temperatures[failed])
    keep = ~np.isnan(rows[:, 0])
    temperatures, rows = temperatures[keep], rows[keep]
    keep = _without_spikes(1.0 / temperatures, np.log(rows[:, 0]))
    return SaturationLine(temperatures[keep], *rows[keep].T)


def _solve(state: Any, quality: int, temperatures: FloatArray) -> FloatArray:
    rows = np.full((temperatures.size, 3), np.nan)
    for row, temperature in zip(rows, temperatures, strict=True):
        try:
            state.update(coolprop.QT_INPUTS, quality, temperature)
        except ValueError:
            continue
        row[:] = state.p(), state.hmass(), state.rhomolar()
    return rows


def _without_spikes(x: FloatArray, y: FloatArray) -> np.ndarray[Any, np.dtype[np.bool_]]:
    """Return which points stand where their four neighbours say; the worst is dropped until all do."""
    keep = np.ones(x.size, dtype=bool)
    while keep.sum() > 8:
        index = np.flatnonzero(keep)
        residuals = np.abs([_off_neighbours(x[index], y[index], i) for i in range(2, index.size - 2)])
        worst = int(np.argmax(residuals))
        if residuals[worst] < _SPIKE_IN_LN_PRESSURE:
            break
        keep[index[worst + 2]] = False
    return keep


def _off_neighbours(x: FloatArray, y: FloatArray, i: int) -> float:
    around = np.array([i - 2, i - 1, i + 1, i + 2])
    weights = [np.prod([(x[i] - x[k]) / (x[j] - x[k]) for k in around if k != j]) for j in around]
    return float(y[i] - np.dot(weights, y[around]))


def _vapour_grid(facts: RefrigerantFacts, dew: SaturationLine) -> VapourGrid:
    """Solve the vapour branch; below dew it is continued along its slope at dew (small floodback)."""
    picked = np.unique(np.linspace(0, dew.temperature_k.size - 1, _VAPOUR_PRESSURE_KNOTS).round().astype(int))
    superheats = HIGHEST_SUPERHEAT_K * np.linspace(0.0, 1.0, _VAPOUR_SUPERHEAT_KNOTS) ** 1.7
    state = new_state(facts)
    state.specify_phase(coolprop.iphase_gas)
    grid = np.empty((3, picked.size, superheats.size + 2))
    for row, at in enumerate(picked):
        grid[:, row, :] = _vapour_row(state, dew, int(at), superheats)
    below = np.array([LOWEST_SUPERHEAT_K, LOWEST_SUPERHEAT_K / 2])
    return VapourGrid(dew.pressure_pa[picked], np.concatenate((below, superheats)), *grid)


def _vapour_row(state: Any, dew: SaturationLine, at: int, superheats: FloatArray) -> FloatArray:
    """Return enthalpy, entropy and density at one dew pressure, following the density from dew upwards."""
    step = 0.05
    density, last_k = dew.molar_density[at], dew.temperature_k[at]
    columns = []
    for superheat in (0.0, step, *superheats[1:]):
        temperature = dew.temperature_k[at] + superheat
        density = _density(state, dew.pressure_pa[at], temperature, density * last_k / temperature)
        columns.append(np.array([state.hmass(), state.smass(), state.rhomass()]))
        last_k = temperature
    slope = (columns.pop(1) - columns[0]) / step
    below = [columns[0] + slope * superheat for superheat in (LOWEST_SUPERHEAT_K, LOWEST_SUPERHEAT_K / 2)]
    return np.array(below + columns).T


def _density(state: Any, pressure: float, temperature: float, guess: float) -> float:
    """Leave `state` at this pressure and temperature and return its molar density, found by Newton."""
    density = guess
    for _ in range(50):
        state.update(coolprop.DmolarT_INPUTS, density, temperature)
        slope = state.first_partial_deriv(coolprop.iP, coolprop.iDmolar, coolprop.iT)
        change = (pressure - state.p()) / slope
        if abs(change) < 1e-9 * density:
            return density
        density += max(change, -0.5 * density)
    raise ArithmeticError(f"no vapour density found at {pressure:g} Pa and {temperature:g} K")

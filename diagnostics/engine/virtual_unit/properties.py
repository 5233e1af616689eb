"""Refrigerant properties of many machines at once: every property of one state from one look-up.

The machine solver asks for properties some hundred thousand times. Here all saturation properties are
columns of one table over the dew temperature, and superheated vapour is a polynomial whose coefficients are
further columns, so that one look-up serves any mixture of refrigerants in a batch. The values come from
`refrigerants`; liquid density comes from the property library directly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from diagnostics.engine import property_library as coolprop
from diagnostics.engine.refrigerants import CATALOGUE, Refrigerant, canonical_name, refrigerant
from diagnostics.engine.refrigerants.tables import new_state
from diagnostics.engine.virtual_unit.vapour import ORDER, SCALE_K, Array, Number

STEP_K = 1.0
HIGHEST_SUPERHEAT_K = 99.5
MARGIN_K = 0.05
LOWEST_DEW_K = 234.2
_BASE = ("log_pressure", "bubble_k", "h_vapour", "h_liquid", "s_vapour", "log_rho_vapour", "log_rho_liquid")
_COLUMNS = len(_BASE) + 3 * ORDER + 2


@dataclass(frozen=True, slots=True)
class Saturation:
    """Saturation at one pressure: pressures [Pa], temperatures [K], h [J/kg], s [J/(kg.K)], rho [kg/m3].

    `enthalpy_terms`, `entropy_terms` and `density_terms` are the vapour polynomials' coefficients.
    """

    dew_k: Number
    pressure_pa: Number
    bubble_k: Number
    h_vapour: Number
    h_liquid: Number
    s_vapour: Number
    rho_vapour: Number
    rho_liquid: Number
    enthalpy_terms: Array
    entropy_terms: Array
    density_terms: Array


@dataclass(frozen=True, slots=True)
class PropertyTable:
    """Spline pieces of one or several refrigerants, end to end; `offset`, `low_k` [K] and `high_k` [K] a
    refrigerant.
    """

    pieces: Array
    offset: NDArray[np.intp]
    low_k: Array
    high_k: Array
    index: NDArray[np.intp]

    def saturation(self, dew_k: Number) -> Saturation:
        """Saturation state at a dew temperature [K]; beyond the table its end pieces are continued.

        Parameters
        ----------
        dew_k : array
            Dew temperature of each machine. [K]

        Returns
        -------
        Saturation
            All properties; see the class for units. [SI]

        References
        ----------
        de Boor (1978), A Practical Guide to Splines, for the piecewise cubic.

        Examples
        --------
        >>> table = property_table(("R134a",))
        >>> round(float(table.saturation(np.array([313.15])).pressure_pa[0] / 1e3), 1)
        1016.6
        """
        row = self._row(dew_k, self.index)
        base = len(_BASE)
        return Saturation(
            dew_k=dew_k,
            pressure_pa=np.exp(row[..., 0]),
            bubble_k=row[..., 1],
            h_vapour=row[..., 2],
            h_liquid=row[..., 3],
            s_vapour=row[..., 4],
            rho_vapour=np.exp(row[..., 5]),
            rho_liquid=np.exp(row[..., 6]),
            enthalpy_terms=row[..., base : base + ORDER],
            entropy_terms=row[..., base + ORDER : base + 2 * ORDER],
            density_terms=row[..., base + 2 * ORDER : base + 3 * ORDER],
        )

    def liquid(self, temperature_k: Number) -> tuple[Number, Number]:
        """Enthalpy and density of liquid, taken along the bubble line.

        Parameters
        ----------
        temperature_k : array
            Liquid temperature of each machine. [K]

        Returns
        -------
        tuple of arrays
            Enthalpy [J/kg] and density [kg/m3].

        References
        ----------
        de Boor (1978), A Practical Guide to Splines.

        Examples
        --------
        >>> table = property_table(("R134a",))
        >>> round(float(table.liquid(np.array([313.15]))[0][0] / 1e3), 1)
        256.4
        """
        row = self._row(temperature_k, self.index)
        return row[..., -2], np.exp(row[..., -1])

    def bubble_pressure_pa(self, temperature_k: Number) -> Number:
        """Pressure at which liquid of this temperature begins to boil.

        Parameters
        ----------
        temperature_k : array
            Bubble temperature of each machine. [K]

        Returns
        -------
        array
            Pressure. [Pa]

        References
        ----------
        Newton on the bubble column of the table.

        Examples
        --------
        >>> table = property_table(("R410A",))
        >>> round(float(table.bubble_pressure_pa(np.array([313.15]))[0] / 1e3))
        2426
        """
        dew = np.asarray(temperature_k, dtype=float)
        for _ in range(4):
            dew = dew + (temperature_k - self._row(dew, self.index)[..., 1])
        return np.exp(self._row(dew, self.index)[..., 0])

    def _row(self, temperature_k: Number, which: NDArray[np.intp]) -> Array:
        place = (np.asarray(temperature_k) - self.low_k) / STEP_K
        count = (self.high_k - self.low_k) / STEP_K
        cell = np.maximum(np.minimum(place, count - 0.5), 0.0).astype(np.intp)
        along = place - cell
        along = np.where(along < 0, np.maximum(along, -6.0), np.minimum(along, 4.0))[..., None]
        c = self.pieces[self.offset + cell]
        return np.asarray(((c[..., 0] * along + c[..., 1]) * along + c[..., 2]) * along + c[..., 3])


def property_table(names: Sequence[str]) -> PropertyTable:
    """The table for a batch: one name a machine, in the batch's order.

    Parameters
    ----------
    names : tuple of str
        Refrigerant of each machine.

    Returns
    -------
    PropertyTable
        Look-ups take one temperature a machine. [SI]

    References
    ----------
    Values of `refrigerants`.

    Examples
    --------
    >>> property_table(("R32", "R134a")).index.tolist()
    [1, 0]
    """
    kinds = tuple(sorted({canonical_name(name) for name in set(names)}))
    pieces, starts, lows, highs = _joined(kinds)
    place = {name: kinds.index(canonical_name(name)) for name in set(names)}
    index = np.array([place[name] for name in names], dtype=np.intp)
    return PropertyTable(pieces, starts[index], lows[index], highs[index], index)


@lru_cache(maxsize=32)
def _joined(kinds: tuple[str, ...]) -> tuple[Array, NDArray[np.intp], Array, Array]:
    """Pieces of several refrigerants end to end, and each one's offset, lowest and highest dew
    temperature [K].
    """
    tables = [_one(name) for name in kinds]
    starts = np.cumsum([0] + [len(pieces) for pieces, _, _ in tables[:-1]])
    return (
        np.concatenate([pieces for pieces, _, _ in tables]),
        np.asarray(starts, dtype=np.intp),
        np.array([low for _, low, _ in tables]),
        np.array([high for _, _, high in tables]),
    )


@cache
def _one(name: str) -> tuple[Array, float, float]:
    """Spline pieces (cell, column, power), lowest and highest dew temperature [K] of one refrigerant."""
    fluid = refrigerant(name)
    low = LOWEST_DEW_K
    while fluid.dew_pressure_pa(low) < fluid.bubble_pressure_pa(LOWEST_DEW_K - 1.0):
        low += STEP_K
    cells = int((fluid.maximum_temperature_k - MARGIN_K - low) / STEP_K)
    knots = low + STEP_K * np.arange(cells + 1)
    values = np.column_stack(
        [_saturated(fluid, knots), _vapour_terms(fluid, knots), _liquid(name, fluid, knots)]
    )
    pieces = CubicSpline(knots, values).c
    return np.ascontiguousarray(np.moveaxis(pieces, 0, -1)), low, float(knots[-1])


def _saturated(fluid: Refrigerant, knots: Array) -> Array:
    pressure = fluid.dew_pressure_pa(knots)
    bubble = fluid.bubble_temperature_k(pressure)
    dew = knots + 1e-9
    return np.column_stack(
        [
            np.log(pressure),
            bubble,
            fluid.saturated_vapour_enthalpy_j_per_kg(pressure),
            fluid.saturated_liquid_enthalpy_j_per_kg(pressure),
            fluid.vapour_entropy_j_per_kg_k(pressure, dew),
            np.log(fluid.vapour_density_kg_per_m3(pressure, dew)),
            np.log(_liquid_density(fluid.name, bubble)),
        ]
    )


def _vapour_terms(fluid: Refrigerant, knots: Array) -> Array:
    """Coefficients of enthalpy, entropy and log density over ln(1 + superheat/8 K), fitted at every knot."""
    superheat = 1e-6 + HIGHEST_SUPERHEAT_K * np.linspace(0.0, 1.0, 45) ** 1.5
    powers = np.log1p(superheat / SCALE_K)[:, None] ** np.arange(1, ORDER + 1)
    pressure = np.repeat(fluid.dew_pressure_pa(knots)[:, None], superheat.size, axis=1)
    temperature = knots[:, None] + superheat[None, :]
    grids = (
        fluid.vapour_enthalpy_j_per_kg(pressure, temperature),
        fluid.vapour_entropy_j_per_kg_k(pressure, temperature),
        np.log(fluid.vapour_density_kg_per_m3(pressure, temperature)),
    )
    terms = [np.linalg.lstsq(powers, (grid - grid[:, :1]).T, rcond=None)[0].T for grid in grids]
    return np.column_stack(terms)


def _liquid(name: str, fluid: Refrigerant, knots: Array) -> Array:
    top = fluid.maximum_temperature_k - MARGIN_K
    at = np.minimum(knots, top)
    return np.column_stack([fluid.liquid_enthalpy_j_per_kg(at), np.log(_liquid_density(name, at))])


def _liquid_density(name: str, temperatures: Array) -> Array:
    """Saturated liquid density [kg/m3]; temperatures at which a mixture's solver fails are bridged by a
    spline.
    """
    facts = CATALOGUE[name]
    state = new_state(facts)
    if not facts.model:
        state.build_phase_envelope("")
    found = np.full(temperatures.size, np.nan)
    for place, temperature in enumerate(temperatures):
        try:
            state.update(coolprop.QT_INPUTS, 0.0, temperature)
        except ValueError:
            continue
        found[place] = state.rhomass()
    good = ~np.isnan(found)
    good[1:] &= ~(np.diff(np.nan_to_num(found, nan=0.0)) > 0.0)
    return np.asarray(CubicSpline(temperatures[good], found[good])(temperatures), dtype=float)

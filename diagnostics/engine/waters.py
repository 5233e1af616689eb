"""Water and its mixtures with antifreeze: density, specific heat, viscosity, conductivity and freezing point.

Plain water is IAPWS water at one atmosphere. Glycols are by volume (the ASHRAE Handbook's tables as fitted in
CoolProp), alcohols by mass (Melinder's). Below a fraction of 0.1, where the glycol fits end, values are
interpolated between plain water and the 0.1 mixture (viscosity in its logarithm).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

from diagnostics.engine import property_library as coolprop
from diagnostics.engine.errors import FloatArray, OnRange, UnknownName, like, within

Values = npt.ArrayLike

_ONE_ATMOSPHERE_PA = 101325.0
_LIQUID_WATER_FROM_K = 273.16
_WATER_FREEZES_K = 273.15
_HIGHEST_TEMPERATURE_K = 370.0
_ALCOHOLS_CONTINUED_TO_K = 333.15
_LOWEST_FITTED_FRACTION = 0.1
_HIGHEST_FRACTION = 0.6
_KNOTS = 48


@dataclass(frozen=True, slots=True)
class AntifreezeFacts:
    """An antifreeze: the fitted fluid, the basis of its fraction, and where the values come from."""

    name: str
    fluid: str
    basis: str
    source: str


ANTIFREEZES: Mapping[str, AntifreezeFacts] = MappingProxyType(
    {
        row.name: row
        for row in (
            AntifreezeFacts("none", "", "none", "IAPWS-95, one atmosphere"),
            AntifreezeFacts(
                "propylene_glycol", "APG", "volume", "ASHRAE Fundamentals, secondary coolants, as fitted"
            ),
            AntifreezeFacts(
                "ethylene_glycol", "AEG", "volume", "ASHRAE Fundamentals, secondary coolants, as fitted"
            ),
            AntifreezeFacts("methanol", "MMA", "mass", "Melinder 2010, secondary working fluids, as fitted"),
            AntifreezeFacts("ethanol", "MEA", "mass", "Melinder 2010, secondary working fluids, as fitted"),
        )
    }
)


@dataclass(frozen=True, slots=True)
class _Table:
    """Properties at knots of temperature: rows of density, specific heat, ln viscosity, conductivity."""

    temperature_k: FloatArray
    rows: FloatArray
    freezing_point_k: float
    published_to_k: float


@dataclass(frozen=True, slots=True)
class Water:
    """The water of a loop. Temperatures in K; scalars in give a float, arrays in give an array.

    `published_to_k` is where the source's values end; above it (alcohols only) they are continued along their
    slope.

    References
    ----------
    Wagner & Pruss (2002), J. Phys. Chem. Ref. Data 31, 387 (IAPWS-95), with the IAPWS 2008 viscosity and 2011
    conductivity; ASHRAE Handbook Fundamentals, secondary coolants (glycols); Melinder (2010), Properties of
    Secondary Working Fluids for Indirect Systems (alcohols).
    """

    antifreeze: str
    fraction: float
    freezing_point_k: float
    minimum_temperature_k: float
    maximum_temperature_k: float
    published_to_k: float
    splines: tuple[CubicSpline, CubicSpline, CubicSpline, CubicSpline]
    errors: OnRange = "raise"

    def density_kg_per_m3(self, temperature_k: Values) -> Any:
        """Return the density [kg/m3] at this temperature [K]."""
        return like(self.splines[0](self._within(temperature_k)), temperature_k)

    def specific_heat_j_per_kg_k(self, temperature_k: Values) -> Any:
        """Return the specific heat capacity [J/(kg K)] at this temperature [K]."""
        return like(self.splines[1](self._within(temperature_k)), temperature_k)

    def viscosity_pa_s(self, temperature_k: Values) -> Any:
        """Return the dynamic viscosity [Pa s] at this temperature [K]."""
        return like(np.exp(self.splines[2](self._within(temperature_k))), temperature_k)

    def conductivity_w_per_m_k(self, temperature_k: Values) -> Any:
        """Return the thermal conductivity [W/(m K)] at this temperature [K]."""
        return like(self.splines[3](self._within(temperature_k)), temperature_k)

    def prandtl(self, temperature_k: Values) -> Any:
        """Return the Prandtl number [-] at this temperature [K]."""
        heat = self.specific_heat_j_per_kg_k(temperature_k)
        return heat * self.viscosity_pa_s(temperature_k) / self.conductivity_w_per_m_k(temperature_k)

    def _within(self, temperature_k: Values) -> FloatArray:
        low, high = self.minimum_temperature_k, self.maximum_temperature_k
        what = f"{self.antifreeze} {self.fraction:g} temperature" if self.fraction else "water temperature"
        return within(what, "K", temperature_k, low, high, self.errors)


def water(antifreeze: str = "none", fraction: float | None = None, errors: OnRange = "raise") -> Water:
    """Return the water of a loop, built once a process for each antifreeze and fraction.

    Parameters
    ----------
    antifreeze : str
        none, propylene_glycol, ethylene_glycol, methanol or ethanol.
    fraction : float or None
        Share of antifreeze [-], 0 to 0.6: by volume for glycols, by mass for alcohols. None only with "none".
    errors : {"raise", "nan"}
        What a temperature outside the liquid range does: raises `OutOfRange`, or gives NaN (for draws).

    Returns
    -------
    Water
        Properties of that water.

    Raises
    ------
    UnknownName
        Where the antifreeze is not known; lists those that are.
    ValueError
        Where the fraction is missing, given without an antifreeze, or outside 0 to 0.6.

    References
    ----------
    As `Water`.

    Examples
    --------
    >>> round(water("propylene_glycol", 0.30).specific_heat_j_per_kg_k(293.15) / 1000, 3)
    3.848
    """
    if antifreeze not in ANTIFREEZES:
        raise UnknownName("antifreeze", antifreeze, ANTIFREEZES)
    return _cached(antifreeze, _checked_fraction(antifreeze, fraction), errors)


def _checked_fraction(antifreeze: str, fraction: float | None) -> float:
    if antifreeze == "none":
        if fraction:
            raise ValueError(
                f"antifreeze fraction {fraction:g} without an antifreeze; expected its name, or 0"
            )
        return 0.0
    basis = ANTIFREEZES[antifreeze].basis
    if fraction is None:
        raise ValueError(f"{antifreeze} without a fraction; expected 0 to {_HIGHEST_FRACTION:g} by {basis}")
    if not 0.0 <= fraction <= _HIGHEST_FRACTION:
        raise ValueError(
            f"{antifreeze} fraction {fraction:g} is outside the range 0 to {_HIGHEST_FRACTION:g} by {basis}"
        )
    return float(fraction)


@lru_cache(maxsize=256)
def _cached(antifreeze: str, fraction: float, errors: OnRange) -> Water:
    table = _table(antifreeze, fraction)
    splines = tuple(CubicSpline(table.temperature_k, row, extrapolate=False) for row in table.rows)
    return Water(
        antifreeze=antifreeze,
        fraction=fraction,
        freezing_point_k=table.freezing_point_k,
        minimum_temperature_k=float(table.temperature_k[0]),
        maximum_temperature_k=float(table.temperature_k[-1]),
        published_to_k=table.published_to_k,
        splines=(splines[0], splines[1], splines[2], splines[3]),
        errors=errors,
    )


def _table(antifreeze: str, fraction: float) -> _Table:
    if fraction == 0.0:
        return _plain_water()
    if fraction < _LOWEST_FITTED_FRACTION:
        share = fraction / _LOWEST_FITTED_FRACTION
        return _between(_plain_water(), _mixture(antifreeze, _LOWEST_FITTED_FRACTION), share)
    return _mixture(antifreeze, fraction)


@lru_cache(maxsize=1)
def _plain_water() -> _Table:
    """Return plain water; the 0.01 K between freezing and the triple point take the triple point's values."""
    state = coolprop.AbstractState("HEOS", "Water")
    temperatures = np.linspace(_WATER_FREEZES_K, _HIGHEST_TEMPERATURE_K, _KNOTS)
    rows = _solve(state, np.maximum(temperatures, _LIQUID_WATER_FROM_K))
    return _Table(temperatures, rows, _WATER_FREEZES_K, _HIGHEST_TEMPERATURE_K)


@lru_cache(maxsize=64)
def _mixture(antifreeze: str, fraction: float) -> _Table:
    facts = ANTIFREEZES[antifreeze]
    state = coolprop.AbstractState("INCOMP", facts.fluid)
    set_fraction = state.set_volu_fractions if facts.basis == "volume" else state.set_mass_fractions
    set_fraction([fraction])
    state.update(coolprop.PT_INPUTS, _ONE_ATMOSPHERE_PA, 293.15)
    freezing = float(state.keyed_output(coolprop.iT_freeze))
    published_to = min(float(state.Tmax()), _HIGHEST_TEMPERATURE_K)
    temperatures = np.linspace(max(freezing, float(state.Tmin())) + 1e-3, published_to, _KNOTS)
    rows = _solve(state, temperatures)
    if published_to < _ALCOHOLS_CONTINUED_TO_K:
        temperatures, rows = _continued(temperatures, rows)
    return _Table(temperatures, rows, freezing, published_to)


def _solve(state: Any, temperatures: FloatArray) -> FloatArray:
    rows = np.empty((4, temperatures.size))
    for column, temperature in enumerate(temperatures):
        state.update(coolprop.PT_INPUTS, _ONE_ATMOSPHERE_PA, temperature)
        rows[:, column] = state.rhomass(), state.cpmass(), np.log(state.viscosity()), state.conductivity()
    return rows


def _continued(temperatures: FloatArray, rows: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Continue the values along their last slope, as far as a loop with alcohol can get."""
    step = temperatures[-1] - temperatures[-2]
    slope = (rows[:, -1] - rows[:, -2]) / step
    more = np.linspace(temperatures[-1], _ALCOHOLS_CONTINUED_TO_K, 8)[1:]
    added = rows[:, -1:] + slope[:, None] * (more - temperatures[-1])
    return np.concatenate((temperatures, more)), np.hstack((rows, added))


def _between(plain: _Table, mixed: _Table, share: float) -> _Table:
    """Interpolate between plain water (continued along its slope below 0 degC) and a mixture."""
    freezing = plain.freezing_point_k + share * (mixed.freezing_point_k - plain.freezing_point_k)
    highest = min(plain.temperature_k[-1], mixed.temperature_k[-1])
    temperatures = np.linspace(freezing + 1e-3, highest, _KNOTS)
    rows_plain = np.array([_with_slope_below(plain.temperature_k, row, temperatures) for row in plain.rows])
    rows_mixed = np.array([CubicSpline(mixed.temperature_k, row)(temperatures) for row in mixed.rows])
    return _Table(temperatures, (1 - share) * rows_plain + share * rows_mixed, freezing, mixed.published_to_k)


def _with_slope_below(x: FloatArray, y: FloatArray, wanted: FloatArray) -> FloatArray:
    curve = CubicSpline(x, y)
    start = x[1]
    below = curve(start) + curve(start, 1) * (wanted - start)
    return np.asarray(np.where(wanted < start, below, curve(wanted)), dtype=float)

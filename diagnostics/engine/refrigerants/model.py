"""`refrigerant(name)`: one refrigerant's properties, scalar or vectorised, range-checked, cheap to call."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.interpolate import RectBivariateSpline

from diagnostics.engine.errors import FloatArray, OnRange, like, within
from diagnostics.engine.refrigerants.catalogue import CATALOGUE, RefrigerantFacts, canonical_name
from diagnostics.engine.refrigerants.splines import LineSplines, VapourSplines
from diagnostics.engine.refrigerants.tables import HIGHEST_SUPERHEAT_K, LOWEST_SUPERHEAT_K, build_tables

Values = npt.ArrayLike


@dataclass(frozen=True, slots=True)
class Refrigerant:
    """One refrigerant. Temperatures in K, pressures in Pa absolute, enthalpies in J/kg on a scale of its own.

    The zero of enthalpy and entropy differs between refrigerants: only differences within one are meaningful.
    Scalars in give a float, arrays in give an array. A value out of range raises `OutOfRange`, or gives NaN
    where `errors` is "nan".

    References
    ----------
    Bell et al. (2014), Ind. Eng. Chem. Res. 53, 2498 (CoolProp), with the equations of state it names:
    Tillner-Roth & Baehr (1994) R134a, Tillner-Roth & Yokozeki (1997) R32, Kamei et al. (1995) R22,
    Lemmon (2003) R410A, R407C, R404A and R507A, Thol & Lemmon (2016) R1234ze(E), Bell (2022, 2023) for the
    pairs within R454B and R513A.
    """

    facts: RefrigerantFacts
    bubble: LineSplines
    dew: LineSplines
    vapour: VapourSplines
    errors: OnRange = "raise"

    @property
    def name(self) -> str:
        """The catalogue's spelling of the name."""
        return self.facts.name

    @property
    def model_uncertainty_k(self) -> float:
        """Half-width [K] of the model error of a saturation temperature."""
        return self.facts.model_uncertainty_k

    @property
    def minimum_temperature_k(self) -> float:
        """Lowest saturation temperature [K] of the tables."""
        return self.bubble.low_k

    @property
    def maximum_temperature_k(self) -> float:
        """Highest saturation temperature [K] of the tables, 2 K below critical."""
        return self.bubble.high_k

    def bubble_pressure_pa(self, temperature_k: Values) -> Any:
        """Return the pressure [Pa] at which liquid of this temperature [K] begins to boil."""
        return self._pressure(self.bubble, temperature_k)

    def dew_pressure_pa(self, temperature_k: Values) -> Any:
        """Return the pressure [Pa] at which vapour of this temperature [K] begins to condense."""
        return self._pressure(self.dew, temperature_k)

    def bubble_temperature_k(self, pressure_pa: Values) -> Any:
        """Return the temperature [K] at which liquid begins to boil at this pressure [Pa]."""
        return like(self._temperature(self.bubble, pressure_pa), pressure_pa)

    def dew_temperature_k(self, pressure_pa: Values) -> Any:
        """Return the temperature [K] at which vapour begins to condense at this pressure [Pa]."""
        return like(self._temperature(self.dew, pressure_pa), pressure_pa)

    def liquid_enthalpy_j_per_kg(self, temperature_k: Values) -> Any:
        """Return the enthalpy [J/kg] of liquid at this temperature [K], saturated or subcooled."""
        return like(self.bubble.enthalpy(self._within_line(self.bubble, temperature_k)), temperature_k)

    def saturated_liquid_enthalpy_j_per_kg(self, pressure_pa: Values) -> Any:
        """Return the enthalpy [J/kg] of liquid at bubble at this pressure [Pa]."""
        return like(self.bubble.enthalpy(self._temperature(self.bubble, pressure_pa)), pressure_pa)

    def saturated_vapour_enthalpy_j_per_kg(self, pressure_pa: Values) -> Any:
        """Return the enthalpy [J/kg] of vapour at dew at this pressure [Pa]."""
        return like(self.dew.enthalpy(self._temperature(self.dew, pressure_pa)), pressure_pa)

    def vapour_enthalpy_j_per_kg(self, pressure_pa: Values, temperature_k: Values) -> Any:
        """Return the enthalpy [J/kg] of vapour at this pressure [Pa] and temperature [K]."""
        return like(
            self._on_vapour(self.vapour.enthalpy, pressure_pa, temperature_k), pressure_pa, temperature_k
        )

    def vapour_entropy_j_per_kg_k(self, pressure_pa: Values, temperature_k: Values) -> Any:
        """Return the entropy [J/(kg K)] of vapour at this pressure [Pa] and temperature [K]."""
        return like(
            self._on_vapour(self.vapour.entropy, pressure_pa, temperature_k), pressure_pa, temperature_k
        )

    def vapour_density_kg_per_m3(self, pressure_pa: Values, temperature_k: Values) -> Any:
        """Return the density [kg/m3] of vapour at this pressure [Pa] and temperature [K]."""
        log = self._on_vapour(self.vapour.log_density, pressure_pa, temperature_k)
        return like(np.exp(log), pressure_pa, temperature_k)

    def vapour_temperature_k_from_entropy(self, pressure_pa: Values, entropy_j_per_kg_k: Values) -> Any:
        """Return the temperature [K] of vapour of this pressure [Pa] and entropy [J/(kg K)]."""
        pressure = self._within_pressures(self.dew, pressure_pa)
        log = np.log(pressure)
        low, high = self.vapour.lowest_entropy(log), self.vapour.highest_entropy(log)
        entropy = within("vapour entropy", "J/(kg K)", entropy_j_per_kg_k, low, high, self.errors)
        superheat = self.vapour.superheat.ev(log, (entropy - low) / (high - low))
        temperature = 1.0 / self.dew.inverse_temperature(log) + superheat
        return like(temperature, pressure_pa, entropy_j_per_kg_k)

    def evaporating_inlet_temperature_k(self, pressure_pa: Values, enthalpy_j_per_kg: Values) -> Any:
        """Return the temperature [K] of the boiling mixture of this pressure [Pa] and enthalpy [J/kg].

        Between bubble and dew the temperature is taken as linear in quality; a pure refrigerant has no glide.
        """
        pressure = self._within_pressures(self.dew, self._within_pressures(self.bubble, pressure_pa))
        bubble, dew = self._temperature(self.bubble, pressure), self._temperature(self.dew, pressure)
        liquid, vapour = self.bubble.enthalpy(bubble), self.dew.enthalpy(dew)
        enthalpy = within("enthalpy", "J/kg", enthalpy_j_per_kg, liquid, vapour, self.errors)
        quality = (enthalpy - liquid) / (vapour - liquid)
        return like(bubble + quality * (dew - bubble), pressure_pa, enthalpy_j_per_kg)

    def _pressure(self, line: LineSplines, temperature_k: Values) -> Any:
        inverse = 1.0 / self._within_line(line, temperature_k)
        return like(np.exp(line.log_pressure(inverse)), temperature_k)

    def _temperature(self, line: LineSplines, pressure_pa: Values) -> FloatArray:
        pressure = self._within_pressures(line, pressure_pa)
        return np.asarray(1.0 / line.inverse_temperature(np.log(pressure)))

    def _within_line(self, line: LineSplines, temperature_k: Values) -> FloatArray:
        what = f"{self.name} saturation temperature"
        return within(what, "K", temperature_k, line.low_k, line.high_k, self.errors)

    def _within_pressures(self, line: LineSplines, pressure_pa: Values) -> FloatArray:
        what = f"{self.name} saturation pressure"
        return within(what, "Pa", pressure_pa, line.low_pa, line.high_pa, self.errors)

    def _on_vapour(
        self, table: RectBivariateSpline, pressure_pa: Values, temperature_k: Values
    ) -> FloatArray:
        log = np.log(self._within_pressures(self.dew, pressure_pa))
        superheat = np.asarray(temperature_k, dtype=float) - 1.0 / self.dew.inverse_temperature(log)
        what = f"{self.name} superheat"
        superheat = within(what, "K", superheat, LOWEST_SUPERHEAT_K, HIGHEST_SUPERHEAT_K, self.errors)
        return np.asarray(table.ev(log, superheat))


@cache
def _splines(name: str) -> tuple[LineSplines, LineSplines, VapourSplines]:
    tables = build_tables(CATALOGUE[name])
    return LineSplines(tables.bubble), LineSplines(tables.dew), VapourSplines(tables.vapour)


@cache
def _cached(name: str, errors: OnRange) -> Refrigerant:
    return Refrigerant(CATALOGUE[name], *_splines(name), errors)


def refrigerant(name: str, errors: OnRange = "raise") -> Refrigerant:
    """Return the named refrigerant, its tables built once a process.

    Parameters
    ----------
    name : str
        Any spelling of a catalogue name ("R410A", "r-410a").
    errors : {"raise", "nan"}
        What a value outside the tables' range does: raises `OutOfRange` naming value and range, or gives NaN
        (for Monte Carlo draws, a few of which may fall beyond an end).

    Returns
    -------
    Refrigerant
        Properties of that refrigerant.

    Raises
    ------
    UnknownName
        Where no such refrigerant is known; lists those that are.

    References
    ----------
    As `Refrigerant`.

    Examples
    --------
    >>> round(refrigerant("R-134a").bubble_pressure_pa(273.15 + 40) / 1000, 1)
    1016.6
    """
    if errors not in ("raise", "nan"):
        raise ValueError(f"errors is {errors!r}; expected 'raise' or 'nan'")
    return _cached(canonical_name(name), errors)

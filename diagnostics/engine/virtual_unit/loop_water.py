"""The water of many loops at once: properties as polynomials, film by similarity, flow through a branch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

from diagnostics.engine.virtual_unit.vapour import Array, Number
from diagnostics.engine.waters import water

CENTRE_K, SPAN_K, ORDER = 310.0, 40.0, 7
RATING_WATER_K = 293.15


@dataclass(frozen=True, slots=True)
class LoopWater:
    """Polynomials of ln rho, ln cp, ln mu and ln k over temperature, one row a machine; range and freezing
    [K].
    """

    terms: Array
    low_k: Array
    high_k: Array
    freezing_k: Array

    def logs(self, temperature_k: Number) -> tuple[Number, Number, Number, Number]:
        """Logarithms of density, specific heat, viscosity and conductivity.

        Parameters
        ----------
        temperature_k : array
            Water temperature of each machine; held within the liquid range. [K]

        Returns
        -------
        tuple of arrays
            ln of density [kg/m3], specific heat [J/(kg.K)], viscosity [Pa.s] and conductivity [W/(m.K)].

        References
        ----------
        Values of `waters`.

        Examples
        --------
        >>> fluid = loop_water((("none", 0.0),))
        >>> round(float(np.exp(fluid.logs(np.array([293.15]))[0][0])), 1)
        998.2
        """
        at = self._place(temperature_k)
        total = self.terms[:, :, -1]
        for power in range(ORDER - 1, -1, -1):
            total = total * at[:, None] + self.terms[:, :, power]
        return total[:, 0], total[:, 1], total[:, 2], total[:, 3]

    def specific_heat_j_per_kg_k(self, temperature_k: Number) -> Number:
        """Specific heat alone.

        Parameters
        ----------
        temperature_k : array
            Water temperature of each machine; held within the liquid range. [K]

        Returns
        -------
        array
            Specific heat. [J/(kg.K)]

        References
        ----------
        Values of `waters`.

        Examples
        --------
        >>> fluid = loop_water((("none", 0.0),))
        >>> round(float(fluid.specific_heat_j_per_kg_k(np.array([293.15]))[0]))
        4184
        """
        at, terms = self._place(temperature_k), self.terms[:, 1]
        total = terms[:, -1]
        for power in range(ORDER - 1, -1, -1):
            total = total * at + terms[:, power]
        return np.exp(total)

    def _place(self, temperature_k: Number) -> Number:
        within = np.minimum(np.maximum(temperature_k, self.low_k), self.high_k)
        return (within - CENTRE_K) / SPAN_K


def loop_water(fluids: Sequence[tuple[str, float]]) -> LoopWater:
    """The water of a batch: one (antifreeze, fraction) a machine.

    Parameters
    ----------
    fluids : tuple of (str, float)
        Antifreeze and its fraction. [-]

    Returns
    -------
    LoopWater
        Properties of each machine's water. [SI]

    References
    ----------
    Values of `waters`; the fit's error is stated in the tests.

    Examples
    --------
    >>> loop_water((("none", 0.0), ("propylene_glycol", 0.3))).freezing_k.round(1).tolist()
    [273.2, 260.0]
    """
    rows = [_one(*fluid) for fluid in fluids]
    return LoopWater(
        terms=np.array([terms for terms, *_ in rows]),
        low_k=np.array([low for _, low, _, _ in rows]),
        high_k=np.array([high for _, _, high, _ in rows]),
        freezing_k=np.array([freezing for *_, freezing in rows]),
    )


@lru_cache(maxsize=4096)
def _one(antifreeze: str, fraction: float) -> tuple[Array, float, float, float]:
    fluid = water(antifreeze, fraction)
    at = np.linspace(fluid.minimum_temperature_k, min(fluid.maximum_temperature_k, 358.0), 40)
    powers = ((at - CENTRE_K) / SPAN_K)[:, None] ** np.arange(ORDER + 1)
    values = np.log(
        [
            fluid.density_kg_per_m3(at),
            fluid.specific_heat_j_per_kg_k(at),
            fluid.viscosity_pa_s(at),
            fluid.conductivity_w_per_m_k(at),
        ]
    )
    terms = np.linalg.lstsq(powers, values.T, rcond=None)[0].T
    return terms, float(at[0]), float(at[-1]), fluid.freezing_point_k


@cache
def _plain() -> tuple[Number, Number, Number, Number]:
    """Plain water at the rating's temperature, as `LoopWater.logs` has it."""
    return loop_water((("none", 0.0),)).logs(np.array([RATING_WATER_K]))


def water_film(
    fluid: LoopWater, film_w_per_m2k: Number, exponent: Number, flow_ratio: Number, temperature_k: Number
) -> Number:
    """Water-side film by similarity from its value on water at 20 degC at design flow.

    Nu = C Re^n Pr^0.4, hence h ~ k^0.6 cp^0.4 mu^(0.4-n) m^n.

    Parameters
    ----------
    fluid : LoopWater
        The water of each machine.
    film_w_per_m2k : array
        Film at the rating. [W/(m2.K)]
    exponent : array
        Exponent n of the Reynolds number. [-]
    flow_ratio : array
        Mass flow over design mass flow. [-]
    temperature_k : array
        Bulk temperature. [K]

    Returns
    -------
    array
        Film coefficient. [W/(m2.K)]

    References
    ----------
    Dittus & Boelter (1930), Univ. California Publ. Eng. 2, 443, for the form.

    Examples
    --------
    >>> fluid = loop_water((("none", 0.0),))
    >>> round(float(water_film(fluid, 5000.0, 0.8, 1.0, np.array([293.15]))[0]))
    5000
    """
    _, cp, mu, k = fluid.logs(temperature_k)
    _, plain_cp, plain_mu, plain_k = _plain()
    group = 0.6 * (k - plain_k) + 0.4 * (cp - plain_cp) + (0.4 - exponent) * (mu - plain_mu)
    return film_w_per_m2k * np.exp(group) * np.maximum(flow_ratio, 1e-4) ** exponent


def pressure_drop(
    fluid: LoopWater,
    design_drop_pa: Number,
    exponent: Number,
    flow_ratio: Number,
    temperature_k: Number,
    narrowing: Number = 1.0,
) -> Number:
    """Pressure drop between the exchanger's ports.

    dp ~ rho^(n-1) mu^(2-n) V^n = rho^(-1) mu^(2-n) m^n on mass flow m, times what a narrowed bore adds.

    Parameters
    ----------
    fluid : LoopWater
        The water of each machine.
    design_drop_pa : array
        Pressure drop on water at 20 degC at design mass flow. [Pa]
    exponent : array
        Exponent n of flow. [-]
    flow_ratio : array
        Mass flow over design mass flow. [-]
    temperature_k : array
        Mean water temperature. [K]
    narrowing : array
        Factor of `bore_narrowing`. [-]

    Returns
    -------
    array
        Pressure drop. [Pa]

    References
    ----------
    White, Fluid Mechanics, ch. 6 (from memory): f ~ Re^(n-2).

    Examples
    --------
    >>> fluid = loop_water((("none", 0.0),))
    >>> round(float(pressure_drop(fluid, 30e3, 1.75, 0.8, np.array([293.15]))[0] / 30e3), 4)
    0.6767
    """
    rho, _, mu, _ = fluid.logs(temperature_k)
    plain_rho, _, plain_mu, _ = _plain()
    group = -(rho - plain_rho) + (2.0 - exponent) * (mu - plain_mu)
    return design_drop_pa * np.exp(group) * flow_ratio**exponent * narrowing


def bore_narrowing(
    fouling_m2k_per_w: Number,
    conductivity_w_per_mk: Number,
    bore_m: Number,
    exponent: Number,
    plates: Number,
) -> Number:
    """Factor on pressure drop, at equal flow, of an even deposit that narrows the bore.

    A bore D narrowed to d gives (D/d)^(3+n) in tubes; between plates the Reynolds number does not depend
    on the gap, which gives (D/d)^3. At least a tenth of the bore stays open.

    Parameters
    ----------
    fouling_m2k_per_w : array
        Fouling resistance. [m2.K/W]
    conductivity_w_per_mk : array
        The deposit's conductivity. [W/(m.K)]
    bore_m : array
        Clean bore or gap. [m]
    exponent : array
        Exponent n of flow in the pressure drop. [-]
    plates : array
        1 for plates, 0 for tubes. [-]

    Returns
    -------
    array
        Factor, 1 when clean. [-]

    References
    ----------
    White, Fluid Mechanics, ch. 6 (from memory): dp ~ f L V^2/D with f ~ Re^(n-2).

    Examples
    --------
    >>> round(float(bore_narrowing(1e-3 / 2.2, 2.2, 0.016, 1.75, 0.0)), 3)
    1.886
    """
    open_share = np.maximum(1.0 - 2.0 * conductivity_w_per_mk * fouling_m2k_per_w / bore_m, 0.1)
    return open_share ** -(3.0 + exponent * (1.0 - plates))


def branch_flow(
    coil_share: Number, coil_factor: Number, exponent: Number, outside_factor: Number, authority: Number
) -> Number:
    """Flow ratio through a branch of fixed available head when the coil narrows or the strainer blocks.

    The coil takes `coil_share` of the head at ratio 1 and the rest goes through strainer, hoses and valves:
    s k v^n + (1 - s) r v^2 = H. An automatic flow cartridge has head to spare (H > 1) and holds v at 1
    while it can.

    Parameters
    ----------
    coil_share : array
        Share s of the branch's head that the clean coil takes. [-]
    coil_factor : array
        Factor k on the coil's pressure drop at equal flow. [-]
    exponent : array
        Exponent n of the coil's pressure drop. [-]
    outside_factor : array
        Factor r on what lies outside the coil. [-]
    authority : array
        Head available over head needed, H; 1 for a hand-set valve. [-]

    Returns
    -------
    array
        Flow over the flow with a clean coil and strainer, at most 1. [-]

    References
    ----------
    Series resistances (White, Fluid Mechanics, ch. 6, from memory).

    Examples
    --------
    >>> round(float(branch_flow(0.5, 1.0, 1.8, 1.0, 1.0)), 6)
    1.0
    """
    coil, rest = coil_share * coil_factor, (1.0 - coil_share) * outside_factor
    log_v = np.log(np.minimum(1.0, np.sqrt(authority / (coil + rest))))
    for _ in range(6):
        a, b = coil * np.exp(exponent * log_v), rest * np.exp(2.0 * log_v)
        log_v = log_v + np.log(authority / (a + b)) * (a + b) / (exponent * a + 2.0 * b)
    return np.minimum(np.exp(log_v), 1.0)

"""Water flow from a clean pressure-drop curve, and how a deposit leads it astray."""

from __future__ import annotations

from dataclasses import dataclass

from diagnostics.engine.waters import Water

RATING_WATER_K = 293.15
"""Curves are told on plain water at this temperature."""


@dataclass(frozen=True, slots=True)
class FlowCurve:
    """A clean pressure-drop curve: dp on water at 20 degC at a volume flow, growing with its power."""

    flow_m3_per_s: float
    pressure_drop_pa: float
    exponent: float
    exponent_known: bool


def narrowing(conductivity_w_per_m_k: float, gap_m: float, exponent: float, plates: bool = False) -> float:
    r"""How fast a clean curve's flow runs ahead of the true one as a deposit narrows the passage.

    .. math:: \frac{d \ln \dot V_{read}}{d R_f} = \frac{2 k}{D} \cdot \frac{e + n}{n}

    with e = 3 for tubes (dp ~ D^-(3+n) at one flow) and e = 1 for the gap between plates.

    Parameters
    ----------
    conductivity_w_per_m_k : float
        Conductivity of the deposit. [W/(m K)]
    gap_m : float
        Clean bore of tubes or gap between plates. [m]
    exponent : float
        Pressure drop grows with flow to this power. [-]
    plates : bool
        True for a gap between plates.

    Returns
    -------
    float
        Excess of ln of flow for each unit of fouling resistance. [W/(m2 K)]

    References
    ----------
    White, F. M., Fluid Mechanics, ch. 6 (dp ~ D^-4.75 at n = 1.75 in tubes); thickness of a flat layer, k Rf.

    Examples
    --------
    >>> round(narrowing(1.5, 0.016, 1.75) * 1e-4, 3)
    0.051
    """
    return 2 * conductivity_w_per_m_k / gap_m * ((1 if plates else 3) + exponent) / exponent


def flow_on_curve(
    curve: FlowCurve, pressure_drop_pa: float, density_kg_per_m3: float, viscosity_pa_s: float, plain: Water
) -> float:
    r"""Volume flow that a clean curve on water at 20 degC gives for a pressure drop of another fluid.

    .. math:: \Delta p \sim \rho^{n-1} \mu^{2-n} \dot V^{n}

    Parameters
    ----------
    curve : FlowCurve
        Flow [m3/s], pressure drop [Pa] and exponent [-] on water at 20 degC.
    pressure_drop_pa : float
        Pressure drop read. [Pa]
    density_kg_per_m3 : float
        Density of the fluid as it is. [kg/m3]
    viscosity_pa_s : float
        Viscosity of the fluid as it is. [Pa s]
    plain : Water
        Plain water, for the curve's own fluid.

    Returns
    -------
    float
        Volume flow. [m3/s]

    References
    ----------
    White, F. M., Fluid Mechanics, ch. 6: Darcy with a friction factor falling as Re^(n-2) (Blasius n = 1.75).

    Examples
    --------
    >>> from diagnostics.engine.waters import water
    >>> plain = water("none", None)
    >>> curve = FlowCurve(5e-4, 30e3, 1.8, True)
    >>> rho, mu = plain.density_kg_per_m3(293.15), plain.viscosity_pa_s(293.15)
    >>> round(flow_on_curve(curve, 45e3, rho, mu, plain) / 5e-4, 4)
    1.2526
    """
    density = density_kg_per_m3 / plain.density_kg_per_m3(RATING_WATER_K)
    viscosity = viscosity_pa_s / plain.viscosity_pa_s(RATING_WATER_K)
    n = curve.exponent
    ratio = pressure_drop_pa / (curve.pressure_drop_pa * density ** (n - 1) * viscosity ** (2 - n))
    return float(curve.flow_m3_per_s * ratio ** (1 / n))

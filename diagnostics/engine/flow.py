"""Water flow from a clean pressure-drop curve, and how a deposit leads it astray."""

from __future__ import annotations

from dataclasses import dataclass


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

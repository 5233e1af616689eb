"""Air in the refrigerant: what the static test with the machine off says."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal

from diagnostics.engine.records import InstrumentAccuracy, ReadingSet
from diagnostics.engine.refrigerants import Refrigerant
from diagnostics.engine.uncertainty import standard_uncertainty

AirState = Literal["not_tested", "ruled_out", "in_doubt", "found", "no_liquid"]
SETTLING_K = 0.3
"""Standard uncertainty of what has not settled after thirty minutes (common practice)."""
DOUBT = 0.5
"""Share of the allowance above which air is not ruled out: 2 to 4 % of air stands between it and the whole,
and on a running condenser passes for a limit's worth of scale. One airless machine in six falls there too."""


def static_excess_k(fluid: Refrigerant, static_pressure_pa: float, coldest_k: float) -> float:
    """How far the pressure at rest stands above what the coldest liquid would hold, as temperature.

    Parameters
    ----------
    fluid : Refrigerant
        The refrigerant.
    static_pressure_pa : float
        Pressure with the machine off and settled, absolute. [Pa]
    coldest_k : float
        Temperature of the coldest place that holds liquid in the same connected part. [K]

    Returns
    -------
    float
        Bubble temperature of the pressure less the coldest temperature; above zero: air. [K]

    References
    ----------
    Dalton's law; the static test for non-condensables is common practice. With glide only what lies above
    bubble is air.

    Examples
    --------
    >>> from diagnostics.engine.refrigerants import refrigerant
    >>> fluid = refrigerant("R134a")
    >>> round(static_excess_k(fluid, float(fluid.bubble_pressure_pa(298.15)) + 50e3, 298.15), 1)
    2.5
    """
    return float(fluid.bubble_temperature_k(static_pressure_pa)) - coldest_k


def air_state(
    fluid: Refrigerant, reading: ReadingSet, instruments: Mapping[str, InstrumentAccuracy]
) -> tuple[AirState, float | None, float | None]:
    """Verdict of the static test with its excess and twice its standard uncertainty.

    Parameters
    ----------
    fluid : Refrigerant
        The refrigerant.
    reading : ReadingSet
        With `static_pressure_pa` and `static_coldest_k`, or without.
    instruments : mapping of str to InstrumentAccuracy
        Accuracy by column.

    Returns
    -------
    state : str
        not_tested, ruled_out, in_doubt (above one standard uncertainty: a little air would show so), found or
        no_liquid.
    excess : float or None
        As `static_excess_k`. [K]
    allowance : float or None
        Twice the standard uncertainty of the excess. [K]

    References
    ----------
    JCGM 100:2008, 6.2 (expanded uncertainty, k = 2); the static test is common practice.

    Examples
    --------
    >>> from datetime import datetime
    >>> from diagnostics.engine.refrigerants import refrigerant
    >>> air_state(refrigerant("R134a"), ReadingSet("HP-1", datetime(2024, 5, 1), "cooling"), {})
    ('not_tested', None, None)
    """
    pressure, coldest = reading.static_pressure_pa, reading.static_coldest_k
    if pressure is None or coldest is None:
        return "not_tested", None, None
    excess = static_excess_k(fluid, pressure, coldest)
    step = 0.01 * pressure
    slope = (float(fluid.bubble_temperature_k(pressure + step)) - excess - coldest) / step
    gauge, probe = (_spread(instruments[name]) for name in ("static_pressure", "static_coldest"))
    scale = pressure if instruments["static_pressure"].relative else 1.0
    parts = (slope * gauge * scale, probe, max(fluid.model_uncertainty_k, 0.02), SETTLING_K)
    allowance = 2 * math.hypot(*parts)
    if excess > allowance:
        return "found", excess, allowance
    dew_excess = float(fluid.dew_temperature_k(pressure)) - coldest
    if dew_excess < -allowance:
        return "no_liquid", excess, allowance
    return ("in_doubt" if excess > DOUBT * allowance else "ruled_out"), excess, allowance


def _spread(accuracy: InstrumentAccuracy) -> float:
    return math.hypot(
        standard_uncertainty(accuracy.repeating, accuracy.distribution),
        standard_uncertainty(accuracy.random, accuracy.distribution),
    )

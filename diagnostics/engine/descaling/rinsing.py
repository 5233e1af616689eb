"""Rinsing: how far each rinse dilutes what is held back, how many it takes, and when it is done."""

from __future__ import annotations

import math

from diagnostics.engine.errors import within

SHORTEST_FINAL_RINSE_S = 300.0
"""Five minutes at the least; five to ten are common practice."""
PH_TOLERANCE = 0.5
CONDUCTIVITY_TOLERANCE = 0.10


def share_after_rinses(rinses: int, held_m3: float, rinse_m3: float) -> float:
    """Return what share of the acid is left after draining and filling again a number of times.

    (V_held/(V_held + V_rinse))^n: what the low points hold is mixed with fresh water and drained to the same.

    Parameters
    ----------
    rinses : int
        Fills and drains [-], 0 or more.
    held_m3 : float
        What stays in when drained [m3].
    rinse_m3 : float
        Fresh water of each rinse [m3].

    Returns
    -------
    float
        Share left [-].

    References
    ----------
    Repeated dilution, mass balance.

    Examples
    --------
    >>> round(share_after_rinses(3, 1.0, 9.0), 4)
    0.001
    """
    held = float(within("volume held back", "m3", held_m3, 0.0, 100.0))
    rinse = float(within("rinse volume", "m3", rinse_m3, 1e-6, 100.0))
    return (held / (held + rinse)) ** int(within("rinses", "-", rinses, 0, 1_000_000))


def rinses_needed(share_wanted: float, held_m3: float, rinse_m3: float) -> int:
    """Return how many fills and drains bring the acid down to a share; one at the least.

    Parameters
    ----------
    share_wanted : float
        Share of the acid that may be left [-], above 0 to 1.
    held_m3 : float
        What stays in when drained [m3].
    rinse_m3 : float
        Fresh water of each rinse [m3].

    Returns
    -------
    int
        Rinses [-].

    References
    ----------
    As `share_after_rinses`, solved for n.

    Examples
    --------
    >>> rinses_needed(0.001, 1.0, 9.0)
    3
    """
    wanted = float(within("share that may be left", "-", share_wanted, 1e-12, 1.0))
    factor = share_after_rinses(1, held_m3, rinse_m3)
    if factor == 0.0:
        return 1
    return max(1, math.ceil(math.log(wanted) / math.log(factor) - 1e-9))


def share_after_flowing(flowed_m3: float, content_m3: float) -> float:
    """Return what share of the acid is left when fresh water flows through a well mixed content.

    exp(-V_flowed/V_content): a coil washes out faster than that, a shell or a tank no slower.

    Parameters
    ----------
    flowed_m3 : float
        Fresh water that has flowed through [m3].
    content_m3 : float
        Content of exchanger and hoses [m3].

    Returns
    -------
    float
        Share left [-].

    References
    ----------
    Levenspiel (1999), Chemical Reaction Engineering, 3rd ed., ch. 13 (mixed flow washout).

    Examples
    --------
    >>> round(share_after_flowing(0.05, 0.01), 4)
    0.0067
    """
    content = float(within("content", "m3", content_m3, 1e-6, 100.0))
    return math.exp(-float(within("water flowed through", "m3", flowed_m3, 0.0, 1e4)) / content)


def flow_needed_m3(share_wanted: float, content_m3: float) -> float:
    """Return the fresh water that has to flow through to bring the acid down to a share.

    Parameters
    ----------
    share_wanted : float
        Share of the acid that may be left [-], above 0 to 1.
    content_m3 : float
        Content of exchanger and hoses [m3].

    Returns
    -------
    float
        Fresh water [m3].

    References
    ----------
    As `share_after_flowing`, solved for the volume.

    Examples
    --------
    >>> round(flow_needed_m3(0.001, 0.01) * 1000, 1)
    69.1
    """
    wanted = float(within("share that may be left", "-", share_wanted, 1e-12, 1.0))
    return -math.log(wanted) * float(within("content", "m3", content_m3, 1e-6, 100.0))


def rinse_lacks(
    ph: float,
    supply_ph: float,
    conductivity_s_per_m: float,
    supply_conductivity_s_per_m: float,
    rinsed_s: float,
) -> tuple[str, ...]:
    """Return what a final rinse still lacks; empty where water comes out as it went in, for long enough.

    Parameters
    ----------
    ph : float
        pH of what comes out [-].
    supply_ph : float
        pH of the supply [-].
    conductivity_s_per_m : float
        Conductivity of what comes out [S/m].
    supply_conductivity_s_per_m : float
        Conductivity of the supply [S/m].
    rinsed_s : float
        Time rinsed [s].

    Returns
    -------
    tuple of str
        "time", "ph", "conductivity": what is not right yet.

    References
    ----------
    Common practice: five to ten minutes and as the supply; UFC 3-240-13FN (2005), 9-2.5.2 rinses to pH 8 to
    10 after soda ash, brazed plate makers to pH 6 to 9.

    Examples
    --------
    >>> rinse_lacks(6.2, 7.4, 0.051, 0.050, 400.0)
    ('ph',)
    """
    lacks = []
    if not rinsed_s >= SHORTEST_FINAL_RINSE_S:
        lacks.append("time")
    if not abs(ph - supply_ph) <= PH_TOLERANCE:
        lacks.append("ph")
    allowed = CONDUCTIVITY_TOLERANCE * supply_conductivity_s_per_m
    if not abs(conductivity_s_per_m - supply_conductivity_s_per_m) <= allowed:
        lacks.append("conductivity")
    return tuple(lacks)

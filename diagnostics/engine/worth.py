"""Whether and how often a cleaning pays: extra cost that grows with the deposit against the cleaning's."""

from __future__ import annotations

import math

from scipy.optimize import brentq

from diagnostics.engine.errors import within

NEVER = math.inf
"""The interval where no cleaning pays."""


def extra_cost_per_year(
    extra_power_w: float, lost_capacity_w: float, run_hours: float, energy_price: float, capacity_price: float
) -> float:
    """Return what a deposit costs in a year: extra energy, and lost capacity at the price put on it.

    Parameters
    ----------
    extra_power_w : float
        Power above that of the clean unit, mean over the run hours [W].
    lost_capacity_w : float
        Capacity below that of the clean unit, mean over the run hours [W].
    run_hours : float
        Run hours a year [h].
    energy_price : float
        Price of electricity [money/kWh].
    capacity_price : float
        Price put on capacity that is missed [money/kWh]; 0 where nobody misses it.

    Returns
    -------
    float
        Cost [money/year].

    References
    ----------
    Energy times price.

    Examples
    --------
    >>> extra_cost_per_year(500.0, 1000.0, 2000.0, 0.2, 0.05)
    300.0
    """
    hours = float(within("run hours", "h", run_hours, 0.0, 8784.0))
    return (extra_power_w * energy_price + lost_capacity_w * capacity_price) / 1000.0 * hours


def interval_of_linear_days(cleaning_cost: float, growth_of_cost: float, downtime_days: float = 0.0) -> float:
    """Return the interval of least cost where extra cost grows evenly, -th + sqrt(th^2 + 2C/k).

    From the mean cost over a cycle, (C + k T^2/2)/(T + th), set to its least.

    Parameters
    ----------
    cleaning_cost : float
        Cost of one cleaning C [money], 0 or above.
    growth_of_cost : float
        How fast the extra cost a day grows, k [money/d2]; none or less means never.
    downtime_days : float
        Time th that a cleaning takes the unit away [d].

    Returns
    -------
    float
        Running days between cleanings [d]; infinite for never.

    References
    ----------
    Square-root law: Harris (1913), Factory 10, 135 (from memory); Ma & Epstein (1981), Can. J. Chem. Eng. 59,
    631 (from memory) for exchangers. Derived here.

    Examples
    --------
    >>> round(interval_of_linear_days(400.0, 0.08), 3)
    100.0
    """
    cost = float(within("cost of a cleaning", "money", cleaning_cost, 0.0, 1e9))
    away = float(within("downtime", "d", downtime_days, 0.0, 365.0))
    if not growth_of_cost > 0.0:
        return NEVER
    return -away + math.sqrt(away**2 + 2.0 * cost / growth_of_cost)


def interval_of_asymptotic_days(
    cleaning_cost: float, end_cost_per_day: float, time_constant_days: float
) -> float:
    """Return the interval of least cost where extra cost settles, k1 (1 - exp(-t/tau)).

    x = T/tau solves k1 tau [1 - exp(-x)(1 + x)] = C; with C at or above k1 tau no interval is best: never.

    Parameters
    ----------
    cleaning_cost : float
        Cost of one cleaning C [money], 0 or above.
    end_cost_per_day : float
        Extra cost a day that it settles at, k1 [money/d]; none or less means never.
    time_constant_days : float
        tau [d], above 0.

    Returns
    -------
    float
        Days between cleanings [d]; infinite for never.

    References
    ----------
    Derived from the mean cost over a cycle; growth after Kern & Seaton (1959).

    Examples
    --------
    >>> interval_of_asymptotic_days(400.0, 4.0, 100.0)
    inf
    """
    cost = float(within("cost of a cleaning", "money", cleaning_cost, 0.0, 1e9))
    tau = float(within("time constant", "d", time_constant_days, 1e-6, 1e6))
    if not end_cost_per_day > 0.0 or cost >= end_cost_per_day * tau:
        return NEVER
    share = cost / (end_cost_per_day * tau)

    def lacking(x: float) -> float:
        return 1.0 - math.exp(-x) * (1.0 + x) - share

    return tau * float(brentq(lacking, 0.0, 700.0, xtol=1e-12))


def interval_of_falling_rate_days(
    cleaning_cost: float, cost_after_a_day: float, exponent: float = 0.5
) -> float:
    """Return the interval of least cost where extra cost grows as k t^n, [C (n + 1)/(k n)]^(1/(n + 1)).

    Parameters
    ----------
    cleaning_cost : float
        Cost of one cleaning C [money], 0 or above.
    cost_after_a_day : float
        Extra cost a day after the first day, k [money/d]; none or less means never.
    exponent : float
        n [-], above 0 to 1.

    Returns
    -------
    float
        Days between cleanings [d]; infinite for never.

    References
    ----------
    Derived from the mean cost over a cycle, (C + k T^(n+1)/(n+1))/T; with n = 1 the square-root law.

    Examples
    --------
    >>> round(interval_of_falling_rate_days(400.0, 0.08, 1.0), 3)
    100.0
    """
    cost = float(within("cost of a cleaning", "money", cleaning_cost, 0.0, 1e9))
    n = float(within("exponent", "-", exponent, 1e-3, 1.0))
    if not cost_after_a_day > 0.0:
        return NEVER
    return float((cost * (n + 1.0) / (cost_after_a_day * n)) ** (1.0 / (n + 1.0)))


def mean_cost_of_linear_per_day(
    interval_days: float, cleaning_cost: float, growth_of_cost: float, downtime_days: float = 0.0
) -> float:
    """Return what cleaning every so often costs a day, (C + k T^2/2)/(T + th), cost growing evenly.

    Parameters
    ----------
    interval_days : float
        Running days between cleanings T [d], above 0.
    cleaning_cost : float
        Cost of one cleaning C [money].
    growth_of_cost : float
        How fast the extra cost a day grows, k [money/d2].
    downtime_days : float
        Time th that a cleaning takes the unit away [d].

    Returns
    -------
    float
        Mean cost [money/d].

    References
    ----------
    Derived: a cycle's cost over its length.

    Examples
    --------
    >>> round(mean_cost_of_linear_per_day(100.0, 400.0, 0.08), 2)
    8.0
    """
    days = float(within("interval", "d", interval_days, 1e-9, 1e6))
    return (cleaning_cost + growth_of_cost * days**2 / 2.0) / (days + downtime_days)

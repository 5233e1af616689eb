"""The four laws of a deposit that grows: evenly, ever slower, to an end, or after a wait."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from diagnostics.engine.errors import FloatArray, like, within

Values = npt.ArrayLike
Law = Literal["linear", "falling_rate", "asymptotic", "induction"]
LAWS: tuple[Law, ...] = ("linear", "falling_rate", "asymptotic", "induction")


def linear(days: Values, rate_per_day: Values) -> Any:
    """Return deposit that grows evenly, a t.

    Parameters
    ----------
    days : float or array
        Time since the cleaning [d], 0 or above.
    rate_per_day : float or array
        Growth a day [m2 K/(W d)].

    Returns
    -------
    float or array
        Fouling resistance [m2 K/W].

    References
    ----------
    Bott (1995), Fouling of Heat Exchangers, ch. 4.

    Examples
    --------
    >>> round(linear(100.0, 1e-6), 6)
    0.0001
    """
    return like(_days(days) * np.asarray(rate_per_day, float), days, rate_per_day)


def falling_rate(days: Values, rate: Values, exponent: float = 0.5) -> Any:
    """Return deposit that grows ever slower but without end, K t^n.

    Parameters
    ----------
    days : float or array
        Time since the cleaning [d], 0 or above.
    rate : float or array
        K, the resistance after one day [m2 K/W].
    exponent : float
        n [-], above 0 to 1.

    Returns
    -------
    float or array
        Fouling resistance [m2 K/W].

    References
    ----------
    Bott (1995), Fouling of Heat Exchangers, ch. 4 (falling rate); n = 0.5 where removal or diffusion rules.

    Examples
    --------
    >>> round(falling_rate(100.0, 1e-5), 6)
    0.0001
    """
    power = float(within("exponent", "-", exponent, 1e-3, 1.0))
    return like(np.asarray(rate, float) * _days(days) ** power, days, rate)


def asymptotic(days: Values, end_resistance: Values, time_constant_days: Values) -> Any:
    """Return deposit that removal brings to an end, Rf* [1 - exp(-t/tau)].

    Parameters
    ----------
    days : float or array
        Time since the cleaning [d], 0 or above.
    end_resistance : float or array
        Rf*, what it settles at [m2 K/W].
    time_constant_days : float or array
        tau [d], above 0.

    Returns
    -------
    float or array
        Fouling resistance [m2 K/W].

    References
    ----------
    Kern & Seaton (1959), British Chemical Engineering 4, 258.

    Examples
    --------
    >>> round(asymptotic(30.0, 1.76e-4, 30.0), 8)
    0.00011125
    """
    tau = within("time constant", "d", time_constant_days, 1e-6, np.inf)
    grown = np.asarray(end_resistance, float) * -np.expm1(-_days(days) / tau)
    return like(grown, days, end_resistance, time_constant_days)


def induction(days: Values, rate_per_day: Values, delay_days: Values) -> Any:
    """Return deposit that waits before it grows evenly, a max(t - td, 0).

    Parameters
    ----------
    days : float or array
        Time since the cleaning [d], 0 or above.
    rate_per_day : float or array
        Growth a day once begun [m2 K/(W d)].
    delay_days : float or array
        Time before it begins [d], 0 or above.

    Returns
    -------
    float or array
        Fouling resistance [m2 K/W].

    References
    ----------
    Bott (1995), Fouling of Heat Exchangers, ch. 4 (initiation).

    Examples
    --------
    >>> round(induction(100.0, 1e-6, 40.0), 6)
    6e-05
    """
    delay = within("delay", "d", delay_days, 0.0, np.inf)
    grown = np.asarray(rate_per_day, float) * np.maximum(_days(days) - delay, 0.0)
    return like(grown, days, rate_per_day, delay_days)


def _days(days: Values) -> FloatArray:
    return within("time", "d", days, 0.0, np.inf)

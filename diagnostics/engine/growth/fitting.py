"""Each law fitted by weight to the results of all episodes, and the laws weighed against each other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from diagnostics.engine.errors import FloatArray, within
from diagnostics.engine.growth.laws import LAWS, Law


@dataclass(frozen=True, slots=True)
class Result:
    """A fouling resistance [m2 K/W or K/W] with its standard uncertainty, at a day [d] of an episode.

    `days` counts from the episode's cleaning (or from new); `episode` numbers the time between two cleanings.
    """

    days: float
    resistance: float
    u: float
    episode: int = 0


@dataclass(frozen=True, slots=True)
class Fit:
    """A law fitted: parameters (rate first), offsets by episode, chi-square, AICc [-], its weight among the
    laws.

    `covariance` is of parameters and offsets together. Resistances in the results' unit, times in days.
    """

    law: Law
    parameters: tuple[float, ...]
    offsets: tuple[tuple[int, float], ...]
    chi_square: float
    aicc: float
    weight: float
    covariance: tuple[tuple[float, ...], ...]


def aicc(chi_square: float, parameters: int, results: int) -> float:
    """Return Akaike's criterion for few results of known uncertainty, chi2 + 2k + 2k(k + 1)/(n - k - 1).

    Parameters
    ----------
    chi_square : float
        Sum of squared residuals over uncertainties [-].
    parameters : int
        Fitted parameters k [-].
    results : int
        Results n [-].

    Returns
    -------
    float
        Criterion [-]; infinite where n is not above k + 1, so that law is not chosen.

    References
    ----------
    Hurvich & Tsai (1989), Biometrika 76, 297; Burnham & Anderson (2002), Model Selection, ch. 2.

    Examples
    --------
    >>> round(aicc(4.0, 2, 8), 3)
    10.4
    """
    if results <= parameters + 1:
        return float("inf")
    return chi_square + 2.0 * parameters + 2.0 * parameters * (parameters + 1) / (results - parameters - 1)


_CURVES: dict[Law, Callable[[FloatArray, FloatArray], FloatArray]] = {
    "linear": lambda t, p: p[0] * t,
    "falling_rate": lambda t, p: p[0] * np.sqrt(t),
    "asymptotic": lambda t, p: p[0] * p[1] * -np.expm1(-t / p[1]),
    "induction": lambda t, p: p[0] * np.maximum(t - p[1], 0.0),
}
"""By rate and, for two laws, a time; the asymptotic one by its first slope, so that it passes into linear."""


def fit(results: Sequence[Result], law: Law) -> Fit:
    """Fit one law to all episodes by weighted least squares: one growth, an offset for each episode.

    Parameters
    ----------
    results : sequence of Result
        Results [m2 K/W or K/W] with their standard uncertainties, one at the least.
    law : str
        One of `LAWS`.

    Returns
    -------
    Fit
        Parameters, covariance and AICc; the weight is 1 for a law alone. Rate [m2 K/(W d)], or [m2 K/(W sqrt
        d)] for the falling rate; time constant or delay [d].

    References
    ----------
    JCGM 100:2008, H.3 (least squares with known uncertainties); laws as the functions of their names.

    Examples
    --------
    >>> found = fit([Result(0.0, 0.0, 1e-6), Result(100.0, 1e-4, 1e-6), Result(200.0, 2e-4, 1e-6)], "linear")
    >>> round(found.parameters[0], 9)
    1e-06
    """
    if law not in LAWS:
        raise ValueError(f"law {law!r} is not one of {', '.join(LAWS)}")
    if not results or any(not result.u > 0.0 for result in results):
        raise ValueError(
            "no results, or one without a standard uncertainty above zero; expected each to have one"
        )
    t, y, u = (
        np.array([getattr(row, name) for row in results], float) for name in ("days", "resistance", "u")
    )
    within("time since the cleaning", "d", t, 0.0, np.inf)
    episodes = sorted({result.episode for result in results})
    place = np.array([episodes.index(result.episode) for result in results])
    times = 1 if law in ("asymptotic", "induction") else 0
    scale = max(float(np.max(np.abs(y))), float(np.min(u)))
    span = max(float(np.max(t)), 1.0)
    # what a cleaning left is near none: a weak prior of the results' own size keeps offset and growth apart
    prior = 0.5 * float(np.median(u))

    def residuals(p: FloatArray) -> FloatArray:
        shape = np.concatenate((p[:1] * scale / _power(law, span), p[1 : 1 + times] * span))
        off = p[1 + times :] * scale
        return np.concatenate(((_CURVES[law](t, shape) + off[place] - y) / u, off / prior))

    best = None
    for start in (0.2, 0.6, 2.0) if times else (0.0,):
        first = np.concatenate(([1.0], [start] * times, np.zeros(len(episodes))))
        low = np.concatenate(
            ([0.0], [0.0 if law == "induction" else 0.02] * times, [-np.inf] * len(episodes))
        )
        high = np.concatenate(
            ([np.inf], [1.0 if law == "induction" else 50.0] * times, [np.inf] * len(episodes))
        )
        first = np.clip(first, low + 1e-6, high - 1e-6)
        found = least_squares(residuals, first, bounds=(low, high), x_scale=1.0)
        if best is None or found.cost < best.cost:
            best = found
    assert best is not None
    units = np.concatenate(([scale / _power(law, span)], [span] * times, [scale] * len(episodes)))
    values = best.x * units
    spread = np.linalg.pinv(best.jac.T @ best.jac) * np.outer(units, units)
    chi = float(np.sum(best.fun[: len(results)] ** 2))
    return Fit(
        law,
        tuple(float(one) for one in values[: 1 + times]),
        tuple(zip(episodes, (float(one) for one in values[1 + times :]), strict=True)),
        chi,
        aicc(chi, 1 + times, len(results)),
        1.0,
        tuple(tuple(float(one) for one in row) for row in spread),
    )


def _power(law: Law, days: float) -> float:
    return float(np.sqrt(days)) if law == "falling_rate" else days


def fits(results: Sequence[Result]) -> tuple[Fit, ...]:
    """Fit every law and weigh them by AICc, best first; laws with too few results for them are left out.

    Parameters
    ----------
    results : sequence of Result
        Results [m2 K/W or K/W], three at the least for any law.

    Returns
    -------
    tuple of Fit
        Laws with weights that add up to 1 [-]; empty with fewer than three results.

    References
    ----------
    Burnham & Anderson (2002), Model Selection and Multimodel Inference, eq. 2.8 (Akaike weights).

    Examples
    --------
    >>> rows = [Result(30.0 * n, 1e-6 * 30.0 * n, 5e-6) for n in range(8)]
    >>> fits(rows)[0].law
    'linear'
    """
    found = [fit(results, law) for law in LAWS] if results else []
    usable = [one for one in found if np.isfinite(one.aicc)]
    if not usable:
        return ()
    least = min(one.aicc for one in usable)
    raw = [float(np.exp(-(one.aicc - least) / 2.0)) for one in usable]
    weighed = [
        Fit(one.law, one.parameters, one.offsets, one.chi_square, one.aicc, share / sum(raw), one.covariance)
        for one, share in zip(usable, raw, strict=True)
    ]
    return tuple(sorted(weighed, key=lambda one: one.aicc))

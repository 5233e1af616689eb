"""The relations of probability that the ranking stands on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def log_density(residuals: Array, covariances: Array) -> Array:
    r"""Logarithm of the density of a normal distribution of mean zero, many at once.

    .. math:: \ln p = -(r^T S^{-1} r + \ln |S| + k \ln 2\pi) / 2

    Parameters
    ----------
    residuals : array
        Cases by quantities, each in its own unit. [-]
    covariances : array
        Cases by quantities by quantities. [-]

    Returns
    -------
    array
        One logarithm a case. [-]

    References
    ----------
    Rossi & Braun (1997), HVAC&R Research 3(1), for the use in fault diagnosis (from memory).

    Examples
    --------
    >>> log_density(np.zeros((1, 1)), np.ones((1, 1, 1))).round(4).tolist()
    [-0.9189]
    """
    root = np.linalg.cholesky(covariances)
    scaled = np.linalg.solve(root, residuals[..., None])[..., 0]
    sizes = np.log(np.diagonal(root, axis1=-2, axis2=-1)).sum(axis=-1)
    count = residuals.shape[-1]
    return np.asarray(-0.5 * (scaled**2).sum(axis=-1) - sizes - 0.5 * count * np.log(2 * np.pi))


def conditioned(
    mean: Array, covariance: Array, sensitivity: Array, seen: Array, noise: Array
) -> tuple[Array, Array]:
    r"""Mean and covariance of normal unknowns after a linear observation of them.

    .. math:: K = P H^T (H P H^T + R)^{-1},\; m' = m + K (y - H m),\; P' = P - K H P

    Parameters
    ----------
    mean : array
        Unknowns before, each in its own unit. [-]
    covariance : array
        Their covariance. [-]
    sensitivity : array
        Observations by unknowns, H. [-]
    seen : array
        What was observed, y. [-]
    noise : array
        Covariance of the observation, R. [-]

    Returns
    -------
    mean : array
        Unknowns after. [-]
    covariance : array
        Their covariance. [-]

    References
    ----------
    Rasmussen & Williams (2006), Gaussian Processes for Machine Learning, eq. (A.6).

    Examples
    --------
    >>> one = np.ones((1, 1))
    >>> after = conditioned(np.zeros(1), one, one, np.ones(1), one)
    >>> after[0].tolist(), after[1].tolist()
    ([0.5], [[0.5]])
    """
    gain = np.linalg.solve(sensitivity @ covariance @ sensitivity.T + noise, sensitivity @ covariance).T
    left = covariance - gain @ sensitivity @ covariance
    return mean + gain @ (seen - sensitivity @ mean), 0.5 * (left + left.T)


def posterior(prior: Array, log_likelihood: Array) -> Array:
    """Bayes' rule on logarithms.

    Parameters
    ----------
    prior : array
        Probabilities before. [-]
    log_likelihood : array
        Logarithm of the likelihood of what was seen under each. [-]

    Returns
    -------
    array
        Probabilities after. [-]

    References
    ----------
    Bayes (1763), Phil. Trans. 53.

    Examples
    --------
    >>> posterior(np.array([0.5, 0.5]), np.log([0.9, 0.1])).round(3).tolist()
    [0.9, 0.1]
    """
    with np.errstate(divide="ignore"):
        logs = np.log(prior) + log_likelihood
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())


def expected_information(prior: Array, outcomes: Array) -> float:
    r"""Mutual information between a cause and the outcome of a check.

    .. math:: I = \sum_{c,o} p_c p_{o|c} \ln (p_{o|c} / p_o)

    Parameters
    ----------
    prior : array
        Probability of each cause. [-]
    outcomes : array
        Causes by outcomes: probability of each outcome under each cause. [-]

    Returns
    -------
    float
        Information in nats. [-]

    References
    ----------
    Cover & Thomas (2006), Elements of Information Theory, eq. (2.28).

    Examples
    --------
    >>> round(expected_information(np.array([0.5, 0.5]), np.eye(2)), 4)
    0.6931
    """
    together = prior[:, None] * outcomes
    marginal = together.sum(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = together * np.log(outcomes / marginal)
    return float(np.nansum(np.where(together > 0, terms, 0.0)))

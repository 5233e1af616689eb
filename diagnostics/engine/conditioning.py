"""Conditioning of uncertain quantities on evidence that they must obey: Gaussian, by draws."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_KEPT_INFORMATION = 0.05


@dataclass(frozen=True, slots=True)
class Conditioned:
    """What evidence teaches about unit-variance independent quantities z.

    `centre` is the most likely z; `jacobian` (evidence by z), `noise` the standard deviation of each piece of
    evidence; `gain` (z by evidence) turns a residual into a change of z.
    """

    centre: Array
    jacobian: Array
    noise: Array
    residual_at_centre: Array
    gain: Array


Residuals = Callable[[Array, Array], tuple[Array, Array, Array]]


def condition(residuals: Residuals, size: int, rounds: int = 3) -> Conditioned:
    """Most likely quantities given that the residuals are zero within their noise (iterated, over the
    spread).

    Parameters
    ----------
    residuals : callable
        At a centre and a spread of z returns mean residuals, their slopes by z and their standard deviations.
        [-]
    size : int
        Number of quantities, independent with unit variance before the evidence. [-]
    rounds : int
        Linearisations. [-]

    Returns
    -------
    Conditioned
        The linearised evidence at the most likely point.

    References
    ----------
    Garcia-Fernandez, A. F. et al. (2015), Posterior linearization filter, IEEE Trans. Signal Processing 63;
    Bell, B. M., Cathey, F. W. (1993), The iterated Kalman filter update as a Gauss-Newton method, IEEE TAC
    38.

    Examples
    --------
    >>> def half_known(centre, spread):
    ...     return np.array([centre[0] - 1.0]), np.array([[1.0]]), np.array([1.0])
    >>> condition(half_known, 1).centre
    array([0.5])
    """
    centre, spread = np.zeros(size), np.ones(size)
    for turn in range(rounds):
        value, jacobian, noise = residuals(centre, spread)
        gain = _gain(jacobian, noise)
        if turn < rounds - 1:
            centre = gain @ (jacobian @ centre - value)
            spread = np.sqrt(np.maximum(1 - np.einsum("ij,ji->i", gain, jacobian), 0.01))
    return Conditioned(centre, jacobian, noise, value, gain)


def _gain(jacobian: Array, noise: Array) -> Array:
    spread = jacobian @ jacobian.T + np.diag(noise**2)
    return np.asarray(np.linalg.solve(spread, jacobian).T, float)


def update_draws(draws: Array, learned: Conditioned, generator: np.random.Generator) -> Array:
    """Move prior draws so that they obey the evidence (Matheron's rule with perturbed evidence).

    Works along the few directions in which the evidence says anything; directions that carry less than a
    twentieth of the information of the prior are left alone.

    Parameters
    ----------
    draws : array
        Quantities by draws, unit variance; changed in place. [-]
    learned : Conditioned
        From `condition`.
    generator : numpy Generator
        Seeded source of random numbers.

    Returns
    -------
    array
        The moved draws. [-]

    References
    ----------
    Journel, A. G., Huijbregts, C. J. (1978), Mining Geostatistics, ch. VII (conditioning by kriging);
    Burgers, G. et al. (1998), Analysis scheme in the ensemble Kalman filter, Mon. Weather Rev. 126.

    Examples
    --------
    >>> def known(centre, spread):
    ...     return np.array([centre[0] - 1.0]), np.array([[1.0]]), np.array([0.1])
    >>> source = np.random.default_rng(1)
    >>> moved = update_draws(source.standard_normal((1, 20000)), condition(known, 1), source)
    >>> round(float(moved.mean()), 2), round(float(moved.std()), 2)
    (0.99, 0.1)
    """
    scaled = learned.jacobian / learned.noise[:, None]
    left, strength, right = np.linalg.svd(scaled, full_matrices=False)
    kept = strength**2 > _KEPT_INFORMATION
    if not kept.any():
        return draws
    s, directions = strength[kept], right[kept]
    target = (scaled @ learned.centre - learned.residual_at_centre / learned.noise) @ left[:, kept]
    seen = directions @ draws
    innovation = generator.standard_normal(seen.shape)
    innovation += s[:, None] * seen
    np.subtract(target[:, None], innovation, out=innovation)
    innovation *= (s / (s * s + 1))[:, None]
    draws += directions.T @ innovation
    return draws


def left_out(learned: Conditioned) -> Array:
    r"""How far each piece of evidence lies from what all the others and the prior expect, as z values.

    With :math:`S = A A^T + R` and the innovations :math:`\nu`: :math:`z_j = [S^{-1}\nu]_j /
    \sqrt{[S^{-1}]_{jj}}`.

    Parameters
    ----------
    learned : Conditioned
        From `condition`.

    Returns
    -------
    array
        One z value a piece of evidence. [-]

    References
    ----------
    Dubrule, O. (1983), Cross validation of kriging in a unique neighborhood, Math. Geology 15.

    Examples
    --------
    >>> def two(centre, spread):
    ...     gap = np.array([centre[0] - 1.0, centre[0] + 1.0])
    ...     return gap, np.ones((2, 1)), np.array([0.1, 0.1])
    >>> left_out(condition(two, 1)).round(1).tolist()
    [14.1, -14.1]
    """
    inverse = np.linalg.inv(learned.jacobian @ learned.jacobian.T + np.diag(learned.noise**2))
    innovation = learned.jacobian @ learned.centre - learned.residual_at_centre
    return inverse @ innovation / np.sqrt(np.diag(inverse))

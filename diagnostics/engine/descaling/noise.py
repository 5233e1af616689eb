"""What the customer hears: a pump's sound level away from it, and several pumps together."""

from __future__ import annotations

import math
from collections.abc import Sequence

from diagnostics.engine.errors import within


def sound_level_db(level_at_1m_db: float, distance_m: float) -> float:
    """Return the sound level of a small source at a distance, in the open: L1 - 20 log10(r).

    Indoors walls throw sound back and it falls less; a door or ceiling takes 20 dB or more away.

    Parameters
    ----------
    level_at_1m_db : float
        Level at 1 m [dB(A)].
    distance_m : float
        Distance [m], 1 or more.

    Returns
    -------
    float
        Level [dB(A)].

    References
    ----------
    Inverse square law, 6 dB for each doubling: ISO 9613-2:1996, 7.1 (geometrical divergence).

    Examples
    --------
    >>> round(sound_level_db(70.0, 10.0), 1)
    50.0
    """
    return level_at_1m_db - 20.0 * math.log10(float(within("distance", "m", distance_m, 1.0, 1000.0)))


def together_db(levels_db: Sequence[float]) -> float:
    """Return the level of several sources together, by adding their energies.

    Parameters
    ----------
    levels_db : sequence of float
        Levels [dB(A)], one at least.

    Returns
    -------
    float
        Level [dB(A)].

    References
    ----------
    ISO 9613-2:1996, equation 5 (energies added).

    Examples
    --------
    >>> round(together_db([70.0, 70.0]), 1)
    73.0
    """
    if not levels_db:
        raise ValueError("no sound level given; expected one or more [dB(A)]")
    return 10.0 * math.log10(sum(10.0 ** (level / 10.0) for level in levels_db))

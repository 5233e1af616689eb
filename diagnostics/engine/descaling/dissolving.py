"""How long a bath takes: the shortest time that mass transfer allows, and the range that practice tells."""

from __future__ import annotations

import math
from collections.abc import Sequence

from diagnostics.engine.descaling.acids import acid
from diagnostics.engine.errors import within
from diagnostics.engine.records import Interval
from diagnostics.engine.waters import water

PROTON_DIFFUSIVITY_M2_PER_S = 3.0e-9
"""Acid with its ions at 25 degC: hydrochloric 3.3e-9, weak acids near 1e-9; from memory."""
PRACTICE_H: dict[str, tuple[float, float]] = {"strong": (1.0, 2.0), "weak": (4.0, 8.0)}
"""Hours a batch, warm as usual: UFC 3-240-13FN 9-2.5.3 (1 to 2 h), plate makers (4 to 8 h), as read."""
USUAL_K: dict[str, float] = {"strong": 298.15, "weak": 325.0}
"""Temperatures that those hours go with: strong as it comes, weak at 120 to 140 degF as the makers ask."""
ACTIVATION_J_PER_MOL = 30e3
"""Between transfer (15 to 20 kJ/mol) and reaction (about 40): from memory, carried as a range."""
_GAS = 8.314462618
STRONG_ACIDS = ("hydrochloric", "sulfamic", "nitric")


def sherwood_in_tube(reynolds: float, schmidt: float) -> float:
    """Return the Sherwood number of turbulent flow in a smooth tube, 0.023 Re^0.83 Sc^(1/3).

    Parameters
    ----------
    reynolds : float
        Reynolds number [-], 2000 to 70 000.
    schmidt : float
        Schmidt number [-], 0.5 to 3000.

    Returns
    -------
    float
        Sherwood number [-].

    References
    ----------
    Linton & Sherwood (1950), Chem. Eng. Prog. 46, 258: tubes of benzoic acid dissolving in water.

    Examples
    --------
    >>> round(sherwood_in_tube(16_000.0, 300.0))
    475
    """
    re = float(within("Reynolds number", "-", reynolds, 2000.0, 70_000.0))
    return float(0.023 * re**0.83 * within("Schmidt number", "-", schmidt, 0.5, 3000.0) ** (1 / 3))


def least_time_s(
    thickness_m: float,
    deposit_kg_per_m3: float,
    acid_name: str,
    strength: float,
    velocity_m_per_s: float,
    bore_m: float,
    temperature_k: float = 298.15,
) -> float:
    """Return the shortest time in which acid of full strength could reach and dissolve a layer of carbonate.

    t = rho x / M * 2 / (n k C): every proton that transfer brings is used at once.

    Parameters
    ----------
    thickness_m : float
        Thickness of the layer [m].
    deposit_kg_per_m3 : float
        Its density [kg/m3].
    acid_name : str
        One of `acids.ACIDS`.
    strength : float
        Acid by mass of the bath [-].
    velocity_m_per_s : float
        Velocity in the bore [m/s].
    bore_m : float
        Bore [m].
    temperature_k : float
        Bath temperature [K].

    Returns
    -------
    float
        Time [s]; the true one is longer: the strength falls, the layer is uneven and holds what does not
        dissolve.

    References
    ----------
    Lund, Fogler, McCune & Ault (1975), Chem. Eng. Sci. 30, 825: calcite in hydrochloric acid is limited by
    transfer at room temperature (from memory); transfer as in `sherwood_in_tube`.

    Examples
    --------
    >>> round(least_time_s(0.5e-3, 2000.0, "hydrochloric", 0.10, 1.0, 0.016))
    75
    """
    one, plain = acid(acid_name), water()
    density = float(plain.density_kg_per_m3(temperature_k))
    kinematic = float(plain.viscosity_pa_s(temperature_k)) / density
    reynolds = float(within("velocity", "m/s", velocity_m_per_s, 0.01, 10.0)) * bore_m / kinematic
    transfer = (
        sherwood_in_tube(reynolds, kinematic / PROTON_DIFFUSIVITY_M2_PER_S)
        * PROTON_DIFFUSIVITY_M2_PER_S
        / bore_m
    )
    protons = strength * density * one.protons / one.molar_mass_kg_per_mol
    layer = float(within("thickness", "m", thickness_m, 0.0, 0.02)) * deposit_kg_per_m3 / 100.087e-3
    return layer * 2.0 / (transfer * protons)


def warmth_factor(
    temperature_k: float, usual_k: float, activation_j_per_mol: float = ACTIVATION_J_PER_MOL
) -> float:
    """Return how many times as fast a bath dissolves at one temperature as at another, by Arrhenius.

    Parameters
    ----------
    temperature_k : float
        Bath temperature [K].
    usual_k : float
        The temperature that the pace is known for [K].
    activation_j_per_mol : float
        Activation energy [J/mol].

    Returns
    -------
    float
        Factor [-], 1 at the usual temperature.

    References
    ----------
    Arrhenius (1889); energy from memory.

    Examples
    --------
    >>> round(warmth_factor(308.15, 298.15), 2)
    1.48
    """
    kelvin = float(within("bath temperature", "K", temperature_k, 273.15, 373.15))
    return math.exp(activation_j_per_mol / _GAS * (1.0 / usual_k - 1.0 / kelvin))


def circulating_time_s(
    acid_names: Sequence[str], temperature_k: float, batches: tuple[int, int, int], hold_s: float = 1800.0
) -> Interval:
    """Return how long acid circulates: every batch its hours, the last one its hold besides.

    Parameters
    ----------
    acid_names : sequence of str
        The acids of the cleaner; weak where any of them is.
    temperature_k : float
        Bath temperature [K].
    batches : tuple of int
        Fewest, likely and most batches [-].
    hold_s : float
        Half an hour of no change at the end [s].

    Returns
    -------
    Interval
        Time [s]: likely, and range of practice. A single small batch may be done in a third of the hours.

    References
    ----------
    UFC 3-240-13FN (2005), 9-2.5.3: 1 to 2 h; plate makers' cleaning chapters: 4 to 8 h at 120 to 140 degF,
    constant pH for half an hour; warmth as in `warmth_factor`.

    Examples
    --------
    >>> found = circulating_time_s(["hydrochloric"], 298.15, (1, 1, 2))
    >>> round(found.value / 3600, 2), round(found.high / 3600, 2)
    (2.0, 4.5)
    """
    kind = "strong" if all(name in STRONG_ACIDS for name in acid_names) else "weak"
    fewest, likely, most = batches
    low, high = (hours * 3600.0 for hours in PRACTICE_H[kind])
    pace = warmth_factor(temperature_k, USUAL_K[kind])
    middle = (low + high) / 2.0
    return Interval(
        likely * middle / pace + hold_s, fewest * low / 3.0 / pace + hold_s, most * high / pace + hold_s
    )

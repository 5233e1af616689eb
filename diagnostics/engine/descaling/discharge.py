"""What may go down which drain: rules that nothing unlocks, and the limits entered for a site."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnostics.engine.errors import UnknownName

ROUTES: tuple[str, ...] = ("sewer", "licensed_haulage", "storm_drain", "ground", "well", "septic_tank")
NEVER: tuple[str, ...] = ("storm_drain", "ground", "well", "septic_tank")
LOWEST_SEWER_PH = 5.0
HAZARDOUS_PH = (2.0, 12.5)
HOTTEST_AT_THE_WORKS_K = 313.15


@dataclass(frozen=True, slots=True)
class SiteLimits:
    """A site's limits for its sewer: pH [-], temperature [K], metals and solids by name [mg/L].

    `works_designed_for_acid` only where the works' own document says so and is attached.
    """

    lowest_ph: float = LOWEST_SEWER_PH
    highest_ph: float = 11.0
    hottest_k: float = HOTTEST_AT_THE_WORKS_K
    concentrations_mg_per_l: Mapping[str, float] = field(default_factory=dict)
    works_designed_for_acid: bool = False


def reasons_against(
    route: str,
    ph: float,
    temperature_k: float,
    limits: SiteLimits,
    found_mg_per_l: Mapping[str, float | None] | None = None,
) -> tuple[str, ...]:
    """Return why a bath must not go down a drain; empty where nothing stands against it.

    Parameters
    ----------
    route : str
        One of `ROUTES`.
    ph : float
        pH of what would be let out [-].
    temperature_k : float
        Its temperature [K].
    limits : SiteLimits
        The site's limits.
    found_mg_per_l : mapping, optional
        Metals and solids measured [mg/L]; what the site limits and nobody measured is a reason too.

    Returns
    -------
    tuple of str
        Reasons in words.

    References
    ----------
    40 CFR 403.5(b)(2) and (5); 40 CFR 261.22 (corrosive at pH 2 or below, 12.5 or above; from memory).

    Examples
    --------
    >>> reasons_against("sewer", 4.5, 300.0, SiteLimits())
    ('pH 4.5 is below 5, which no sewer takes',)
    """
    if route not in ROUTES:
        raise UnknownName("route of discharge", route, ROUTES)
    if route in NEVER:
        return (f"nothing of a descale goes to a {route.replace('_', ' ')}",)
    if route == "licensed_haulage":
        return ()
    reasons = _of_ph(ph, limits)
    if not temperature_k <= limits.hottest_k:
        reasons.append(f"{temperature_k - 273.15:.0f} degC is above {limits.hottest_k - 273.15:.0f} degC")
    found = found_mg_per_l or {}
    for name, most in limits.concentrations_mg_per_l.items():
        value = found.get(name)
        if value is None:
            reasons.append(f"{name} is limited to {most:g} mg/L and has not been measured")
        elif not value <= most:
            reasons.append(f"{name} {value:g} mg/L is above {most:g} mg/L")
    return tuple(reasons)


def _of_ph(ph: float, limits: SiteLimits) -> list[str]:
    if not HAZARDOUS_PH[0] < ph < HAZARDOUS_PH[1]:
        return [f"pH {ph:g} is hazardous waste; expected between 2 and 12.5 before anything else"]
    if ph < LOWEST_SEWER_PH and not limits.works_designed_for_acid:
        return [f"pH {ph:g} is below 5, which no sewer takes"]
    if not limits.lowest_ph <= ph <= limits.highest_ph:
        return [f"pH {ph:g} is outside the site's {limits.lowest_ph:g} to {limits.highest_ph:g}"]
    return []

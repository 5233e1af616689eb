"""What the deposit is likely to be: water source, water's chemistry, history, what the back-flush brought.

Kinds are weighed by Bayes' rule. Priors and likelihood ratios are common practice or from memory, as each row
says; they order what to try and what to ask, and are no analysis. A flake in a drop of acid tells more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from diagnostics.engine.errors import UnknownName, within

KINDS: tuple[str, ...] = ("carbonate", "sulphate", "silica", "iron", "slime", "mud")
BY_ACID: tuple[str, ...] = ("carbonate", "iron")
"""Kinds that the acids of a descale dissolve."""

PRIORS: Mapping[str, tuple[float, ...]] = MappingProxyType(
    {  # carbonate, sulphate, silica, iron, slime, mud: common practice
        "cooling_tower": (0.55, 0.05, 0.08, 0.07, 0.15, 0.10),
        "closed_loop": (0.12, 0.01, 0.02, 0.55, 0.10, 0.20),
        "ground_loop": (0.15, 0.01, 0.02, 0.42, 0.15, 0.25),
        "well": (0.50, 0.02, 0.02, 0.30, 0.06, 0.10),
        "pond": (0.15, 0.01, 0.02, 0.05, 0.40, 0.37),
        "city_water": (0.75, 0.02, 0.03, 0.08, 0.04, 0.08),
        "": (0.45, 0.03, 0.05, 0.20, 0.12, 0.15),
    }
)


@dataclass(frozen=True, slots=True)
class Sign:
    """Something seen: what it is in words, how much likelier under each kind, and who says so."""

    words: str
    ratios: Mapping[str, float]
    source: str


_PRACTICE = "common practice"
SIGNS: Mapping[str, Sign] = MappingProxyType(
    {
        "flake_fizzes": Sign(
            "a flake fizzes in a drop of acid",
            {"carbonate": 20.0, "iron": 0.3, "sulphate": 0.1, "silica": 0.1},
            "spot test for carbonate with dilute acid, general chemistry",
        ),
        "flake_does_not_fizz": Sign(
            "a flake does not fizz in a drop of acid",
            {"carbonate": 0.03, "sulphate": 3.0, "silica": 3.0},
            "spot test for carbonate with dilute acid, general chemistry",
        ),
        "pale_flakes": Sign(
            "the back-flush brought pale, hard flakes",
            {"carbonate": 5.0, "sulphate": 4.0, "silica": 3.0, "iron": 0.3, "slime": 0.2, "mud": 0.3},
            _PRACTICE,
        ),
        "rust": Sign(
            "the back-flush brought rust, red or black",
            {"iron": 8.0, "mud": 1.5, "carbonate": 0.5},
            _PRACTICE,
        ),
        "slime": Sign(
            "the back-flush brought slime", {"slime": 10.0, "mud": 1.5, "carbonate": 0.4}, _PRACTICE
        ),
        "mud": Sign("the back-flush brought mud or sand", {"mud": 10.0, "carbonate": 0.5}, _PRACTICE),
        "flow_restored": Sign(
            "the back-flush brought the flow back",
            {"mud": 5.0, "slime": 2.0, "carbonate": 0.3, "sulphate": 0.3, "silica": 0.3, "iron": 0.6},
            _PRACTICE,
        ),
        "no_change": Sign(
            "the back-flush changed nothing",
            {"mud": 0.2, "slime": 0.6},
            _PRACTICE,
        ),
        "acid_worked_before": Sign(
            "acid has dissolved it before, with bubbles and solids",
            {"carbonate": 6.0, "iron": 1.5, "sulphate": 0.3, "silica": 0.3, "slime": 0.5, "mud": 0.5},
            _PRACTICE,
        ),
        "acid_did_nothing_before": Sign(
            "acid has dissolved nothing of it before",
            {"carbonate": 0.1, "iron": 0.6, "sulphate": 2.0, "silica": 2.0, "slime": 1.5, "mud": 1.5},
            _PRACTICE,
        ),
        "scaling_water": Sign(
            "the water deposits carbonate at the skin's temperature (Langelier index above 0.5)",
            {"carbonate": 3.0},
            "UFC 3-240-13FN (2005), appendix B: deposits when positive, as read; ratio: common practice",
        ),
        "dissolving_water": Sign(
            "the water dissolves carbonate at the skin's temperature (Langelier index below 0)",
            {"carbonate": 0.25, "iron": 1.5},
            "UFC 3-240-13FN (2005), appendix B: dissolves when negative, as read; ratio: common practice",
        ),
        "sulphate_limit": Sign(
            "calcium times sulphate is above 500 000 (mg/L)2", {"sulphate": 12.0}, "from memory"
        ),
        "silica_limit": Sign("silica is above 150 mg/L", {"silica": 8.0}, "from memory"),
        "iron_in_water": Sign("the water holds more than 0.5 mg/L of iron", {"iron": 3.0}, "from memory"),
    }
)
_BELOW_LIMIT = 0.3
"""What a tested and unsuspicious sulphate, silica or iron leaves of its kind: common practice."""
SULPHATE_PRODUCT, SILICA_MG_PER_L, IRON_MG_PER_L = 500_000.0, 150.0, 0.5


def _prior(source: str) -> tuple[float, ...]:
    if source not in PRIORS:
        raise UnknownName("water source", source, PRIORS)
    return PRIORS[source]


def signs_of_water(
    langelier_at_skin: float | None = None,
    calcium_mg_per_l_as_caco3: float | None = None,
    sulphate_mg_per_l: float | None = None,
    silica_mg_per_l: float | None = None,
    iron_mg_per_l: float | None = None,
) -> tuple[tuple[str, ...], dict[str, float]]:
    """Return which signs a water test shows, and what is left of the kinds that it speaks against.

    Parameters
    ----------
    langelier_at_skin : float, optional
        Langelier index at the surface's temperature [-].
    calcium_mg_per_l_as_caco3 : float, optional
        Calcium hardness [mg/L as CaCO3].
    sulphate_mg_per_l : float, optional
        Sulphate [mg/L].
    silica_mg_per_l : float, optional
        Silica [mg/L].
    iron_mg_per_l : float, optional
        Iron [mg/L].

    Returns
    -------
    tuple
        Names of `SIGNS`, and factors [-] by kind of deposit where the test speaks against it.

    References
    ----------
    UFC 3-240-13FN (2005), appendix B (Langelier index); the limits of calcium times sulphate, silica and iron
    are from memory.

    Examples
    --------
    >>> signs_of_water(langelier_at_skin=1.4, silica_mg_per_l=30.0)
    (('scaling_water',), {'silica': 0.3})
    """
    shown: list[str] = []
    against: dict[str, float] = {}
    if langelier_at_skin is not None and langelier_at_skin > 0.5:
        shown.append("scaling_water")
    if langelier_at_skin is not None and langelier_at_skin < 0.0:
        shown.append("dissolving_water")
    product = (
        None
        if calcium_mg_per_l_as_caco3 is None or sulphate_mg_per_l is None
        else calcium_mg_per_l_as_caco3 * sulphate_mg_per_l
    )
    for value, limit, sign, kind in (
        (product, SULPHATE_PRODUCT, "sulphate_limit", "sulphate"),
        (silica_mg_per_l, SILICA_MG_PER_L, "silica_limit", "silica"),
        (iron_mg_per_l, IRON_MG_PER_L, "iron_in_water", "iron"),
    ):
        if value is not None and value > limit:
            shown.append(sign)
        elif value is not None and kind != "iron":
            against[kind] = _BELOW_LIMIT
    return tuple(shown), against


def expected_deposit(
    water_source: str, signs: Iterable[str] = (), factors: Mapping[str, float] | None = None
) -> dict[str, float]:
    """Return how likely each kind of deposit is the one that matters, by Bayes' rule.

    Parameters
    ----------
    water_source : str
        One of `PRIORS`; "" where it is not known.
    signs : iterable of str
        What was seen, names of `SIGNS`; each counts once.
    factors : mapping, optional
        Further likelihood ratios [-] by kind, above 0.

    Returns
    -------
    dict
        Probability [-] by kind, likeliest first, 1 together.

    Raises
    ------
    UnknownName
        For a water source, sign or kind that is not known; lists those that are.

    References
    ----------
    Bayes' rule; priors and ratios as each row of `PRIORS` and `SIGNS` says.

    Examples
    --------
    >>> found = expected_deposit("closed_loop", ["rust"])
    >>> next(iter(found)), round(found["iron"], 2)
    ('iron', 0.9)
    """
    weights = dict(zip(KINDS, _prior(water_source), strict=True))
    for name in dict.fromkeys(signs):
        if name not in SIGNS:
            raise UnknownName("sign of a deposit", name, SIGNS)
        for kind, ratio in SIGNS[name].ratios.items():
            weights[kind] *= ratio
    for kind, ratio in (factors or {}).items():
        if kind not in weights:
            raise UnknownName("kind of deposit", kind, KINDS)
        weights[kind] *= float(within("likelihood ratio", "-", ratio, 1e-6, 1e6))
    total = sum(weights.values())
    return {kind: weight / total for kind, weight in sorted(weights.items(), key=lambda item: -item[1])}


def share_by_acid(expected: Mapping[str, float]) -> float:
    """Return how likely acid is the right tool: carbonate or iron.

    Parameters
    ----------
    expected : mapping
        Probability [-] by kind, as `expected_deposit` gives it.

    Returns
    -------
    float
        Probability [-].

    References
    ----------
    Silica and calcium sulphate do not dissolve in the acids of a descale, slime and mud are not mineral:
    UFC 3-240-13FN (2005), chapter 9, and common practice.

    Examples
    --------
    >>> round(share_by_acid({"carbonate": 0.5, "iron": 0.2, "mud": 0.3}), 2)
    0.7
    """
    return float(sum(expected.get(kind, 0.0) for kind in BY_ACID))

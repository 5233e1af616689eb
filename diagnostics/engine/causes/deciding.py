"""The one place that decides what to do next, from the surface's number and the causes together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from diagnostics.engine.causes.evidence import Findings
from diagnostics.engine.causes.names import BAD_RECORD, FOULED, NOTHING_WRONG
from diagnostics.engine.causes.ranking import Ranking
from diagnostics.engine.records import Assessment, ReadingSet

READ_AGAIN: frozenset[str] = frozenset(
    {
        "not_steady",
        "readings_contradict",
        "water_change_wrong_sign",
        "water_would_freeze",
        "wall_would_freeze",
        "head_below_suction",
        "leaving_water_beyond_discharge",
        "leaving_water_beyond_saturation",
        "condensing_below_entering_water",
        "superheat_impossible",
        "temperature_change_too_small",
        "not_computed",
        "not_finite",
    }
)
"""Warnings of an assessment without a number that speak of the readings themselves."""
EXPLAINS_THEM: tuple[str, ...] = (BAD_RECORD, "water_hoses_crossed")
LIKELY, EVEN = 0.6, 0.5


@dataclass(frozen=True, slots=True)
class Surface:
    """What the assessment of the same reading says: verdict, probability of being beyond the limit [-] (None
    where withheld), the first reason why the readings can't be judged, and its own next step."""

    verdict: str
    probability_over_limit: float | None
    cannot_be_judged: str | None
    do_next: str


def surface_of(assessment: Assessment) -> Surface:
    """The assessment as the decision needs it.

    Parameters
    ----------
    assessment : Assessment
        Of the same reading; its probability of being beyond the limit may be None. [-]

    Returns
    -------
    Surface
        Verdict, probability [-], why the readings can't be judged.

    References
    ----------
    Common practice: what cannot be judged is read again before anything is opened.

    Examples
    --------
    See `decided`.
    """
    withheld = assessment.excess_approach_k is None
    codes = [one.code for one in assessment.warnings if one.code in READ_AGAIN] if withheld else []
    return Surface(
        assessment.verdict, assessment.probability_over_limit, codes[0] if codes else None, assessment.do_next
    )


def decided(
    ranking: Ranking,
    surface: Surface | None,
    reading: ReadingSet,
    findings: Findings | None = None,
) -> Ranking:
    """The ranking with the next step and the reason against acid that hold for the whole visit.

    In this order: a strainer known to be dirty is cleaned; readings that contradict each other are read
    again; a surface within its limit gets no acid; else the ranking's own step.

    Parameters
    ----------
    ranking : Ranking
        Of the reading.
    surface : Surface or None
        What the assessment of the same reading says; None where there is none. [-]
    reading : ReadingSet
        What was read.
    findings : Findings, optional
        What was found.

    Returns
    -------
    Ranking
        The same causes; `do_next` and `why_not_chemical` decided.

    References
    ----------
    Common practice: easy before intrusive, chemistry last.

    Examples
    --------
    >>> from diagnostics.engine.causes.ranking import Ranking
    >>> from datetime import datetime
    >>> causes = ({"cause": "exchanger_fouled", "probability": 0.9, "reasons": []},)
    >>> alone = Ranking(causes, (), "Chemical work is reasonable now", None, None, ())
    >>> clean = Surface("clean", 0.02, None, "Nothing to do on the water side: the surface is clean.")
    >>> read = ReadingSet("HP-1", datetime(2024, 5, 1), "cooling")
    >>> decided(alone, clean, read).why_not_chemical
    'Not acid: the surface is within its fouling limit (2% beyond).'
    """
    strainer = _strainer(reading, findings)
    if strainer in ("dirty", "blocked"):
        return replace(
            ranking,
            do_next=(
                f"Clean the strainer ({strainer}), then read again: nothing else is judged before the water "
                "flows freely."
            ),
            why_not_chemical=ranking.why_not_chemical
            or f"Not acid yet: the strainer was {strainer}; clean it and read again.",
        )
    return ranking if surface is None else _with_surface(ranking, surface)


def _strainer(reading: ReadingSet, findings: Findings | None) -> str | None:
    checks: Mapping[str, str] = (findings.checks if findings else None) or {}
    return reading.strainer or checks.get("open_strainer")


def _with_surface(ranking: Ranking, surface: Surface) -> Ranking:
    leader = str(ranking.causes[0]["cause"])
    chance = ranking.probability(leader)
    if surface.cannot_be_judged is not None:
        refusal = ranking.why_not_chemical or "Not acid yet: these readings contradict each other."
        explained = leader in EXPLAINS_THEM and chance >= LIKELY
        return replace(
            ranking,
            do_next=ranking.do_next if explained else surface.do_next,
            why_not_chemical=refusal,
        )
    over = surface.probability_over_limit
    if surface.verdict == "clean" and over is not None:
        within = f"Not acid: the surface is within its fouling limit ({over:.0%} beyond)."
        no_step = leader in (FOULED, NOTHING_WRONG) or ranking.why_not_chemical is None
        return replace(
            ranking,
            do_next=surface.do_next if no_step else ranking.do_next,
            why_not_chemical=within if no_step else ranking.why_not_chemical,
        )
    if ranking.why_not_chemical is None and over is not None and over < EVEN:
        return replace(
            ranking,
            do_next=surface.do_next,
            why_not_chemical=(
                "Not acid yet: the surface is fouled, but probably still within its limit "
                f"({over:.0%} beyond); read again before anything chemical."
            ),
        )
    return ranking

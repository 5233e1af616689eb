"""The one place that decides what to do next, from the surface's number and the causes together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from diagnostics.engine import advice, per_cent, wording
from diagnostics.engine.causes.chemical import FLOW_CHECKS
from diagnostics.engine.causes.evidence import Findings
from diagnostics.engine.causes.names import BAD_READING, BAD_RECORD, FOULED, NOTHING_WRONG, OTHER_FAULT
from diagnostics.engine.causes.ranking import Ranking
from diagnostics.engine.causes.steps import DIRTY, EVEN, NOTHING, REOPENED, clean_strainer
from diagnostics.engine.records import Assessment, ReadingSet

READ_AGAIN: frozenset[str] = frozenset(
    {
        "not_steady",
        "readings_contradict",
        "result_absurd",
        "water_change_wrong_sign",
        "water_would_freeze",
        "wall_would_freeze",
        "head_below_suction",
        "leaving_water_beyond_discharge",
        "leaving_water_beyond_saturation",
        "condensing_below_entering_water",
        "superheat_impossible",
        "subcooling_impossible",
        "power_beyond_heat",
        "temperature_change_too_small",
        "entering_water_out_of_range",
        "leaving_water_out_of_range",
        "head_pressure_out_of_range",
        "suction_pressure_out_of_range",
        "water_flow_out_of_range",
        "water_flow_not_above_zero",
        "water_pressure_drop_not_above_zero",
        "out_of_range",
        "not_computed",
        "not_finite",
    }
)
"""Warnings of an assessment without a number that speak of the readings themselves."""
NOT_BY_ANOTHER_INSTRUMENT = ("not_steady", "water_would_freeze", "not_computed", "not_finite")
"""Of these, what a second thermometer or a zeroed gauge does not mend."""
ENTRIES: tuple[str, ...] = tuple(advice.OFFERS.values())
EXPLAINS_THEM: tuple[str, ...] = (BAD_RECORD, "water_hoses_crossed")
LIKELY = 0.6
UNNAMED: tuple[str, ...] = (OTHER_FAULT, BAD_READING)
"""Before these send anybody anywhere, the one reading that contradicts all others is read again."""


@dataclass(frozen=True, slots=True)
class Surface:
    """What the assessment of the same reading says: verdict, probability of being beyond the limit [-] (None
    where withheld), the first reason why the readings can't be judged, its own next step, and the column
    that would decide an undecided case."""

    verdict: str
    probability_over_limit: float | None
    cannot_be_judged: str | None
    do_next: str
    decides_next: str | None = None


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
        assessment.verdict,
        assessment.probability_over_limit,
        codes[0] if codes else None,
        assessment.do_next,
        assessment.decides_next,
    )


def decided(
    ranking: Ranking,
    surface: Surface | None,
    reading: ReadingSet,
    findings: Findings | None = None,
) -> Ranking:
    """The ranking with next step, next check and reason against acid that hold for the whole visit.

    In this order: a strainer known to be dirty is cleaned; readings that contradict each other are read
    again; a coil that took hot gas is switched off; a suspect reading is read again before a fault without
    a name is looked for; a surface within its limit gets no acid; else the ranking's own step. The next
    check is the one that the step asks for, none where it asks for none; a column that would decide the
    fouling number is asked for in the same sentence.

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
        The same causes; `do_next`, `next_check` and `why_not_chemical` decided.

    References
    ----------
    Common practice: easy before intrusive, chemistry last.

    Examples
    --------
    >>> from diagnostics.engine.causes.ranking import Ranking
    >>> from datetime import datetime
    >>> causes = ({"cause": "exchanger_fouled", "probability": 0.9, "reasons": []},)
    >>> alone = Ranking(causes, (), "Chemical work is reasonable now", None, None, ())
    >>> clean = Surface("clean", 0.02, None, "Nothing to do on the water side.")
    >>> read = ReadingSet("HP-1", datetime(2024, 5, 1), "cooling")
    >>> decided(alone, clean, read).why_not_chemical
    'Not acid: the surface is within its fouling limit (chance that it is beyond: 2 %).'
    """
    strainer = _strainer(reading, findings)
    if strainer in DIRTY:
        return _cleaning(ranking, str(strainer), surface)
    if surface is None:
        return ranking
    if surface.cannot_be_judged is not None:
        return _read_again(ranking, surface)
    return _asking_for_what_decides(_with_surface(ranking, surface), surface)


def _strainer(reading: ReadingSet, findings: Findings | None) -> str | None:
    checks: Mapping[str, str] = (findings.checks if findings else None) or {}
    return reading.strainer or checks.get("open_strainer")


def _cleaning(ranking: Ranking, strainer: str, surface: Surface | None) -> Ranking:
    """Before anything else; what the number needs is read when the water flows freely."""
    column = surface.decides_next if surface is not None else None
    wanted = None if column in (None, "strainer") else wording.column_words(str(column))
    return replace(
        ranking,
        do_next=(REOPENED if ranking.reopened else "") + clean_strainer(strainer, wanted),
        next_check=None,
        why_not_chemical=ranking.why_not_chemical
        or f"Not acid yet: the strainer was {strainer}; clean it and read again.",
    )


def _read_again(ranking: Ranking, surface: Surface) -> Ranking:
    """Readings that contradict each other: those again, and what explains them first where it is likely."""
    leader = str(ranking.causes[0]["cause"])
    refusal = ranking.why_not_chemical or "Not acid yet: these readings contradict each other."
    if surface.cannot_be_judged == "not_steady" and leader == NOTHING_WRONG:
        refusal = "Not acid yet: what is read before the machine stands steady tells no cause."
    if leader in EXPLAINS_THEM and ranking.probability(leader) >= LIKELY:
        then = f"{ranking.do_next.rstrip('.')}; then {wording.clause(surface.do_next)}."
        return replace(ranking, do_next=then, why_not_chemical=refusal)
    again = None
    if surface.cannot_be_judged not in NOT_BY_ANOTHER_INSTRUMENT:
        again = ranking.checks.get(wording.check_of(surface.do_next) or "")
    return replace(ranking, do_next=surface.do_next, next_check=again, why_not_chemical=refusal)


def _with_surface(ranking: Ranking, surface: Surface) -> Ranking:
    """What both say together, where they differ."""
    if surface.do_next.startswith(wording.SWITCH_OFF):
        return _surface_step(ranking, surface, _not_before(ranking, surface))
    if _suspect_first(ranking, surface):
        return _surface_step(ranking, surface, _not_before(ranking, surface))
    leader = str(ranking.causes[0]["cause"])
    over = surface.probability_over_limit
    reasonable = ranking.why_not_chemical is None
    if surface.verdict == "clean" and over is not None:
        within = (
            "Not acid: the surface is within its fouling limit "
            f"(chance that it is beyond: {per_cent.chance(over)})."
        )
        if leader in (FOULED, NOTHING_WRONG) or reasonable:
            return _surface_step(ranking, surface, within)
        return ranking
    if reasonable:
        return _acid_by_number(ranking, surface)
    if not ranking.do_next.removeprefix(REOPENED).startswith(NOTHING):
        return ranking
    if surface.verdict == "fouled":
        return _fouled_yet_nothing_wrong(ranking, surface)
    if wording.check_of(surface.do_next) in ranking.checks:
        return _surface_step(ranking, surface, ranking.why_not_chemical)
    return ranking


def _suspect_first(ranking: Ranking, surface: Surface) -> bool:
    """A fault without a name, where the surface names the one reading that contradicts all others."""
    leader = str(ranking.causes[0]["cause"])
    return leader in UNNAMED and wording.check_of(surface.do_next) == "read_again"


def _not_before(ranking: Ranking, surface: Surface) -> str:
    """Why nothing chemical before the surface's own step."""
    before = wording.comes_before_the_surface(surface.do_next)
    return ranking.why_not_chemical or f"Not acid yet: {before}."


def _surface_step(ranking: Ranking, surface: Surface, why: str | None) -> Ranking:
    """The surface's own step, with the check that it asks for."""
    check = ranking.checks.get(wording.check_of(surface.do_next) or "")
    words = surface.do_next
    if check is None and wording.LOOK_FOR_FLOW in words:
        check = next((ranking.checks[name] for name in FLOW_CHECKS if name in ranking.checks), None)
        words = words if check is None else f"{words.rstrip('.')}: {check['words']}."
    return replace(
        ranking,
        do_next=(REOPENED if ranking.reopened else "") + words,
        next_check=check,
        why_not_chemical=why,
    )


def _acid_by_number(ranking: Ranking, surface: Surface) -> Ranking:
    """The causes would have acid: so must the number, and nothing that comes before the surface is open."""
    over = surface.probability_over_limit
    if over is None:
        return _surface_step(
            ranking, surface, "Not acid yet: these readings allow no number for the fouling."
        )
    if over < EVEN:
        why = (
            "Not acid yet: the surface is fouled, but probably still within its limit "
            f"(chance that it is beyond: {per_cent.chance(over)}); read again before anything chemical."
        )
        return _surface_step(ranking, surface, why)
    before = wording.comes_before_the_surface(surface.do_next)
    if before:
        return _surface_step(ranking, surface, f"Not acid yet: {before}.")
    return ranking


def _fouled_yet_nothing_wrong(ranking: Ranking, surface: Surface) -> Ranking:
    """The number and the causes disagree: the easy remedies, or the readings once more; never acid."""
    over = surface.probability_over_limit or 0.0
    nothing = per_cent.chance(ranking.probability(NOTHING_WRONG))
    why = (
        f"Not acid yet: by its number the surface is fouled (chance that it is beyond its limit: "
        f"{per_cent.chance(over)}), yet "
        f"what was read together points to nothing wrong ({nothing})."
    )
    if not surface.do_next.startswith(wording.PLAN_DESCALE):
        return _surface_step(ranking, surface, why)
    again = (
        "Read the full set again on another day: the fouling number and the other readings do not "
        "agree on whether anything is wrong."
    )
    return replace(ranking, do_next=again, next_check=None, why_not_chemical=why)


def _asking_for_what_decides(ranking: Ranking, surface: Surface) -> Ranking:
    """The step, and in the same sentence what would decide the number, where the step asks for another; of
    what to enter next also what it would buy."""
    entry = surface.do_next.startswith(ENTRIES)
    if surface.decides_next is None and not entry and not surface.do_next.startswith(wording.RETIRE_ONE):
        return ranking
    asked, words = wording.clause(surface.do_next), ranking.do_next
    named = None if surface.decides_next is None else wording.short_words(surface.decides_next)
    if asked in words[:1].lower() + words[1:] or (named is not None and named in words):
        return ranking
    if entry:
        asked = surface.do_next[:1].lower() + surface.do_next[1:].rstrip(".")
    step = words.rstrip(".")
    joined = f"{step}; the fouling number is still undecided; to decide it, {asked}."
    return replace(ranking, do_next=joined)

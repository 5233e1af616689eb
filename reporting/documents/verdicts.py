"""The engine's answer in plain words: the verdict, why, what would decide it, how it was computed."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime

from diagnostics.engine import consequence, fouling
from diagnostics.engine.records import Assessment, Interval, Limit
from reporting.documents import words

HEADINGS = {
    "fouled": "Fouled",
    "clean": "Clean",
    "undecided": "Undecided",
    "withheld": "No number given",
    "no_verdict": "No verdict",
}
WITHHELD, NO_VERDICT = "withheld", "no_verdict"


def kind_of(answer: Assessment) -> str:
    """The verdict; else "withheld" where nothing can be told, "no_verdict" where only flow and heat can."""
    if answer.probability_over_limit is not None or answer.excess_approach_k is not None:
        return answer.verdict
    return WITHHELD if answer.ua_w_per_k is None else NO_VERDICT


def has_fouling(answer: Assessment) -> bool:
    return kind_of(answer) not in (WITHHELD, NO_VERDICT)


def verdict_sentence(answer: Assessment) -> str:
    probability = answer.probability_over_limit
    kind = kind_of(answer)
    if kind == WITHHELD:
        return "These readings do not allow a number, so there is no verdict and no probability."
    if kind == NO_VERDICT:
        return (
            "These readings tell flow and heat, but not how fouled the surface is: there is no probability."
        )
    if probability is None:
        return "The readings give a result but no probability of being beyond the limit."
    over = words.percent(probability)
    if kind == "fouled":
        return f"The heat transfer surface is fouled beyond its limit, with a probability of {over}."
    if kind == "clean":
        within = words.percent(1 - probability)
        return f"The heat transfer surface is within its fouling limit, with a probability of {within}."
    return (
        "These readings cannot tell whether the surface is fouled beyond its limit; "
        f"the probability that it is: {over}."
    )


def said(text: str) -> str:
    """A sentence of the engine as people read it."""
    return words.sentence(words.for_people(text))


def why_sentences(answer: Assessment) -> list[str]:
    """Why this is the thing to do, or why nothing is."""
    if not has_fouling(answer):
        reasons = [said(w.text) for w in answer.warnings[:2]]
        return reasons or ["The readings that a number needs are missing."]
    told = [_excess_words(answer.excess_approach_k, answer.mode), _share_words(answer.cleanliness)]
    told.append(undecided_because(answer) or _limit_words(rf_of(answer), answer.limit))
    if answer.verdict == "fouled":
        told.append(
            "Heat transfer cannot tell scale from slime or mud; what comes out, or the water, names the "
            "deposit."
        )
    return [t for t in told if t]


def _excess_words(excess: Interval | None, mode: str) -> str:
    if excess is None:
        return ""
    middle, ends = words.difference(excess)
    side = "condenses" if mode == "cooling" else "evaporates"
    if not any(c in "123456789" for c in middle):
        return f"The refrigerant {side} as near to the water as on a clean surface (95 % interval {ends})."
    wider = "further from" if excess.value >= 0 else "nearer to"
    amount = middle.removeprefix(words.MINUS)
    return (
        f"The refrigerant {side} {amount} {wider} the water than it would on a clean surface "
        f"(95 % interval {ends})."
    )


def _share_words(share: Interval | None) -> str:
    if share is None:
        return ""
    middle, ends = words.interval_parts(share, "%", 100)
    return f"The exchanger passes heat at {middle} of what it would when clean ({ends})."


def _limit_words(fouling: tuple[Interval, str] | None, limit: Limit | None) -> str:
    if fouling is None or limit is None:
        return ""
    value, unit = fouling
    if unit != limit.unit:
        return ""
    if value.low > limit.value:
        return "The whole interval of the fouling resistance lies beyond its limit."
    if value.high < limit.value:
        return "The whole interval of the fouling resistance lies within its limit."
    return "The limit lies inside the interval of the fouling resistance."


def undecided_because(answer: Assessment) -> str:
    """Why a surface with a probability is called neither fouled nor clean; "" where it is called."""
    over = answer.probability_over_limit
    if answer.verdict != "undecided" or over is None:
        return ""
    told = next((w.text for w in answer.warnings if w.code == WHY_UNDECIDED), None)
    if told is not None:
        return said(told)
    clean, fouled = fouling.CLEAN_UP_TO_PROBABILITY, fouling.FOULED_FROM_PROBABILITY
    if clean < over < fouled:
        return (
            f"Undecided, because a surface is called clean up to {words.percent(clean)} and fouled from "
            f"{words.percent(fouled)} on, and {words.percent(over)} lies between."
        )
    return ""


WHY_UNDECIDED = "why_undecided"


def set_by(answer: Assessment) -> str:
    """What set the limit, in a few words; "" where the answer does not say."""
    code = answer.more.get("limit_set_by")
    known = {**consequence.WORDS, "entered": "what was entered for this unit",
             "water_source": "the published allowance for this kind of water"}  # fmt: skip
    return words.for_people(known[code]) if isinstance(code, str) and code in known else ""


def rf_of(answer: Assessment) -> tuple[Interval, str] | None:
    """Fouling resistance by area where an area is known, else of the whole exchanger."""
    if answer.fouling_resistance_m2k_per_w is not None:
        return answer.fouling_resistance_m2k_per_w, "m2K/W"
    if answer.fouling_resistance_k_per_w is not None:
        return answer.fouling_resistance_k_per_w, "K/W"
    return None


def deciding_sentences(answer: Assessment, taken: Collection[str]) -> list[str]:
    """What would decide an undecided case, given the readings that were taken; nothing for a decided one."""
    if answer.verdict != "undecided":
        return []
    told = []
    if answer.decides_next:
        name = words.reading_name(answer.decides_next)
        if kind_of(answer) == WITHHELD:
            told.append(f"{name}: read it again.")
        else:
            missing = answer.decides_next not in taken
            told.append(
                f"{name} would tell most: {'it was not read' if missing else 'read it more exactly'}."
            )
    told += [_doubt_words(answer), _width_words(answer), _narrowing_words(answer)]
    return [t for t in told if t]


def _doubt_words(answer: Assessment) -> str:
    """Where most of the uncertainty comes from."""
    shares = answer.more.get("variance_shares")
    if not isinstance(shares, Mapping) or not has_fouling(answer):
        return ""
    largest = sorted(((float(v), str(k)) for k, v in shares.items()), reverse=True)[:3]
    parts = [
        f"{_source_name(name)} {share * 100:.0f} %" for share, name in largest if share >= SHARE_WORTH_TELLING
    ]
    return f"The doubt comes from: {words.listed(parts)}." if parts else ""


def _source_name(name: str) -> str:
    if name == "reference":
        return "how the clean surface behaves"
    return words.inside(words.reading_name(name))


def _width_words(answer: Assessment) -> str:
    limit, fouling = answer.limit, rf_of(answer)
    if limit is None or fouling is None or fouling[1] != limit.unit:
        return ""
    times = words.number((fouling[0].high - fouling[0].low) / 2 / limit.value, 2)
    return f"The half-width of the interval is now {times} times the limit."


def _narrowing_words(answer: Assessment) -> str:
    """The one more source of the clean reference that would narrow the interval most, if much."""
    left = answer.more.get("interval_left_with_one_more")
    if not isinstance(left, Mapping) or not left or not has_fouling(answer):
        return ""
    share, name = min((float(v), str(k)) for k, v in left.items())
    if share > WORTH_ENTERING:
        return ""
    what = ONE_MORE.get(name, f"one more {words.plain_name(name)}")
    return f"{what} would narrow the interval to about {share * 100:.0f} % of what it is."


SHARE_WORTH_TELLING = 0.05
WORTH_ENTERING = 0.8
ONE_MORE = {
    "operating_table": "The maker's operating table",
    "rated_data": "Rated capacity and design flow",
    "clean_reference": "One more clean visit",
}
REFERENCE_NOT_ASKED = "No clean reference was used, because these readings cannot be judged."
REFERENCE_GAP = "No clean reference was found; a clean visit or the maker's operating table would give one."


def reference_sentence(answer: Assessment) -> str:
    if kind_of(answer) == WITHHELD:
        return REFERENCE_NOT_ASKED
    if not answer.reference:
        return REFERENCE_GAP
    days: dict[str, list[str]] = {}
    for used in answer.reference:
        name = words.REFERENCES.get(used.kind, words.plain_name(used.kind))
        days.setdefault(name, []).extend([_day_of(used.taken_at)] if used.taken_at else [])
    parts = [_with_days(name, list(dict.fromkeys(on))) for name, on in days.items()]
    return words.sentence(f"The clean exchanger is known from: {words.listed(parts)}")


def _with_days(name: str, days: list[str]) -> str:
    if not days:
        return name
    return f"{name}{'s' if len(days) > 1 else ''} of {words.listed(days)}"


def deciding_in_short(answer: Assessment, taken: Collection[str]) -> str:
    """What would decide an undecided case, as one sentence; "" where nothing is known to."""
    told = deciding_sentences(answer, taken)
    first = _narrowing_words(answer) or (told[0] if told and answer.decides_next else "")
    return f"What would decide it: {words.inside(first)}" if told and first else ""


def limit_sentence(answer: Assessment) -> str:
    """Which consequence, or what else, set the limit, with the day it is reckoned for."""
    if answer.limit is None:
        return ""
    source = words.for_people(answer.limit.source)
    told = source.removeprefix(BY_CONSEQUENCE)
    if told != source:
        return words.sentence(f"The limit is set by the consequence that comes first on this unit: {told}")
    return words.sentence(f"The limit: {source}")


BY_CONSEQUENCE = "by consequence: "


def buying_sentence(answer: Assessment) -> str:
    """What each source of the clean reference, entered next, would narrow the interval to."""
    left = answer.more.get("interval_left_with_one_more")
    if not isinstance(left, Mapping) or not left or not has_fouling(answer):
        return ""
    worth = sorted((float(v), str(k)) for k, v in left.items() if float(v) <= WORTH_NAMING)
    if not worth:
        return (
            "Neither the maker's operating table nor rated data nor one more clean visit would narrow the "
            "interval much."
        )
    told = [
        f"{words.inside(ONE_MORE.get(name, words.plain_name(name)))} to about {words.percent(share)}"
        for share, name in worth
    ]
    return f"Entered next, this would narrow the interval: {words.listed(told)} of what it is."


WORTH_NAMING = 0.95


def telling_sentence(answer: Assessment) -> str:
    """The smallest fouling that would be called on this unit, and what would bring it lower."""
    told = answer.more.get("detectability")
    return words.for_people(told) if isinstance(told, str) and has_fouling(answer) else ""


def _day_of(text: str) -> str:
    try:
        return words.day(datetime.fromisoformat(text))
    except ValueError:
        return text


def method_sentences(answer: Assessment) -> list[str]:
    """How the number was computed, in three sentences with their sources."""
    change = "condenses" if answer.mode == "cooling" else "evaporates"
    draws = _draws(answer.more)
    return [
        "The heat is the water's mass flow times its specific heat times its temperature change, with "
        "water properties after IAPWS, antifreeze after the ASHRAE tables, and the refrigerant's "
        "saturation temperatures from the pressures by the equations of state in CoolProp (Bell et al. "
        "2014).",
        "The conductance UA follows from how near the water comes to the temperature at which the "
        f"refrigerant {change} (effectiveness and NTU; Incropera & DeWitt, Fundamentals of Heat and Mass "
        "Transfer), and the fouling resistance is its reciprocal less that of the clean exchanger at the "
        "same flow and load (Bott, Fouling of Heat Exchangers, 1995).",
        f"The interval and the probability come from {draws} of the instruments' errors and of what the "
        "model does not know, the parts that repeat from visit to visit kept apart (JCGM 101:2008, Monte "
        "Carlo method).",
    ]


def _draws(more: Mapping[str, object]) -> str:
    draws = more.get("draws")
    return f"{draws:,} random draws".replace(",", words.THIN) if isinstance(draws, int) else "random draws"

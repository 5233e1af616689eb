"""The causes in a document: why not acid yet, what is wrong and how sure, the next check."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from reportlab.platypus import Flowable, Table

from diagnostics.engine.causes.names import CAUSES, FOULED, OTHER_FAULT
from diagnostics.engine.records import Assessment
from reporting.documents import parts, words

WORTH_TELLING, MOST_TOLD, MOST_REASONS = 0.03, 4, 4
REFUSALS: tuple[tuple[str, str], ...] = (
    ("Not acid again: ", "Why not acid again."),
    ("Not acid yet: ", "Why not acid yet."),
    ("Not acid: ", "Why no acid."),
)
HOW_OPEN = {1: "only looks", 2: "opens the water side", 3: "opens the refrigerant circuit"}


@dataclass(frozen=True, slots=True)
class RankingTold:
    """What a ranking says, as a document needs it."""

    do_next: str
    why_not_chemical: str | None
    reopened: str | None
    causes: Sequence[Mapping[str, Any]]
    next_check: Mapping[str, Any] | None
    cannot_tell_apart: Sequence[Mapping[str, Any]]

    @property
    def proposes_chemical_work(self) -> bool:
        return self.why_not_chemical is None

    def chance(self, cause: str) -> float:
        return next((float(one["probability"]) for one in self.causes if one["cause"] == cause), 0.0)


def step(told: RankingTold) -> str:
    """What to do next as it stands under its own heading."""
    if told.proposes_chemical_work:  # why it is stands in the sentence below
        head, _, rest = told.do_next.partition(": ")
        return said("; ".join(part for part in (head, rest.partition("; ")[2]) if part))
    return said(told.do_next.removeprefix("Next: "))


def acid_words(told: RankingTold) -> tuple[str, str]:
    """Lead and sentence: why not acid yet, or that acid is now reasonable and why."""
    refusal = told.why_not_chemical
    if refusal is None:
        fouled = words.percent(told.chance(FOULED))
        why = (
            f"with a probability of {fouled} the fouled water side is what causes this; low flow from "
            "outside the exchanger is excluded, the strainer is clean and a back-flush changed nothing"
        )
        return "Chemical work is now reasonable.", said(why)
    for start, lead in REFUSALS:
        if refusal.startswith(start):
            return lead, said(refusal.removeprefix(start))
    return "Why no acid.", said(refusal)


def fouled_leads(told: RankingTold | None) -> bool:
    return told is not None and bool(told.causes) and told.causes[0]["cause"] == FOULED


def two_chances(told: RankingTold | None, answer: Assessment) -> str:
    """What each probability is of, where they could be read as one contradicting the other."""
    over = answer.probability_over_limit
    if told is None or over is None or not fouled_leads(told) or answer.verdict == "fouled":
        return ""
    chance = told.chance(FOULED)
    if chance < EVEN:
        return ""
    return (
        f"Two questions, two probabilities: {words.percent(chance)} that fouling is what causes what the "
        f"readings show; {words.percent(over)} that it is already beyond its limit."
    )


EVEN = 0.5


def said(text: str) -> str:
    return words.sentence(words.for_people(text))


def what_is_wrong(told: RankingTold | None, width: float) -> list[Flowable]:
    """What is wrong and how sure, with the reasons: it stands on the first page, right under the decision."""
    if told is None:
        return []
    shown: list[Flowable] = []
    if told.reopened:
        shown += [parts.text(said(told.reopened)), parts.gap(4)]
    worth = [one for one in told.causes if one["probability"] >= WORTH_TELLING][:MOST_TOLD]
    rows = [
        (
            _name(one["cause"]),
            words.short_percent(one["probability"]),
            _reasons(one["reasons"] or _without(one["cause"]), width * 0.6),
        )
        for one in worth
    ]
    head = ("Cause", "Probability that it is this", "For (+) and against (−)")
    shown.append(parts.table(head, rows, (2.7, 1.5, 6.1), width))
    left = 1.0 - sum(one["probability"] for one in worth)
    if left >= 0.01:
        note = f"All other causes together: {words.percent(left)}."
        shown += [parts.gap(4), parts.text(note, "small")]
    for pair in told.cannot_tell_apart:
        shown += [parts.gap(3), parts.text(said(pair["words"]), "small")]
    return parts.section("What is wrong, and how sure", *shown)


def _name(cause: str) -> str:
    name = CAUSES.get(cause, words.plain_name(cause))
    return name[:1].upper() + name[1:]


def _without(cause: str) -> Sequence[str]:
    """Reasons for a cause that came without any: what a fault without a name rests on is always said."""
    said = "it rests on no single value: what was read, taken together, fits none of the causes known here"
    return [said] if cause == OTHER_FAULT else []


def _reasons(reasons: Sequence[str], width: float) -> Flowable:
    """One reason under the other, each with its sign."""
    signed = [_signed(reason) for reason in reasons[:MOST_REASONS]]
    if not signed:
        return parts.text("nothing that was read tells for or against it", "cell-muted")
    cells = [[parts.text(sign, "cell"), parts.text(reason, "cell")] for sign, reason in signed]
    look: list[Any] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ]
    return Table(cells, colWidths=[12, width - 22], style=parts.looking(look))


def _signed(reason: str) -> tuple[str, str]:
    for start, sign in (("for: ", "+"), ("against: ", words.MINUS)):
        if reason.startswith(start):
            return sign, said(reason.removeprefix(start))
    return "·", said(reason)


def next_check(told: RankingTold | None, width: float) -> list[Flowable]:
    """The next check with its cautions and what each outcome would do; nothing where none would tell."""
    check = told.next_check if told is not None else None
    if check is None:
        return []
    minutes = f"about {float(check['minutes']):.0f}{words.HARD}minutes"
    how = HOW_OPEN.get(int(check["intrusiveness"]), "")
    what = f"{words.sentence(str(check['words'])).rstrip('.')}: {minutes}, {how}."
    shown: list[Flowable] = [parts.text(what)]
    if check["cautions"]:
        mind = " ".join(str(one) for one in check["cautions"])
        shown += [parts.gap(3), parts.text(mind, lead="Mind.")]
    rows = [
        (
            words.sentence(words.plain_name(one["outcome"])).rstrip("."),
            words.short_percent(one["probability"]),
            _then(one["then"]),
        )
        for one in check["outcomes"]
    ]
    head = ("If it shows", "How likely it does", "then the probability of each cause would be")
    shown += [parts.gap(6), parts.table(head, rows, (2.7, 1.5, 6.1), width)]
    return parts.section("The next check", *shown, kept=len(shown))


def _then(then: Sequence[Mapping[str, Any]]) -> str:
    return "; ".join(
        f"{CAUSES.get(one['cause'], one['cause'])} {words.percent(one['probability'])}"
        for one in then
        if one["probability"] >= WORTH_TELLING
    )


def lead_row(told: RankingTold) -> Flowable:
    """Under what to do next: why not acid yet, in one sentence."""
    lead, sentence = acid_words(told)
    return parts.text(sentence, "verdict", lead=lead)

"""The demo's answer: what to do next for each exchanger, beside the truth the readings were made from."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from contractor.demo.history import History
from contractor.demo.machines import Machine
from contractor.demo.scenario import id_of
from diagnostics.engine.per_cent import chance
from diagnostics.models import Assessment

NEXT_WIDTH, TRUTH_WIDTH = 58, 30
HEADINGS = ("unit", "what to do next", "verdict", "excess approach", "Rf (95 %), 1e-4 m2K/W", "truth")
WIDTHS = (15, NEXT_WIDTH, 17, 16, 22, TRUTH_WIDTH)


@dataclass(frozen=True, slots=True)
class Line:
    unit: str
    do_next: str
    verdict: str
    excess: str
    fouling: str
    truth: str
    holds_truth: bool | None


def lines(history: History, assessments: dict[object, Assessment]) -> list[Line]:
    found = []
    for machine in history.machines:
        assessment = assessments.get(id_of("exchanger", machine.story.key))
        if assessment is not None:
            found.append(line_of(machine, assessment, history))
    return found


def line_of(machine: Machine, assessment: Assessment, history: History) -> Line:
    truth = machine.fouling_m2k_per_w(assessment.reading.taken_at.date())
    words = history.scenario.story_of(machine.story).truth
    low, high = assessment.fouling_low_m2k_per_w, assessment.fouling_high_m2k_per_w
    name = (
        machine.story.tag if machine.story.name == "1" else f"{machine.story.tag} {machine.story.name[:4]}."
    )
    return Line(
        unit=name,
        do_next=assessment.do_next,
        verdict=verdict_of(assessment),
        excess="withheld"
        if assessment.excess_approach_k is None
        else f"{assessment.excess_approach_k:+.1f} K",
        fouling=fouling_of(assessment),
        truth=f"{1e4 * truth:.2f}" + (f"; {words}" if words else ""),
        holds_truth=None if low is None or high is None else low <= truth <= high,
    )


def verdict_of(assessment: Assessment) -> str:
    """The probability is that of what the verdict says; for an undecided case that of fouling."""
    probability = assessment.probability_over_limit
    if probability is None:
        return assessment.verdict
    if assessment.verdict == "clean":
        probability = 1.0 - probability
    return f"{assessment.verdict} {chance(probability)}"


def fouling_of(assessment: Assessment) -> str:
    value = assessment.fouling_m2k_per_w
    low, high = assessment.fouling_low_m2k_per_w, assessment.fouling_high_m2k_per_w
    if value is None or low is None or high is None:
        return "area not known" if assessment.fouling_k_per_w is not None else "withheld"
    return f"{1e4 * value:.2f} ({1e4 * low:.2f} to {1e4 * high:.2f})"


def printed(found: list[Line], width: int) -> Iterator[str]:
    """A table where the terminal is wide enough, else a few lines an exchanger."""
    if width < sum(WIDTHS) + 2 * len(WIDTHS):
        yield from (text for line in found for text in stacked(line, width))
        return
    yield from row(HEADINGS)
    yield "  ".join("-" * width for width in WIDTHS)
    for line in found:
        yield from row((line.unit, line.do_next, line.verdict, line.excess, line.fouling, line.truth))


def stacked(line: Line, width: int) -> Iterator[str]:
    yield line.unit
    yield from textwrap.wrap(line.do_next, width, initial_indent="  ", subsequent_indent="  ")
    yield f"  {line.verdict}; excess approach {line.excess}"
    yield f"  Rf {line.fouling} 1e-4 m2K/W; truth {line.truth}"


def row(cells: tuple[str, ...]) -> Iterator[str]:
    wrapped = [textwrap.wrap(cell, width) or [""] for cell, width in zip(cells, WIDTHS, strict=True)]
    for place in range(max(len(cell) for cell in wrapped)):
        parts = [cell[place] if place < len(cell) else "" for cell in wrapped]
        yield "  ".join(part.ljust(width) for part, width in zip(parts, WIDTHS, strict=True)).rstrip()


def summary(found: list[Line]) -> str:
    judged = [line.holds_truth for line in found if line.holds_truth is not None]
    return (
        f"The 95 % interval holds the truth for {sum(judged)} of the {len(judged)} exchangers with a figure."
    )

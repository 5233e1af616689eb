"""What a verdict has to be earned by: why a telling probability is none yet, and what to read first."""

from __future__ import annotations

from diagnostics.engine import fouling, habits
from diagnostics.engine.judged import Judged

SEVERAL_VISITS = 2
FLOW_UNREAD = "water flow was not read, and less flow than the design flow taken in its place hides fouling"
REFERENCE_NARROWED = (
    "the clean visits themselves showed a pressure drop above clean for their flow, so they may not have "
    "been clean; correct the curve on record, or enter the operating table"
)
BY_POWER = (
    "no gauge was connected and the compressor's consumption stands in for it: a worn compressor, a "
    "restricted valve, low charge or a dirty air side raise that for the heat as fouling does"
)
SUPERHEAT_UNREAD = (
    "suction_line was not read, and without superheat an evaporator short of refrigerant (restricted valve, "
    "low charge) looks the same"
)


def reference_doubted(judged: Judged) -> bool:
    """A clean visit was not believed, and not several others stand against it."""
    return visit_not_believed(judged) and len(judged.reference.seen) < SEVERAL_VISITS


def _doubt_words(judged: Judged) -> str:
    """Why no verdict of fouled rests on what is left of the clean visits."""
    if not judged.reference.seen:
        return "no clean visit on record could be believed"
    return (
        "two clean visits contradict each other, and either may be the wrong one; retire one of them or "
        "read a third"
    )


def visit_not_believed(judged: Judged) -> bool:
    """Whether a clean visit stood too far from all else."""
    return any(warning.code == "reference_implausible" for warning in judged.reference.warnings)


def why_not_fouled(judged: Judged) -> str | None:
    """Why no verdict of fouled rests on these readings, in words; None where nothing speaks against it."""
    if reference_doubted(judged):
        return _doubt_words(judged)
    if airy(judged):
        return "the static test could not rule out air in the refrigerant, which looks the same"
    if habits.by_consumption(judged.seen.observation.errors):
        return BY_POWER
    return SUPERHEAT_UNREAD if _superheat_unread(judged) else None


def _superheat_unread(judged: Judged) -> bool:
    """An evaporator whose superheat is not known: short of refrigerant it looks fouled."""
    return judged.reading.mode == "heating" and "suction_line" in judged.seen.observation.assumed


def read_first(judged: Judged, probability: float | None) -> str | None:
    """The column without which a telling probability is no verdict, where one is."""
    if probability is None or fouling.CLEAN_UP_TO_PROBABILITY < probability < fouling.FOULED_FROM_PROBABILITY:
        return None
    if _hides_behind_flow(judged, probability):
        return "water_flow"
    gauge = not habits.by_consumption(judged.seen.observation.errors)
    fouled = probability >= fouling.FOULED_FROM_PROBABILITY
    return "suction_line" if fouled and gauge and _superheat_unread(judged) else None


def _hides_behind_flow(judged: Judged, probability: float | None) -> bool:
    """Only the design flow is known: a surface that looks clean at it may be fouled at less."""
    return _looks_clean(probability) and judged.seen.flow.used == ("design",)


def _looks_clean(probability: float | None) -> bool:
    return probability is not None and probability <= fouling.CLEAN_UP_TO_PROBABILITY


def why_not_clean(judged: Judged, probability: float | None) -> str | None:
    """Why no verdict of clean rests on these readings though they look it, in words; else None."""
    if _hides_behind_flow(judged, probability):
        return FLOW_UNREAD
    return REFERENCE_NARROWED if _looks_clean(probability) and judged.reference.narrowed else None


def airy(judged: Judged) -> bool:
    """The static test was made and could not rule air out, which looks like fouling where it condenses."""
    return judged.gate.air == "in_doubt" and judged.reading.mode == "cooling"

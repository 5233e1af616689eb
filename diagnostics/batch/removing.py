"""Rows after a descale, held against the row before it: what was removed, and whether that is anything."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from datetime import timedelta

import numpy as np

from diagnostics.engine.records import (
    EVENTS_THAT_VOID_REFERENCES,
    Assessment,
    ExchangerFacts,
    History,
    InstrumentAccuracy,
    Interval,
    ReadingSet,
    Warning,
)

ONE_DESCALE = timedelta(days=60)
"""Rows farther apart are not of one descale (common practice)."""
SHOWN = {
    "better": "",
    "nothing": " That is consistent with nothing: the descale changed nothing that these readings show.",
    None: " Whether anything was removed is not shown.",
}


def before_of(reading: ReadingSet, history: History) -> ReadingSet | None:
    """The last row before the descale in the same mode, of a row after it; None of any other row, or where
    an event since then moved more than the surface."""
    if reading.purpose != "after_descale":
        return None
    rows = (row for row in reversed(history.readings) if row.purpose == "before_descale")
    before = next((row for row in rows if row.mode == reading.mode), None)
    if before is None or reading.taken_at - before.taken_at > ONE_DESCALE:
        return None
    since = (event.what for event in history.events if event.at > before.taken_at)
    return None if any(what in EVENTS_THAT_VOID_REFERENCES for what in since) else before


def told(
    facts: ExchangerFacts,
    reading: ReadingSet,
    history: History,
    assessment: Assessment,
    instruments: Sequence[InstrumentAccuracy],
    draws: int,
) -> tuple[Assessment, str | None]:
    """The assessment with `removed` and its sentence, and what the descale changed: "nothing", "better", or
    None where that is not known."""
    from diagnostics.engine import removal  # takes a second, which a mistyped header need not wait for

    before = before_of(reading, history)
    if before is None:
        return _with(assessment, None), None
    try:
        with np.errstate(all="ignore"):
            found = removal.removed(facts, before, reading, history, instruments or None, draws)
    except Exception as error:  # A pair that cannot be compared must not cost the row its number.
        return _with(assessment, None, _not_told(str(error) or type(error).__name__)), None
    gone, unit = found.removed_m2k_per_w, "m2K/W"
    if gone is None:
        gone, unit = found.removed_k_per_w, "K/W"
    if gone is None:
        return _with(assessment, None, _not_told("; ".join(one.text for one in found.warnings))), None
    changed = removal.changed(found)
    key = {**dataclasses.asdict(gone), "unit": unit}
    return _with(assessment, key, _words(gone, unit) + SHOWN[changed]), changed


def _with(assessment: Assessment, removed: dict[str, object] | None, words: str = "") -> Assessment:
    said = (Warning("removed", words),) if words else ()
    more = {**assessment.more, "removed": removed}
    return dataclasses.replace(assessment, warnings=(*assessment.warnings, *said), more=more)


def _words(gone: Interval, unit: str) -> str:
    return (
        f"Fouling resistance removed since the row before the descale: {gone.value:.2g} {unit} (95 % "
        f"interval {gone.low:.2g} to {gone.high:.2g}), both rows judged together so that what errs alike "
        "in both cancels."
    )


def _not_told(why: str) -> str:
    return f"What the descale removed is not told: {why.rstrip('.')}."

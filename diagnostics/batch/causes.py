"""Causes beside the assessment of a row: what is wrong, what to check next, why nothing chemical yet."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from diagnostics.engine.records import Assessment, ExchangerFacts, History, InstrumentAccuracy, ReadingSet

KEYS = ("causes", "next_check", "why_not_chemical", "reopened")


def added(
    facts: ExchangerFacts,
    reading: ReadingSet,
    history: History,
    assessment: Assessment,
    instruments: Sequence[InstrumentAccuracy] = (),
    signatures: str | None = None,
    changed: str | None = None,
) -> Assessment:
    """The assessment with `causes`, `next_check`, `why_not_chemical` and `reopened`; `do_next` as both decide
    it. `changed` is what a descale before this row changed; only in vain is it evidence, since what came out
    is gone."""
    from diagnostics.engine import causes  # takes a second, which a mistyped header need not wait for
    from diagnostics.engine.causes.signatures import keep_signatures_in

    keep_signatures_in(Path(signatures) if signatures else None)
    findings = causes.Findings(descale_changed=changed if changed == "nothing" else None)
    try:
        with np.errstate(all="ignore"):
            found = causes.rank(facts, reading, history, findings=findings, instruments=instruments or None)
    except Exception as error:  # A row that cannot be ranked must not cost its number, nor the others.
        found = causes.not_ranked(facts, history, reading, str(error) or type(error).__name__)
    ranking = causes.decided(found, causes.surface_of(assessment), reading, findings)
    told = {name: ranking.as_json()[name] for name in KEYS}
    return dataclasses.replace(assessment, do_next=ranking.do_next, more={**assessment.more, **told})

"""Everything one ranking rests on, gathered in a number of queries that doesn't grow."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta

from contractor.register.models import Exchanger, WaterTest
from contractor.visits.models import Reading
from diagnostics import selectors
from diagnostics.answers import answer_of
from diagnostics.engine import records
from diagnostics.engine.causes.background import Background, Earlier
from diagnostics.engine.causes.deciding import Surface, surface_of
from diagnostics.engine.causes.evidence import Findings
from diagnostics.engine.causes.keeping import model_digest
from diagnostics.engine.version import ENGINE_VERSION
from diagnostics.engine.water_chemistry import WaterAnalysis, scaling_indices
from diagnostics.models import Assessment
from diagnostics.ranking.findings import bearing_on, gathered

RESETS = ("descaled", *records.EVENTS_THAT_VOID_REFERENCES)
MOST_EARLIER = 12
SKIN_ABOVE_ENTERING_K, USUAL_ENTERING_K = 8.0, 300.0
DESCALE_WITHIN = timedelta(days=60)
WORTH_K, UNCHANGED, BETTER = 1.0, 0.75, 0.5


@dataclass(frozen=True, slots=True)
class RankingInputs:
    """Facts, the reading with what findings add to it, its past and its water, what its assessment says."""

    facts: records.ExchangerFacts
    reading: records.ReadingSet
    history: records.History
    instruments: tuple[records.InstrumentAccuracy, ...]
    findings: Findings
    background: Background
    surface: Surface | None

    def digest(self) -> str:
        return hashlib.sha256(
            repr((ENGINE_VERSION, model_digest(), self.facts.machine, self)).encode()
        ).hexdigest()


def ranking_inputs(reading: Reading) -> RankingInputs:
    """Load the reading with its exchanger, unit, site, operating table and gauge set to save queries."""
    base = selectors.inputs_of(reading)
    found = gathered(base.reading, bearing_on(reading))
    results = _results(reading)
    own = next((one for one in results if one.reading_id == reading.pk), None)
    if found.changed is None:
        found.changed = _changed(reading, own, results)
    return RankingInputs(
        base.facts,
        found.reading,
        base.history,
        base.instruments,
        found.findings(),
        _background(reading, own, results, base.history),
        surface_of(answer_of(own.result)) if own is not None else None,
    )


def _results(reading: Reading) -> list[Assessment]:
    """What stands for this exchanger in this mode around the reading, latest first, its own among it."""
    rows = Assessment.objects.current().of_exchanger(reading.exchanger_id)
    rows = rows.filter(reading__mode=reading.mode, reading__taken_at__lte=reading.taken_at + DESCALE_WITHIN)
    return list(rows.select_related("reading").latest_taken_first()[: MOST_EARLIER + 1])


def _background(
    reading: Reading, own: Assessment | None, results: list[Assessment], history: records.History
) -> Background:
    since = max((one.at for one in history.events if one.what in RESETS), default=None)
    earlier = tuple(
        Earlier(_days(reading.taken_at, one.reading.taken_at), one.excess_approach_k)
        for one in results
        if one.excess_approach_k is not None
        and one.reading.taken_at < reading.taken_at
        and one.reading.visit_id != reading.visit_id
        and (since is None or one.reading.taken_at > since)
    )
    return Background(
        earlier, own.excess_approach_k if own else None, _saturation_index(reading.exchanger, reading)
    )


def _days(now: datetime, then: datetime) -> float:
    return round((now - then).total_seconds() / 86400.0, 2)


def _saturation_index(exchanger: Exchanger, reading: Reading) -> float | None:
    """Langelier's index at about the skin's temperature, of the latest full water test before the reading."""
    tests = WaterTest.objects.filter(site=exchanger.unit.site_id, retired_at=None)
    test = tests.filter(taken_at__lte=reading.taken_at).order_by("-taken_at").first()
    if test is None or test.ph is None:
        return None
    solids, hard = test.dissolved_solids_mg_per_l, test.calcium_hardness_mg_per_l_as_caco3
    alkalinity = test.alkalinity_mg_per_l_as_caco3
    if not solids or not hard or not alkalinity:
        return None
    skin = (reading.entering_water_k or USUAL_ENTERING_K) + SKIN_ABOVE_ENTERING_K
    try:
        found = scaling_indices(WaterAnalysis(test.ph, solids, hard, alkalinity), skin)
    except ValueError:
        return None
    return round(float(found.langelier_by_formula), 2)


def _changed(reading: Reading, own: Assessment | None, results: list[Assessment]) -> str | None:
    """What a descale changed, by the approach before and after it; None where that isn't known."""
    if own is None:
        return None
    if reading.purpose == "after_descale":
        before = [r for r in results if r.reading.taken_at < reading.taken_at and _near(r.reading, reading)]
        changed = _compared(before[0] if before else None, own)
        return changed if changed == "nothing" else None  # what came out is gone
    after = [
        r
        for r in results
        if r.reading.purpose == "after_descale"
        and r.reading.taken_at > reading.taken_at
        and _near(r.reading, reading)
    ]
    return _compared(own, after[-1] if after else None)


def _near(one: Reading, other: Reading) -> bool:
    return abs(one.taken_at - other.taken_at) <= DESCALE_WITHIN


def _compared(before: Assessment | None, after: Assessment | None) -> str | None:
    if before is None or after is None:
        return None
    first, last = before.excess_approach_k, after.excess_approach_k
    if first is None or last is None or first < WORTH_K:
        return None
    return "nothing" if last >= UNCHANGED * first else "better" if last <= BETTER * first else None

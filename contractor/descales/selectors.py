"""What is asked of a descale as a whole, in a few queries."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from contractor.accounts.models import Person
from contractor.descales import services
from contractor.descales.models import Descale
from contractor.descales.services.dosing import Clock


def now_of(person: Person, descale: Descale, now: datetime) -> dict[str, Any]:
    """What the phone beside the tank asks."""
    gate = services.may_dose(descale, now)
    batches = services.batches_of(descale)
    clocks = [Clock(descale, one, n) for n, one in enumerate(batches, 1) if one.out_at is None]
    return {
        "state": descale.state,
        "may_dose": gate.open,
        "dose_shut_because": gate.reasons,
        "verdict": shown_verdict(services.verdict_of(descale, now)) if batches else None,
        "clocks": clocks,
        "next_looks": services.next_looks(descale, batches),
        "strainer_due": services.strainer_of(descale),
        "end_lacks": services.what_lacks(descale) if batches else (),
        "baths_unaccounted": services.baths_unaccounted(descale),
    }


def shown_verdict(verdict: services.Verdict) -> dict[str, Any]:
    used = verdict.used_share
    return {
        "action": verdict.action,
        "words": verdict.words,
        "reasons": verdict.reasons,
        "asks": verdict.asks,
        "batch": verdict.batch,
        "used_share": used and {"value": used.value, "low": used.low, "high": used.high},
        "steady": dict(verdict.steady),
        "flow_risen": verdict.flow_risen,
        "see": verdict.see,
    }

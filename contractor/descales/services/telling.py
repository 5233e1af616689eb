"""What a descale tells of the cause: in vain, it says that scale was probably not it."""

from __future__ import annotations

from collections.abc import Iterable

from contractor.accounts.models import Person
from contractor.descales.models import Descale, Look, Verification
from contractor.register.services import rows
from contractor.visits.models import Finding, Reading
from contractor.visits.services.findings import heed
from diagnostics.services import tell_descale

FEWEST_LOOKS = 3
"""Below so many looks that nothing was seen says little."""
CHANGED = {"improved": "better", "no_improvement_shown": "no_change", "worse": "no_change"}
UNCOLOURED = ("", "clear", "as_fresh")


def tell_causes(descale: Descale, proof: Verification) -> Finding | None:
    """Put what it brought out and changed among the findings of the visit of the readings after; the causes
    around it are ranked anew. None where nobody of that visit may say it."""
    after = proof.after
    brought, changed = brought_out(descale), CHANGED.get(str(proof.result.get("improved")), "not_measured")
    standing = Finding.objects.in_use().filter(
        kind="descale", visit=after.visit_id, exchanger=descale.exchanger_id, found_at=after.taken_at
    )
    told = standing.first()
    if told is not None:
        if rows.change(told, {"brought": brought, "value": changed}):
            heed(told)
        return told
    by = _who(after)
    if by is None:
        return None
    return tell_descale(
        by,
        after.visit,
        descale.exchanger,
        brought=brought,
        changed=changed,
        found_at=after.taken_at,
        note="As the log and the readings before and after tell.",
    )


def _who(after: Reading) -> Person | None:
    """Whoever read, if they may write on that visit; else one of its crew."""
    if after.taken_by.is_office or after.visit.crew_places.filter(person=after.taken_by_id).exists():
        return after.taken_by
    place = after.visit.crew_places.select_related("person").order_by("pk").first()
    return place.person if place else None


def brought_out(descale: Descale) -> str:
    """solids, colour or nothing, as those who looked at the tank saw it; empty where too few looked."""
    looks = list(Look.objects.filter(descale=descale))
    if any(one.solids in ("few", "many") or one.bubbles == "many" for one in looks):
        return "solids"
    if any(one.colour not in UNCOLOURED for one in looks):
        return "colour"
    return "nothing" if _count(one.bubbles == "none" for one in looks) >= FEWEST_LOOKS else ""


def _count(seen: Iterable[bool]) -> int:
    return sum(1 for one in seen if one)

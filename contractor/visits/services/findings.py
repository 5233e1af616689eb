from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.files.base import File
from django.db import transaction

from contractor.accounts.models import Person
from contractor.http.problems import Problem
from contractor.register.services import rows
from contractor.register.typed import barometric_at, settle
from contractor.visits.finding_words import BRINGS, FINDING_VALUES, USUAL_VALUES
from contractor.visits.models import Finding
from contractor.visits.photos import cleaned
from contractor.visits.quantities import FINDING, FINDING_COLUMNS
from contractor.visits.services.rules import HEED, invalid, refuse_unless_of_crew
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue


@dataclass(frozen=True, slots=True)
class Found:
    """A finding as stored, and the work item that ranks causes anew; None where it bears on none."""

    finding: Finding
    work_item: WorkItem | None


def add_finding(by: Person, fields: Mapping[str, Any]) -> Finding:
    return post_finding(by, fields).finding


@transaction.atomic
def post_finding(by: Person, fields: Mapping[str, Any]) -> Found:
    """Store what was found and have the causes ranked anew."""
    finding = Finding(**fields, found_by=by)
    refuse_unless_of_crew(by, finding.visit)
    finding.value = finding.value or USUAL_VALUES.get(finding.kind, "")
    _settle(finding, fields)
    _refuse_wrong(finding)
    rows.put_in(finding)
    return Found(finding, heed(finding, by))


@transaction.atomic
def change_finding(by: Person, finding: Finding, fields: Mapping[str, Any]) -> Finding:
    """`as_typed` is merged: quantities named there are replaced, null takes one out, the others stay."""
    refuse_unless_of_crew(by, finding.visit)
    if "as_typed" in fields:
        merged = {**finding.as_typed, **fields["as_typed"]}
        cleared: dict[str, Any] = dict.fromkeys(FINDING_COLUMNS)
        fields = {**fields, **cleared, **_settled(finding, merged)}
    for name, value in fields.items():
        setattr(finding, name, value)
    _refuse_wrong(finding)
    finding.refresh_from_db(fields=list(fields))
    if rows.change(finding, fields):
        heed(finding, by)
    return finding


@transaction.atomic
def retire_finding(by: Person, finding: Finding, now: datetime) -> Finding:
    refuse_unless_of_crew(by, finding.visit)
    retired = rows.retire(finding, now)
    heed(finding, by)
    return retired


@transaction.atomic
def bring_back_finding(by: Person, finding: Finding) -> Finding:
    refuse_unless_of_crew(by, finding.visit)
    back = rows.bring_back(finding)
    heed(finding, by)
    return back


def heed(finding: Finding, by: Person | None = None) -> WorkItem | None:
    """Have the readings that it bears on ranked again."""
    if finding.kind not in FINDING_VALUES or finding.unit_id is None:
        return None
    return queue(HEED, str(finding.pk), asked_by=by)


@transaction.atomic
def add_photo(by: Person, finding: Finding, upload: File[bytes]) -> Finding:
    """Keep a photo with a finding: re-encoded, so that nothing but the picture is kept."""
    refuse_unless_of_crew(by, finding.visit)
    if finding.photo:
        detail = "This finding has its photo; add another finding for another photo."
        raise Problem("conflict", detail, errors=[{"pointer": "/photo", "detail": detail}])
    picture = cleaned(upload)
    finding.photo.save(f"{finding.pk}.jpg", picture, save=False)
    try:
        finding.save()
    except BaseException:
        finding.photo.storage.delete(str(finding.photo.name))
        raise
    return finding


def _refuse_wrong(finding: Finding) -> None:
    if finding.unit is not None and finding.unit.site_id != finding.visit.site_id:
        site = finding.visit.site
        raise invalid(
            "/unit", f"{finding.unit} is not at {site}, where the visit is; expected a unit of {site}."
        )
    if finding.exchanger is not None and finding.exchanger.unit_id != finding.unit_id:
        raise invalid(
            "/exchanger", f"{finding.exchanger} is not of the unit named; expected one of its own, or none."
        )
    if finding.brought and finding.kind not in BRINGS:
        raise invalid("/brought", f"A {finding.kind} brings nothing out; expected it with {listed(BRINGS)}.")
    words = FINDING_VALUES.get(finding.kind)
    if words and finding.value not in words:
        kind = finding.kind.replace("_", "-")
        raise invalid(
            "/value", f"{finding.value!r} does not describe a {kind}; expected one of {', '.join(words)}."
        )


def listed(names: Iterable[str]) -> str:
    return ", ".join(sorted(names))


def _settle(finding: Finding, fields: Mapping[str, Any]) -> None:
    for name, value in _settled(finding, fields.get("as_typed") or {}).items():
        setattr(finding, name, value)


def _settled(finding: Finding, typed: Mapping[str, Any]) -> dict[str, Any]:
    """SI columns and what was typed, at the elevation of the visit's site."""
    barometric = barometric_at(finding.visit.site.elevation_m)
    settled = settle(FINDING, typed, barometric_pa=barometric).or_problem()
    return {**settled.columns, "as_typed": settled.as_typed}

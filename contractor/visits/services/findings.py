from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.files.base import File
from django.db import transaction

from contractor.accounts.models import Person
from contractor.http.problems import Problem
from contractor.register.services import rows
from contractor.visits.models import FINDING_VALUES, Finding
from contractor.visits.photos import cleaned
from contractor.visits.services.rules import invalid, refuse_unless_of_crew


@transaction.atomic
def add_finding(by: Person, fields: Mapping[str, Any]) -> Finding:
    finding = Finding(**fields, found_by=by)
    refuse_unless_of_crew(by, finding.visit)
    _refuse_wrong(finding)
    return rows.put_in(finding)


@transaction.atomic
def change_finding(by: Person, finding: Finding, fields: Mapping[str, Any]) -> Finding:
    refuse_unless_of_crew(by, finding.visit)
    for name, value in fields.items():
        setattr(finding, name, value)
    _refuse_wrong(finding)
    finding.refresh_from_db(fields=list(fields))
    rows.change(finding, fields)
    return finding


@transaction.atomic
def retire_finding(by: Person, finding: Finding, now: datetime) -> Finding:
    refuse_unless_of_crew(by, finding.visit)
    return rows.retire(finding, now)


@transaction.atomic
def bring_back_finding(by: Person, finding: Finding) -> Finding:
    refuse_unless_of_crew(by, finding.visit)
    return rows.bring_back(finding)


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
    words = FINDING_VALUES.get(finding.kind)
    if words and finding.value not in words:
        kind = finding.kind.replace("_", "-")
        raise invalid(
            "/value", f"{finding.value!r} does not describe a {kind}; expected one of {', '.join(words)}."
        )

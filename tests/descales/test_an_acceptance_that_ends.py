"""An acceptance of acid water holds until its day, and who attached it is named as having read it."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.core.files.base import ContentFile

from contractor.descales import services
from contractor.descales.models import Discharge
from tests.descales import world

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("days", "holds"), [(None, True), (0, True), (30, True), (-1, False)])
def test_one_that_had_ended_on_the_day_does_not_count(
    settings: Any, tmp_path: Any, days: int | None, holds: bool
) -> None:
    settings.MEDIA_ROOT = tmp_path
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    type(job.exchanger.unit.site).objects.update(discharge_ph_low=None)
    fields = {"at": job.at(300), "water": "bath", "route": "sewer", "ph": 4.2, "acid_document": "letter 12"}
    row: Discharge = services.record_discharge(job.technician, job.descale, fields, job.at(300)).row
    day = row.at.astimezone(job.exchanger.unit.site.zone).date()
    until = None if days is None else day + dt.timedelta(days=days)
    letter = ContentFile(b"%PDF-1.4 letter", name="letter.pdf")
    kept = services.attach_acceptance(job.office, row, letter, until)
    assert (kept.exceedances == []) is holds
    assert (kept.acceptance_until, kept.acceptance_read_by) == (until, job.office)

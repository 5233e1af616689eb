"""A page costs the same number of questions to the database however much it lists."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from contractor.descales.models import Descale, Discharge, HeldWaste, Notice
from contractor.register.models import Cleaner, CleanerLot, GaugeSet, Instrument, WaterTest
from contractor.visits.models import Finding
from tests import make
from tests.access.world import _assessment, _document
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def grow(cast: Cast, number: int) -> None:
    """More of everything, at the same site and of the same unit."""
    now = timezone.now()
    for _ in range(number):
        unit = make.unit(cast.site)
        exchanger = make.exchanger(unit)
        visit = make.visit(cast.site, [cast.assigned, cast.other], window_start=now - dt.timedelta(hours=1))
        late = make.visit(
            cast.site, [cast.other], window_start=now - dt.timedelta(days=2), urgent=True, opened_by_tag="x"
        )
        reading = make.reading(visit, exchanger, cast.assigned)
        _assessment(reading)
        again = make.reading(visit, cast.exchanger, cast.assigned)
        _assessment(again)
        Finding.objects.create(visit=late, unit=unit, found_by=cast.other, kind="note", note="HR")
        Finding.objects.create(visit=late, unit=unit, found_by=cast.other, kind="could_not_do",
                               found_at=now + dt.timedelta(hours=1))  # fmt: skip
        Finding.objects.create(visit=visit, unit=cast.unit, found_by=cast.other, kind="note")
        things = {"site": cast.site, "exchanger": exchanger, "visit": visit, "assessment": None}
        for state in ("prepared", "released"):
            _document(things, cast.office, state)
        make.site(cast.customer), make.customer()
        gauges = GaugeSet.objects.create(name=f"Set {unit.tag}", holder=cast.assigned)
        Instrument.objects.create(gauge_set=gauges, reading="amps", repeating=0.1, random=0.1, relative=True,
                                  calibration_due_on=now.date())  # fmt: skip
        cleaner = Cleaner.objects.create(name=f"Cleaner {unit.tag}")
        CleanerLot.objects.create(cleaner=cleaner, lot="1", expires_on=now.date())
        WaterTest.objects.create(site=cast.site, taken_at=now)
        descale = Descale.objects.create(exchanger=exchanger, because="fouled", recommended_by=cast.office)
        told = {"descale": descale, "by": cast.office, "at": now, "water": "bath"}
        Discharge.objects.create(**told, route="sewer", exceedances=["pH 3.1"])
        HeldWaste.objects.create(**told, where="plant room", whose="the office")
        notice = {"hours_without_cooling": 4, "chemical": "citric", "noise": "a pump", "sent_to": "x"}
        Notice.objects.create(descale=descale, by=cast.office, at=now, others_affected="none",
                              work_starts_at=now + dt.timedelta(days=2), **notice)  # fmt: skip
        make.work_item(state="failed", problem={"title": "It failed"}, finished_at=now)


def questions(client: Client, path: str) -> int:
    client.get(path)
    with CaptureQueriesContext(
        connection,
    ) as asked:
        answer = client.get(path)
    assert answer.status_code == 200
    return len(asked)


PAGES: dict[str, Callable[[Cast], str]] = {
    "to do": lambda cast: "/office/",
    "visits": lambda cast: "/office/visits/",
    "a visit": lambda cast: f"/office/visits/{cast.visit.pk}/",
    "documents": lambda cast: "/office/documents/",
    "search": lambda cast: "/office/search/?q=H",
    "descales": lambda cast: "/office/descales/",
    "work": lambda cast: "/office/work/",
    "customers": lambda cast: "/office/customers/",
    "a customer": lambda cast: f"/office/customers/{cast.customer.pk}/",
    "sites": lambda cast: "/office/sites/",
    "a site": lambda cast: f"/office/sites/{cast.site.pk}/",
    "units": lambda cast: "/office/units/",
    "a unit": lambda cast: f"/office/units/{cast.unit.pk}/",
    "exchangers": lambda cast: "/office/exchangers/",
    "an exchanger": lambda cast: f"/office/exchangers/{cast.exchanger.pk}/",
    "gauge sets": lambda cast: "/office/gauge-sets/",
    "cleaners": lambda cast: "/office/cleaners/",
    "people": lambda cast: "/office/people/",
    "a client's sites": lambda cast: "/client/",
    "a client's site": lambda cast: f"/client/sites/{cast.site.pk}/",
    "a client's unit": lambda cast: f"/client/units/{cast.unit.pk}/",
}


@pytest.mark.parametrize("name", PAGES)
def test_questions_do_not_grow_with_what_is_listed(
    cast: Cast, name: str, tmp_path: Any, settings: Any
) -> None:
    settings.MEDIA_ROOT = tmp_path
    client = Client()
    client.force_login(cast.client if "client's" in name else cast.office)
    grow(cast, 2)
    few = questions(client, PAGES[name](cast))
    grow(cast, 6)
    assert questions(client, PAGES[name](cast)) == few
    assert few <= 40

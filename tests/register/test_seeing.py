"""Who sees which records: one rule a record, asked of the querysets themselves."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from contractor.register import services
from contractor.register.models import (
    ClientAccess,
    Customer,
    Exchanger,
    GaugeSet,
    OperatingTable,
    OperatingTableRow,
    Site,
    Unit,
    UnitEvent,
    WaterTest,
)
from contractor.visits.models import Finding, Reading, Visit
from contractor.visits.services import call_off
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def seen(model: Any, person: Any) -> set[Any]:
    return set(model.objects.seen_by(person).values_list("pk", flat=True))


def test_office_and_owner_see_every_customer(cast: Cast) -> None:
    every = {cast.customer.pk, cast.other_customer.pk}
    assert seen(Customer, cast.office) == seen(Customer, cast.owner) == every


def test_a_client_sees_their_own_customer_and_all_its_sites(cast: Cast) -> None:
    second = make.site(cast.customer)
    assert seen(Customer, cast.client) == {cast.customer.pk}
    assert seen(Site, cast.client) == {cast.site.pk, second.pk}
    assert seen(Unit, cast.client) == {cast.unit.pk}
    assert seen(Exchanger, cast.client) == {cast.exchanger.pk}


def test_a_client_limited_to_listed_sites_sees_no_other(cast: Cast) -> None:
    second = make.site(cast.customer)
    services.change_client_access(cast.client.client_access, {}, [second])
    assert seen(Customer, cast.client) == {cast.customer.pk}
    assert seen(Site, cast.client) == {second.pk}
    assert seen(Unit, cast.client) == set()
    assert seen(Visit, cast.client) == set()


def test_a_site_listed_for_another_customer_shows_nothing(cast: Cast) -> None:
    """However it came about: the list only narrows, it never widens."""
    theirs = Site.objects.get(customer=cast.other_customer)
    make.list_site(cast.client.client_access, theirs)
    assert seen(Site, cast.client) == set()


def test_a_client_whose_access_is_withdrawn_sees_nothing(cast: Cast) -> None:
    services.withdraw_client_access(cast.client.client_access, timezone.now())
    for model in (Customer, Site, Unit, Exchanger, Visit, WaterTest, UnitEvent):
        assert seen(model, cast.client) == set()


def test_a_client_without_access_sees_nothing(cast: Cast) -> None:
    fresh = make.person("client")
    assert seen(Customer, fresh) == seen(Site, fresh) == seen(Visit, fresh) == set()


def test_a_technician_sees_the_sites_of_their_visits_only(cast: Cast) -> None:
    assert seen(Site, cast.assigned) == {cast.site.pk}
    assert seen(Customer, cast.assigned) == {cast.customer.pk}
    assert seen(Unit, cast.assigned) == {cast.unit.pk}
    for model in (Site, Customer, Unit, Exchanger, Visit):
        assert seen(model, cast.other) == set()


def test_a_technician_still_sees_a_site_when_the_visit_is_long_past_or_called_off(cast: Cast) -> None:
    site = make.site(cast.other_customer)
    past = make.visit(site, [cast.other], window_start=timezone.now() - dt.timedelta(days=400))
    assert seen(Site, cast.other) == {site.pk}
    call_off(past, "the building was closed", timezone.now())
    assert seen(Site, cast.other) == {site.pk}


def test_a_technician_taken_out_of_the_crew_no_longer_sees_the_site(cast: Cast) -> None:
    cast.visit.crew_places.get(person=cast.assigned).delete()
    assert seen(Site, cast.assigned) == set()


def test_what_hangs_on_a_site_follows_the_site(cast: Cast) -> None:
    now = timezone.now()
    test = WaterTest.objects.create(site=cast.site, taken_at=now, ph=8.1)
    event = UnitEvent.objects.create(unit=cast.unit, at=now, what="charge_changed")
    reading = make.reading(cast.visit, cast.exchanger, cast.assigned)
    make.shown_to_clients(cast.exchanger, reading.taken_at)
    finding = Finding.objects.create(visit=cast.visit, found_by=cast.assigned, kind="note")
    for model, row in ((WaterTest, test), (UnitEvent, event), (Reading, reading), (Finding, finding)):
        for person in (cast.office, cast.assigned, cast.client):
            assert seen(model, person) == {row.pk}
        for person in (cast.other, cast.other_client):
            assert seen(model, person) == set()


def test_clients_see_readings_that_stand_and_findings_in_use(cast: Cast) -> None:
    now = timezone.now()
    make.shown_to_clients(cast.exchanger, now + dt.timedelta(days=1))
    make.reading(cast.visit, cast.exchanger, cast.assigned, superseded_at=now)
    Finding.objects.create(visit=cast.visit, found_by=cast.assigned, kind="note", retired_at=now)
    assert seen(Reading, cast.client) == seen(Finding, cast.client) == set()
    assert len(seen(Reading, cast.assigned)) == len(seen(Finding, cast.assigned)) == 1


def test_operating_tables_are_the_crews_and_a_client_sees_those_of_their_units(cast: Cast) -> None:
    used = services.add_operating_table({"name": "Model A"}, [{"mode": "cooling"}])
    unused = services.add_operating_table({"name": "Model B"}, [{"mode": "cooling"}])
    services.change_unit(cast.unit, {"operating_table": used})
    assert seen(OperatingTable, cast.other) == {used.pk, unused.pk}
    assert seen(OperatingTable, cast.client) == {used.pk}
    assert seen(OperatingTableRow, cast.client) == set(used.rows.values_list("pk", flat=True))
    assert seen(OperatingTable, cast.other_client) == set()


def test_gauge_sets_are_the_crews_alone(cast: Cast) -> None:
    kept = GaugeSet.objects.create(name="Set 1", holder=cast.assigned)
    assert seen(GaugeSet, cast.other) == {kept.pk}
    assert seen(GaugeSet, cast.client) == set()
    assert list(GaugeSet.objects.carried_by(cast.assigned)) == [kept]
    assert list(GaugeSet.objects.carried_by(cast.other)) == []


def test_accesses_are_the_offices_and_each_clients_own(cast: Cast) -> None:
    assert len(seen(ClientAccess, cast.office)) == 2
    assert seen(ClientAccess, cast.client) == {cast.client.client_access.pk}
    assert seen(ClientAccess, cast.assigned) == set()

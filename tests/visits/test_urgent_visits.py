"""An urgent call-out: the exact tag opens it, it leaves a trace, the office hears of it."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

import pytest
from django.core import mail
from django.utils import timezone

from contractor.register.models import Site
from contractor.trail.models import Change
from contractor.visits import services
from contractor.visits.models import Visit
from contractor.visits.notices import tell_office
from contractor.workqueue.handlers import HANDLERS
from contractor.workqueue.models import WorkItem
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


def open_urgent(person: Any, tag: str, **given: Any) -> Any:
    sent = {"id": str(uuid.uuid4()), "tag": tag, **given}
    headers = {"Idempotency-Key": str(uuid.uuid4())}
    return as_person(person).post("/api/v1/visits/urgent/", sent, headers=headers)


def test_the_exact_tag_opens_an_urgent_visit_and_with_it_the_site(cast: Cast) -> None:
    assert as_person(cast.other).get(f"/api/v1/sites/{cast.site.pk}/").status_code == 404
    answer = open_urgent(cast.other, "HR-A-001", notes="no cooling on floor 2")
    assert answer.status_code == 201, answer.data
    assert (answer.data["urgent"], answer.data["state"], answer.data["opened_by_tag"]) == (
        True,
        "under_way",
        "HR-A-001",
    )
    assert answer.data["crew"] == [cast.other.pk]
    assert answer["Location"] == f"/api/v1/visits/{answer.data['id']}/"
    assert as_person(cast.other).get(f"/api/v1/sites/{cast.site.pk}/").status_code == 200
    assert as_person(cast.other).get(answer["Location"]).status_code == 200


def test_it_leaves_a_trace_with_the_technicians_name(cast: Cast) -> None:
    answer = open_urgent(cast.other, "hr-a-001")
    change = Change.objects.get(table="visits.visit", row_id=answer.data["id"])
    assert (change.person, change.by) == (cast.other, cast.other.email)
    assert change.fields["opened_by_tag"] == [None, "HR-A-001"]


@pytest.mark.parametrize("tag", ["HR-A-00", "HR-A-0011", "HR-A-%", "HR-A-001%", "HR-A-00_", "", " "])
def test_less_or_more_than_the_exact_tag_opens_nothing(cast: Cast, tag: str) -> None:
    assert open_urgent(cast.other, tag).status_code == 400
    assert list(Site.objects.seen_by(cast.other)) == []


def test_the_office_sees_it_in_the_list_and_gets_an_e_mail_by_the_worker(cast: Cast) -> None:
    visit = open_urgent(cast.other, "HR-A-001", notes="no cooling").data
    listed = as_person(cast.office).get("/api/v1/visits/?urgent=true").data["results"]
    assert [row["id"] for row in listed] == [visit["id"]]
    item = WorkItem.objects.get(kind="urgent_visit_notice")
    assert HANDLERS["urgent_visit_notice"] is tell_office
    assert tell_office(item, None) == {"told": 2}  # type: ignore[arg-type]
    (letter,) = mail.outbox
    assert set(letter.bcc) == {cast.office.email, cast.owner.email}
    assert letter.subject == "Urgent visit opened at Harbour Reach, Block A"
    for words in (cast.other.name, "HR-A-001", "Harbour Reach Offices", "no cooling", visit["id"]):
        assert words in letter.body


def test_a_header_cannot_be_smuggled_into_the_letter(cast: Cast) -> None:
    cast.site.name = "Block A\nBcc: someone@example.net"
    cast.site.save()
    visit = services.open_urgent_visit(cast.other, "HR-A-001", timezone.now())
    item = WorkItem.objects.get(kind="urgent_visit_notice", subject=str(visit.pk))
    tell_office(item, None)  # type: ignore[arg-type]
    assert "\n" not in mail.outbox[0].subject


def test_an_urgent_visit_does_not_wait_for_a_booking_to_end(cast: Cast) -> None:
    site = make.site(cast.other_customer)
    now = timezone.now()
    window = {"window_start": now, "window_end": now + dt.timedelta(days=13)}
    services.book_visit({"site": site, **window}, [cast.other])
    assert open_urgent(cast.other, "HR-A-001").status_code == 201


def test_a_repeat_from_the_phone_opens_it_once(cast: Cast) -> None:
    sent = {"id": str(uuid.uuid4()), "tag": "HR-A-001"}
    headers = {"Idempotency-Key": "one-intent"}
    client = as_person(cast.other)
    answers = [client.post("/api/v1/visits/urgent/", sent, headers=headers) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert Visit.objects.filter(urgent=True).count() == 1


def test_clients_open_no_visits(cast: Cast) -> None:
    assert open_urgent(cast.client, "HR-A-001").status_code == 403


def test_guessing_tags_is_slowed_down(cast: Cast) -> None:
    answers = [open_urgent(cast.other, f"GUESS-{number}") for number in range(21)]
    assert [answer.status_code for answer in answers] == [400] * 20 + [429]
    assert 0 < int(answers[-1]["Retry-After"]) <= 900
    assert as_person(cast.other).get("/api/v1/tags/HR-A-001/").status_code == 429
    assert as_person(cast.assigned).get("/api/v1/tags/HR-A-001/").status_code == 200


def test_a_reading_that_came_before_its_urgent_visit_is_taken_when_it_comes_again(cast: Cast) -> None:
    visit, reading = str(uuid.uuid4()), str(uuid.uuid4())
    sent = {
        "id": reading, "visit": visit, "exchanger": str(cast.exchanger.pk), "mode": "cooling",
        "taken_at": timezone.now().isoformat(), "purpose": "routine",
        "as_typed": {"amps": {"value": "3", "unit": "A"}},
    }  # fmt: skip
    key = {"Idempotency-Key": str(uuid.uuid4())}
    assert as_person(cast.other).post("/api/v1/readings/", sent, headers=key).status_code == 400
    assert open_urgent(cast.other, "HR-A-001", id=visit).status_code == 201
    again = as_person(cast.other).post("/api/v1/readings/", sent, headers=key)
    assert (again.status_code, again.data["id"]) == (201, reading)

"""What the office does by its pages goes through the API's services; refusals come back in words."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.descales.models import Consent, Descale, HeldWaste
from contractor.register.models import Cleaner, CleanerLot, Unit
from contractor.register.services import change_client_access, withdraw_client_access
from contractor.trail.models import Change
from contractor.visits.models import Finding, Reading, Visit
from contractor.web import rows
from contractor.web.attention import AT_MOST, matters
from contractor.workqueue.models import WorkItem
from reporting import sending
from tests import make
from tests.access.world import _assessment, _ranking
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def words_of(answer: Any) -> str:
    return re.sub(
        r"\s+", " ", answer.content.decode().replace("&#x27;", "'").replace("\N{NO-BREAK SPACE}", " ")
    )


def booking(cast: Cast, **more: Any) -> dict[str, Any]:
    day = {"day": "2027-05-04", "starts": "09:00", "ends": "11:00", "reason": "routine"}
    return {"site": str(cast.site.pk), **day, "crew": str(cast.assigned.pk), **more}


def test_a_visit_is_booked_by_the_clock_on_the_sites_wall(cast: Cast) -> None:
    cast.site.time_zone = "Europe/London"
    cast.site.save()
    answer = signed_in(cast.office).post("/office/visits/new/", booking(cast))
    visit = Visit.objects.get(window_start__year=2027)
    assert answer.url == f"/office/visits/{visit.pk}/"
    assert visit.window_start == dt.datetime(2027, 5, 4, 8, tzinfo=dt.UTC)  # British Summer Time is UTC + 1 h
    change = Change.objects.filter(table="visits.visit", row_id=str(visit.pk)).get()
    assert (change.person_id, change.by) == (cast.office.pk, cast.office.email)


def test_a_window_over_midnight_ends_the_next_day(cast: Cast) -> None:
    signed_in(cast.office).post("/office/visits/new/", booking(cast, starts="22:00", ends="01:00"))
    visit = Visit.objects.get(window_start__year=2027)
    assert visit.window_end - visit.window_start == dt.timedelta(hours=3)


def test_a_double_booking_is_refused_at_the_crew_with_who_and_where(cast: Cast) -> None:
    client = signed_in(cast.office)
    client.post("/office/visits/new/", booking(cast))
    answer = client.post("/office/visits/new/", booking(cast, starts="10:00", ends="12:00"))
    text = words_of(answer)
    assert answer.status_code == 409
    assert 'id="id_crew_error"' in text
    assert f"{cast.assigned} is booked at {cast.site}" in text
    assert Visit.objects.filter(window_start__year=2027).count() == 1


def test_outside_access_hours_it_is_refused_until_somebody_is_named(cast: Cast) -> None:
    cast.site.access_from, cast.site.access_until = dt.time(10), dt.time(16)
    cast.site.save()
    client = signed_in(cast.office)
    refused = client.post("/office/visits/new/", booking(cast))
    assert refused.status_code == 409
    assert "lets the crew in from 10:00 to 16:00" in words_of(refused)
    agreed = booking(cast, outside_hours_agreed_with="the caretaker")
    assert client.post("/office/visits/new/", agreed).status_code == 302


def test_a_visit_that_another_changed_meanwhile_is_not_overwritten(cast: Cast) -> None:
    seen = str(cast.visit.version)
    cast.visit.notes = "changed by another"
    cast.visit.save()
    sent = {**booking(cast), "version": seen}
    answer = signed_in(cast.office).post(f"/office/visits/{cast.visit.pk}/move/", sent)
    assert answer.status_code == 412
    cast.visit.refresh_from_db()
    assert cast.visit.notes == "changed by another"


def test_calling_off_wants_a_reason_and_frees_the_crew(cast: Cast) -> None:
    client, path = signed_in(cast.office), f"/office/visits/{cast.visit.pk}/call-off/"
    assert client.post(path, {"reason": "  "}).status_code == 400
    client.post(path, {"reason": "closed for the day"})
    cast.visit.refresh_from_db()
    assert (cast.visit.state, cast.visit.called_off_because) == ("called_off", "closed for the day")


def test_a_size_is_kept_as_typed_and_shown_in_the_readers_units(cast: Cast) -> None:
    client = signed_in(cast.office)
    page = client.get(f"/office/units/{cast.unit.pk}/edit/").content.decode()
    sent = {"tag": cast.unit.tag, "kind": cast.unit.kind, "refrigerant": "R410A", "stages": "1",
            "site": str(cast.site.pk), "version": re.search(r'name="version" value="(\d+)"', page)[1],
            "capacity": "36", "capacity_unit": "MBH"}  # fmt: skip
    assert client.post(f"/office/units/{cast.unit.pk}/edit/", sent).status_code == 302
    unit = Unit.objects.get(pk=cast.unit.pk)
    assert unit.as_typed["capacity"] == {"value": "36", "unit": "MBH"}
    assert unit.capacity_w == pytest.approx(36e3 * 1055.05585262 / 3600)  # 1 Btu (IT) = 1055.05585262 J
    assert "36.0 MBH" in words_of(client.get(f"/office/units/{cast.unit.pk}/"))
    cast.office.units = "si"
    cast.office.save()
    assert "10.6 kW" in words_of(client.get(f"/office/units/{cast.unit.pk}/"))


def test_what_lies_between_the_ports_is_typed_on_the_exchangers_form(cast: Cast) -> None:
    client, path = signed_in(cast.office), f"/office/exchangers/{cast.exchanger.pk}/edit/"
    page = client.get(path).content.decode()
    assert "strainer and valve" in page and "Leaving port above the entering one" in page
    sent = {"name": cast.exchanger.name, "kind": cast.exchanger.kind, "modes": "both",
            "version": re.search(r'name="version" value="(\d+)"', page)[1], "between_ports": "hoses",
            "port_rise": "-1.5", "port_rise_unit": "ft"}  # fmt: skip
    assert client.post(path, sent).status_code == 302
    cast.exchanger.refresh_from_db()
    assert cast.exchanger.between_ports == "hoses"
    assert cast.exchanger.port_rise_m == pytest.approx(-0.4572)  # 1.5 ft of 0.3048 m
    assert "−1.5 ft" in words_of(client.get(f"/office/exchangers/{cast.exchanger.pk}/"))


def test_how_a_drop_and_a_power_were_read_can_be_put_right_and_is_shown(cast: Cast) -> None:
    reading = make.reading(cast.visit, cast.exchanger, cast.assigned)
    client, path = signed_in(cast.office), f"/office/readings/{reading.pk}/correct/"
    taken = re.search(r'name="taken_at" value="([^"]+)"', client.get(path).content.decode())[1]
    sent = {"taken_at": taken, "purpose": "routine", "stage": "full", "drop_read_by": "gauge_at_each_port",
            "entering_water": "85", "entering_water_unit": "degF",
            "power_includes_fan": "true", "reason": "not said at first"}  # fmt: skip
    assert client.post(path, sent).status_code == 302
    corrected = Reading.objects.get(supersedes=reading)
    assert (corrected.drop_read_by, corrected.power_includes_fan) == ("gauge_at_each_port", True)
    shown = words_of(client.get(f"/office/readings/{corrected.pk}/"))
    assert "<dt>Pressure drop read by</dt><dd>gauge at each port</dd>" in shown
    assert "<dt>The power includes the fan</dt><dd>yes</dd>" in shown


def test_a_number_that_cannot_be_read_is_told_at_its_field_and_stays_in_it(cast: Cast) -> None:
    sent = {"tag": "N-1", "kind": "water_to_air_heat_pump", "refrigerant": "R410A", "stages": "1",
            "site": str(cast.site.pk), "capacity": "3,600", "capacity_unit": "MBH"}  # fmt: skip
    answer = signed_in(cast.office).post("/office/units/new/", sent)
    text = answer.content.decode()
    assert answer.status_code == 400
    assert 'id="id_capacity_error"' in text and "might be 3.600 or 3600" in text
    assert 'value="3,600"' in text
    assert not Unit.objects.filter(tag="N-1").exists()


def test_what_a_field_clears_is_empty_afterwards(cast: Cast) -> None:
    client = signed_in(cast.office)
    sent = {"tag": cast.unit.tag, "kind": cast.unit.kind, "refrigerant": "R410A", "stages": "1",
            "site": str(cast.site.pk), "place": "roof", "capacity": "10", "capacity_unit": "kW"}  # fmt: skip
    path = f"/office/units/{cast.unit.pk}/edit/"
    client.post(path, {**sent, "version": str(cast.unit.version)})
    changed = Unit.objects.get(pk=cast.unit.pk)
    assert (changed.place, changed.capacity_w) == ("roof", 10_000)
    client.post(path, {**sent, "place": "", "capacity": "", "version": str(changed.version)})
    cleared = Unit.objects.get(pk=cast.unit.pk)
    assert (cleared.place, cleared.capacity_w, cleared.as_typed) == ("", None, {})


def test_a_correction_changes_only_what_differs_and_leaves_the_old_one(cast: Cast) -> None:
    reading = make.reading(cast.visit, cast.exchanger, cast.assigned, note="brown water")
    client, path = signed_in(cast.office), f"/office/readings/{reading.pk}/correct/"
    page = client.get(path).content.decode()
    taken = re.search(r'name="taken_at" value="([^"]+)"', page)[1]
    sent = {"entering_water": "86.5", "entering_water_unit": "degF", "taken_at": taken, "purpose": "routine",
            "stage": "full", "note": "brown water", "reason": "misread the gauge"}  # fmt: skip
    answer = client.post(path, sent)
    corrected = Reading.objects.get(supersedes=reading)
    assert answer.url == f"/office/readings/{corrected.pk}/"
    assert corrected.as_typed["entering_water"] == {"value": "86.5", "unit": "degF"}
    assert (corrected.note, corrected.taken_by) == ("brown water", cast.assigned)
    assert abs(corrected.taken_at - reading.taken_at) < dt.timedelta(minutes=1)
    reading.refresh_from_db()
    assert reading.superseded_at is not None
    assert WorkItem.objects.filter(kind="assess", subject=str(corrected.pk)).exists()


def test_a_correction_shows_and_takes_the_moment_by_the_sites_clock(cast: Cast) -> None:
    cast.site.time_zone = "America/Denver"  # UTC - 6 h in summer
    cast.site.save()
    taken = dt.datetime(2026, 7, 1, 16, 30, tzinfo=dt.UTC)
    reading = make.reading(cast.visit, cast.exchanger, cast.assigned, taken_at=taken)
    client, path = signed_in(cast.office), f"/office/readings/{reading.pk}/correct/"
    assert 'value="2026-07-01T10:30"' in client.get(path).content.decode()
    sent = {"entering_water": "85", "entering_water_unit": "degF", "taken_at": "2026-07-01T11:00",
            "purpose": "routine", "stage": "full", "reason": "an hour later"}  # fmt: skip
    client.post(path, sent)
    assert Reading.objects.get(supersedes=reading).taken_at == dt.datetime(2026, 7, 1, 17, tzinfo=dt.UTC)


def test_a_reading_moves_to_the_unit_it_was_read_of_and_both_are_assessed_again(cast: Cast) -> None:
    right = make.exchanger(make.unit(cast.site))
    reading = make.reading(cast.visit, cast.exchanger, cast.assigned)
    sent = {"exchanger": str(right.pk), "mode": "cooling", "reason": "wrong unit"}
    signed_in(cast.office).post(f"/office/readings/{reading.pk}/move/", sent)
    assert Reading.objects.standing().get(supersedes=reading).exchanger == right
    asked = set(WorkItem.objects.filter(kind="reassess").values_list("subject", flat=True))
    assert asked == {str(right.pk), str(cast.exchanger.pk)}


def test_what_waits_for_the_office_is_told_and_nothing_else(cast: Cast) -> None:
    now = timezone.now()
    assert matters(now) == []
    late = make.visit(cast.site, [cast.assigned], window_start=now - dt.timedelta(days=1))
    make.work_item(state="failed", problem={"title": "It failed"}, finished_at=now)
    Finding.objects.create(visit=late, unit=cast.unit, found_by=cast.assigned, kind="could_not_do",
                           note="locked", found_at=now - dt.timedelta(hours=3))  # fmt: skip
    names = [each.name for each in matters(now)]
    assert names == ["Background work that failed", "Visits whose window has passed", "Units not reached"]
    text = words_of(signed_in(cast.office).get("/office/"))
    assert all(name in text for name in names) and "locked" in text
    make.reading(cast.visit, cast.exchanger, cast.assigned, taken_at=now)
    assert "Units not reached" not in [each.name for each in matters(now)]


def test_the_search_finds_by_part_of_a_tag_and_says_what_to_do_when_nothing_is_found(cast: Cast) -> None:
    client = signed_in(cast.office)
    assert f"/office/units/{cast.unit.pk}/" in words_of(client.get("/office/search/?q=hr-a"))
    assert "Nothing holds" in words_of(client.get("/office/search/?q=zebra"))
    assert client.get("/office/search/?q=%00").status_code == 200


def test_the_search_looks_into_descales_notes_on_readings_lots_and_held_waste(cast: Cast) -> None:
    descale = Descale.objects.create(exchanger=cast.exchanger, because="trips", recommended_by=cast.office)
    Consent.objects.create(descale=descale, by=cast.office, said_by="the manager", said_at=timezone.now(),
                           order_number="PO-7741")  # fmt: skip
    HeldWaste.objects.create(descale=descale, by=cast.office, at=timezone.now(), water="bath",
                             where="Cage behind the boiler", whose="the office")  # fmt: skip
    make.reading(cast.visit, cast.exchanger, cast.assigned, note="gauge needle trembled")
    cleaner = Cleaner.objects.create(name="Citric powder")
    CleanerLot.objects.create(cleaner=cleaner, lot="C-118")
    client = signed_in(cast.office)
    for asked, link in (
        ("7741", f"/office/descales/{descale.pk}/"), ("cage boiler", f"/office/descales/{descale.pk}/"),
        ("trembled", "/office/readings/"), ("c-118", "/office/lots/"),
    ):  # fmt: skip
        answer = client.get("/office/search/", {"q": asked})
        assert f'href="{link}' in answer.content.decode(), asked


def test_a_long_list_is_cut_and_can_be_seen_whole(cast: Cast) -> None:
    for _ in range(AT_MOST + 3):
        make.work_item(state="failed", problem={"title": "It failed"}, finished_at=timezone.now())
    client = signed_in(cast.office)
    text = words_of(client.get("/office/"))
    assert text.count("It failed") == AT_MOST
    link = re.search(r'href="(\?only=[a-z-]+)">see them all', text)
    assert link
    assert words_of(client.get(f"/office/{link[1]}")).count("It failed") == AT_MOST + 3
    assert "Nothing of this kind waits" in words_of(client.get("/office/?only=held-waste"))


def test_the_office_reads_the_causes_and_why_not_acid_yet_beside_what_to_do_next(cast: Cast) -> None:
    visit = make.visit(cast.site, [cast.assigned])
    reading = make.reading(visit, cast.exchanger, cast.assigned)
    _assessment(reading)
    ranking = _ranking(reading)
    type(ranking).objects.filter(pk=ranking.pk).update(
        why_not_chemical="Low flow looks the same.",
        result={"causes": [{"cause": "low_flow", "probability": 0.7, "reasons": ["the drop is small"]}]},
    )
    client = signed_in(cast.office)
    for path in (f"/office/readings/{reading.pk}/", f"/office/exchangers/{cast.exchanger.pk}/"):
        text = words_of(client.get(path))
        assert "Low flow looks the same." in text and "Low flow: 70 %, the drop is small" in text


def test_a_reading_is_shown_as_typed_and_in_the_units_and_mark_of_who_looks(cast: Cast) -> None:
    reading = make.reading(cast.visit, cast.exchanger, cast.assigned, entering_water_k=303.15,
                           as_typed={"entering_water": {"value": "86.0", "unit": "degF"}})  # fmt: skip
    type(cast.office).objects.filter(pk=cast.office.pk).update(units="si", decimal_mark="comma")
    text = words_of(signed_in(cast.office).get(f"/office/readings/{reading.pk}/"))
    assert "86.0 °F" in text and "30,0 °C" in text  # 86 degF is 30 degC, by hand


def test_a_sites_page_leads_to_its_visits_and_books_the_next(cast: Cast) -> None:
    text = words_of(signed_in(cast.office).get(f"/office/sites/{cast.site.pk}/"))
    assert f"/office/visits/{cast.visit.pk}/" in text
    assert f"/office/visits/new/?site={cast.site.pk}" in text


def test_only_a_released_document_is_sent_and_to_real_addresses(cast: Cast) -> None:
    from tests.access.world import _document

    world = {"site": cast.site, "exchanger": cast.exchanger, "visit": cast.visit, "assessment": None}
    prepared = _document(world, cast.office, "prepared")
    client = signed_in(cast.office)
    path = f"/office/documents/{prepared.pk}/send/"
    assert client.post(path, {"to": "someone@example.org"}).status_code == 409
    released = _document(world, cast.office, "released")
    path = f"/office/documents/{released.pk}/send/"
    bad = client.post(path, {"to": "someone"})
    assert bad.status_code == 400 and 'id="id_to_error"' in bad.content.decode()
    assert client.post(path, {"to": "a@example.org, b@example.org", "note": "As agreed."}).status_code == 302
    item = WorkItem.objects.get(kind=sending.SEND_DOCUMENT)
    sending.carry_out(item.subject, item.payload["to"], item.payload["note"], item.payload["reply_to"])
    [letter] = mail.outbox
    assert letter.to == ["a@example.org", "b@example.org"]
    assert letter.reply_to == [cast.office.email] and letter.body.startswith("As agreed.")
    assert letter.attachments[0][2] == "application/pdf"
    assert Change.objects.filter(table="reporting.document", fields__has_key="sent_to").exists()


def test_a_descale_goes_from_a_recommendation_to_a_yes_in_turn_and_not_out_of_it(cast: Cast) -> None:
    client = signed_in(cast.office)
    sent = {"exchanger": str(cast.exchanger.pk), "because": "fouled beyond its limit"}
    path = client.post("/office/descales/new/", sent).url
    yes = {"said_by": "the manager", "said_at": "2026-05-04T09:30", "order_number": "A-7"}
    assert client.post(f"{path}consent/", yes).status_code == 409  # no price yet
    assert "Descales waiting for a price" in words_of(client.get("/office/"))
    assert client.post(f"{path}price/", {"amount": "480.00", "currency": "EUR"}).status_code == 302
    assert "Descales waiting for a yes" in words_of(client.get("/office/"))
    assert client.post(f"{path}consent/", yes).status_code == 302
    descale = Descale.objects.get(exchanger=cast.exchanger)
    assert (descale.state, descale.consent.said_by) == ("agreed", "the manager")
    assert "480.00 EUR" in words_of(client.get(path))


def test_an_owner_hands_over_a_link_and_ends_every_sign_in(cast: Cast) -> None:
    owner, lost = signed_in(cast.owner), signed_in(cast.assigned)
    text = words_of(owner.post(f"/office/people/{cast.assigned.pk}/link/"))
    [path] = re.findall(r"http://testserver(/set-password/[^<\s]+)", text)
    owner.post(f"/office/people/{cast.assigned.pk}/end-sign-ins/")
    assert lost.get("/crew/").status_code == 302
    assert Client().get(path).status_code == 200


def test_the_last_owner_cannot_end_their_own_account(cast: Cast) -> None:
    sent = {"name": cast.owner.name, "email": cast.owner.email, "role": "owner", "units": "si",
            "version": str(cast.owner.version)}  # fmt: skip
    answer = signed_in(cast.owner).post(f"/office/people/{cast.owner.pk}/edit/", sent)
    assert answer.status_code == 409
    assert "There must be an active owner" in words_of(answer)


def test_failed_work_is_tried_again(cast: Cast) -> None:
    item = make.work_item(state="failed", problem={"title": "It failed"}, attempts=1)
    signed_in(cast.office).post(f"/office/work/{item.pk}/retry/")
    item.refresh_from_db()
    assert item.state == "waiting"


def test_every_table_of_rows_as_they_are_opens(cast: Cast) -> None:
    owner = signed_in(cast.owner)
    for model in rows.site._registry:
        path = reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_changelist")
        assert owner.get(path).status_code == 200, path
    assert owner.get("/owner/rows/password_change/")["Location"] == "/account/password/"


@pytest.mark.parametrize("path", ["/owner/rows/", "/owner/rows/register/unit/"])
def test_rows_as_they_are_are_the_owners_to_read_and_nobodys_to_change(cast: Cast, path: str) -> None:
    assert Client().get(path).status_code == 302
    assert signed_in(cast.office).get(path).status_code in (302, 403)
    assert signed_in(cast.client).get(path).status_code in (302, 403)
    owner = signed_in(cast.owner)
    assert owner.get(path).status_code == 200
    assert owner.get("/owner/rows/register/unit/add/").status_code == 403
    row = f"/owner/rows/register/unit/{cast.unit.pk}/"
    assert owner.post(f"{row}delete/", {"post": "yes"}).status_code == 403
    assert owner.post(f"{row}change/", {"tag": "X"}).status_code == 403


def test_a_letter_is_meant_for_those_of_the_customer_who_see_the_site(cast: Cast) -> None:
    from tests.access.world import _document

    elsewhere = make.site(cast.customer, name="Block B")
    world = {"site": cast.site, "exchanger": cast.exchanger, "visit": cast.visit, "assessment": None}
    path = f"/office/documents/{_document(world, cast.office, 'released').pk}/send/"
    assert cast.client.email in words_of(signed_in(cast.office).get(path))
    access = cast.client.client_access
    change_client_access(access, {}, [elsewhere])
    assert cast.client.email not in words_of(signed_in(cast.office).get(path))
    change_client_access(access, {}, [])
    withdraw_client_access(access, timezone.now())
    assert cast.client.email not in words_of(signed_in(cast.office).get(path))

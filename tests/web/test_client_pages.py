"""What a client reads: their own, released, in plain words; nothing of anybody else, nothing of the firm."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.descales.models import Descale, Discharge, Notice
from contractor.register.models import UnitEvent
from contractor.visits.models import Finding
from contractor.web import story
from diagnostics.services import assess_reading
from reporting import services as reporting
from tests import make
from tests.cast import Cast
from tests.diagnostics import world

pytestmark = pytest.mark.django_db


def page(person: Person, path: str) -> str:
    client = Client()
    client.force_login(person)
    answer = client.get(path)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.content.decode().replace("\N{NO-BREAK SPACE}", " "))


@pytest.fixture
def fouled(cast: Cast) -> Any:
    """Two clean visits and a fouled one of a machine whose fouling is known."""
    exchanger = make.exchanger(
        make.unit(cast.site, tag="HR-A-009", capacity_w=10_550.0), area_m2=0.9,
        design_flow_m3_per_s=0.00055, design_pressure_drop_pa=32_000.0,
    )  # fmt: skip
    visit = make.visit(cast.site, [cast.assigned], window_start=world.FIRST_DAY, state="done")
    read = world.clean_visits(visit, exchanger, cast.assigned)
    read.append(world.reading(visit, exchanger, cast.assigned, day=700, fouling_m2k_per_w=world.HEAVY))
    for one in read:
        assess_reading(one.pk)
    return exchanger


def test_a_result_is_told_only_once_its_report_is_released(cast: Cast, fouled: Any) -> None:
    path = f"/client/units/{fouled.unit_id}/"
    assert "Fouled" not in page(cast.client, path) and "<svg" not in page(cast.client, path)
    document = reporting.prepare_visit_report(str(fouled.pk), "a4")
    reporting.release(document, cast.office, timezone.now())
    text = page(cast.client, path)
    assert "Fouled beyond its limit" in text
    assert "The heat transfer surface is fouled beyond its limit" in text
    assert text.count("<svg") == 4, "two charts, each for a wide page and for a phone"
    assert "limit" in text and "with the 95 % interval" in text
    assert f"/api/v1/documents/{document.pk}/file/" in text


def test_a_chart_is_named_described_and_told_in_words_beside_it(cast: Cast, fouled: Any) -> None:
    [told] = story.stories_of([fouled], cast.office)
    assert [each.title for each in told.charts] == [
        "Fouling resistance over time",
        "Excess approach over time",
    ]
    for each in told.charts:
        for drawn in (each.svg, each.narrow):
            assert 'role="img"' in drawn and "<title" in drawn and "<desc" in drawn
        assert each.words.count(";") == 2  # three readings, each with its interval


def test_excess_is_drawn_in_the_readers_units(cast: Cast, fouled: Any) -> None:
    def highest(person: Person) -> float:
        [told] = story.stories_of([fouled], person)
        return float(re.findall(r"in cooling (-?\d+\.?\d*) \(", told.charts[1].words)[-1])

    fahrenheit = highest(cast.office)
    cast.office.units = "si"
    # 1 K is 1.8 °F; both are rounded to a decimal or two
    assert fahrenheit == pytest.approx(1.8 * highest(cast.office), rel=0.02)


def test_fouling_is_drawn_in_the_readers_units_and_with_their_decimal_mark(cast: Cast, fouled: Any) -> None:
    def limit_for(units: str, mark: str) -> tuple[str, float, str]:
        """Unit, limit in that unit, and the limit as it is written."""
        cast.office.units, cast.office.decimal_mark = units, mark
        [told] = story.stories_of([fouled], cast.office)
        found = re.search(
            r"in 10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+).([^,]+), with.* The limit is ([\d.,]+)\.", told.charts[0].words
        )
        assert found, told.charts[0].words
        power = int(found[1].translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")))
        return found[2], float(found[3].replace(",", ".")) * 10.0**power, found[3]

    si_unit, si, _ = limit_for("si", "point")
    us_unit, us, written = limit_for("inch_pound", "comma")
    assert (si_unit, us_unit) == ("m²K/W", "h·ft²·°F/Btu")
    # 1 h ft2 degF/Btu = 0.1761102 m2K/W: NIST SP 811 (2008), appendix B.8, from memory; the chart rounds
    assert us == pytest.approx(si / 0.1761102, rel=0.02)
    assert "," in written and "." not in written


def test_coming_work_and_units_not_reached_are_told_and_calm_when_there_is_none(cast: Cast) -> None:
    other = make.visit(
        make.site(cast.other_customer, name="Elsewhere"), [], window_start=cast.visit.window_end
    )
    coming = make.visit(cast.site, [cast.assigned], window_start=timezone.now() + dt.timedelta(days=3),
                        notes="pays late", reason="survey")  # fmt: skip
    Finding.objects.create(visit=cast.visit, unit=cast.unit, found_by=cast.assigned, kind="could_not_do",
                           note="Ceiling locked")  # fmt: skip
    for path in ("/client/", f"/client/sites/{cast.site.pk}/"):
        text = page(cast.client, path)
        assert coming.reason in text and "Ceiling locked" in text
        assert "pays late" not in text and other.site.name not in text
    text = page(cast.other_client, "/client/")
    assert "Ceiling locked" not in text


def test_a_notice_and_what_was_let_out_are_told_to_their_client_only(cast: Cast) -> None:
    descale = Descale.objects.create(exchanger=cast.exchanger, because="x", recommended_by=cast.office)
    now = timezone.now()
    Notice.objects.create(
        descale=descale, by=cast.office, at=now, work_starts_at=now + dt.timedelta(days=2), sent_to="x",
        hours_without_cooling=4, chemical="citric acid", noise="a pump from nine", others_affected="none",
    )  # fmt: skip
    Discharge.objects.create(descale=descale, by=cast.office, at=now, water="bath", route="sewer", ph=7.2)
    text = page(cast.client, f"/client/sites/{cast.site.pk}/")
    assert "citric acid" in text and "a pump from nine" in text and "pH 7.2" in text
    assert "citric acid" not in page(cast.other_client, "/client/")


def test_the_firms_note_on_what_was_changed_is_not_for_clients(cast: Cast) -> None:
    event = UnitEvent.objects.create(
        unit=cast.unit, at=timezone.now(), what="descaled", note="taken for scale; it was low flow"
    )
    text = page(cast.client, f"/client/units/{cast.unit.pk}/")
    assert "Descaled" in text and event.note not in text
    assert event.note in page(cast.office, f"/office/units/{cast.unit.pk}/")
    assert event.note not in page(cast.client, f"/api/v1/unit-events/{event.pk}/")
    assert event.note in page(cast.office, f"/api/v1/unit-events/{event.pk}/")


def test_pages_for_clients_do_not_write(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.client)
    for path in ("/client/", f"/client/sites/{cast.site.pk}/", f"/client/units/{cast.unit.pk}/"):
        assert client.post(path, {}).status_code == 405


def test_whom_to_call_stands_on_every_page_of_a_client(cast: Cast, settings: Any) -> None:
    settings.OFFICE_PHONE, settings.OFFICE_EMAIL = "01632 960100", "office@northmoor.example"
    paths = ("/client/", f"/client/sites/{cast.site.pk}/", f"/client/units/{cast.unit.pk}/")
    for path in paths:
        told = page(cast.client, path).split("Whom to call")[1]
        assert settings.CONTRACTOR_NAME in told
        assert '<a href="tel:01632960100">01632 960100</a>' in told
        assert '<a href="mailto:office@northmoor.example">office@northmoor.example</a>' in told
    settings.OFFICE_PHONE = settings.OFFICE_EMAIL = ""
    for path in paths:
        told = page(cast.client, path).split("Whom to call")[1]
        assert f"Your usual number at {settings.CONTRACTOR_NAME}." in told and "tel:" not in told


def test_a_client_without_access_is_told_whom_to_ask(db: None) -> None:
    assert "Ask Northmoor Mechanical which sites you should see" in page(make.person("client"), "/client/")


def test_a_finding_is_told_once_the_visits_report_is_released_and_why_a_unit_was_missed_at_once(
    cast: Cast, fouled: Any
) -> None:
    visit = fouled.readings.first().visit
    for kind, note in (("note", "a wet floor"), ("could_not_do", "the room was locked")):
        Finding.objects.create(visit=visit, unit=fouled.unit, found_by=cast.assigned, kind=kind, note=note)
    path = f"/client/units/{fouled.unit_id}/"
    assert "a wet floor" not in page(cast.client, path) and "the room was locked" in page(cast.client, path)
    document = reporting.prepare_visit_report(str(fouled.pk), "a4")
    reporting.release(document, cast.office, timezone.now())
    assert "a wet floor" in page(cast.client, path)
    reporting.withdraw(document, cast.office, "wrong", timezone.now())
    assert "a wet floor" not in page(cast.client, path)


def test_certificates_stand_in_a_section_of_their_own(cast: Cast) -> None:
    from tests.access.world import _document

    world_of = {"site": cast.site, "exchanger": cast.exchanger, "visit": cast.visit, "assessment": None}
    document = _document(world_of, cast.office, "released")
    descale = Descale.objects.create(exchanger=cast.exchanger, because="fouled", recommended_by=cast.office)
    type(document).objects.filter(pk=document.pk).update(
        kind="certificate", title="Certificate of HR", descale=descale
    )
    text = page(cast.client, f"/client/sites/{cast.site.pk}/")
    certificates, reports = text.split("<h2>Reports</h2>")
    assert "Certificate of HR" in certificates and "Certificate of HR" not in reports

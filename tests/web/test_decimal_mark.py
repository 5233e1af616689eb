"""Decimals are written and read with the mark a person chose."""

from __future__ import annotations

import pytest
from django.test import Client
from django.utils import timezone

from contractor.descales.models import Descale, Discharge, Price
from contractor.register.models import Site
from contractor.web.quantities import in_words, read
from tests import make
from tests.access.world import _assessment
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def test_a_quantity_is_written_with_a_comma_for_who_chose_it() -> None:
    assert in_words(300.0, "temperature", "si", mark="comma") == "26,9\N{NO-BREAK SPACE}°C"  # 300 - 273.15
    assert in_words(300.0, "temperature", "si") == "26.9\N{NO-BREAK SPACE}°C"


@pytest.mark.parametrize(
    ("typed", "mark", "taken"),
    [
        ("85,2", "comma", "85.2"),
        ("1,234", "comma", "1.234"),
        ("1.234,5", "comma", "1234.5"),
        ("85.2", "comma", "85.2"),  # a value kept before stands in a form with its point
        ("1,234", "point", "1,234"),  # might be either: the service asks
        ("1,2,3", "comma", "1,2,3"),  # no number: the service refuses it
    ],
)
def test_what_is_typed_with_a_comma_is_read_as_it_was_meant(typed: str, mark: str, taken: str) -> None:
    assert read(typed, mark) == taken


def test_the_account_page_keeps_the_mark_and_the_sites_form_heeds_it(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.office)
    client.post("/account/", {"name": "Office", "units": "si", "decimal_mark": "comma"})
    sent = {"customer": str(cast.customer.pk), "name": "Comma Court", "time_zone": "UTC",
            "antifreeze": "none", "elevation": "1.234,5", "elevation_unit": "m"}  # fmt: skip
    assert client.post("/office/sites/new/", sent).status_code == 302
    site = Site.objects.get(name="Comma Court")
    assert site.elevation_m == 1234.5
    assert "1234,50\N{NO-BREAK SPACE}m" in client.get(f"/office/sites/{site.pk}/").content.decode()


def test_every_number_of_a_descale_has_the_readers_mark(cast: Cast) -> None:
    descale = Descale.objects.create(exchanger=cast.exchanger, because="trips", recommended_by=cast.office)
    now = timezone.now()
    Price.objects.create(descale=descale, by=cast.office, at=now, amount="480.50", currency="EUR")
    Discharge.objects.create(descale=descale, by=cast.office, at=now, water="bath", route="sewer", ph=4.2,
                             volume_m3=0.05,
                             exceedances=["pH 4.2 is outside the site's 6.5 to 9.5"])  # fmt: skip
    type(cast.office).objects.filter(pk=cast.office.pk).update(units="si", decimal_mark="comma")
    client = Client()
    client.force_login(cast.office)
    text = client.get(f"/office/descales/{descale.pk}/").content.decode()
    text = text.replace("\N{NO-BREAK SPACE}", " ")
    assert "480,50 EUR" in text and "pH 4,2, to sewer" in text and "site&#x27;s 6,5 to 9,5" in text
    assert "4.2" not in text


def test_the_first_page_tells_what_to_do_next_in_the_readers_units_and_mark(cast: Cast) -> None:
    visit = make.visit(cast.site, [cast.assigned])
    assessment = _assessment(make.reading(visit, cast.exchanger, cast.assigned))
    words = "Next: read it again at 30.5 degC."
    type(assessment).objects.filter(pk=assessment.pk).update(verdict="undecided", do_next=words)
    type(cast.office).objects.filter(pk=cast.office.pk).update(units="si", decimal_mark="comma")
    client = Client()
    client.force_login(cast.office)
    text = client.get("/office/").content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert "Read it again at 30,5 °C." in text

"""Decimals are written and read with the mark a person chose."""

from __future__ import annotations

import pytest
from django.test import Client

from contractor.register.models import Site
from contractor.web.quantities import in_words, read
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

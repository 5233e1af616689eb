"""One box that looks through everything: whose it is, in any script and case, and what was retired."""

from __future__ import annotations

import unicodedata

import pytest
from django.test import Client
from django.utils import timezone

from contractor.descales.models import Descale, Discharge
from contractor.web.finding import spellings
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def found(cast: Cast, asked: str, path: str = "/office/search/") -> str:
    client = Client()
    client.force_login(cast.office)
    answer = client.get(path, {"q": asked})
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_customers_name_leads_to_its_units_exchangers_visits_and_descales(cast: Cast) -> None:
    make.unit(make.site(cast.other_customer), tag="LC-9")
    descale = Descale.objects.create(exchanger=cast.exchanger, because="trips", recommended_by=cast.office)
    text = found(cast, "harbour offices")
    for link in (f"units/{cast.unit.pk}/", f"exchangers/{cast.exchanger.pk}/", f"visits/{cast.visit.pk}/",
                 f"descales/{descale.pk}/"):  # fmt: skip
        assert f'href="/office/{link}"' in text, link
    assert "LC-9" not in text


def test_notes_refrigerants_telephones_and_permits_are_looked_into(cast: Cast) -> None:
    customer = make.customer(name="Tern House", phone="020 7946 0018")
    site = make.site(customer, name="Tern House", safety_notes="low beam above the ladder")
    unit = make.unit(site, refrigerant="R513A", notes="noisy bearing")
    descale = Descale.objects.create(exchanger=cast.exchanger, because="trips", recommended_by=cast.office)
    Discharge.objects.create(descale=descale, by=cast.office, at=timezone.now(), water="bath", route="sewer",
                             permit_reference="TE-4471")  # fmt: skip
    for asked, link in (
        ("7946", f"customers/{customer.pk}/"), ("ladder beam", f"sites/{site.pk}/"),
        ("r513a", f"units/{unit.pk}/"), ("bearing", f"units/{unit.pk}/"),
        ("te-4471", f"descales/{descale.pk}/"),
    ):  # fmt: skip
        assert f'href="/office/{link}"' in found(cast, asked), asked


@pytest.mark.parametrize("asked", ["ångström", "ÅNGSTRÖM", "Ångström", "ström", "STRÖM"])
@pytest.mark.parametrize("form", ["NFC", "NFD"])
def test_letters_beyond_ascii_are_found_in_either_case_and_however_they_are_coded(
    cast: Cast, asked: str, form: str
) -> None:
    customer = make.customer(name="Ångström Hall")
    assert f"/office/customers/{customer.pk}/" in found(cast, unicodedata.normalize(form, asked))


def test_a_plain_word_is_asked_for_once() -> None:
    assert spellings("harbour") == {"harbour"}


@pytest.mark.parametrize("asked", ["%", "_", "\\", "'", '"><b>', "\0", "\0 \0", " ", "é" * 200, "<x> & y"])
def test_odd_characters_find_only_what_holds_them(cast: Cast, asked: str) -> None:
    for path in ("/office/search/", "/office/units/"):
        text = found(cast, asked, path)
        assert "<b>" not in text
        if asked.replace("\0", "").strip():
            assert cast.unit.tag not in text
    make.unit(cast.site, tag="50%_A")
    assert ("50%_A" in found(cast, asked)) == (asked in ("%", "_"))


def test_a_list_finds_by_words_in_any_order_as_the_search_does(cast: Cast) -> None:
    assert cast.unit.tag in found(cast, f"block {cast.unit.tag[-3:]}", "/office/units/")


def test_what_was_retired_is_found_and_told(cast: Cast) -> None:
    make.unit(cast.site, tag="OLD-1", retired_at=timezone.now())
    assert "· retired" in found(cast, "OLD-1") and "· retired" not in found(cast, cast.unit.tag)

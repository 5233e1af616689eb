"""What records are called on pages, and what stands beside their fields: sentences, in people's units."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client

from contractor.register.models import Instrument
from contractor.web.records import fields, forms, kinds, limits, shown, words
from contractor.web.templatetags.waterside import headed
from tests import make
from tests.cast import Cast

READ = re.compile(r'(?s)(?:<p class="help"|<label).*?</')


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("acid in the bath, by mass, 0 to 1", "Acid in the bath, by mass."),
        ("as sold; left out for powders [kg/m3]", "As sold; left out for powders."),
        ("dB(A) at 1 m, told to the customer [dB(A)]", "dB(A) at 1 m, told to the customer."),
        ("pH at which it is spent", "pH at which it is spent."),
        ("such as R410A.", "Such as R410A."),
        ("", ""),
    ],
)  # fmt: skip
def test_a_description_for_programs_is_a_sentence_for_people(said: str, told: str) -> None:
    assert words.sentence(said) == told


def test_one_name_may_mean_two_things() -> None:
    assert words.help_of("place", "") != words.help_of("place", "", "cleanerlot")


@pytest.mark.django_db
def test_no_help_of_a_form_is_written_for_programs(cast: Cast) -> None:
    office = Client()
    office.force_login(cast.owner)
    for slug in kinds.KINDS:
        page = office.get(f"/office/{slug}/new/").content.decode()
        seen = " ".join(re.sub(r"<[^>]*>", " ", found) for found in READ.findall(page))
        for wrong in ("id of ", "entering_water", "True:", "0 to 1", "kg/m3", "CaCO3", "degC", "Renewal ph"):
            assert wrong not in seen, (slug, wrong)
        assert re.findall(r"\b[a-z]+_[a-z]+\b", seen) == [], slug


@pytest.mark.parametrize(("units", "first"), [("inch_pound", "inch"), ("si", "mm")])
def test_a_bore_is_asked_for_in_the_unit_it_is_sold_by(units: str, first: str) -> None:
    assert fields.unit_choices("bore", units)[0][0] == first


@pytest.mark.parametrize(
    ("reading", "limit", "relative", "units", "told"),
    [
        # 6894.76 Pa is 1 psi, 1 K is 1.8 °F apart, 0.0000630902 m³/s is 1 US gpm, by definition
        ("head_pressure", 6894.757293168, False, "inch_pound", "± 1\u00a0psi"),
        ("entering_water", 1.0, False, "inch_pound", "± 1.8\u00a0°F"),
        ("entering_water", 0.5, False, "si", "± 0.5\u00a0K"),
        ("entering_water", 0.05, False, "si", "± 0.05\u00a0K"),
        ("compressor_power", 50.0, False, "inch_pound", "± 0.05\u00a0kW"),
        ("water_flow", 6.30901964e-5, False, "inch_pound", "± 1\u00a0gpm"),
        ("head_pressure", 0.01, True, "si", "± 1 % of the reading"),
    ],
)
def test_limits_of_error_are_told_in_the_readers_units(
    reading: str, limit: float, relative: bool, units: str, told: str
) -> None:
    person: Any = type("Reader", (), {"units": units, "decimal_mark": "point"})()
    assert limits.in_words(Instrument(reading=reading, relative=relative), limit, person) == told


@pytest.mark.django_db
def test_a_heading_says_the_kind_once(cast: Cast) -> None:
    unit = kinds.KINDS["units"]
    assert shown.heading(unit, make.unit(cast.site, tag="QH-9")) == "Unit QH-9"
    assert shown.heading(unit, make.unit(cast.site, tag="Unit 9")) == "Unit 9"
    assert shown.heading(kinds.KINDS["people"], cast.office) == str(cast.office)


def test_a_form_without_a_record_has_no_name() -> None:
    assert forms.RecordForm.record.fget(type("Form", (), {"serializer": None})()) == ""


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("Next: back-flush it, since it is likely.", "Back-flush it, since it is likely."),
        ("Not acid: the charge is low.", "The charge is low."),
        ("Nothing to do on the water side.", "Nothing to do on the water side."),
        (None, ""),
    ],
)
def test_a_heading_is_not_said_again_by_the_sentence_below_it(said: str | None, told: str) -> None:
    assert headed(said) == told


@pytest.mark.django_db
def test_what_has_ended_is_called_as_the_button_that_ends_it(cast: Cast) -> None:
    office = Client()
    office.force_login(cast.office)
    for slug, said in (("events", "taken back"), ("accesses", "withdrawn"), ("rigs", "retired")):
        assert f"Show those {said}" in office.get(f"/office/{slug}/").content.decode()
        assert f"None is {said}." in office.get(f"/office/{slug}/?retired=yes").content.decode()


@pytest.mark.django_db
def test_what_may_stay_empty_does_not_ask_to_be_chosen(cast: Cast) -> None:
    owner = Client()
    owner.force_login(cast.owner)
    unit = owner.get(f"/office/units/{cast.unit.pk}/edit/").content.decode()
    [table] = re.findall(r'(?s)<select name="operating_table".*?</select>', unit)
    assert ">none<" in table and ">choose<" not in table
    person = owner.get(f"/office/people/{cast.assigned.pk}/edit/").content.decode()
    assert "Without it every sign-in of theirs ends at once." in person and "False ends" not in person
    assert "The coldest part the refrigerant touches" in words.help_of("static_coldest", "")


@pytest.mark.django_db
def test_documents_are_asked_for_by_the_word_that_stands_at_them(cast: Cast) -> None:
    office = Client()
    office.force_login(cast.office)
    page = office.get("/office/documents/?state=prepared").content.decode()
    assert "Waiting for release</a>" in page and "None waits for release." in page

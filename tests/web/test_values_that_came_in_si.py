"""What a program sent in SI alone stands in a form in the units of who corrects it, and stays what it is."""

from __future__ import annotations

import html
import re
from typing import Any

import pytest
from django.test import Client

from contractor.accounts.models import Person, Units
from contractor.visits.models import Reading
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db
# by hand: (302.594 - 273.15) * 1.8 + 32 = 84.9992; 2 527 756 Pa less 101 325 over 6894.757 Pa/psi = 351.923;
# 5e-4 m3/s over 6.30902e-5 m3/s a US gpm = 7.92516 (NIST SP 811, appendix B.8)
SI = {
    "entering_water": {"value": "302.594", "unit": "K"},
    "head_pressure": {"value": "2527756", "unit": "Pa_abs"},
    "water_flow": {"value": "0.0005", "unit": "m**3/s"},
}


def sent_in_si(cast: Cast) -> Reading:
    columns = {"entering_water_k": 302.594, "head_pressure_pa": 2_527_756.0, "water_flow_m3_per_s": 0.0005}
    return make.reading(cast.visit, cast.exchanger, cast.assigned, as_typed=SI, **columns)


def form_of(person: Person, reading: Reading) -> dict[str, tuple[str, str]]:
    client = Client()
    client.force_login(person)
    page = html.unescape(client.get(f"/office/readings/{reading.pk}/correct/").content.decode())
    found = {}
    for name in SI:
        number = re.search(rf'name="{name}" value="([^"]*)"', page)
        choices = re.search(rf'<select name="{name}_unit".*?</select>', page, re.S)
        assert number and choices
        unit = re.search(r'value="([^"]*)" selected', choices[0])
        assert unit
        found[name] = (number[1], unit[1])
    return found


def test_it_is_shown_in_inch_pound(cast: Cast) -> None:
    found = form_of(cast.office, sent_in_si(cast))
    assert {name: unit for name, (_, unit) in found.items()} == {
        "entering_water": "degF", "head_pressure": "psig", "water_flow": "gpm",
    }  # fmt: skip
    numbers = [float(number) for number, _ in found.values()]
    assert numbers == pytest.approx([84.9992, 351.923, 7.92516], abs=1e-3)


def test_it_is_shown_in_the_units_of_gauges_to_who_reads_si(cast: Cast) -> None:
    Person.objects.filter(pk=cast.office.pk).update(units=Units.SI)
    found = form_of(cast.office, sent_in_si(cast))
    assert {name: unit for name, (_, unit) in found.items()} == {
        "entering_water": "degC", "head_pressure": "kPa_gauge", "water_flow": "L/s",
    }  # fmt: skip
    assert [float(number) for number, _ in found.values()] == pytest.approx([29.444, 2426.431, 0.5], rel=2e-6)


def test_what_the_correction_leaves_alone_stays_to_the_letter(cast: Cast) -> None:
    reading = sent_in_si(cast)
    client = Client()
    client.force_login(cast.office)
    page = client.get(f"/office/readings/{reading.pk}/correct/").content.decode()
    taken = re.search(r'name="taken_at" value="([^"]+)"', page)
    assert taken
    sent: dict[str, Any] = {
        "taken_at": taken[1],
        "purpose": "routine",
        "stage": "full",
        "reason": "typing error",
    }
    for name, (number, unit) in form_of(cast.office, reading).items():
        sent |= {name: number, f"{name}_unit": unit}
    client.post(f"/office/readings/{reading.pk}/correct/", {**sent, "water_flow": "7.5"})
    corrected = Reading.objects.get(supersedes=reading)
    assert corrected.as_typed["entering_water"] == SI["entering_water"]
    assert corrected.as_typed["head_pressure"] == SI["head_pressure"]
    assert corrected.as_typed["water_flow"] == {"value": "7.5", "unit": "gpm"}

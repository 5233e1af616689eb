"""A pump's curve is typed and shown in the units that its maker prints and its reader reads."""

from __future__ import annotations

import pytest
from django.test import Client

from contractor.accounts.models import DecimalMark, Units
from contractor.register.models import Rig
from tests.cast import Cast

pytestmark = pytest.mark.django_db
# 1 US gallon a minute and 1 foot by definition (NIST SP 811, appendix B)
GPM, FOOT = 231 * 0.0254**3 / 60, 0.3048
NAME = {"name": "Rig 7"}


def of_office(cast: Cast, units: str) -> Client:
    cast.office.units = units
    cast.office.save()
    client = Client()
    client.force_login(cast.office)
    return client


def test_gallons_and_feet_are_taken_as_they_are_typed(cast: Cast) -> None:
    client = of_office(cast, Units.INCH_POUND)
    sent = client.post("/office/rigs/new/", {**NAME, "pump_curve": "0 gpm 40 ft\r\n6.3 gpm 30 ft"})
    assert sent.status_code == 302
    [first, second] = Rig.objects.get().pump_curve
    assert first == pytest.approx([0.0, 40 * FOOT])
    assert second == pytest.approx([6.3 * GPM, 30 * FOOT])
    page = client.get(sent["Location"]).content.decode()
    assert "6.3 gpm 30 ft" in page


def test_a_curve_that_nobody_touched_keeps_its_numbers(cast: Cast) -> None:
    client = of_office(cast, Units.INCH_POUND)
    rig = Rig.objects.create(**NAME, pump_curve=[[0.0, 12.0], [0.0004, 9.0]])
    page = client.get(f"/office/rigs/{rig.pk}/edit/").content.decode()
    assert "6.34013 gpm 29.5276 ft" in page
    shown = page[page.index('name="pump_curve"') :].partition(">")[2].partition("<")[0].strip()
    version = page[page.index('name="version"') :].partition('value="')[2].partition('"')[0]
    said = {**NAME, "pump_curve": shown.replace("\n", "\r\n"), "notes": "new hoses", "version": version}
    assert client.post(f"/office/rigs/{rig.pk}/edit/", said).status_code == 302
    rig.refresh_from_db()
    assert (rig.pump_curve, rig.notes) == ([[0.0, 12.0], [0.0004, 9.0]], "new hoses")


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("6.3 30", "is no point of the curve"),
        ("6.3 psi 30 ft", "gpm"),
        ("6.3 gpm high ft", "not a number"),
        ("6.3 lb/h 30 ft", "a mass a time"),
    ],
)
def test_a_line_that_cannot_be_read_is_told_with_what_would_be_right(
    cast: Cast, typed: str, told: str
) -> None:
    client = of_office(cast, Units.INCH_POUND)
    sent = client.post("/office/rigs/new/", {**NAME, "pump_curve": typed})
    assert sent.status_code == 400 and not Rig.objects.exists()
    page = sent.content.decode()
    assert told in page[page.index("errorlist") :]
    assert typed in page, "what was typed stays"


def test_metres_and_a_decimal_comma_are_taken_too(cast: Cast) -> None:
    client = of_office(cast, Units.SI)
    cast.office.decimal_mark = DecimalMark.COMMA
    cast.office.save()
    assert (
        client.post("/office/rigs/new/", {**NAME, "pump_curve": "0 L/s 12 m\n0,4 L/s 9 m"}).status_code == 302
    )
    assert Rig.objects.get().pump_curve[1] == pytest.approx([0.0004, 9.0])

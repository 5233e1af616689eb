"""Limits of error are typed and shown in a person's own units and kept in SI."""

from __future__ import annotations

import html
import re
from typing import Any

import pytest
from django.test import Client

from contractor.accounts.models import Person, Units
from contractor.register.models import GaugeSet, Instrument
from tests.cast import Cast

pytestmark = pytest.mark.django_db
# by definition: 1 psi = 6894.757293168 Pa, 1 K = 1.8 degF apart, 1 US gpm = 6.30901964e-5 m3/s
# (NIST SP 811 (2008), appendix B.8), 1 ft of water (conventional) = 2989.06692 Pa, from memory
PSI, GPM, FOOT_OF_WATER = 6894.757293168, 6.30901964e-5, 2989.06692


@pytest.fixture
def gauges(cast: Cast) -> GaugeSet:
    return GaugeSet.objects.create(name="Set 9", holder=cast.assigned)


def office(cast: Cast, units: str = Units.INCH_POUND, mark: str = "point") -> Client:
    Person.objects.filter(pk=cast.office.pk).update(units=units, decimal_mark=mark)
    client = Client()
    client.force_login(Person.objects.get(pk=cast.office.pk))
    return client


def add(client: Client, gauges: GaugeSet, reading: str, repeating: str, random: str, unit: str) -> Any:
    sent = {"gauge_set": str(gauges.pk), "reading": reading, "repeating": repeating, "random": random}
    return client.post("/office/instruments/new/", {**sent, "limits_in": unit})


def shown(client: Client, row: Instrument) -> dict[str, str]:
    page = html.unescape(client.get(f"/office/instruments/{row.pk}/edit/").content.decode())
    found = {
        name: re.search(rf'name="{name}" value="([^"]*)"', page)[1]  # type: ignore[index]
        for name in ("repeating", "random", "version")
    }
    unit = re.search(r'<select name="limits_in".*?value="([^"]*)" selected', page, re.S)
    assert unit
    return {**found, "limits_in": unit[1]}


@pytest.mark.parametrize(
    ("reading", "unit", "si_of_one"),
    [
        ("entering_water", "delta_degF", 1 / 1.8), ("entering_water", "K", 1.0),
        ("liquid_line", "delta_degC", 1.0),
        ("head_pressure", "psi", PSI), ("suction_pressure", "kPa", 1000.0), ("head_pressure", "bar", 1e5),
        ("water_pressure_drop", "ftH2O", FOOT_OF_WATER), ("water_flow", "gpm", GPM),
        ("water_flow", "L/s", 1e-3),
        ("compressor_power", "kW", 1000.0), ("amps", "A", 1.0), ("volts", "V", 1.0),
        ("power_factor", "dimensionless", 1.0),
    ],
)  # fmt: skip
def test_a_limit_is_a_difference_whatever_its_unit(
    cast: Cast, gauges: GaugeSet, reading: str, unit: str, si_of_one: float
) -> None:
    assert add(office(cast), gauges, reading, "0.5", "2", unit).status_code == 302
    row = Instrument.objects.get(gauge_set=gauges)
    assert (row.repeating, row.random) == pytest.approx((0.5 * si_of_one, 2 * si_of_one), rel=1e-6)
    assert row.relative is False


def test_a_share_of_the_reading_is_typed_in_per_cent(cast: Cast, gauges: GaugeSet) -> None:
    client = office(cast, mark="comma")
    add(client, gauges, "water_flow", "1,5", "7", "%")
    row = Instrument.objects.get(gauge_set=gauges)
    assert (row.repeating, row.random, row.relative) == (0.015, 0.07, True)
    found = shown(client, row)
    assert (found["repeating"], found["random"], found["limits_in"]) == ("1.5", "7", "%")


def test_they_come_back_in_the_units_of_who_changes_them(cast: Cast, gauges: GaugeSet) -> None:
    add(office(cast), gauges, "entering_water", "0.5", "0.9", "K")
    row = Instrument.objects.get(gauge_set=gauges)
    found = shown(office(cast), row)
    assert found["limits_in"] == "delta_degF"
    assert [float(found[name]) for name in ("repeating", "random")] == pytest.approx([0.9, 1.62])
    found = shown(office(cast, Units.SI), row)
    assert found["limits_in"] == "delta_degC"
    assert [float(found[name]) for name in ("repeating", "random")] == pytest.approx([0.5, 0.9])


def change(client: Client, row: Instrument, **typed: str) -> Any:
    sent = {"reading": row.reading, **shown(client, row), **typed}
    return client.post(f"/office/instruments/{row.pk}/edit/", sent)


def test_what_is_left_alone_stays_to_the_last_digit(cast: Cast, gauges: GaugeSet) -> None:
    row = Instrument.objects.create(
        gauge_set=gauges, reading="head_pressure", repeating=7000.0, random=3500.1234567, relative=False
    )
    client = office(cast)
    assert change(client, row, serial="A 7").status_code == 302
    row.refresh_from_db()
    assert (row.serial, row.repeating, row.random) == ("A 7", 7000.0, 3500.1234567)
    assert change(client, row, repeating="2").status_code == 302
    row.refresh_from_db()
    assert row.repeating == pytest.approx(2 * PSI) and row.random == 3500.1234567


def test_another_unit_changes_both_and_another_reading_wants_one_that_fits(
    cast: Cast, gauges: GaugeSet
) -> None:
    client = office(cast)
    add(client, gauges, "head_pressure", "1", "0.5", "psi")
    row = Instrument.objects.get(gauge_set=gauges)
    change(client, row, limits_in="%")
    row.refresh_from_db()
    assert (row.repeating, row.random, row.relative) == (0.01, 0.005, True)
    change(client, row, limits_in="psi")
    answer = change(client, Instrument.objects.get(pk=row.pk), reading="entering_water")
    assert answer.status_code == 400
    assert "Does not fit entering water; expected °F, °C, K or % of the reading." in html.unescape(
        answer.content.decode()
    )


@pytest.mark.parametrize(
    ("typed", "words"),
    [({"repeating": "much"}, "Not a number; expected one such as 6.5."), ({"limits_in": ""}, "Choose one."),
     ({"random": "-1"}, "Accuracy limits are zero or more."),
     ({"limits_in": "furlong"}, "not among the choices")],
)  # fmt: skip
def test_what_cannot_be_a_limit_is_told_at_the_form(
    cast: Cast, gauges: GaugeSet, typed: dict[str, str], words: str
) -> None:
    sent = {"gauge_set": str(gauges.pk), "reading": "head_pressure", "repeating": "1", "random": "1"}
    answer = office(cast).post("/office/instruments/new/", {**sent, "limits_in": "psi", **typed})
    assert answer.status_code in (400, 409, 422) and words in html.unescape(answer.content.decode())
    assert not Instrument.objects.filter(gauge_set=gauges).exists()

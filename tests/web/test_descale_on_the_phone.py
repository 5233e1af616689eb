"""What the phone's descale page brings along: the likely lot, the ranking of this descale's readings."""

from __future__ import annotations

import datetime as dt
import json
import re

import pytest
from django.test import Client
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.descales import services
from contractor.descales.models import DescalePlan
from contractor.register import services as register
from contractor.register.models import CleanerLot
from diagnostics.models import Ranking
from tests import make
from tests.descales import world

pytestmark = pytest.mark.django_db


def page_of(job: world.Job) -> str:
    phone = Client()
    phone.force_login(job.technician)
    return phone.get(f"/crew/descales/{job.descale.pk}/").content.decode()


def preselected(page: str) -> list[str]:
    lots = page.split('id="lot"')[1].split("</select>")[0]
    return re.findall(r'<option value="([^"]+)"[^>]* selected>', lots)


def test_the_only_lot_of_the_cleaner_that_has_not_lapsed_is_offered_first_chosen() -> None:
    job = world.noticed(world.job())
    today = timezone.now().date()
    assert preselected(page_of(job)) == [str(job.lot.pk)]
    old = register.add_cleaner_lot({"cleaner": job.cleaner, "lot": "L-0", "quantity_kg": 5.0,
                                    "expires_on": today - dt.timedelta(days=2)})  # fmt: skip
    page = page_of(job)
    assert preselected(page) == [str(job.lot.pk)]
    assert re.search(rf'value="{old.pk}" data-cleaner="{job.cleaner.pk}" data-lapsed', page)
    register.add_cleaner_lot({"cleaner": job.cleaner, "lot": "L-2", "quantity_kg": 5.0})
    assert preselected(page_of(job)) == []


def test_a_lot_of_another_cleaner_is_not_chosen_for_it() -> None:
    job = world.noticed(world.job())
    CleanerLot.objects.filter(pk=job.lot.pk).update(expires_on=timezone.now().date() - dt.timedelta(days=2))
    other = world.cleaner("citric", name="citric, another")
    register.add_cleaner_lot({"cleaner": other, "lot": "C-1", "quantity_kg": 5.0})
    assert preselected(page_of(job)) == []


def test_the_phone_knows_the_label_of_every_cleaner_that_may_go_in() -> None:
    """Of a draft, whose limits are not known, and of one that attacks what it touches: out at once."""
    job = world.noticed(world.job())
    quick = world.cleaner(
        "sulfamic", name="sulfamic, quick", longest_time_s=7200.0, highest_temperature_k=303.15
    )
    draft = world.cleaner("sulfamic", name="sulfamic, a draft", longest_time_s=None)
    attacks = world.cleaner("citric", name="citric, attacks a gasket")
    found = re.search(r'<script id="facts" type="application/json">(.*?)</script>', page_of(job), re.S)
    assert found
    labels = json.loads(found[1])["labels"]
    assert labels[str(quick.pk)]["longest_time_s"] == 7200.0
    assert labels[str(quick.pk)]["limits"]["cap_k"] == 303.15
    assert labels[str(job.cleaner.pk)]["limits"]["cap_k"] == services.current_plan(job.descale).cap_k
    assert labels[str(draft.pk)]["longest_time_s"] == labels[str(attacks.pk)]["longest_time_s"] == 0.0


def test_nothing_dissolving_leads_to_the_ranking_of_the_readings_before() -> None:
    job = world.checked(world.noticed(world.job()))
    reading = job.exchanger.readings.get(purpose="before_descale")
    assert "not ranked yet" in page_of(job)
    found = {"causes": [{"cause": "low_water_flow", "probability": 0.72, "reasons": ["The flow is low."]},
                        {"cause": "fouled", "probability": 0.21, "reasons": []}]}  # fmt: skip
    Ranking.objects.create(
        reading=reading, engine_version="1", inputs_digest="0" * 64, do_next="Look at the strainer.",
        result=found, leading_cause="low_water_flow",
        leading_probability=0.72, fouled_probability=0.21,
    )  # fmt: skip
    later = make.reading(job.descale.visit, job.exchanger, job.technician, purpose="routine")
    assert later.taken_at >= reading.taken_at
    world.mix(job)
    for minutes in (0.0, 3.0, 6.0, 12.0):
        told = world.look(job, minutes, bubbles="none", solids="none", drops=20.0)
    assert told.do_now[0].code == "nothing_dissolving"
    page = page_of(job)
    assert '<a href="#causes">What else may be wrong, and how sure</a>' in page
    ranked = page.split('id="causes"')[1].split("</section>")[0]
    assert "Look at the strainer." in ranked and re.search(
        r"Low water flow: 72\s?%. The flow is low.", ranked
    )
    assert re.search(r"Fouled: 21\s?%", ranked)


def test_a_flammable_refrigerant_is_named_before_the_checks() -> None:
    job = world.noticed(world.job())
    units = type(job.exchanger.unit).objects
    assert "flammable" not in page_of(job)
    for refrigerant, words in (("R290", "highly flammable"), ("R32", "mildly flammable")):
        units.update(refrigerant=refrigerant)
        assert f"{refrigerant} is {words}" in page_of(job)


@pytest.mark.parametrize(
    ("units", "mark", "cap"), [("inch_pound", "point", "122.0"), ("si", "comma", "50,0")]
)
def test_the_cap_of_a_bath_is_told_in_the_units_of_who_reads_it(units: str, mark: str, cap: str) -> None:
    job = world.checked(world.noticed(world.job()))
    Person.objects.filter(pk=job.technician.pk).update(units=units, decimal_mark=mark)
    DescalePlan.objects.filter(descale=job.descale).update(cap_k=323.15)
    facts = re.findall(r'<script id="facts" type="application/json">(.*?)</script>', page_of(job))[0]
    unit = {"inch_pound": "°F", "si": "°C"}[units]
    assert json.loads(facts)["limits"]["cap_words"] == f"{cap}\N{NO-BREAK SPACE}{unit}"

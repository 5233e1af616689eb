"""What an exchanger's instruments can tell: over the API, and as a command for files and for records."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from contractor.register.models import GaugeSet, Instrument
from tests.cast import Cast, as_person
from tests.diagnostics import world

EXAMPLE = Path(__file__).resolve().parents[2] / "fixtures" / "batch"


def address(cast: Cast) -> str:
    return f"/api/v1/exchangers/{cast.exchanger.pk}/detectability/"


@pytest.fixture
def scene(cast: Cast) -> Cast:
    world.know(cast.exchanger)
    world.clean_visits(cast.visit, cast.exchanger, cast.assigned)
    return cast


@pytest.mark.django_db
def test_both_modes_of_a_heat_pump_are_told_with_a_sentence_each(scene: Cast) -> None:
    told = as_person(scene.assigned).get(address(scene)).json()
    assert [one["mode"] for one in told] == ["cooling", "heating"]
    cooling, heating = told
    assert cooling["smallest"]["as_it_is"] < heating["smallest"]["as_it_is"]  # clean visits were in cooling
    assert "with 90 % confidence" in cooling["sentence"]
    assert {one["kind"] for one in cooling["reference"]} >= {"clean_reference"}


@pytest.mark.django_db
def test_a_gauge_set_with_better_thermometers_calls_less(scene: Cast) -> None:
    gauges = GaugeSet.objects.create(name="Blue case")
    for reading in ("entering_water", "leaving_water"):
        Instrument.objects.create(
            gauge_set=gauges, reading=reading, repeating=0.05, random=0.03, relative=False
        )
    usual = GaugeSet.objects.create(name="Grey case")  # neither case read the clean visits
    office = as_person(scene.office)
    plain = office.get(address(scene), {"mode": "cooling", "gauge_set": str(usual.pk)}).json()
    better = office.get(address(scene), {"mode": "cooling", "gauge_set": str(gauges.pk)}).json()
    assert len(plain) == len(better) == 1
    assert better[0]["smallest"]["as_it_is"] < plain[0]["smallest"]["as_it_is"]


@pytest.mark.django_db
def test_a_mode_or_gauge_set_that_is_not_known_is_refused_with_its_name(scene: Cast) -> None:
    answer = as_person(scene.office).get(address(scene), {"mode": "drying"})
    assert answer.status_code == 400 and "mode" in str(answer.json())


@pytest.mark.django_db
def test_the_command_tells_the_same_of_an_exchanger_on_record(scene: Cast) -> None:
    out = io.StringIO()
    call_command("detectability", exchanger=scene.exchanger.pk, mode="cooling", json=True, stdout=out)
    told = json.loads(out.getvalue())
    over_api = as_person(scene.office).get(address(scene), {"mode": "cooling"}).json()[0]
    assert told["smallest"] == pytest.approx(over_api["smallest"])


def run(**options: Any) -> str:
    out = io.StringIO()
    call_command("detectability", stdout=out, **options)
    return out.getvalue()


def test_the_command_tells_it_of_a_unit_in_a_file_without_a_database() -> None:
    files = {name: str(EXAMPLE / f"{name}.csv") for name in ("units", "readings", "tables", "events")}
    text = run(unit="HR-HP-01", mode="cooling", **files)
    assert text.startswith("HR-HP-01, cooling (on a reading)")
    assert "with one more clean visit" in text and "with 90 % confidence" in text


def test_the_command_says_which_of_its_options_will_not_do() -> None:
    with pytest.raises(CommandError, match="one of them"):
        run()
    with pytest.raises(CommandError, match="no unit nope"):
        run(units=str(EXAMPLE / "units.csv"), unit="nope")
    with pytest.raises(CommandError, match="cannot be read"):
        run(units="/nowhere/units.csv")

"""A survey visit's short rows are read together, loop by loop, and the few units worth gauges are named."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils import timezone

from contractor.register.models import Unit
from contractor.visits.models import Reading, Visit
from contractor.visits.services import post_readings
from contractor.workqueue.handlers import HANDLERS
from contractor.workqueue.models import WorkItem
from diagnostics.models import LoopSurvey
from diagnostics.ranking import surveys
from tests import make
from tests.cast import Cast, as_person
from tests.diagnostics import world
from tests.studies.causes_survey import draw_site

pytestmark = pytest.mark.django_db
SHORT = ("entering_water_k", "leaving_water_k", "water_pressure_drop_pa", "amps_a", "volts_v", "phases")


@pytest.fixture
def surveyed(cast: Cast, settings: Any, tmp_path: Any) -> tuple[Visit, set[str]]:
    """A loop of heat pumps of which three in ten are fouled, and one unit that stood still."""
    settings.SIGNATURES_DIR = tmp_path / "signatures"
    rows, fouled = draw_site(5, "three in ten")
    site = make.site(cast.customer, water_source="cooling_tower", loop_low_k=288.15, loop_high_k=305.65)
    visit = make.visit(site, [cast.assigned], reason="survey")
    for row in rows:
        facts = row.facts
        unit: Unit = make.unit(
            site,
            tag=facts.unit,
            loop="tower loop",
            refrigerant=facts.refrigerant,
            capacity_w=facts.capacity_w,
        )
        exchanger = make.exchanger(unit, flow_in_heating="parallel")
        read = {name: getattr(row.reading, name) for name in SHORT}
        make.reading(visit, exchanger, cast.assigned, mode="cooling", **read)
    still = make.exchanger(make.unit(site, tag="still", loop="tower loop", refrigerant="R410A"))
    make.reading(visit, still, cast.assigned, mode="cooling", minutes_running=0.0)
    return visit, fouled


def test_the_rows_of_a_loop_are_read_together(surveyed: tuple[Visit, set[str]]) -> None:
    visit, fouled = surveyed
    (made,) = surveys.read_survey(visit.pk)
    assert (made.loop, made.answer) == ("tower loop", "these_units")
    assert 1 <= len(made.result["units_worth_gauges"]) <= 4
    assert set(made.result["units_worth_gauges"]) & fouled
    assert made.result["left_out"] == [{"unit": "still", "because": "its waters were not read"}]


def test_reading_it_again_keeps_what_is_there_and_a_new_row_supersedes(
    surveyed: tuple[Visit, set[str]],
) -> None:
    visit, _ = surveyed
    (first,) = surveys.read_survey(visit.pk)
    assert surveys.read_survey(visit.pk) == [first]
    Reading.objects.filter(visit=visit).first().delete()  # type: ignore[union-attr]
    (second,) = surveys.read_survey(visit.pk)
    first.refresh_from_db()
    assert second != first and first.superseded_at is not None
    assert list(LoopSurvey.objects.current()) == [second]


def test_a_reading_of_a_survey_visit_asks_for_the_survey(cast: Cast) -> None:
    Visit.objects.filter(pk=cast.visit.pk).update(reason="survey")
    cast.visit.refresh_from_db()
    now = timezone.now()
    fields = {"visit": cast.visit, "exchanger": cast.exchanger, "mode": "cooling", "taken_at": now,
              "minutes_running": 0.0, "note": "off"}  # fmt: skip
    post_readings(cast.assigned, fields, now)
    item = WorkItem.objects.get(kind="survey")
    assert item.subject == str(cast.visit.pk)
    assert HANDLERS["survey"](item, world.Silent()) == {"surveys": []}  # type: ignore[arg-type]


def test_asking_for_a_survey_is_answered_with_the_work_to_follow(cast: Cast) -> None:
    answer = as_person(cast.assigned).post("/api/v1/surveys/", {"visit": str(cast.visit.pk)})
    item = WorkItem.objects.get(kind="survey")
    assert answer.status_code == 202 and answer["Location"] == f"/api/v1/work-items/{item.pk}/"


def test_a_list_of_surveys_costs_the_same_however_long(
    cast: Cast, django_assert_max_num_queries: Any
) -> None:
    for loop in "abcdefgh":
        LoopSurvey.objects.create(
            visit=cast.visit, loop=loop, engine_version="1", inputs_digest="0" * 64, answer="the_loop",
            probability=0.9, words="The loop itself.",
            result={"probabilities": {}, "cause": None, "units_worth_gauges": [], "fouled_by_unit": {},
                    "left_out": []},
        )  # fmt: skip
    with django_assert_max_num_queries(2):
        found = as_person(cast.assigned).get("/api/v1/surveys/")
    assert len(found.data["results"]) == 8

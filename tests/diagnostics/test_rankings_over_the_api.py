"""Who sees which ranking; asking for one; filters; lists that cost the same however long."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from contractor.workqueue.models import WorkItem
from diagnostics.models import Ranking
from tests import make
from tests.cast import Cast, as_person
from tests.diagnostics import world

pytestmark = pytest.mark.django_db
LIST = "/api/v1/rankings/"


def put_in(cast: Cast, day: int = 0, why: str = "Not acid yet: strainer.", **given: object) -> Ranking:
    reading = world.reading(cast.visit, cast.exchanger, cast.assigned, day=day)
    causes = [{"cause": "strainer_blocked", "probability": 0.7, "reasons": ["for: flow 60 % of design flow"]}]
    result = {"causes": causes, "pairs": [], "next_check": None, "cannot_tell_apart": []}
    return Ranking.objects.create(
        reading=reading, engine_version="1", inputs_digest="0" * 64, leading_cause="strainer_blocked",
        leading_probability=0.7, fouled_probability=0.1, do_next="Next: open and look at the strainer.",
        why_not_chemical=why, result=result, **given,
    )  # fmt: skip


def test_a_client_sees_no_ranking_before_its_report_is_released(cast: Cast) -> None:
    made = put_in(cast)
    client = as_person(cast.client)
    assert client.get(f"{LIST}{made.pk}/").status_code == 404
    make.shown_to_clients(cast.exchanger, made.reading.taken_at)
    assert client.get(f"{LIST}{made.pk}/").status_code == 200


def test_the_ranking_that_stands_is_read_with_its_reading(cast: Cast) -> None:
    made = put_in(cast)
    make.shown_to_clients(cast.exchanger, made.reading.taken_at)
    told = as_person(cast.client).get(f"/api/v1/readings/{made.reading_id}/ranking/").data
    assert told["do_next"] == made.do_next and told["causes"] == made.result["causes"]
    assert told["why_not_chemical"] == "Not acid yet: strainer." and told["reopened"] is None


def test_where_chemical_work_is_reasonable_nothing_is_said_against_it(cast: Cast) -> None:
    made = put_in(cast, why="")
    assert as_person(cast.office).get(f"{LIST}{made.pk}/").data["why_not_chemical"] is None


def test_a_reading_that_waits_for_its_ranking_says_so(cast: Cast) -> None:
    reading = world.reading(cast.visit, cast.exchanger, cast.assigned)
    answer = as_person(cast.assigned).get(f"/api/v1/readings/{reading.pk}/ranking/")
    assert answer.status_code == 404 and answer.data["type"].endswith("/not-ranked-yet/")
    assert answer["Retry-After"] == "2"


def test_a_list_of_rankings_costs_the_same_however_long(cast: Cast) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert as_person(cast.assigned).get(LIST).status_code == 200
        return len(seen)

    put_in(cast)
    one = queries()
    for day in range(1, 12):
        put_in(cast, day)
    assert queries() == one <= 2


@pytest.mark.parametrize(("asked", "count"), [("true", 1), ("false", 2)])
def test_rankings_are_found_by_whether_chemical_work_is_reasonable(
    cast: Cast, asked: str, count: int
) -> None:
    put_in(cast, why="")
    put_in(cast, day=1)
    put_in(cast, day=2)
    assert len(as_person(cast.office).get(LIST, {"chemical": asked}).data["results"]) == count


def test_a_client_does_not_see_what_was_superseded(cast: Cast) -> None:
    from django.utils import timezone

    old = put_in(cast, superseded_at=timezone.now())
    assert as_person(cast.client).get(f"{LIST}{old.pk}/").status_code == 404
    assert as_person(cast.assigned).get(f"{LIST}{old.pk}/").data["current"] is False


def test_asking_for_a_ranking_is_answered_with_the_work_to_follow(cast: Cast) -> None:
    made = put_in(cast)
    answer = as_person(cast.assigned).post(LIST, {"reading": str(made.reading_id)})
    item = WorkItem.objects.get(kind="rank")
    assert answer.status_code == 202 and answer["Location"] == f"/api/v1/work-items/{item.pk}/"

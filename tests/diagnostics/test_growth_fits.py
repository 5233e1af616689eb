"""When an exchanger reaches its limit: kept by a worker, made anew where what it rests on has changed."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from contractor.register.models import UnitEvent
from contractor.workqueue import running
from contractor.workqueue.models import WorkItem
from diagnostics.growing import inputs, services
from diagnostics.models import Assessment, GrowthFit
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db
LIMIT = 4e-4
FIRST = dt.datetime(2026, 1, 5, 9, tzinfo=dt.UTC)


def told(cast: Cast, exchanger: Any, day: float, fouling: float, **given: Any) -> Assessment:
    """One result with its 95 % interval of 4e-6 to either side."""
    at = FIRST + dt.timedelta(days=day)
    visit = make.visit(cast.site, [cast.assigned], window_start=at, state="done")
    purpose = given.pop("purpose", "routine")
    reading = make.reading(visit, exchanger, cast.assigned, taken_at=at, purpose=purpose)
    value = {"value": fouling, "low": fouling - 4e-6, "high": fouling + 4e-6}
    result = {"limit": {"value": LIMIT, "unit": "m2K/W", "source": "stated"},
              "fouling_resistance_m2k_per_w": value}  # fmt: skip
    return Assessment.objects.create(
        **{"reading": reading, "engine_version": "1", "inputs_digest": "0" * 64, "verdict": "clean",
           "probability_over_limit": 0.1, "fouling_m2k_per_w": fouling, "do_next": "Read.",
           "result": result, **given}
    )  # fmt: skip


def even(cast: Cast, exchanger: Any, first: float = 0.0, number: int = 5) -> None:
    """1e-6 a day: by hand, 4e-4 is reached 400 days after the clean reference."""
    for day in range(0, 50 * number, 50):
        purpose = "clean_reference" if day == 0 and first == 0.0 else "routine"
        told(cast, exchanger, first + day, 1e-6 * day, purpose=purpose)


def test_even_growth_reaches_the_limit_when_a_hand_calculation_says(cast: Cast) -> None:
    even(cast, cast.exchanger)
    fit = services.fit_exchanger(cast.exchanger.pk)
    assert fit.since == FIRST and fit.readings == 5 and fit.law == "linear"
    by_hand = FIRST + dt.timedelta(days=400)
    assert fit.reached_at is not None and abs(fit.reached_at - by_hand) < dt.timedelta(days=12)
    assert fit.reached_from is not None and fit.reached_from < by_hand
    assert fit.reached_until is None or fit.reached_until > by_hand
    assert (
        "95 % interval" in fit.said
        and fit.said.startswith("about February 2027")
        and "5 results; even growth" in fit.rests_on
    )


def test_a_cleaning_begins_anew_and_what_grew_before_still_tells_how_fast(cast: Cast) -> None:
    even(cast, cast.exchanger)
    cleaned = FIRST + dt.timedelta(days=230)
    UnitEvent.objects.create(unit=cast.unit, at=cleaned, what="descaled")
    fit = services.fit_exchanger(cast.exchanger.pk)
    assert fit.since == cleaned and fit.readings == 5
    assert fit.reached_at is not None
    assert abs(fit.reached_at - cleaned - dt.timedelta(days=400)) < dt.timedelta(days=20)


def test_no_date_where_it_was_first_read_with_scale_on_it(cast: Cast) -> None:
    for day in (0, 60, 120):
        told(cast, cast.exchanger, day, 2e-4 + 1e-6 * day)
    fit = services.fit_exchanger(cast.exchanger.pk)
    assert fit.reached_at is None and fit.said == inputs.NO_START


def test_no_date_from_two_results_nor_from_a_week(cast: Cast) -> None:
    even(cast, cast.exchanger, number=2)
    assert services.fit_exchanger(cast.exchanger.pk).said == inputs.NO_RESULTS
    other = make.exchanger(make.unit(cast.site))
    for day in (0, 3, 7):
        told(cast, other, day, 1e-6 * day, purpose="clean_reference")
    assert services.fit_exchanger(other.pk).said == inputs.TOO_CLOSE


def test_a_limit_in_another_unit_tells_nothing(cast: Cast) -> None:
    even(cast, cast.exchanger)
    last = Assessment.objects.order_by("-reading__taken_at").first()
    assert last is not None
    last.result["limit"] = {"value": 1e-4, "unit": "K/W", "source": "stated"}
    last.save()
    assert services.fit_exchanger(cast.exchanger.pk).said == inputs.NO_RESULTS


def test_growth_that_never_reaches_the_limit_says_so(cast: Cast) -> None:
    for day in range(0, 500, 50):
        told(cast, cast.exchanger, day, 1e-6 * (day % 100 / 100), purpose="clean_reference")
    fit = services.fit_exchanger(cast.exchanger.pk)
    assert fit.reached_until is None and "ten years" in fit.said


def test_only_what_changed_is_asked_for_again_and_a_worker_fits_it(cast: Cast) -> None:
    even(cast, cast.exchanger)
    [item] = services.ask_for_stale()
    assert (item.kind, item.subject, item.lane) == ("fit_growth", str(cast.exchanger.pk), "bulk")
    assert running.run(item.pk) == "done"
    assert GrowthFit.objects.get().work_item_id == item.pk
    assert services.ask_for_stale() == []
    told(cast, cast.exchanger, 260, 2.6e-4)
    [again] = services.ask_for_stale()
    assert running.run(again.pk) == "done"
    assert GrowthFit.objects.count() == 2 and GrowthFit.objects.current().get().readings == 6


@pytest.mark.parametrize("change", ["set aside", "event", "event taken back"])
def test_a_fit_is_stale_once_what_it_rests_on_has_changed(cast: Cast, change: str) -> None:
    even(cast, cast.exchanger)
    event = UnitEvent.objects.create(unit=cast.unit, at=FIRST - dt.timedelta(days=9), what="descaled")
    services.fit_exchanger(cast.exchanger.pk)
    assert services.ask_for_stale() == []
    if change == "set aside":
        reading = Assessment.objects.latest("pk").reading
        type(reading).objects.filter(pk=reading.pk).update(superseded_at=timezone.now())
    elif change == "event":
        UnitEvent.objects.create(unit=cast.unit, at=FIRST + dt.timedelta(days=9), what="exchanger_replaced")
    else:
        UnitEvent.objects.filter(pk=event.pk).update(taken_back_at=timezone.now())
    assert len(services.ask_for_stale()) == 1


def test_too_few_results_and_what_is_retired_are_not_asked_for(cast: Cast) -> None:
    even(cast, cast.exchanger, number=2)
    gone = make.exchanger(make.unit(cast.site))
    even(cast, gone)
    type(gone).objects.filter(pk=gone.pk).update(retired_at=timezone.now())
    assert services.ask_for_stale() == [] and not WorkItem.objects.exists()


def test_looking_for_what_is_stale_asks_as_little_however_much_there_is(cast: Cast) -> None:
    def questions() -> int:
        with CaptureQueriesContext(connection) as asked:  # fmt: skip
            services.ask_for_stale()
        return len(asked)

    even(cast, cast.exchanger)
    services.fit_exchanger(cast.exchanger.pk)
    few = questions()
    for _ in range(4):
        exchanger = make.exchanger(make.unit(cast.site))
        even(cast, exchanger)
        services.fit_exchanger(exchanger.pk)
    assert questions() == few

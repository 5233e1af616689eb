"""A history read once judges each reading as it would be judged by itself, in a constant count of queries."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from contractor.register import services as register
from contractor.register.models import GaugeSet, UnitEvent
from contractor.visits.models import Reading
from diagnostics import selectors, services
from diagnostics.engine.assessment import DRAWS
from diagnostics.models import Assessment
from tests.cast import Cast
from tests.diagnostics import world

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene(cast: Cast) -> Cast:
    """Clean visits, routine ones with other gauges, a double moment, one set aside, events here and there."""
    world.know(cast.exchanger)
    world.clean_visits(cast.visit, cast.exchanger, cast.assigned)
    gauges = GaugeSet.objects.create(name="van 2")
    accuracy = {"repeating": 0.3, "random": 0.2, "relative": False, "calibration_due_on": dt.date(2023, 6, 1)}
    register.add_instrument({"gauge_set": gauges, "reading": "entering_water", **accuracy})
    for day, given in ((100, {}), (200, {"gauge_set": gauges}), (200, {"mode": "heating"}), (300, {})):
        world.reading(cast.visit, cast.exchanger, cast.assigned, day=day, **given)
    world.reading(cast.visit, cast.exchanger, cast.assigned, day=250, superseded_at=timezone.now())
    for day, taken_back in ((150, None), (250, None), (120, timezone.now())):
        at = world.FIRST_DAY + dt.timedelta(days=day)
        UnitEvent.objects.create(unit=cast.unit, at=at, what="descaled", taken_back_at=taken_back)
    return cast


def test_each_reading_is_judged_on_what_it_would_be_by_itself(scene: Cast) -> None:
    known = selectors.whole_history_of(scene.exchanger.pk)
    standing = Reading.objects.standing().filter(exchanger=scene.exchanger)
    together = {reading.pk: inputs for reading, inputs in known.inputs()}
    assert set(together) == set(standing.values_list("pk", flat=True)) and len(together) == 6
    for pk, inputs in together.items():
        assert inputs == services.inputs_now(pk)
    assert any(inputs.overdue for inputs in together.values())


def test_the_answers_are_the_interactive_ones_draws_and_digest(scene: Cast) -> None:
    kept = services.reassess_exchanger(scene.exchanger.pk, world.Silent())
    for made in kept:
        assert made.result["draws"] == DRAWS
        again = services.judge(services.inputs_now(made.reading_id))
        assert again.inputs_digest == made.inputs_digest
        assert services.assess_reading(made.reading_id) == made, "nothing is left to change"


def test_reading_a_history_costs_the_same_however_long(scene: Cast) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            list(selectors.whole_history_of(scene.exchanger.pk).inputs())
        return len(seen)

    before = queries()
    for day in range(400, 420):
        world.reading(scene.visit, scene.exchanger, scene.assigned, day=day)
    assert queries() == before <= 7


def test_what_changes_while_a_history_is_judged_is_not_lost(
    scene: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, judged = services.judge, []

    def judge(inputs: selectors.Inputs) -> Any:
        if not judged:
            world.reading(scene.visit, scene.exchanger, scene.assigned, day=310)
        judged.append(inputs.reading.taken_at)
        return real(inputs)

    monkeypatch.setattr(services, "judge", judge)
    kept = services.reassess_exchanger(scene.exchanger.pk, world.Silent())
    assert len(kept) == 7 == Assessment.objects.count()
    assert len(judged) == 7, "only the new one is judged in the second round"


def test_a_history_that_never_settles_is_judged_under_the_locks(
    scene: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, turns, before = services.judge, [], scene.exchanger.readings.standing().count()
    one_more_at = (
        1,
        *range(before + 1, before + services.TRIES),
    )  # once a try; then the locks keep others out

    def restless(inputs: selectors.Inputs) -> Any:
        turns.append(inputs.reading.taken_at)
        if len(turns) in one_more_at:
            world.reading(scene.visit, scene.exchanger, scene.assigned, day=500 + len(turns))
        return real(inputs)

    monkeypatch.setattr(services, "judge", restless)
    kept = services.reassess_exchanger(scene.exchanger.pk, world.Silent())
    assert len(turns) == len(kept) == before + services.TRIES == Assessment.objects.count()

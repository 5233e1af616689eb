"""The newest survey of a unit's loop, as its visit report takes it from the records."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from contractor.register.models import Unit
from contractor.visits.models import Visit
from diagnostics.models import LoopSurvey
from reporting.selectors import _loop_told
from tests import make

pytestmark = pytest.mark.django_db


def survey(visit: Visit, words: str, loop: str = "", **given: Any) -> LoopSurvey:
    return LoopSurvey.objects.create(
        visit=visit, loop=loop, engine_version="1", inputs_digest="0", answer="the_loop", probability=0.9,
        words=words, result={"left_out": [{"unit": "HR-1", "because": "off"}]}, **given,
    )  # fmt: skip


def on(unit: Unit, days: int) -> Visit:
    return make.visit(unit.site, window_start=timezone.now() + timedelta(days=days))


def test_the_newest_survey_of_the_units_own_loop_is_told() -> None:
    unit = make.unit(loop="east")
    survey(on(unit, 1), "older", "east")
    latest = on(unit, 2)
    survey(latest, "taken back by a newer one", "east", superseded_at=timezone.now())
    survey(latest, "newest", "east")
    survey(on(unit, 3), "another loop", "west")
    survey(on(make.unit(loop="east"), 4), "another site", "east")
    told = _loop_told(unit, "UTC")
    assert told is not None and (told.words, told.left_out) == ("newest", 1)
    assert told.read_on == latest.window_start


def test_a_unit_whose_loop_was_never_surveyed_is_told_nothing() -> None:
    assert _loop_told(make.unit(), "UTC") is None

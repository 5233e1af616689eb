"""A reading becomes an assessment, once; what it told before stays beside it."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

import pytest
from django.utils import timezone

from contractor.register.models import OperatingTable, OperatingTableRow, UnitEvent
from contractor.visits.models import Reading
from diagnostics import selectors, services
from diagnostics.models import Assessment
from tests.cast import Cast
from tests.diagnostics import world

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene(cast: Cast) -> Cast:
    world.know(cast.exchanger)
    world.clean_visits(cast.visit, cast.exchanger, cast.assigned)
    return cast


def posted(cast: Cast, day: int = 300, **given: Any) -> Reading:
    return world.reading(cast.visit, cast.exchanger, cast.assigned, day=day, **given)


def test_a_heavily_scaled_surface_is_called_fouled_and_the_truth_lies_in_the_interval(scene: Cast) -> None:
    made = services.assess_reading(posted(scene, fouling_m2k_per_w=world.HEAVY).pk)
    assert made is not None and made.verdict == "fouled"
    assert made.fouling_low_m2k_per_w is not None and made.fouling_high_m2k_per_w is not None
    assert made.fouling_low_m2k_per_w < world.HEAVY < made.fouling_high_m2k_per_w
    assert made.result["verdict"] == "fouled" and made.result["line"] is None


def test_a_clean_surface_is_not_called_fouled(scene: Cast) -> None:
    made = services.assess_reading(posted(scene).pk)
    assert made is not None and made.verdict != "fouled"


def test_assessing_twice_on_the_same_inputs_keeps_the_first(scene: Cast) -> None:
    reading = posted(scene)
    first, second = services.assess_reading(reading.pk), services.assess_reading(reading.pk)
    assert first is not None and second is not None and first.pk == second.pk
    assert Assessment.objects.filter(reading=reading).count() == 1


def test_other_facts_make_a_new_assessment_and_the_old_one_says_why_it_went(scene: Cast) -> None:
    reading = posted(scene)
    first = services.assess_reading(reading.pk)
    scene.exchanger.fouling_limit_m2k_per_w = 1e-5
    scene.exchanger.save()
    second = services.assess_reading(reading.pk)
    assert first is not None and second is not None and second.pk != first.pk
    first.refresh_from_db()
    assert first.superseded_at is not None
    assert first.superseded_because == services.FACTS_CHANGED
    assert list(Assessment.objects.current().filter(reading=reading)) == [second]
    assert second.result["limit"] == {"value": 1e-5, "unit": "m2K/W", "source": "as entered"}


def test_another_engine_is_named_as_the_reason(scene: Cast) -> None:
    reading = posted(scene)
    first = services.assess_reading(reading.pk)
    assert first is not None
    Assessment.objects.filter(pk=first.pk).update(engine_version="0.0.1")
    services.assess_reading(reading.pk)
    first.refresh_from_db()
    assert first.superseded_because.endswith("instead of 0.0.1")


def test_contradictory_readings_are_kept_as_an_assessment_without_a_number(scene: Cast) -> None:
    made = services.assess_reading(posted(scene, leaving_water_k=290.0).pk)
    assert made is not None and made.verdict == "undecided"
    assert made.fouling_m2k_per_w is None and made.probability_over_limit is None
    assert made.result["warnings"], "the reason must be told"


def test_what_the_engine_cannot_bear_is_kept_as_an_assessment_with_its_reason(scene: Cast) -> None:
    scene.unit.refrigerant = "R9999"
    scene.unit.save()
    reading = posted(scene)
    first = services.assess_reading(reading.pk)
    assert first is not None and first.verdict == "undecided"
    assert first.result["warnings"][0]["code"] == "not_computed"
    assert "R9999" in first.result["warnings"][0]["text"]
    again = services.assess_reading(reading.pk)
    assert again is not None and again.pk == first.pk, "a retry changes nothing"


def test_a_worker_that_runs_out_of_time_is_not_taken_for_a_finding(
    scene: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    from billiard.exceptions import SoftTimeLimitExceeded

    from diagnostics.engine import assessment

    def too_slow(*args: object, **kwargs: object) -> None:
        raise SoftTimeLimitExceeded

    monkeypatch.setattr(assessment, "assess", too_slow)
    with pytest.raises(SoftTimeLimitExceeded):
        services.assess_reading(posted(scene).pk)
    assert not Assessment.objects.exists()


def test_a_corrected_reading_loses_its_assessment(scene: Cast) -> None:
    wrong = posted(scene)
    services.assess_reading(wrong.pk)
    wrong.superseded_at = timezone.now()
    wrong.save()
    right = posted(scene, supersedes=wrong, correction_reason="misread gauge", fouling_m2k_per_w=1e-4)
    made = services.assess_reading(right.pk)
    assert made is not None
    old = Assessment.objects.get(reading=wrong)
    assert old.superseded_because == services.NO_LONGER_COUNTS
    assert services.assess_reading(wrong.pk) is None


def test_an_unknown_reading_is_an_error_and_leaves_nothing(scene: Cast) -> None:
    with pytest.raises(Reading.DoesNotExist):
        services.assess_reading(uuid.uuid4())
    assert not Assessment.objects.exists()


def test_facts_that_change_while_the_engine_computes_are_not_lost(
    scene: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, turns = services.judge, []

    def slow(inputs: selectors.Inputs) -> Any:
        answer = real(inputs)
        if not turns:
            scene.exchanger.fouling_limit_m2k_per_w = 9e-4
            scene.exchanger.save()
        turns.append(1)
        return answer

    monkeypatch.setattr(services, "judge", slow)
    made = services.assess_reading(posted(scene).pk)
    assert made is not None and made.result["limit"]["value"] == 9e-4
    assert len(turns) == 2


def test_facts_that_never_settle_are_judged_under_the_lock(
    scene: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, turns = services.judge, []

    def restless(inputs: selectors.Inputs) -> Any:
        turns.append(inputs.facts.fouling_limit_m2k_per_w)
        if len(turns) <= services.TRIES:  # afterwards the lock keeps others out
            scene.exchanger.fouling_limit_m2k_per_w = 1e-4 * len(turns)
            scene.exchanger.save()
        return real(inputs)

    monkeypatch.setattr(services, "judge", restless)
    made = services.assess_reading(posted(scene).pk)
    assert made is not None and made.result["limit"]["value"] == pytest.approx(1e-4 * services.TRIES)
    assert len(turns) == services.TRIES + 1 and Assessment.objects.count() == 1


def test_reassessing_an_exchanger_goes_through_its_readings_and_tells_how_far_it_is(scene: Cast) -> None:
    readings = [posted(scene, day=day) for day in (200, 300)]
    for reading in readings:
        services.assess_reading(reading.pk)
    UnitEvent.objects.create(
        unit=scene.unit, at=world.FIRST_DAY + dt.timedelta(days=100), what="charge_changed"
    )
    progress = world.Silent()
    kept = services.reassess_exchanger(scene.exchanger.pk, progress, because="charge changed")
    assert len(kept) == 4, "two clean visits and two routine ones"
    assert progress.told[-1][:2] == (4, 4)
    for reading in readings:
        old = Assessment.objects.get(reading=reading, superseded_at__isnull=False)
        assert old.superseded_because == "charge changed"


def test_reassessing_voids_what_rests_on_readings_set_aside(scene: Cast) -> None:
    reading = posted(scene)
    services.assess_reading(reading.pk)
    reading.superseded_at, reading.set_aside_because = timezone.now(), "entered twice"
    reading.save()
    services.reassess_exchanger(scene.exchanger.pk, world.Silent())
    assert not Assessment.objects.filter(reading=reading, superseded_at__isnull=True).exists()


def test_history_knows_nothing_of_later_readings_nor_of_what_was_taken_back(scene: Cast) -> None:
    late = posted(scene, day=400)
    reading = posted(scene, day=300)
    at = world.FIRST_DAY + dt.timedelta(days=50)
    UnitEvent.objects.create(unit=scene.unit, at=at, what="descaled")
    UnitEvent.objects.create(unit=scene.unit, at=at, what="charge_changed", taken_back_at=timezone.now())
    UnitEvent.objects.create(unit=scene.unit, at=late.taken_at, what="compressor_replaced")
    history = selectors.inputs_of(reading).history
    assert [one.purpose for one in history.readings] == ["clean_reference", "clean_reference"]
    assert [event.what for event in history.events] == ["descaled"]


def test_printed_pressures_count_from_sea_level_and_cut_outs_from_the_site(scene: Cast) -> None:
    scene.site.elevation_m = 1600.0
    scene.site.save()
    table = OperatingTable.objects.create(name="12 kW vertical", rating_includes_fouling=False)
    OperatingTableRow.objects.create(
        table=table, mode="cooling", head_low_pa_gauge=2e6, head_high_pa_gauge=2.2e6
    )
    scene.unit.operating_table, scene.unit.high_head_cutout_pa_gauge = table, 4e6
    scene.unit.save()
    inputs = selectors.inputs_of(posted(scene))
    assert inputs.history.tables[0].head_low_pa == 2e6 + 101_325.0
    # standard atmosphere at 1600 m: 83.5 kPa (ISO 2533 table, from memory)
    assert inputs.facts.high_head_cutout_pa == pytest.approx(4e6 + 83_500, abs=200)
    assert inputs.facts.rating_includes_fouling is False


def test_inputs_take_the_same_number_of_queries_however_long_the_history(
    scene: Cast, django_assert_num_queries: Any
) -> None:
    for day in range(200, 215):
        posted(scene, day=day)
    reading = posted(scene, day=300)
    with django_assert_num_queries(3):  # the reading with its rows, readings before it, events
        selectors.inputs_of(services._loaded(reading.pk))

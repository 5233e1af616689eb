"""A reading and the findings around it become a ranking of causes; what was said before stays beside it."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from contractor.register.models import UnitEvent
from contractor.visits.models import Finding, Reading
from contractor.visits.services import post_finding, post_readings, retire_finding
from contractor.workqueue.handlers import HANDLERS
from contractor.workqueue.models import WorkItem
from diagnostics.models import Assessment, Ranking
from diagnostics.ranking import services
from diagnostics.ranking.inputs import ranking_inputs
from diagnostics.services import assess_reading
from tests.cast import Cast
from tests.diagnostics import world

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings: Any, tmp_path: Any) -> None:
    settings.SIGNATURES_DIR = tmp_path / "signatures"


@pytest.fixture
def scene(cast: Cast) -> Cast:
    world.know(cast.exchanger)
    world.clean_visits(cast.visit, cast.exchanger, cast.assigned)
    return cast


def posted(cast: Cast, day: int = 300, **given: Any) -> Reading:
    return world.reading(cast.visit, cast.exchanger, cast.assigned, day=day, **given)


def ranked(reading: Reading) -> Ranking:
    made = services.rank_reading(reading.pk)
    assert made is not None
    return made


def heeded(finding: Finding, reading: Reading) -> Ranking:
    """The ranking of one reading after a finding, by what the queue would do."""
    made = {one.reading_id: one for one in services.rank_after_finding(finding.pk)}
    return made[reading.pk]


def found(cast: Cast, kind: str, value: str = "", **given: Any) -> Finding:
    given.setdefault("found_at", world.FIRST_DAY + dt.timedelta(days=300, hours=1))
    fields = {"visit": cast.visit, "unit": cast.unit, "kind": kind, "value": value, **given}
    return post_finding(cast.assigned, fields).finding


def test_a_ranking_names_every_cause_and_says_why_no_acid_yet(scene: Cast) -> None:
    made = ranked(posted(scene, fouling_m2k_per_w=world.HEAVY))
    chances = [one["probability"] for one in made.result["causes"]]
    assert len(chances) == 21 and sum(chances) == pytest.approx(1.0, abs=1e-4)
    assert chances == sorted(chances, reverse=True)
    assert made.why_not_chemical and not made.chemical_is_reasonable
    assert made.leading_cause == made.result["causes"][0]["cause"]


def test_ranking_twice_on_the_same_inputs_keeps_the_first(scene: Cast) -> None:
    reading = posted(scene)
    assert ranked(reading).pk == ranked(reading).pk
    assert Ranking.objects.filter(reading=reading).count() == 1


def test_a_new_finding_makes_a_new_ranking_and_the_old_one_stays_with_the_visit(scene: Cast) -> None:
    reading = posted(scene, fouling_m2k_per_w=world.HEAVY, strainer="")
    first = ranked(reading)
    finding = found(scene, "strainer", "blocked")
    second = heeded(finding, reading)
    first.refresh_from_db()
    assert first.superseded_at is not None and first.superseded_because == services.KNOWN_MORE
    assert second.do_next.startswith("Clean the strainer (blocked)")
    assert list(Ranking.objects.filter(reading=reading, reading__visit=scene.visit)) == [second, first]


def test_a_finding_taken_back_no_longer_counts(scene: Cast) -> None:
    reading = posted(scene, strainer="")
    first = ranked(reading)
    finding = found(scene, "strainer", "blocked")
    services.rank_after_finding(finding.pk)
    retire_finding(scene.assigned, finding, timezone.now())
    last = heeded(finding, reading)
    assert last.result == first.result


def test_a_finding_at_another_exchanger_of_the_unit_says_nothing_of_this_one(scene: Cast) -> None:
    from tests import make

    other = make.exchanger(scene.unit, name="2")
    reading = posted(scene, strainer="")
    finding = found(scene, "strainer", "blocked", exchanger=other)
    assert services.rank_after_finding(finding.pk) == []
    assert ranking_inputs(services.loaded(reading.pk)).findings.checks == {}


@pytest.mark.parametrize(
    ("kind", "value", "check", "outcome"),
    [
        ("flow_control", "wrong", "look_at_flow_control", "wrong"),
        ("hoses", "crossed", "trace_hoses", "crossed"),
        ("hoses", "kinked", "look_at_flow_control", "wrong"),
        ("cutout_setting", "drifted", "check_cutouts", "drifted"),
        ("freeze_sensor", "set_for_water", "check_cutouts", "drifted"),
        ("loop_flow", "short", "ask_the_loop", "short"),
        ("strainer_cleaned", "flow_restored", "open_strainer", "blocked"),
        ("back_flush", "no_change", "back_flush", "no_change"),
        ("static_test", "above_saturation", "static_test", "above_saturation"),
        ("charge", "too_much", "weigh_charge", "too_much"),
        ("reversing_valve", "leaks", "feel_reversing_valve", "leaks"),
    ],
)
def test_what_the_crew_found_is_the_outcome_of_a_check(
    scene: Cast, kind: str, value: str, check: str, outcome: str
) -> None:
    reading = posted(scene, strainer="")
    found(scene, kind, value)
    checks = ranking_inputs(services.loaded(reading.pk)).findings.checks
    assert checks == {check: outcome}


def test_a_strainer_cleaned_before_the_reading_was_clean_at_the_reading(scene: Cast) -> None:
    reading = posted(scene, strainer="")
    before = reading.taken_at - dt.timedelta(minutes=20)
    found(scene, "strainer", "blocked", found_at=before)
    found(scene, "strainer_cleaned", "flow_restored", found_at=before + dt.timedelta(minutes=5))
    checks = ranking_inputs(services.loaded(reading.pk)).findings.checks
    assert checks == {"open_strainer": "clean"}


def test_a_static_test_typed_with_its_units_is_held_against_saturation(scene: Cast) -> None:
    reading = posted(scene, fouling_m2k_per_w=world.HEAVY)
    before = ranked(reading).result
    # R410A at 20 degC: 1446 kPa absolute at saturation; 1800 kPa is far above (CoolProp)
    typed = {"static_pressure": {"value": "1800", "unit": "kPa_abs"},
             "static_coldest": {"value": "20", "unit": "degC"}}  # fmt: skip
    finding = found(scene, "static_test", as_typed=typed)
    assert finding.value == "measured" and finding.static_pressure_pa == pytest.approx(1.8e6)
    after = heeded(finding, reading)

    def gas(result: dict[str, Any]) -> float:
        return next(one["probability"] for one in result["causes"] if one["cause"] == "non_condensables")

    assert gas(after.result) > 0.45 > gas(before)  # a pair counts half for each of its two


def test_a_descale_in_vain_reopens_the_question(scene: Cast) -> None:
    reading = posted(scene, fouling_m2k_per_w=world.HEAVY, back_flush="no_change")
    before = ranked(reading)
    finding = services.tell_descale(
        scene.assigned, scene.visit, scene.exchanger, brought="nothing", changed="no_change",
        found_at=reading.taken_at + dt.timedelta(hours=4),
    )  # fmt: skip
    after = heeded(finding, reading)
    assert "scale was probably not the cause" in after.reopened and before.reopened == ""
    assert after.fouled_probability < before.fouled_probability
    assert after.why_not_chemical.startswith("Not acid again")
    assert after.do_next.startswith("The question is open again")


def test_a_descale_that_brought_solids_and_helped_reopens_nothing(scene: Cast) -> None:
    reading = posted(scene, fouling_m2k_per_w=world.HEAVY)
    before = ranked(reading)
    finding = services.tell_descale(
        scene.assigned, scene.visit, scene.exchanger, brought="solids", changed="better",
        found_at=reading.taken_at + dt.timedelta(hours=4),
    )  # fmt: skip
    services.rank_after_finding(finding.pk)
    after = Ranking.objects.get(reading=reading, superseded_at=None)
    assert after.reopened == "" and after.fouled_probability >= before.fouled_probability


def test_an_approach_that_the_descale_left_as_it_was_reopens_the_question(scene: Cast) -> None:
    before = posted(scene, fouling_m2k_per_w=world.HEAVY, purpose="before_descale")
    ranked(before)
    after = posted(scene, day=301, fouling_m2k_per_w=world.HEAVY, purpose="after_descale")
    for one in (before, after):
        assess_reading(one.pk)
    services.follow_assessment(after)
    asked = set(WorkItem.objects.filter(kind="rank").values_list("subject", flat=True))
    assert str(before.pk) in asked
    assert "changed nothing" in ranked(before).reopened
    assert "changed nothing" in ranked(after).reopened


def test_the_assessment_and_the_ranking_say_the_same_next_step(scene: Cast) -> None:
    reading = posted(scene, fouling_m2k_per_w=world.HEAVY, strainer="")
    assess_reading(reading.pk)
    made = ranked(reading)
    row = Assessment.objects.get(reading=reading, superseded_at=None)
    assert row.do_next == made.do_next
    again = heeded(found(scene, "strainer", "dirty"), reading)
    row.refresh_from_db()
    assert again.do_next != made.do_next and row.do_next == again.do_next
    assert row.result["do_next"]  # what the surface alone would have said is kept


def test_no_acid_is_proposed_on_a_surface_called_clean(scene: Cast) -> None:
    reading = posted(scene, back_flush="no_change")
    assess_reading(reading.pk)
    made = ranked(reading)
    assert made.why_not_chemical.startswith("Not acid")


def test_posting_a_reading_asks_for_its_ranking_soon(scene: Cast) -> None:
    now = timezone.now()
    fields = {"visit": scene.visit, "exchanger": scene.exchanger, "mode": "cooling", "taken_at": now,
              "as_typed": {"entering_water": {"value": "30", "unit": "degC"}}}  # fmt: skip
    done = post_readings(scene.assigned, fields, now)
    item = WorkItem.objects.get(kind="rank")
    assert (item.subject, item.lane, done.ranking_item) == (str(done.reading.pk), "soon", item)
    result = HANDLERS["rank"](item, world.Silent())  # type: ignore[arg-type]
    assert result is not None and result["do_next"] and result["address"].startswith("/api/v1/rankings/")


def test_a_note_or_a_photo_ranks_nothing_anew(scene: Cast) -> None:
    posted(scene)
    assert (
        post_finding(scene.assigned, {"visit": scene.visit, "unit": scene.unit, "kind": "note"}).work_item
        is None
    )


def test_a_reading_that_was_corrected_has_no_ranking_that_stands(scene: Cast) -> None:
    reading = posted(scene)
    made = ranked(reading)
    Reading.objects.filter(pk=reading.pk).update(superseded_at=timezone.now())
    assert services.rank_reading(reading.pk) is None
    made.refresh_from_db()
    assert made.superseded_because == services.NO_LONGER_COUNTS and not Ranking.objects.current().exists()


def test_growth_and_water_are_known_to_the_ranking(scene: Cast) -> None:
    from contractor.register.models import WaterTest

    WaterTest.objects.create(
        site=scene.site, taken_at=world.FIRST_DAY, ph=8.2, dissolved_solids_mg_per_l=1000,
        calcium_hardness_mg_per_l_as_caco3=500, alkalinity_mg_per_l_as_caco3=100,
    )  # fmt: skip
    from tests import make

    before = make.visit(scene.site, [scene.assigned])
    earlier = world.reading(before, scene.exchanger, scene.assigned, day=150, fouling_m2k_per_w=3e-4)
    reading = posted(scene, fouling_m2k_per_w=world.HEAVY)
    for one in (earlier, reading):
        assess_reading(one.pk)
    known = ranking_inputs(services.loaded(reading.pk)).background
    assert [one.days_before for one in known.earlier][:1] == [150.0]
    assert known.saturation_index is not None and known.saturation_index > 0.5
    UnitEvent.objects.create(unit=scene.unit, at=world.FIRST_DAY + dt.timedelta(days=200), what="descaled")
    assert ranking_inputs(services.loaded(reading.pk)).background.earlier == ()


def test_readings_of_absurd_size_are_answered_without_acid(scene: Cast) -> None:
    made = ranked(posted(scene, head_pressure_pa=1e12, entering_water_k=1e9))
    assert made.why_not_chemical and made.do_next


def test_signatures_are_kept_for_other_processes(scene: Cast, settings: Any) -> None:
    from diagnostics.engine.causes import signatures

    reading = posted(scene)
    signatures._signatures.cache_clear()
    first = ranked(reading).result
    files = list(settings.SIGNATURES_DIR.glob("*.npz"))
    assert files
    Ranking.objects.all().delete()
    signatures._signatures.cache_clear()
    files[0].write_bytes(b"cut off")
    assert ranked(reading).result == first


def test_an_exchanger_assessed_again_has_what_was_ranked_ranked_again(scene: Cast) -> None:
    reading, never = posted(scene), posted(scene, day=200)
    ranked(reading)
    item = WorkItem.objects.create(kind="reassess", subject=str(scene.exchanger.pk))
    HANDLERS["reassess"](item, world.Silent())  # type: ignore[arg-type]
    asked = WorkItem.objects.filter(kind="rank").values_list("subject", "lane")
    assert list(asked) == [(str(reading.pk), "bulk")] and str(never.pk) not in dict(asked)

"""A plan is refused where it is unsafe: every metal with every acid, by service, API and choice."""

from __future__ import annotations

import datetime as dt
from itertools import product
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from contractor.descales import services
from contractor.descales.planning import Asked
from contractor.http.problems import Problem
from contractor.register.models import WaterTest
from contractor.visits.models import Finding
from contractor.workqueue.models import WorkItem
from diagnostics.engine.descaling.cleaners import CLEANERS
from diagnostics.engine.descaling.metals import METALS, compatibility
from tests import make
from tests.cast import as_person
from tests.descales import world

pytestmark = pytest.mark.django_db


def codes(of: world.Job, **asked: Any) -> list[str]:
    """What the service refuses with; empty where it queued the plan."""
    try:
        services.request_plan(of.technician, of.descale, of.cleaner, of.rig, Asked(**asked), of.now)
    except Problem as refused:
        assert refused.kind == "plan-refused"
        return [str(error["code"]) for error in refused.errors]
    return []


def post_plan(of: world.Job, **more: Any) -> Any:
    sent = {"cleaner": str(of.cleaner.pk), "rig": str(of.rig.pk), **more}
    return as_person(of.technician).post(f"/api/v1/descales/{of.descale.pk}/plan/", sent)


@pytest.mark.parametrize(("metal", "sheet"), list(product(METALS, CLEANERS)))
def test_every_metal_with_every_acid_as_the_table_says_by_service_api_and_choice(
    metal: str, sheet: str
) -> None:
    job = world.agreed(world.job(sheet))
    job.exchanger.metal = metal
    job.exchanger.wetted_materials = {**world.WETTED, "joints": "not_fitted", "valve_bodies": "not_fitted",
                                      "strainer": "not_fitted", "fittings": "not_fitted",
                                      "hose_ports": "not_fitted", "gaskets": "ptfe"}  # fmt: skip
    job.exchanger.save()
    job.rig.wetted_materials = dict.fromkeys(world.RIG_WETTED, "ptfe")
    job.rig.save()
    kept = CLEANERS[sheet]
    states = {compatibility(metal, acid).state for acid in kept.acids}
    forbidden = "forbidden" in states or metal in kept.forbids
    refused = forbidden or ("only_inhibited" in states and not kept.inhibited)
    found = set(codes(job)) & {"forbidden_material", "only_inhibited"}
    assert bool(found) == refused
    answer = post_plan(job)
    assert answer.status_code == (409 if refused else 202), answer.data
    [choice] = services.choose_cleaner(job.technician, job.descale, job.rig, Asked(), job.now)
    assert bool(choice.refusals) == refused


def test_without_the_customers_yes_there_is_no_plan() -> None:
    assert codes(world.job()) == ["no_consent"]


@pytest.mark.parametrize(
    ("place", "column", "value", "code"),
    [
        ("exchanger", "metal", "", "unknown_material"),
        ("exchanger", "heats_drinking_water", True, "drinking_water"),
        ("exchanger", "heats_drinking_water", None, "drinking_water_unknown"),
        ("unit", "low_side_rating_pa_gauge", None, "low_side_rating_not_known"),
        ("unit", "relief_setting_pa_gauge", None, "relief_setting_not_known"),
        ("rig", "tank_volume_m3", None, "rig_incomplete"),
        ("rig", "wetted_materials", {}, "unknown_material"),
        ("cleaner", "protection", [], "sheet_incomplete"),
    ],
)
def test_what_is_not_known_or_not_ours_refuses(place: str, column: str, value: Any, code: str) -> None:
    job = world.agreed(world.job())
    row = {"exchanger": job.exchanger, "unit": job.exchanger.unit, "rig": job.rig, "cleaner": job.cleaner}[
        place
    ]
    type(row).objects.filter(pk=row.pk).update(**{column: value})
    row.refresh_from_db()
    assert code in codes(job)


def test_what_a_sheet_lacks_is_told_without_the_units_of_its_columns() -> None:
    job = world.agreed(world.job())
    lacking = {"highest_temperature_k": None, "longest_time_s": None, "copper_limit_mg_per_l": None}
    type(job.cleaner).objects.filter(pk=job.cleaner.pk).update(**lacking)
    [choice] = services.choose_cleaner(job.technician, job.descale, job.rig, Asked(), job.now)
    [words] = [each.words for each in choice.refusals if each.code == "sheet_incomplete"]
    assert words == "The cleaner's sheet lacks highest temperature, longest time, copper limit."


@pytest.mark.parametrize(
    ("treatments", "black_slime", "code"),
    [([], False, "treatment_unknown"), (["none"], True, "sulphide"), (["none"], None, "slime_unknown")],
)
def test_the_waters_treatment_is_asked(treatments: list[str], black_slime: bool | None, code: str) -> None:
    job = world.agreed(world.job())
    WaterTest.objects.update(treatments=treatments, black_slime=black_slime)
    assert codes(job) == [code]


@pytest.mark.parametrize("treatment", ["nitrite", "sulphite", "chlorine", "bromine"])
def test_treated_water_is_flushed_until_a_strip_shows_none_before_the_dose_screen_opens(
    treatment: str,
) -> None:
    job = world.job()
    WaterTest.objects.update(treatments=[treatment])
    world.checked(world.noticed(job))
    assert services.may_dose(job.fresh(), job.at(60)).open
    told = world.check(job, "treatment_flushed", 50.0, strip_mg_per_l=25.0)
    assert told.row.marks == ["does_not_pass"]
    shut = services.may_dose(job.fresh(), job.at(60))
    assert not shut.open and "flush on" in shut.reasons[0].words
    world.check(job, "treatment_flushed", 55.0, outcome="not_needed")
    assert not services.may_dose(job.fresh(), job.at(60)).open


def test_a_tank_without_room_for_drain_back_and_foam_is_refused_with_what_it_would_take() -> None:
    # by hand: 3.0 L exchanger, pi/4 (19 mm)^2 8 m = 2.27 L hoses, 30 L working level: 35.3 L; x 3/2 = 52.9 L
    job = world.agreed(world.job())
    assert codes(job, working_level_m3=0.030) == []
    type(job.rig).objects.filter(pk=job.rig.pk).update(tank_volume_m3=0.052)
    job.rig.refresh_from_db()
    with pytest.raises(Problem) as refused:
        services.request_plan(
            job.technician, job.descale, job.cleaner, job.rig, Asked(working_level_m3=0.030), job.now
        )
    assert [error["code"] for error in refused.value.errors] == ["tank_too_small"]
    assert "53 L" in str(refused.value.detail)


def test_strength_off_the_label_deposits_acid_does_not_dissolve_and_pits_are_refused() -> None:
    job = world.agreed(world.job())
    assert codes(job, strength=0.30) == ["strength_off_the_label"]
    for deposit in ("silica", "sulphate", "slime", "mud"):
        assert codes(job, deposit=deposit) == ["acid_is_the_wrong_tool"]
    assert codes(job, in_a_pit=True) == ["confined_space"]
    assert codes(job, in_a_pit=True, confined_space_permit="CS-12") == []


def test_a_pump_that_cannot_lift_the_solution_is_refused() -> None:
    assert codes(world.agreed(world.job()), highest_point_m=30.0) == ["pump_does_not_lift"]


def test_quiet_hours_are_kept_unless_the_customer_agreed() -> None:
    job = world.agreed(world.job())
    site = job.exchanger.unit.site
    site.quiet_from, site.quiet_until = dt.time(20), dt.time(6)
    site.save()
    evening = dt.datetime(2027, 3, 3, 18, 0, tzinfo=dt.UTC)
    assert codes(job, starts_at=evening) == ["quiet_hours"]
    assert codes(job, starts_at=evening.replace(hour=8)) == []
    consent = job.descale.consent
    consent.quiet_hours_too = True
    consent.save()
    assert codes(job, starts_at=evening) == []


def test_a_cleaner_whose_every_lot_has_lapsed_is_refused() -> None:
    job = world.agreed(world.job())
    job.lot.expires_on = job.now.date() - dt.timedelta(days=1)
    job.lot.save()
    assert codes(job) == ["lots_lapsed"]


def test_a_plan_that_is_refused_says_every_reason_at_once_over_the_api() -> None:
    job = world.job()
    type(job.exchanger).objects.filter(pk=job.exchanger.pk).update(metal="", heats_drinking_water=True)
    answer = post_plan(job)
    assert answer.status_code == 409 and answer.data["type"] == "/api/v1/problems/plan-refused/"
    found = [error["code"] for error in answer.data["errors"]]
    assert found == ["no_consent", "drinking_water", "unknown_material"]
    assert not WorkItem.objects.filter(kind="plan_descale").exists()


def test_the_plans_amounts_are_those_of_a_hand_calculation() -> None:
    """Sulfamic acid, 10 %: 29.27 L x 1.048 kg/L x 0.10 = 3.067 kg acid, / 0.95 = 3.229 kg product."""
    job = world.agreed(world.job())
    plan = world.planned_again(job, working_level_m3=0.024)
    assert plan.solution_m3 == pytest.approx(0.003 + 0.0022682 + 0.024, rel=1e-3)
    bath = plan.result["bath"]
    assert bath["acid_kg"] == pytest.approx(3.067, rel=2e-3)
    assert bath["product_kg"] == pytest.approx(3.229, rel=2e-3)
    assert sum(bath["portions_kg"]) == pytest.approx(bath["product_kg"]) and len(bath["portions_kg"]) >= 4
    # 2 mol of acid (97.094 g) to 1 mol of carbonate (100.087 g), two thirds used: 3.067 x 0.5154 x 2/3
    assert plan.result["one_batch_dissolves_kg"] == pytest.approx(1.0538, rel=3e-3)
    # UFC 3-240-13FN 9-2.5.3: strong acid 1 to 2 h, and half an hour of no change
    assert 1800 < plan.result["time_s"]["low"] < plan.result["time_s"]["high"] <= 2.5 * 3600 * 2


def test_the_same_inputs_give_the_same_plan_and_others_take_its_place() -> None:
    job = world.agreed(world.job())
    first = world.planned_again(job)
    assert world.planned_again(job) == first
    second = world.planned_again(job, strength=0.08)
    first.refresh_from_db()
    assert first.superseded_at is not None and second.stands
    assert services.current_plan(job.descale) == second
    assert job.fresh().state == "planned"


def test_mild_comes_before_strong_unless_the_unit_was_not_descaled_for_years() -> None:
    job = world.job("sulfamic")
    mild = world.cleaner("phosphoric")
    order = services.choose_cleaner(job.technician, job.descale, job.rig, Asked(), job.now)
    assert [one.cleaner for one in order] == [mild, job.cleaner]
    job.exchanger.unit.events.create(at=job.now - dt.timedelta(days=3000), what="descaled")
    order = services.choose_cleaner(job.technician, job.descale, job.rig, Asked(), job.now)
    assert [one.cleaner for one in order] == [job.cleaner, mild]


def test_a_client_asks_for_no_plan() -> None:
    job = world.agreed(world.job())
    client = make.client_of(job.exchanger.unit.site.customer)
    sent = {"cleaner": str(job.cleaner.pk), "rig": str(job.rig.pk)}
    assert as_person(client).post(f"/api/v1/descales/{job.descale.pk}/plan/", sent).status_code == 404


# --- what the deposit likely is
def found(of: world.Job, kind: str, **given: Any) -> None:
    Finding.objects.create(visit=of.descale.visit, unit=of.exchanger.unit, found_by=of.technician, kind=kind,
                           **given)  # fmt: skip


def test_mud_from_the_back_flush_says_that_acid_is_the_wrong_tool_and_what_is_right() -> None:
    job = world.agreed(world.job())
    likely = services.deposit_expected(job.technician, job.descale)
    assert likely.kinds[0][0] == "carbonate" and likely.wrong_tool is None
    found(job, "back_flush", value="flow_restored", brought="mud")
    answer = as_person(job.technician).get(f"/api/v1/descales/{job.descale.pk}/deposit/").data
    # by hand, Bayes: carbonate 0.45 x 0.5 x 0.3, iron 0.20 x 0.6, slime 0.12 x 2, mud 0.15 x 10 x 5,
    # sulphate 0.03 x 0.3, silica 0.05 x 0.3: mud 7.5 of 7.95
    assert answer["kinds"]["mud"] == pytest.approx(7.5 / 7.9515, rel=1e-3)
    assert answer["acid_is_the_wrong_tool"] and "flushed" in answer["right_tool"]
    assert "acid_is_the_wrong_tool" in codes(job)
    [choice] = services.choose_cleaner(job.technician, job.descale, job.rig, Asked(), job.now)
    assert [one.code for one in choice.refusals] == ["acid_is_the_wrong_tool"]
    assert codes(job, deposit="calcium_carbonate") == []  # somebody saw a flake fizz


def test_silica_in_the_water_and_acid_in_vain_speak_against_acid() -> None:
    job = world.agreed(world.job())
    WaterTest.objects.update(silica_mg_per_l=180.0)
    found(job, "descale", value="no_change", brought="nothing")
    likely = services.deposit_expected(job.technician, job.descale)
    assert set(likely.signs) == {"silica_limit", "acid_did_nothing_before"}
    assert likely.kinds[0][0] == "silica" and "silica" in str(likely.wrong_tool)


def test_strength_product_and_time_stand_beside_each_cleaner() -> None:
    job = world.job()
    [choice] = services.choose_cleaner(job.technician, job.descale, job.rig, Asked(), job.now)
    plan = world.planned(job)
    assert choice.strength == plan.strength
    assert choice.product_kg == pytest.approx(plan.result["bath"]["product_kg"], rel=0.05)
    assert choice.time_s is not None and choice.time_s.value == plan.result["time_s"]["value"]
    assert (
        "titration decides" in choice.remarks[-1] and choice.batches is None
    )  # no assessment tells a fouling


def test_the_list_of_cleaners_asks_no_more_the_more_there_are() -> None:
    job = world.job()
    path = f"/api/v1/descales/{job.descale.pk}/cleaners/?rig={job.rig.pk}"

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert as_person(job.technician).get(path).status_code == 200
        return len(queries)

    first = asked()
    for sheet in ("citric", "phosphoric", "glycolic_formic"):
        world.cleaner(sheet)
    assert asked() <= first + 3  # the lots of each

"""The end, step by step: what is never waived, what stays open by name, waste, proof, signature."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

import pytest
from django.core.files.base import ContentFile

from contractor.accounts.models import Role
from contractor.descales import services
from contractor.descales.models import Discharge, EndStep
from contractor.descales.words import AFTER_SERVICE, END_STEPS, NEVER_WAIVED
from contractor.http.problems import Problem
from contractor.register import papers
from contractor.register import services as register
from contractor.register.models import ClientAccess
from contractor.workqueue.models import WorkItem
from tests import make
from tests.cast import as_person
from tests.descales import world

pytestmark = pytest.mark.django_db
IN_ORDER = [kind for kind in END_STEPS if kind not in AFTER_SERVICE]


def with_acid() -> world.Job:
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    return job


def put_back(job: world.Job, without: str = "") -> None:
    for place, kind in enumerate(IN_ORDER):
        if kind != without:
            world.step(job, kind, 240.0 + place)


def test_back_in_service_when_every_step_is_done() -> None:
    job = with_acid()
    assert world.step(job, "drained").row.marks == []
    assert job.fresh().state == "rinsing" and not services.clocks_running(job.office)
    put_back(job, without="drained")
    assert job.fresh().state == "in_service"
    assert services.what_lacks(job.fresh()) == ()


@pytest.mark.parametrize("kind", NEVER_WAIVED)
def test_never_waived_not_by_name_not_as_unneeded_not_by_leaving_it_out(kind: str) -> None:
    job = with_acid()
    put_back(job, without=kind)
    assert job.fresh().state == "rinsing"
    with pytest.raises(Problem) as refused:
        world.step(job, kind, outcome="left_open", told="A. Chief, no time")
    assert "never left open" in str(refused.value.detail)
    assert not EndStep.objects.filter(kind=kind).exists()
    world.step(job, kind, 280.0, outcome="not_needed", told="A. Chief")
    world.step(job, kind, 281.0, outcome="failed")
    assert [one.code for one in services.what_lacks(job.fresh())] == [kind]
    assert job.fresh().state == "rinsing"
    world.step(job, kind, 282.0)
    assert job.fresh().state == "in_service"


@pytest.mark.parametrize("kind", [kind for kind in IN_ORDER if kind not in (*NEVER_WAIVED, "drained")])
def test_the_others_stay_open_by_name_and_reason_only(kind: str) -> None:
    job = with_acid()
    put_back(job, without=kind)
    with pytest.raises(Problem):
        world.step(job, kind, outcome="left_open", told=" ")
    world.step(job, kind, 280.0, outcome="left_open", told="A. Chief: part to come")
    assert job.fresh().state == "in_service"


def test_the_database_itself_refuses_a_waiver_of_what_is_never_waived() -> None:
    from django.db import IntegrityError, transaction

    job = with_acid()
    with pytest.raises(IntegrityError), transaction.atomic():
        EndStep.objects.bulk_create([
            EndStep(descale=job.descale, by=job.technician, at=job.now, kind="final_rinse",
                    outcome="left_open", told="A. Chief")
        ])  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "given", "words"),
    [
        ("final_rinse", {"ph": 6.2}, "pH not yet the supply's"),
        ("final_rinse", {"as_typed": {**world.END_READINGS["final_rinse"]["as_typed"],
                                      "duration": {"value": "3", "unit": "minute"}}}, "five minutes"),
        ("final_rinse", {"as_typed": {**world.END_READINGS["final_rinse"]["as_typed"],
                                      "conductivity": {"value": "600", "unit": "uS/cm"}}}, "conductivity"),
        ("balancing_back", {"told": "2 turns"}, "noted at '3.5 turns'"),
        ("second_hold_test", {"as_typed": {**world.GAUGE, "duration": {"value": "5", "unit": "minute"}}},
         "5 minutes"),
        ("antifreeze_back", {"as_typed": {"freeze_setting": {"value": "-2", "unit": "degC"}}}, "not agree"),
        ("flow_proven", {"as_typed": {}}, "flow that was read"),
        ("refrigerant_detector", {"as_typed": {"static_pressure": {"value": "13", "unit": "bar_abs"}}},
         "below that before"),
    ],
)  # fmt: skip
def test_a_step_told_as_done_is_judged_by_its_reading(kind: str, given: dict[str, Any], words: str) -> None:
    job = with_acid()
    told = world.step(job, kind, **given)
    assert "does_not_pass" in told.row.marks and words in told.row.note
    assert kind in [one.code for one in told.do_now]


def test_glycol_back_at_a_strength_and_a_setting_that_do_not_agree_does_not_pass() -> None:
    # ASHRAE Fundamentals: 20 % propylene glycol by volume freezes at about -7 degC, 30 % at about -13
    job = with_acid()
    site = job.exchanger.unit.site
    site.antifreeze, site.antifreeze_fraction = "propylene_glycol", 0.3
    site.save()
    setting = {"as_typed": {"freeze_setting": {"value": "-9", "unit": "degC"}}}
    weak = world.step(job, "antifreeze_back", 250.0, antifreeze_fraction=0.2, **setting)
    assert "does_not_pass" in weak.row.marks
    right = world.step(job, "antifreeze_back", 251.0, antifreeze_fraction=0.3, **setting)
    assert "does_not_pass" not in right.row.marks


def test_running_before_what_is_never_waived_is_kept_marked_and_told_to_the_office() -> None:
    job = with_acid()
    world.step(job, "drained")
    told = world.step(job, "run", 250.0)
    assert {"out_of_order", "unsafe"} <= set(told.row.marks)
    assert job.fresh().state == "rinsing"
    assert [i.payload["code"] for i in WorkItem.objects.filter(kind="descale_alarm")] == ["unsafe_step"]


def test_drained_told_before_its_batch_and_looks_ends_where_the_right_order_does() -> None:
    job = world.checked(world.noticed(world.job()))
    plan = services.current_plan(job.descale)
    assert plan is not None
    put_back(job)
    assert job.fresh().state == "checking"
    batch = world.mix(job, 60.0).row
    batch.refresh_from_db()
    assert batch.out_at == job.at(240.0)
    assert job.fresh().state == "in_service"


# --- waste
def discharge(job: world.Job, **given: Any) -> services.Told:
    fields = {"at": job.at(300), "water": "bath", "route": "sewer", "ph": 7.0,
              "as_typed": {"volume": {"value": "30", "unit": "L"},
                           "temperature": {"value": "22", "unit": "degC"}}, **given}  # fmt: skip
    return services.record_discharge(job.technician, job.descale, fields, job.at(301))


def test_within_the_sites_limits_nothing_stands_against_a_discharge() -> None:
    told = discharge(with_acid())
    assert told.row.exceedances == [] and told.do_now == ()
    assert told.row.volume_m3 == pytest.approx(0.030)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"ph": 4.5}, "below 5"),
        ({"ph": 1.8}, "hazardous waste"),
        ({"ph": 12.6}, "hazardous waste"),
        ({"ph": 5.5}, "outside the site's 6 to 10"),
        ({"ph": None}, "the pH was not read"),
        ({"route": "storm_drain"}, "storm drain"),
        ({"route": "well"}, "well"),
    ],
)
def test_beyond_the_limits_it_is_kept_as_an_exceedance_and_the_office_hears(
    given: dict[str, Any], words: str
) -> None:
    """40 CFR 403.5(b)(2), 40 CFR 261.22 and the site's own limits."""
    job = with_acid()
    told = discharge(job, **given)
    assert words in told.row.exceedances[0] and told.row.marks == ["exceedance"]
    assert told.do_now[0].urgent
    assert "exceedance" in [i.payload["code"] for i in WorkItem.objects.filter(kind="descale_alarm")]
    assert list(Discharge.objects.exceeding()) == [told.row]


def test_metals_that_the_site_limits_are_measured_or_count_against_it() -> None:
    job = with_acid()
    site = job.exchanger.unit.site
    site.discharge_copper_mg_per_l = 3.0
    site.save()
    assert "has not been measured" in discharge(job).row.exceedances[0]
    assert "above 3 mg/L" in discharge(job, copper_mg_per_l=40.0).row.exceedances[0]
    assert discharge(job, copper_mg_per_l=1.0).row.exceedances == []


def test_a_held_bath_is_on_the_offices_list_with_its_age_until_it_is_fetched() -> None:
    job = with_acid()
    fields = {"at": job.now - dt.timedelta(days=3), "water": "bath", "where": "plant room", "whose": "office"}
    waste = services.hold_waste(job.technician, job.descale, fields, job.now).row
    office = as_person(job.office)
    [shown] = office.get("/api/v1/held-waste/", {"there": "true"}).data["results"]
    assert shown["age_days"] == pytest.approx(3.0, abs=0.02)
    answer = office.post(f"/api/v1/held-waste/{waste.pk}/collected/", {"who": "haulier, note 12"},
                         headers={"If-Match": "*"})  # fmt: skip
    assert answer.status_code == 200, answer.data
    assert office.get("/api/v1/held-waste/", {"there": "true"}).data["results"] == []


def test_a_client_reads_notices_and_discharges_of_their_own_and_nothing_of_the_work() -> None:
    job = with_acid()
    discharge(job)
    client = as_person(make.client_of(job.exchanger.unit.site.customer))
    other = as_person(make.client_of(make.customer()))
    for address in ("/api/v1/discharges/", "/api/v1/descale-notices/"):
        assert len(client.get(address).data["results"]) == 1
        assert other.get(address).data["results"] == []
    assert client.get("/api/v1/descales/").status_code == 403
    assert client.get(f"/api/v1/descales/{job.descale.pk}/").status_code == 404


def test_lists_ask_the_same_number_of_queries_however_long(django_assert_max_num_queries: Any) -> None:
    jobs = [with_acid()]
    jobs[0].cleaner.name = "first"
    jobs[0].cleaner.save()
    for _ in range(2):
        discharge(jobs[0])
    office = as_person(jobs[0].office)
    for address in ("descales/", "discharges/", "held-waste/", "descale-notices/", "descale-plans/"):
        with django_assert_max_num_queries(3):
            assert office.get(f"/api/v1/{address}").status_code == 200


def test_a_signature_is_strokes_of_points_within_the_field() -> None:
    job = with_acid()
    signed = {"at": job.at(400), "signs_as": "customer", "name": "M. Facility"}
    for strokes in ([], "scrawl", [[[0.1, 2.0], [0.2, 0.3]]], [[[0.1, True], [0.2, 0.3]]], [[[0.5, 0.5]]]):
        with pytest.raises(Problem):
            services.sign(job.technician, job.descale, {**signed, "strokes": strokes}, job.at(401))
    good = {**signed, "strokes": [[[0.1, 0.5], [0.2, 0.4]]]}
    assert services.sign(job.technician, job.descale, good, job.at(401)).row.name == "M. Facility"


def test_a_name_typed_and_confirmed_signs_too_and_is_kept_as_typed() -> None:
    job = with_acid()
    signed = {"at": job.at(400), "signs_as": "customer", "name": "M. Facility"}
    drawn = [[[0.1, 0.5], [0.2, 0.4]]]
    with pytest.raises(Problem):
        services.sign(job.technician, job.descale, {**signed, "typed": True, "strokes": drawn}, job.at(401))
    kept = services.sign(job.technician, job.descale, {**signed, "typed": True}, job.at(401)).row
    assert (kept.typed, kept.strokes) == (True, [])
    assert not services.sign(job.technician, job.descale, {**signed, "strokes": drawn}, job.at(402)).row.typed


@pytest.mark.parametrize("place", ["site", "discharge"])
def test_below_ph_5_only_with_the_works_own_document_and_never_at_ph_2(place: str) -> None:
    """40 CFR 403.5(b)(2): below 5 only where the works is designed for it; 40 CFR 261.22: 2 is hazardous."""
    job = with_acid()
    site = job.exchanger.unit.site
    site.discharge_ph_low = None
    site.save()
    assert "below 5" in discharge(job, ph=4.2).row.exceedances[0]
    if place == "site":
        site.discharge_acid_document = "works letter 12 of 2024"
        site.save()
    named = {"acid_document": "works letter 12 of 2024"} if place == "discharge" else {}
    told = discharge(job, ph=4.2, **named).row
    assert "below 5" in told.exceedances[0], "named, and not attached"
    if place == "site":
        register.keep_acceptance(site, letter())
        told = discharge(job, ph=4.2).row
    else:
        told = services.attach_acceptance(job.office, told, letter())
        assert "exceedance" in told.marks, "how it stood when it was recorded"
    assert told.exceedances == [] and told.limits["works_takes_acid"] is True
    for never in ({"ph": 2.0}, {"ph": 4.2, "route": "storm_drain"}):
        row = discharge(job, **never, **named).row
        if place == "discharge":
            row = services.attach_acceptance(job.office, row, letter())
        assert row.exceedances != []


def letter() -> ContentFile[bytes]:
    return ContentFile(b"%PDF-1.4 what the works wrote", name="letter.pdf")


def test_an_acceptance_is_attached_by_phone_once_and_the_client_opens_it() -> None:
    job = with_acid()
    row = discharge(job, ph=4.2, acid_document="works letter 12").row
    path = f"/api/v1/discharges/{row.pk}/acceptance/"
    phone = as_person(job.technician)
    for _ in range(2):
        sent = phone.post(path, {"file": letter()}, format="multipart", HTTP_IDEMPOTENCY_KEY="one")
        assert sent.status_code == 201 and sent.data["acceptance"] == path, sent.data
    client = make.person(Role.CLIENT)
    ClientAccess.objects.create(person=client, customer=job.exchanger.unit.site.customer)
    file = as_person(client).get(path)
    assert b"".join(file.streaming_content) == b"%PDF-1.4 what the works wrote"
    assert file["Content-Type"] == "application/pdf"
    assert as_person(make.person(Role.CLIENT)).get(path).status_code == 404


@pytest.mark.parametrize(
    ("content", "status"),
    [(b"<html>", 400), (b"", 400), (b"%PDF-" + bytes(papers.LARGEST_BYTES), 400),
     (b"%PDF-" + bytes(30 * 1024 * 1024), 413)],
    ids=["no paper", "empty", "over 10 MB", "30 MB"],
)  # fmt: skip
def test_what_is_no_paper_or_too_large_is_refused(content: bytes, status: int) -> None:
    job = with_acid()
    row = discharge(job, ph=7.0).row
    for who, path in ((job.technician, f"discharges/{row.pk}"),
                      (job.office, f"sites/{job.exchanger.unit.site_id}")):  # fmt: skip
        sent = as_person(who).post(
            f"/api/v1/{path}/acceptance/", {"file": ContentFile(content, name="a.pdf")}, format="multipart",
            HTTP_IDEMPOTENCY_KEY=str(uuid.uuid4()),
        )  # fmt: skip
        assert sent.status_code == status, sent.data
    row.refresh_from_db()
    assert not row.acceptance


def test_zinc_and_solids_that_the_site_limits_count_too() -> None:
    job = with_acid()
    site = job.exchanger.unit.site
    site.discharge_zinc_mg_per_l, site.discharge_solids_mg_per_l = 2.0, 300.0
    site.save()
    assert len(discharge(job).row.exceedances) == 2
    told = discharge(job, zinc_mg_per_l=1.0, solids_mg_per_l=900.0).row
    assert told.exceedances == ["solids 900 mg/L is above 300 mg/L"]


def test_a_parked_bath_is_neutralised_in_portions_with_the_ph_between_them() -> None:
    job = with_acid()
    phone = as_person(job.technician)
    plan = services.current_plan(job.descale)
    assert plan is not None
    planned = plan.result["neutralising"]
    assert sum(planned["portions_kg"]) == pytest.approx(planned["bath_at_most_kg"])
    assert len(planned["portions_kg"]) >= 4
    said = []
    for place, (kg, ph) in enumerate(((0.1, None), (0.1, 2.5), (0.1, 7.0), (0.1, 11.0), (5.0, 7.0))):
        sent = {"id": str(uuid.uuid4()), "at": job.at(260.0 + place).isoformat(), "agent": "sodium_carbonate",
                "ph_after": ph, "as_typed": {"agent_mass": {"value": str(kg), "unit": "kg"}}}  # fmt: skip
        for _ in range(2):
            answer = phone.post(f"/api/v1/descales/{job.descale.pk}/neutralising/", sent,
                                headers={"Idempotency-Key": str(uuid.uuid4())})  # fmt: skip
            assert answer.status_code in (200, 201), answer.data
        said.append(answer.data["do_now"][0]["code"])
    assert said == ["read_ph", "another_portion", "neutral", "too_far", "large_portion"]
    record = phone.get(f"/api/v1/descales/{job.descale.pk}/record/").data["neutralising"]
    assert [one["ph_after"] for one in record] == [None, 2.5, 7.0, 11.0, 7.0]


def test_a_neutral_bath_names_the_limits_that_its_site_has_and_the_plan_aims_within_them() -> None:
    job = with_acid()
    plan = services.current_plan(job.descale)
    assert (
        plan is not None and plan.result["neutralising"]["target_ph"] == 6.5
    )  # half a unit above the site's 6
    site = job.exchanger.unit.site
    site.discharge_copper_mg_per_l, site.discharge_zinc_mg_per_l, site.discharge_ph_high = 2.0, 5.0, 8.0
    site.save()

    def said(ph: float) -> services.Saying:
        fields = {"id": uuid.uuid4(), "at": job.at(270), "agent": "sodium_carbonate", "ph_after": ph}
        return services.add_neutraliser(job.technician, job.fresh(), fields, job.at(280)).do_now[0]

    assert said(7.0).words.count("copper (2 mg/L at most), zinc (5 mg/L at most)") == 1
    assert (said(8.5).code, "above 8" in said(8.5).words) == ("too_far", True)

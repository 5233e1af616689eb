"""The whole job through the API alone, posts late, twice and out of order; and one begun with acid."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

import pytest
from django.utils import timezone

from contractor.accounts.models import Certificate
from contractor.descales.models import Look
from contractor.descales.words import AFTER_SERVICE, END_STEPS
from contractor.register.models import Exchanger, GaugeSet, WaterTest
from contractor.visits.models import Finding, Reading
from contractor.workqueue.handlers import HANDLERS, WorkRefused
from contractor.workqueue.models import WorkItem
from tests.cast import Cast, as_person
from tests.descales import world
from tests.diagnostics import world as machine

pytestmark = pytest.mark.django_db
NOW = timezone.now().replace(microsecond=0) - dt.timedelta(hours=9)
"""When the job began: its last post is 7 h later, and a second person who was told counts for 12 h, so that
three hours are left for the tests before these."""
SI = {"entering_water_k": ("entering_water", "K"), "leaving_water_k": ("leaving_water", "K"),
      "water_flow_kg_per_s": ("water_flow", "kg/s"), "head_pressure_pa": ("head_pressure", "Pa_abs"),
      "suction_pressure_pa": ("suction_pressure", "Pa_abs"), "liquid_line_k": ("liquid_line", "K"),
      "suction_line_k": ("suction_line", "K"), "discharge_line_k": ("discharge_line", "K"),
      "compressor_power_w": ("compressor_power", "W")}  # fmt: skip


def at(minutes: float) -> str:
    return (NOW + dt.timedelta(minutes=minutes)).isoformat()


class Phone:
    """Posts of one person; each may be sent twice, under its key or under a fresh one."""

    def __init__(self, person: Any, base: str = "") -> None:
        self.client, self.base = as_person(person), base

    def post(self, address: str, sent: Any, *, key: str = "", match: bool = False) -> Any:
        headers = {"Idempotency-Key": key or str(uuid.uuid4())} | ({"If-Match": "*"} if match else {})
        return self.client.post(f"/api/v1/{self.base}{address}", sent, headers=headers)

    def told(self, address: str, sent: Any) -> Any:
        answer = self.post(address, sent)
        assert answer.status_code in (200, 201, 202), answer.data
        return answer.data

    def twice(self, address: str, sent: Any) -> Any:
        key = str(uuid.uuid4())
        first = self.post(address, sent, key=key)
        assert first.status_code == 201, first.data
        assert self.post(address, sent, key=key).status_code == 201
        assert self.post(address, sent).status_code == 200
        return first.data

    def now(self) -> Any:
        return self.client.get(f"/api/v1/{self.base}now/").data


def work_through(*kinds: str) -> None:
    """What a worker would do with what waits."""
    for item in WorkItem.objects.filter(state="waiting", kind__in=kinds).order_by("created_at"):
        item.result = HANDLERS[item.kind](item, machine.Silent())  # type: ignore[arg-type]
        item.state = "done"
        item.save()


@pytest.fixture
def fouled(cast: Cast) -> Exchanger:
    """A machine whose fouling is known, on a register that knows all that a plan asks."""
    exchanger = machine.know(cast.exchanger)
    site, unit = cast.site, cast.unit
    site.refresh_from_db()
    site.elevation_m, site.discharge_ph_low, site.discharge_ph_high = 0.0, 6.0, 10.0
    site.discharge_route, site.emergency_phone = "sewer", "112"
    site.save()
    unit.low_side_rating_pa_gauge, unit.relief_setting_pa_gauge = 3.1e6, 4.1e6
    unit.room_volume_m3, unit.capacity_w = 60.0, 12_500.0
    unit.save()
    facts = {"metal": "copper", "water_content_m3": 0.004, "water_rating_pa_gauge": 2.0e6,
             "wetted_materials": world.WETTED, "heats_drinking_water": False}  # fmt: skip
    for name, value in facts.items():
        setattr(exchanger, name, value)
    exchanger.save()
    WaterTest.objects.create(site=site, taken_at=NOW, treatments=["none"], black_slime=False)
    machine.clean_visits(cast.visit, exchanger, cast.assigned)
    cast.visit.crew.add(cast.other)
    Certificate.objects.create(person=cast.assigned, kind="chemical_work", expires_on="2099-12-31")
    return exchanger


def post_reading(phone: Phone, cast: Cast, exchanger: Exchanger, gauges: GaugeSet, minutes: float,
                 fouling: float, **more: Any) -> str:  # fmt: skip
    read = machine.values(fouling)
    typed = {name: {"value": repr(read[column]), "unit": unit} for column, (name, unit) in SI.items()}
    typed["static_pressure"] = {"value": "15", "unit": "bar_abs"}
    sent = {"id": str(uuid.uuid4()), "visit": str(cast.visit.pk), "exchanger": str(exchanger.pk),
            "taken_at": at(minutes), "mode": "cooling", "minutes_running": 20, "strainer": "clean",
            "gauge_set": str(gauges.pk), "as_typed": typed, **more}  # fmt: skip
    return str(phone.told("readings/", sent)["id"])


def test_from_the_assessment_to_the_certificate_with_posts_late_twice_and_out_of_order(
    cast: Cast, fouled: Exchanger
) -> None:
    office, phone = Phone(cast.office), Phone(cast.assigned)
    gauges = GaugeSet.objects.create(name="Set 1", holder=cast.assigned)
    before = post_reading(phone, cast, fouled, gauges, -60, machine.HEAVY, purpose="before_descale",
                          fault_lockout="high_head")  # fmt: skip
    work_through("assess")
    work_through("rank")

    # what is wrong, and whether acid is reasonable
    def ranked() -> Any:
        return phone.client.get(f"/api/v1/readings/{before}/ranking/").data

    assert ranked()["leading_cause"] == "exchanger_fouled" and ranked()["fouled_probability"] > 0.9
    assert ranked()["next_check"]["check"] == "back_flush"
    assert "before any chemical work" in ranked()["why_not_chemical"]
    phone.told("findings/", {"id": str(uuid.uuid4()), "visit": str(cast.visit.pk), "unit": str(cast.unit.pk),
                             "exchanger": str(fouled.pk), "found_at": at(-30), "kind": "back_flush",
                             "value": "no_change", "brought": "solids"})  # fmt: skip
    work_through("heed_finding", "rank")
    assert ranked()["why_not_chemical"] is None and ranked()["leading_cause"] == "exchanger_fouled"

    # decided and planned
    wanted = {"id": str(uuid.uuid4()), "exchanger": str(fouled.pk), "because": "fouled",
              "visit": str(cast.visit.pk)}  # fmt: skip
    descale = phone.told("descales/", wanted)["id"]
    office.base = phone.base = f"descales/{descale}/"
    kept, rig = world.cleaner("sulfamic"), world.rig()
    lot = kept.lots.create(lot="L-7", quantity_kg=25.0)
    ask = {"cleaner": str(kept.pk), "rig": str(rig.pk), "starts_at": at(60)}
    refused = phone.post("plan/", ask)
    assert (refused.status_code, refused.data["errors"][0]["code"]) == (409, "no_consent")
    office.told("price/", {"amount": "480.00", "currency": "EUR"})
    office.told("consent/", {"said_by": "M. Facility", "said_at": at(-50), "order_number": "4711"})
    [choice] = phone.client.get(f"/api/v1/descales/{descale}/cleaners/", {"rig": str(rig.pk)}).data
    assert choice["fits"]
    queued = phone.post("plan/", ask)
    assert queued.status_code == 202 and queued["Location"].startswith("/api/v1/work-items/")
    work_through("plan_descale")
    plan = phone.client.get(phone.client.get(queued["Location"]).data["result"]["address"]).data
    assert plan["stands"] and plan["result"]["deposit"]["mass_kg"]["value"] > 0
    # by hand: calcium is 40.078 of calcium carbonate's 100.087 g; one bath holds what it can dissolve at most
    dissolved = min(plan["result"]["deposit"]["mass_kg"]["value"], plan["result"]["one_batch_dissolves_kg"])
    calcium = dissolved * 40.078 / 100.087 / plan["result"]["bath"]["solution_m3"] * 1000
    assert plan["result"]["waste"]["dissolved_mg_per_l"]["calcium"]["value"] == pytest.approx(calcium)
    office.told("notice/", {"work_starts_at": at(60), "hours_without_cooling": 4, "chemical": kept.name,
                            "noise": "a pump", "others_affected": "none",
                            "sent_to": "facility@example.org"})  # fmt: skip

    # checks, the last first and each twice
    assert phone.now()["may_dose"] is False
    checks = [s["kind"] for s in plan["result"]["steps"] if s["stage"] == "before acid"]
    for place, kind in reversed(list(enumerate(checks))):
        phone.twice("checks/", {"id": str(uuid.uuid4()), "at": at(place), "kind": kind, "outcome": "passed",
                                **world.CHECK_READINGS.get(kind, {})})  # fmt: skip
    assert phone.now()["may_dose"] is True

    # acid, and looks out of order, some before the batch itself is told
    bath = plan["result"]["bath"]
    looks = []
    for minutes, drops in ((0, 20), (3, 19), (6, 18), (10, 17), (20, 16), (30, 16), (40, 16), (50, 16)):
        quiet = "none" if minutes >= 20 else "many"
        looks.append({
            "id": str(uuid.uuid4()), "at": at(60 + minutes), "ph": 1.3, "drops": drops, "bubbles": quiet,
            "solids": quiet, "as_typed": {"temperature": {"value": "22", "unit": "degC"},
                                          "level": {"value": "30", "unit": "cm"},
                                          "conductivity": {"value": "41", "unit": "mS/cm"}},
        })  # fmt: skip
    early = phone.twice("looks/", looks[4])
    assert "before_acid" in early["record"]["marks"] and Look.objects.count() == 1
    mixed = phone.twice("batches/", {
        "id": str(uuid.uuid4()), "at": at(60), "lot": str(lot.pk),
        "as_typed": {"product_mass": {"value": str(bath["product_kg"]), "unit": "kg"},
                     "water": {"value": str(bath["water_m3"] * 1000), "unit": "L"}},
    })  # fmt: skip
    assert mixed["state"] == "acid_in" and mixed["record"]["marks"] == []
    for portion in bath["portions_kg"]:
        dose = {"product_mass": {"value": str(portion), "unit": "kg"}}
        phone.twice("portions/", {"id": str(uuid.uuid4()), "at": at(60), "as_typed": dose})
    for place in (7, 1, 0, 6, 2, 5, 3):
        last = phone.twice("looks/", looks[place])
    assert last["do_now"][0]["code"] in ("finished", "stop")  # by now the clock on the wall has run out
    assert [look.drops for look in Look.objects.all()] == [20, 19, 18, 17, 16, 16, 16, 16]

    # the end, its last steps told first
    clean = post_reading(Phone(cast.assigned), cast, fouled, gauges, 400, 0.0, purpose="after_descale",
                         fault_lockout="none")  # fmt: skip
    end = [kind for kind in END_STEPS if kind not in AFTER_SERVICE]
    for place, kind in reversed(list(enumerate(end))):
        told = phone.twice("end-steps/", {"id": str(uuid.uuid4()), "at": at(111 + place), "kind": kind,
                                          "outcome": "done", **world.END_READINGS.get(kind, {})})  # fmt: skip
    assert told["state"] == "in_service" and told["do_now"] == []
    shown = phone.client.get(f"/api/v1/descales/{descale}/").data
    assert dt.datetime.fromisoformat(str(shown["end_called_at"])) == NOW + dt.timedelta(minutes=111)
    assert Phone(cast.assigned).client.get("/api/v1/descale-clocks/").data == []

    # waste, proof, signature, certificate
    assert phone.now()["baths_unaccounted"] == 1
    let_out = phone.twice("discharges/", {"id": str(uuid.uuid4()), "at": at(300), "water": "bath",
                                          "route": "sewer", "ph": 7.1, "neutraliser": "sodium_carbonate",
                                          "as_typed": {"volume": {"value": "30", "unit": "L"}}})  # fmt: skip
    assert let_out["record"]["exceedances"] == []
    work_through("assess")
    assert phone.post("proof/", {}).status_code == 202
    work_through("prove_descale")
    [proof] = phone.client.get(f"/api/v1/descales/{descale}/record/").data["verifications"]
    assert proof["after"] == uuid.UUID(clean)
    assert proof["result"]["improved"] == "improved" and proof["lockout_cleared"] is True
    assert proof["removed_low_k_per_w"] > 0 and proof["probability_below_limit"] > 0.5
    served = Reading.objects.get(pk=clean)
    assert served.stands_as_clean is (proof["reference"] == "clean_reference")
    assert proof["reference"] == ("clean_reference" if proof["left_low_k_per_w"] <= 0 else "best_since")
    assert [event.what for event in cast.unit.events.all()] == ["descaled"]
    assert [f.value for f in Finding.objects.filter(kind="descale")] == ["better"]
    early = office.post("certify/", {})
    assert early.status_code == 409 and "not signed" in early.data["detail"]
    phone.twice("sign-offs/", {"id": str(uuid.uuid4()), "at": at(420), "signs_as": "customer",
                               "name": "M. Facility", "strokes": [[[0.1, 0.5], [0.4, 0.2]]]})  # fmt: skip
    assert office.told("certify/", {})["state"] == "certified"
    client = as_person(cast.client)
    assert len(client.get("/api/v1/discharges/").data["results"]) == 1


def test_acid_is_in_already_before_anything_was_checked(cast: Cast) -> None:
    """Nothing is refused: the log opens, the clock runs, the office is told, the job ends as any other."""
    phone = Phone(cast.assigned)
    made, batch = str(uuid.uuid4()), str(uuid.uuid4())
    sent = {"descale": made, "exchanger": str(cast.exchanger.pk),
            "batch": {"id": batch, "at": at(0), "note": "from a can without a label"}}  # fmt: skip
    key = str(uuid.uuid4())
    told = phone.post("descales/acid-is-in/", sent, key=key)
    assert told.status_code == 201, told.data
    assert phone.post("descales/acid-is-in/", sent, key=key).status_code == 201
    assert phone.post("descales/acid-is-in/", sent).status_code == 200
    assert told.data["descale"] == made and told.data["state"] == "acid_in"
    assert {"cleaner_not_known", "unknown_material", "before_its_time"} <= set(told.data["record"]["marks"])
    assert told.data["do_now"][0]["urgent"] and "drain and rinse now" in told.data["do_now"][0]["words"]
    [alarm] = WorkItem.objects.filter(kind="descale_alarm", subject=made)
    assert alarm.payload["code"] == "acid_is_in"
    [clock] = phone.client.get("/api/v1/descale-clocks/", {"visit": str(cast.visit.pk)}).data
    assert clock["over"] is True and clock["number"] == 1

    phone.base = f"descales/{made}/"
    look = phone.twice("looks/", {"id": str(uuid.uuid4()), "at": at(5), "ph": 2.0, "colour": "blue"})
    assert look["do_now"][0]["code"] == "stop"
    for place, kind in enumerate(kind for kind in END_STEPS if kind not in AFTER_SERVICE):
        step = phone.twice("end-steps/", {"id": str(uuid.uuid4()), "at": at(10 + place), "kind": kind,
                                          "outcome": "done", **world.END_READINGS.get(kind, {})})  # fmt: skip
    assert step["state"] == "in_service"
    late = phone.told("checks/", {"id": str(uuid.uuid4()), "at": at(-5), "kind": "locked_out",
                                  "outcome": "passed"})  # fmt: skip
    assert late["record"]["marks"] == ["after_acid"]
    assert phone.now()["may_dose"] is False


def test_a_plan_whose_facts_changed_while_it_waited_is_refused_by_the_worker_and_kept_to_show_why() -> None:
    job = world.agreed(world.job())
    phone = Phone(job.technician, f"descales/{job.descale.pk}/")
    queued = phone.post("plan/", {"cleaner": str(job.cleaner.pk), "rig": str(job.rig.pk)})
    assert queued.status_code == 202
    Exchanger.objects.filter(pk=job.exchanger.pk).update(metal="aluminium")
    item = WorkItem.objects.get(kind="plan_descale")
    with pytest.raises(WorkRefused) as refused:
        HANDLERS["plan_descale"](item, machine.Silent())  # type: ignore[arg-type]
    assert refused.value.type.endswith("/plan-refused/")
    [plan] = phone.client.get("/api/v1/descale-plans/").data["results"]
    assert not plan["stands"] and plan["refusals"][0]["code"] in ("forbidden_material", "only_inhibited")
    assert job.fresh().state == "agreed"

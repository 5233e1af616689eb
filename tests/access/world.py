"""One of everything, for the fixed cast: ours, theirs (the other customer's), and retired."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
from types import SimpleNamespace
from typing import Any

from django.core.files.base import ContentFile
from django.utils import timezone
from PIL import Image

from contractor.accounts.models import Certificate, Person, Role
from contractor.accounts.services import make_token
from contractor.descales.models import Batch, Descale, DescalePlan, Discharge, HeldWaste, Notice
from contractor.register import services as register
from contractor.register.models import (
    Cleaner,
    CleanerLot,
    ClientAccess,
    Exchanger,
    GaugeSet,
    Instrument,
    OperatingTable,
    Rig,
    Site,
    Unit,
    UnitEvent,
    WaterTest,
)
from contractor.trail.models import Change
from contractor.visits.models import Finding, Reading, Visit
from contractor.workqueue.models import WorkItem
from diagnostics.batch.results import KEYS
from diagnostics.models import Assessment, LoopSurvey, Ranking
from reporting import files
from reporting.models import Document
from tests import make

World = Any
ROLES = {
    "owner": Role.OWNER,
    "office": Role.OFFICE,
    "assigned": Role.TECHNICIAN,
    "other": Role.TECHNICIAN,
    "client": Role.CLIENT,
    "other_client": Role.CLIENT,
}


def build() -> World:
    """Technician `assigned` has a visit at our site, `other` has none anywhere."""
    world = SimpleNamespace(now=timezone.now())
    for name, role in ROLES.items():
        person = make.person(
            role, email=f"{name.replace('_', '-')}@example.org", name=name.replace("_", " ").title()
        )
        setattr(world, name, person)
        setattr(world, f"{name}_token", make_token(person, "a phone", world.now)[1])
    world.token = world.assigned.tokens.get()
    world.customer, world.other_customer = (
        make.customer(name="Harbour Reach"),
        make.customer(name="Larkfield"),
    )
    world.client_access = ClientAccess.objects.create(person=world.client, customer=world.customer)
    world.their_client_access = ClientAccess.objects.create(
        person=world.other_client, customer=world.other_customer
    )
    world.their_customer = world.other_customer
    _put_in(world, "", world.customer, world.assigned)
    _put_in(
        world, "their_", world.other_customer, make.person(Role.TECHNICIAN, email="elsewhere@example.org")
    )
    world.certificate = Certificate.objects.create(
        person=world.assigned, kind="chemical_work", expires_on=world.now.date()
    )
    _put_in_cleaners(world)
    _put_in_descale(world, "")
    _put_in_descale(world, "their_")
    _put_in_retired(world)
    _put_in_work(world)
    return world


def _put_in(world: World, whose: str, customer: Any, technician: Person) -> None:
    site: Site = make.site(
        customer, name=f"{whose}site", notes="pays late",
        discharge_acceptance=ContentFile(b"%PDF-1.4 ", name="acceptance.pdf"),
    )  # fmt: skip
    table: OperatingTable = register.add_operating_table({"name": f"{whose}table"}, [{"mode": "cooling"}])
    unit: Unit = make.unit(site, tag=f"{whose}unit-1", operating_table=table)
    exchanger: Exchanger = make.exchanger(unit)
    gauge_set = GaugeSet.objects.create(name=f"{whose}gauges", holder=technician)
    visit: Visit = make.visit(site, [technician])
    reading: Reading = make.reading(visit, exchanger, technician, gauge_set=gauge_set)
    made = {
        "site": site,
        "operating_table": table,
        "operating_table_row": table.rows.get(),
        "unit": unit,
        "tag": unit.tag,
        "exchanger": exchanger,
        "gauge_set": gauge_set,
        "instrument": Instrument.objects.create(
            gauge_set=gauge_set, reading="entering_water", repeating=0.2, random=0.1, relative=False
        ),
        "visit": visit,
        "reading": reading,
        "finding": Finding.objects.create(visit=visit, unit=unit, found_by=technician, kind="photo"),
        "bare_finding": Finding.objects.create(visit=visit, unit=unit, found_by=technician, kind="note"),
        "water_test": WaterTest.objects.create(site=site, taken_at=world.now, ph=8.0),
        "unit_event": UnitEvent.objects.create(unit=unit, at=world.now, what="charge_changed"),
        "assessment": _assessment(reading),
        "ranking": _ranking(reading),
        "survey": _survey(visit),
    }
    made["finding"].photo.save("photo.jpg", ContentFile(_picture()))
    made["document"] = _document(made, world.office, "released")
    make.shown_to_clients(exchanger, reading.taken_at)
    for name, row in made.items():
        setattr(world, f"{whose}{name}", row)


def _put_in_cleaners(world: World) -> None:
    """The firm's own: they name no customer."""
    for before in ("", "their_", "retired_"):
        gone = {"retired_at": world.now} if before == "retired_" else {}
        cleaner = Cleaner.objects.create(name=f"{before}cleaner", **gone)
        for paper in ("label", "safety_sheet"):
            getattr(cleaner, paper).save(f"{paper}.pdf", ContentFile(b"%PDF-1.4 "))
        of = cleaner if not gone else world.cleaner
        setattr(world, f"{before}cleaner", cleaner)
        setattr(world, f"{before}cleaner_lot",
                CleanerLot.objects.create(cleaner=of, lot=f"{before}7", **gone))  # fmt: skip
        setattr(world, f"{before}rig", Rig.objects.create(name=f"{before}rig", **gone))


def _put_in_descale(world: World, whose: str) -> None:
    def of(name: str) -> Any:
        return getattr(world, f"{whose}{name}")

    now, by = world.now, world.office
    descale = Descale.objects.create(exchanger=of("exchanger"), because="fouled", recommended_by=by)
    happened = {"descale": descale, "by": by, "at": now}
    made = {
        "descale": descale,
        "descale_plan": DescalePlan.objects.create(
            descale=descale, cleaner=world.cleaner, rig=world.rig, made_at=now, engine_version="1",
            inputs_digest="0" * 64, asked={}, sheet={}, refusals=[{"code": "x", "words": "x"}],
        ),
        "descale_notice": Notice.objects.create(
            descale=descale, by=by, at=now, work_starts_at=now, hours_without_cooling=4, chemical="citric",
            noise="a pump", others_affected="none", sent_to="x@example.org", cleaner=world.cleaner,
        ),
        "batch": Batch.objects.create(**happened, out_by=now),
        "discharge": Discharge.objects.create(
            **happened, water="bath", route="sewer", ph=7.0,
            acceptance=ContentFile(b"%PDF-1.4 ", name="acceptance.pdf"),
        ),
        "held_waste": HeldWaste.objects.create(**happened, water="bath", where="plant room", whose="office"),
    }  # fmt: skip
    for name, row in made.items():
        setattr(world, f"{whose}{name}", row)


def _put_in_retired(world: World) -> None:
    """Ours, but retired (or superseded, called off)."""
    now = world.now
    world.retired_customer = make.customer(retired_at=now)
    world.retired_site = make.site(world.customer, retired_at=now)
    make.visit(world.retired_site, [world.assigned], state="done")
    world.quiet_customer = make.customer()
    world.quiet_site = make.site(world.customer)
    world.quiet_visit = make.visit(world.quiet_site, [world.assigned], state="done")
    world.retired_unit = make.unit(world.site, tag="old-1", retired_at=now)
    world.retired_exchanger = make.exchanger(world.unit, name="old", retired_at=now)
    world.retired_water_test = WaterTest.objects.create(site=world.site, taken_at=now, retired_at=now)
    world.retired_operating_table = OperatingTable.objects.create(name="old", retired_at=now)
    world.retired_operating_table_row = world.operating_table.rows.create(mode="heating", retired_at=now)
    world.retired_gauge_set = GaugeSet.objects.create(name="old", retired_at=now)
    world.retired_instrument = Instrument.objects.create(
        gauge_set=world.gauge_set, reading="amps", repeating=0.1, random=0.1, relative=True, retired_at=now
    )
    left = make.person(Role.CLIENT)
    world.retired_client_access = ClientAccess.objects.create(
        person=left, customer=world.customer, retired_at=now
    )
    world.retired_finding = Finding.objects.create(
        visit=world.visit, found_by=world.assigned, kind="note", retired_at=now
    )
    world.taken_back_unit_event = UnitEvent.objects.create(
        unit=world.unit, at=now, what="descaled", taken_back_at=now
    )
    world.superseded_reading = make.reading(world.visit, world.exchanger, world.assigned, superseded_at=now)
    world.open_visit = make.visit(world.site, [world.assigned], window_start=now + dt.timedelta(days=9))
    world.new_client = make.person(Role.CLIENT)
    colleague = make.person(Role.TECHNICIAN, email="colleague@example.org")
    world.colleagues_visit = make.visit(world.site, [colleague])
    world.colleagues_reading = make.reading(world.colleagues_visit, world.exchanger, colleague)
    world.unreported_assessment = _assessment(world.colleagues_reading)
    world.unreported_ranking = _ranking(world.colleagues_reading)
    world.colleagues_finding = Finding.objects.create(
        visit=world.colleagues_visit, found_by=colleague, kind="note"
    )


def _put_in_work(world: World) -> None:
    done = {"state": "failed", "problem": {"title": "It failed"}, "attempts": 1}
    world.work_item = make.work_item(asked_by=world.assigned, **done)
    world.their_work_item = make.work_item(asked_by=world.other_client, **done)
    world.prepared_document = _document(vars(world), world.office, "prepared")
    world.change = Change.objects.latest("id")
    assert WorkItem.objects.exists()


def _assessment(reading: Reading) -> Assessment:
    result = {**dict.fromkeys(KEYS), "unit": "x", "taken_at": "2027-01-01T00:00:00Z", "mode": "cooling",
              "verdict": "undecided", "reference": [], "warnings": [], "do_next": "Read."}  # fmt: skip
    return Assessment.objects.create(
        reading=reading, engine_version="1", inputs_digest="0" * 64, verdict="undecided",
        do_next=result["do_next"], result=result,
    )  # fmt: skip


def _survey(visit: Visit) -> LoopSurvey:
    result = {"probabilities": {"the_loop": 1.0}, "cause": "weak_flow", "units_worth_gauges": [],
              "fouled_by_unit": {}, "left_out": []}  # fmt: skip
    return LoopSurvey.objects.create(
        visit=visit, engine_version="1", inputs_digest="0" * 64, answer="the_loop", probability=1.0,
        words="The loop itself.", result=result,
    )  # fmt: skip


def _ranking(reading: Reading) -> Ranking:
    causes = [{"cause": "strainer_blocked", "probability": 1.0, "reasons": []}]
    result = {"causes": causes, "pairs": [], "next_check": None, "cannot_tell_apart": []}
    return Ranking.objects.create(
        reading=reading, engine_version="1", inputs_digest="0" * 64, leading_cause="strainer_blocked",
        leading_probability=1.0, fouled_probability=0.0, do_next="Next: open and look at the strainer.",
        why_not_chemical="Not acid yet.", result=result,
    )  # fmt: skip


def _document(made: Any, by: Person, state: str) -> Document:
    content = b"%PDF-1.4 " + str(made["site"].pk).encode() + state.encode()
    name, digest = files.keep(content, "pdf")
    assert digest == hashlib.sha256(content).hexdigest()
    released = {"released_at": timezone.now(), "released_by": by} if state == "released" else {}
    return Document.objects.create(
        site=made["site"], exchanger=made["exchanger"], visit=made["visit"], assessment=made["assessment"],
        title="Visit report", file=name, sha256=digest, state=state, **released,
    )  # fmt: skip


def _picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (8, 8)).save(out, "JPEG")
    return out.getvalue()

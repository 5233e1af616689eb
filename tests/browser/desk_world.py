"""What the office and the client have to look at: papers, a finding, failed work, a cleaner, instruments."""

from __future__ import annotations

import datetime as dt
from typing import Any


def papers(exchanger: Any, office: Any) -> dict[str, str]:
    """One report released, one waiting."""
    from django.utils import timezone

    from reporting import services

    released = services.prepare_visit_report(str(exchanger.pk), "a4")
    services.release(released, office, timezone.now())
    waiting = services.prepare_visit_report(str(exchanger.pk), "letter")
    return {"released": str(released.pk), "prepared": str(waiting.pk)}


def kept(tech: Any) -> dict[str, str]:
    from django.utils import timezone

    from contractor.accounts.models import Certificate
    from contractor.register import services
    from contractor.register.models import GaugeSet

    today = timezone.localdate()
    gauges = GaugeSet.objects.get(name="Set 4")
    fields = {"gauge_set": gauges, "reading": "head_pressure", "repeating": 7000.0, "random": 3500.0}
    due = {"relative": False, "calibration_due_on": today + dt.timedelta(days=10)}
    instrument = services.add_instrument({**fields, **due}, tech)
    cleaner = services.add_cleaner({"name": "Citric powder", "form": "powder", "protection": ["face shield"]})
    lot = {"cleaner": cleaner, "lot": "C-118", "expires_on": today + dt.timedelta(days=20)}
    table = services.add_operating_table(
        {"name": "WS-036"}, [{"mode": "cooling", "stage": "full", "entering_water_k": 302.6}]
    )
    rig = services.add_rig({"name": "Rig 1", "tank_volume_m3": 0.06})
    certificate = Certificate.objects.create(
        person=tech, kind="chemical_work", number="NM 41", expires_on=today + dt.timedelta(days=400)
    )
    rows = {
        "instruments": instrument, "gauge-sets": gauges, "cleaners": cleaner, "tables": table,
        "lots": services.add_cleaner_lot(lot), "table-rows": table.rows.get(), "rigs": rig,
        "certificates": certificate,
    }  # fmt: skip
    return {name: str(row.pk) for name, row in rows.items()}


def happened(quay: Any, unit: Any, tech: Any) -> dict[str, str]:
    from django.utils import timezone

    from contractor.register import services
    from contractor.visits.models import Finding, Visit
    from tests import make

    now = timezone.now()
    old = make.visit(quay, [tech], window_start=now - dt.timedelta(days=3), reason="survey")
    Finding.objects.create(visit=old, unit=unit, found_by=tech, kind="could_not_do",
                           note="Ceiling locked, nobody with a key", found_at=old.window_start)  # fmt: skip
    event = services.add_unit_event(
        {"unit": unit, "at": now - dt.timedelta(days=300), "what": "charge_changed"}
    )
    test = services.add_water_test({"site": quay, "taken_at": now - dt.timedelta(days=30), "ph": 8.2})
    problem = {"title": "Nothing to report yet", "detail": "No assessment stands."}
    failed = make.work_item(kind="visit_report", state="failed", attempts=1, finished_at=now, problem=problem)
    assert Visit.objects.overdue(now).exists()
    return {
        "events": str(event.pk),
        "water-tests": str(test.pk),
        "work": str(failed.pk),
        "overdue": str(old.pk),
    }


def descale(exchanger: Any, office: Any) -> dict[str, str]:
    from django.utils import timezone

    from contractor.descales import services
    from contractor.descales.models import HeldWaste

    row = services.recommend(office, exchanger, "Trips on high head; back-flushed, and no better.")
    told = {"descale": row, "by": office, "at": timezone.now(), "water": "bath", "volume_m3": 0.05}
    waste = HeldWaste.objects.create(**told, where="Plant room, bunded", whose="Oswin Field")
    return {"descale": str(row.pk), "waste": str(waste.pk)}


def desk(quay: Any, exchangers: Any, folk: Any) -> dict[str, Any]:
    from contractor.register.models import ClientAccess
    from contractor.visits.models import Reading

    first = exchangers["first"]
    reading = Reading.objects.filter(exchanger=first).latest("taken_at")
    access = ClientAccess.objects.get()
    return {
        "papers": papers(first, folk["office"]),
        "kept": {**kept(folk["tech"]), "customers": str(quay.customer_id), "accesses": str(access.pk)},
        "happened": {
            **happened(quay, exchangers["second"].unit, folk["tech"]),
            **descale(exchangers["second"], folk["office"]),
        },
        "readings": {"last": str(reading.pk)},
    }

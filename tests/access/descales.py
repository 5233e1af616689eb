from __future__ import annotations

import uuid
from typing import Any

from django.core.files.base import ContentFile

from contractor.descales.models import Descale, Look
from tests.access.rows import ANYONE_LISTS, SEEN, row
from tests.access.world import World

CREW_SEES = "200 200 | 200 404 | 404 404 | 401"
CREW_LISTS = "200 200 | 200 200 | 403 403 | 401"
CREW_TELLS = "201 201 | 201 404 | 404 404 | 401"
OFFICE_TELLS = "201 201 | 403 404 | 404 404 | 401"
OFFICE_CHANGES = "200 200 | 403 404 | 404 404 | 401"
# the world's unit is not back in service
NOT_NOW = "409 409 | 409 404 | 404 404 | 401"
IN_THE_QUEUE = "a work item is its own record"


def in_state(world: World, state: str, **more: Any) -> None:
    """Past the services, so that it leaves no trace of its own."""
    Descale.objects.filter(pk=world.descale.pk).update(state=state, **more)


def at(world: World, **fields: Any) -> dict[str, Any]:
    return {"id": str(uuid.uuid4()), "at": world.now.isoformat(), **fields}


def recommendation(world: World) -> dict[str, Any]:
    in_state(world, "called_off", ended_because="closed")
    return {"id": str(uuid.uuid4()), "exchanger": str(world.exchanger.pk), "because": "approach is high"}


def consent(world: World) -> dict[str, Any]:
    in_state(world, "priced")
    return {"said_by": "M. Facility", "said_at": world.now.isoformat()}


def notice(world: World) -> dict[str, Any]:
    in_state(world, "planned")
    return {"work_starts_at": world.now.isoformat(), "hours_without_cooling": 4, "chemical": "citric acid",
            "noise": "a pump", "others_affected": "none", "sent_to": "facility@example.org"}  # fmt: skip


def could_not(world: World) -> dict[str, Any]:
    in_state(world, "planned")
    return {"why": "no_access"}


def acid(world: World) -> dict[str, Any]:
    return {"descale": str(uuid.uuid4()), "exchanger": str(world.exchanger.pk), "batch": at(world)}


def photo_of_look(world: World) -> dict[str, Any]:
    """A look past the services, so that it leaves no trace of its own."""
    [look] = Look.objects.bulk_create([Look(descale=world.descale, by=world.assigned, at=world.now)])
    return {"look": str(look.pk), "photo": str(world.finding.pk)}


ROWS = [
    row("GET", "descales/", CREW_LISTS),
    row("POST", "descales/", "201 201 | 201 400 | 403 403 | 401", body=recommendation),
    row("GET", "descales/<uuid:pk>/", CREW_SEES, of="descale"),
    row("PATCH", "descales/<uuid:pk>/", CREW_SEES, of="descale",
        body=lambda world: {"vent_at_both_tops": True}),
    row("GET", "descales/<uuid:pk>/now/", CREW_SEES, of="descale"),
    row("GET", "descales/<uuid:pk>/record/", CREW_SEES, of="descale"),
    row("GET", "descales/<uuid:pk>/cleaners/", "400 400 | 400 404 | 404 404 | 401", of="descale"),
    row("GET", "descales/<uuid:pk>/deposit/", CREW_SEES, of="descale"),
    row("POST", "descales/<uuid:pk>/price/", OFFICE_TELLS, of="descale",
        body=lambda world: {"amount": "480.00", "currency": "EUR"}),
    row("POST", "descales/<uuid:pk>/consent/", OFFICE_TELLS, of="descale", body=consent),
    row("POST", "descales/<uuid:pk>/plan/", "400 400 | 400 404 | 404 404 | 401", of="descale", trace=False,
        because=IN_THE_QUEUE),
    row("POST", "descales/<uuid:pk>/notice/", OFFICE_TELLS, of="descale", body=notice),
    row("POST", "descales/<uuid:pk>/call-off/", OFFICE_CHANGES, of="descale",
        body=lambda world: {"reason": "closed for the year"}),
    row("POST", "descales/<uuid:pk>/could-not-do/", CREW_TELLS, of="descale", body=could_not),
    row("POST", "descales/<uuid:pk>/checks/", CREW_TELLS, of="descale",
        body=lambda world: at(world, kind="locked_out", outcome="passed")),
    row("POST", "descales/<uuid:pk>/batches/", CREW_TELLS, of="descale", body=at),
    row("POST", "descales/<uuid:pk>/batch-out/", CREW_SEES, of="descale",
        body=lambda world: {"batch": str(world.batch.pk)}),
    row("POST", "descales/<uuid:pk>/portions/", CREW_TELLS, of="descale", body=at),
    row("POST", "descales/<uuid:pk>/looks/", CREW_TELLS, of="descale", body=lambda world: at(world, ph=1.5)),
    row("POST", "descales/<uuid:pk>/look-photo/", CREW_SEES, of="descale", body=photo_of_look),
    row("POST", "descales/<uuid:pk>/end-steps/", CREW_TELLS, of="descale",
        body=lambda world: at(world, kind="drained", outcome="done")),
    row("POST", "descales/<uuid:pk>/neutralising/", CREW_TELLS, of="descale",
        body=lambda world: at(world, agent="sodium_carbonate", ph_after=4.0)),
    row("POST", "descales/<uuid:pk>/discharges/", CREW_TELLS, of="descale",
        body=lambda world: at(world, water="bath", route="sewer", ph=7.0)),
    row("POST", "descales/<uuid:pk>/held-waste/", CREW_TELLS, of="descale",
        body=lambda world: at(world, water="bath", where="plant room", whose="office")),
    row("POST", "descales/<uuid:pk>/sign-offs/", CREW_TELLS, of="descale",
        body=lambda world: at(world, signs_as="customer", name="M", strokes=[[[0, 0], [1, 1]]])),
    row("POST", "descales/<uuid:pk>/proof/", NOT_NOW, of="descale", trace=False, because=IN_THE_QUEUE),
    row("POST", "descales/<uuid:pk>/certify/", "409 409 | 403 404 | 404 404 | 401", of="descale", trace=False,
        because="it is not proved yet"),
    row("POST", "descales/acid-is-in/", "201 201 | 201 400 | 403 403 | 401", body=acid),
    row("GET", "descale-plans/", CREW_LISTS),
    row("GET", "descale-plans/<uuid:pk>/", CREW_SEES, of="descale_plan"),
    row("GET", "descale-notices/", ANYONE_LISTS),
    row("GET", "descale-notices/<uuid:pk>/", SEEN, of="descale_notice"),
    row("GET", "descale-notices/<uuid:pk>/label/", SEEN, of="descale_notice"),
    row("GET", "descale-notices/<uuid:pk>/safety-sheet/", SEEN, of="descale_notice"),
    row("GET", "descale-clocks/", CREW_LISTS),
    row("GET", "descale-strainers/", CREW_LISTS),
    row("GET", "discharges/", ANYONE_LISTS),
    row("GET", "discharges/<uuid:pk>/", SEEN, of="discharge"),
    row("GET", "discharges/<uuid:pk>/acceptance/", SEEN, of="discharge"),
    row("POST", "discharges/<uuid:pk>/acceptance/", "201 201 | 201 404 | 403 404 | 401", of="discharge",
        body=lambda world: {"file": ContentFile(b"%PDF-1.4 ", name="a.pdf")}, format="multipart"),
    row("GET", "held-waste/", CREW_LISTS),
    row("GET", "held-waste/<uuid:pk>/", CREW_SEES, of="held_waste"),
    row("POST", "held-waste/<uuid:pk>/collected/", OFFICE_CHANGES, of="held_waste",
        body=lambda world: {"who": "licensed haulier, note 12"}),
]  # fmt: skip

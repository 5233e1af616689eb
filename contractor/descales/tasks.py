"""What the queue may ask of this room: a plan, a proof, and telling the office.

A notice is e-mailed by reporting, which makes the paper that goes along.
"""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.core.mail import EmailMessage
from django.utils import timezone

from contractor.accounts.models import Person, Role
from contractor.descales import services
from contractor.descales.models import Descale
from contractor.descales.planning import Asked
from contractor.descales.services.rules import ALARM, PLAN, PROVE, WITH_SITE
from contractor.http.problem_types import type_address
from contractor.register.models import Cleaner, Rig
from contractor.visits.models import Reading
from contractor.workqueue.handlers import WorkRefused, handles
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import Progress
from diagnostics.services import AFTER_ASSESSED


@handles(PLAN)
def plan_descale(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    given = item.payload
    try:
        plan = services.make_plan(
            UUID(item.subject), UUID(given["cleaner"]), UUID(given["rig"]), Asked.of_json(given["asked"]),
            timezone.now(), work_item=item, before_writing=progress.still_ours,
        )  # fmt: skip
    except (Descale.DoesNotExist, Cleaner.DoesNotExist, Rig.DoesNotExist) as gone:
        raise WorkRefused(
            type_address("gone"), "It is not there", f"{gone} It was not recorded here."
        ) from None
    if plan.refusals:
        first = plan.refusals[0]["words"]
        raise WorkRefused(type_address("plan-refused"), "The plan is refused", first, errors=plan.refusals)
    return {"plan": str(plan.pk), "address": f"/api/v1/descale-plans/{plan.pk}/"}


@handles(PROVE)
def prove_descale(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    given = item.payload
    try:
        proof = services.prove(
            UUID(item.subject), UUID(given["before"]), UUID(given["after"]), timezone.now(),
            work_item=item, before_writing=progress.still_ours,
        )  # fmt: skip
    except (Descale.DoesNotExist, Reading.DoesNotExist) as gone:
        raise WorkRefused(
            type_address("gone"), "It is not there", f"{gone} It was not recorded here."
        ) from None
    return {"verification": str(proof.pk), "improved": proof.result["improved"]}


@handles(AFTER_ASSESSED)
def prove_by_itself(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    asked = services.follow_after_readings(UUID(item.subject), item.asked_by)
    return {"asked": str(asked.pk) if asked else None}


@handles(ALARM)
def tell_office(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    descale = Descale.objects.select_related(*WITH_SITE).filter(pk=item.subject).first()
    if descale is None:
        raise WorkRefused(type_address("gone"), "It is not there", f"There is no descale {item.subject}.")
    people = Person.objects.filter(role__in=[Role.OFFICE, Role.OWNER], is_active=True).order_by("email")
    addresses = list(people.values_list("email", flat=True))
    if addresses:
        site = descale.exchanger.unit.site
        subject = " ".join(f"Descale at {site.name}: {str(item.payload['code']).replace('_', ' ')}".split())
        body = f"{item.payload['words']}\n\nSite: {site}\nUnit: {descale.exchanger}\nDescale {descale.pk}\n"
        EmailMessage(subject=subject, body=body, bcc=addresses).send()
    return {"told": len(addresses)}

"""The proof is asked for once the readings after are assessed, the certificate once it is certified."""

from __future__ import annotations

import pytest

from contractor.descales import services
from contractor.descales.models import Descale, Verification
from contractor.workqueue.handlers import HANDLERS
from contractor.workqueue.models import WorkItem
from reporting.models import Document
from tests import make
from tests.cast import Cast
from tests.descales import world
from tests.descales.test_proof import both, descale_of
from tests.diagnostics import world as machine

pytestmark = pytest.mark.django_db


def work(kind: str, subject: object) -> WorkItem:
    item = WorkItem.objects.create(kind=kind, subject=str(subject), payload={}, same_as=f"{kind}{subject}")
    item.result = HANDLERS[kind](item, machine.Silent())  # type: ignore[arg-type]
    return item


def asked(descale: Descale) -> list[WorkItem]:
    return list(WorkItem.objects.filter(kind="prove_descale", subject=str(descale.pk)))


def hear_of(cast: Cast) -> None:
    """What a worker does with the word that readings after are assessed."""
    [waiting] = WorkItem.objects.filter(kind="after_assessed", state="waiting")
    assert waiting.subject == str(cast.exchanger.pk)
    HANDLERS["after_assessed"](waiting, machine.Silent())  # type: ignore[arg-type]


def test_the_assessment_of_the_readings_after_asks_for_the_proof(cast: Cast) -> None:
    descale = descale_of(cast)
    before, after = both(cast)
    work("assess", before.pk)  # type: ignore[attr-defined]
    assert not WorkItem.objects.filter(kind="after_assessed").exists() and asked(descale) == []
    work("assess", after.pk)  # type: ignore[attr-defined]
    hear_of(cast)
    [item] = asked(descale)
    assert item.payload == {"before": str(before.pk), "after": str(after.pk)}  # type: ignore[attr-defined]
    HANDLERS["prove_descale"](item, machine.Silent())  # type: ignore[arg-type]
    assert Verification.objects.get(descale=descale).after_id == after.pk  # type: ignore[attr-defined]
    item.state = "done"
    item.save()
    assert services.follow_after_readings(cast.exchanger.pk) is None, "these two were compared already"


@pytest.mark.parametrize("state", ["rinsing", "certified", "called_off"])
def test_nothing_is_asked_for_a_unit_that_is_not_back_or_whose_descale_is_over(
    cast: Cast, state: str
) -> None:
    descale = descale_of(cast)
    _, after = both(cast)
    Descale.objects.filter(pk=descale.pk).update(state=state, ended_because="over")
    work("assess", after.pk)  # type: ignore[attr-defined]
    hear_of(cast)
    assert asked(descale) == []


def test_readings_that_are_not_assessed_or_of_another_mode_ask_for_nothing(cast: Cast) -> None:
    descale = descale_of(cast)
    _, after = both(cast)
    assert services.follow_after_readings(cast.exchanger.pk) is None
    work("assess", after.pk)  # type: ignore[attr-defined]
    type(after).objects.filter(pk=after.pk).update(mode="heating")  # type: ignore[attr-defined]
    assert services.follow_after_readings(cast.exchanger.pk) is None
    assert asked(descale) == []


def test_a_descale_that_becomes_certified_has_its_certificate_prepared_once() -> None:
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    Descale.objects.filter(pk=job.descale.pk).update(state="proved")
    signed = {"signs_as": "customer", "name": "M. Facility", "typed": True, "at": job.at(400)}
    services.sign(job.technician, job.descale, signed, job.at(400))
    told = {"water": "bath", "where": "plant room", "whose": "office", "at": job.at(300)}
    services.hold_waste(job.technician, job.descale, told, job.at(300))
    make.reading(job.descale.visit, job.exchanger, job.technician, purpose="after_descale")
    for _ in range(2):
        services.certify(job.office, job.fresh())
    [item] = WorkItem.objects.filter(kind="descale_certified")
    assert (item.subject, item.asked_by) == (str(job.descale.pk), job.office)
    HANDLERS["descale_certified"](item, machine.Silent())  # type: ignore[arg-type]
    [document] = Document.objects.filter(descale=job.descale)
    assert document.kind == "certificate"

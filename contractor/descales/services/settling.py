"""Where a descale stands, from what happened: whatever order the phone's posts came in."""

from __future__ import annotations

from contractor.descales.models import Descale, EndStep
from contractor.descales.services.baths import batches_of
from contractor.descales.services.judging import verdict_of
from contractor.descales.services.proving import follow_after_readings
from contractor.descales.services.rules import follow
from contractor.descales.services.steps import what_lacks
from contractor.descales.states import OVER, move_of
from contractor.register.models import UnitEvent
from contractor.register.services import add_unit_event, rows


def settle(descale: Descale) -> None:
    """Move along every arrow of the table that what happened has passed."""
    batches = batches_of(descale)
    if not batches:
        return
    drained = _drained_after(descale, batches[-1].at)
    if any(batch.out_at is None for batch in batches):
        _acid_is_in(descale)
    elif drained is None:
        return
    elif descale.state not in ("rinsing", "in_service", "proved", "certified"):
        _acid_is_in(descale)
        follow(descale, "rinsing")
    _note_the_end(descale, drained)
    ready = descale.state == "rinsing" and drained is not None and not what_lacks(descale)
    if ready and drained is not None and follow(descale, "in_service"):
        _tell_the_register(descale, drained)
        follow_after_readings(descale.exchanger_id)


def _tell_the_register(descale: Descale, drained: EndStep) -> None:
    """The unit was descaled: its story and its growth start from there. Once a descale."""
    note = f"descale {descale.pk}"
    unit = descale.exchanger.unit
    if not UnitEvent.objects.filter(unit=unit, what="descaled", note=note).exists():
        add_unit_event({"unit": unit, "at": drained.at, "what": "descaled", "note": note})


def _acid_is_in(descale: Descale) -> None:
    if descale.state == "acid_in" or (descale.state in OVER and _another_is_open(descale)):
        return
    if move_of(descale.state, "acid_in") or move_of(descale.state, "acid_in", irregular=True):
        rows.change(descale, {"state": "acid_in"})


def _another_is_open(descale: Descale) -> bool:
    return Descale.objects.open().of_exchanger(descale.exchanger_id).exclude(pk=descale.pk).exists()


def _drained_after(descale: Descale, moment: object) -> EndStep | None:
    steps = EndStep.objects.filter(descale=descale, kind="drained", outcome="done", at__gte=moment)
    return steps.order_by("at").first()


def _note_the_end(descale: Descale, drained: EndStep | None) -> None:
    """Whether the log had called the end when it was drained; a look that comes late may show that it had."""
    called = None
    if drained is not None and verdict_of(descale, drained.at, until=drained.at).action == "finished":
        called = drained.at
    rows.change(descale, {"end_called_at": called})

"""Proof: the readings after judged with those before, by what errs alike in both."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Descale, Verification
from contractor.descales.services.rules import (
    PROVE,
    WITH_SITE,
    follow,
    held,
    invalid,
    refuse_unless_crew,
)
from contractor.descales.services.telling import tell_causes
from contractor.http.problems import Problem
from contractor.register.models import UnitEvent
from contractor.register.services import rows
from contractor.visits.models import Reading
from contractor.visits.services import let_stand_as_clean
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from diagnostics import selectors
from diagnostics.engine import records
from diagnostics.engine.version import ENGINE_VERSION
from diagnostics.models import Assessment
from diagnostics.services import COMPUTATION_FAULTS, judge

ALIKE = {"entering_water_k": 1.0}
"""How far it may have moved [K] for power and capacity to compare as read: common practice."""
AS_READ = "Power, capacity and pressures are as read, not brought to the same conditions."
UNLIKE = "The entering water differs or was not read: they say less than the fouling resistance does."
MODELLED = (
    "By the unit's own model at the conditions read after, with the fouling before and after; not measured."
)
REFERENCE_WORDS = {
    "clean_reference": "The readings after serve as the clean reference.",
    "best_since": "Best since the descale, not clean: kept with the full width of what is left. They serve "
    "as no reference, what stood before does.",
    "none": "The readings after serve as no reference.",
}
OTHER_GAUGES = "Not read with the same gauge set: their errors do not cancel; the interval is wider for it."
EACH_BY_ITS_OWN = "each set by its own gauges"
Before = Callable[[], None]
PROVABLE = ("in_service", "proved", "certified")
UNPROVED = ("in_service", "proved")
"""Where readings after that come, or come corrected, ask for the proof by themselves."""
CHARGE_EVENTS = ("charge_changed", "compressor_replaced", "expansion_replaced", "exchanger_replaced")


@transaction.atomic
def request_proof(
    by: Person, descale: Descale, before: Reading | None = None, after: Reading | None = None
) -> WorkItem:
    """Ask for the comparison. Left out: the last readings before and the first after, of one mode."""
    row = held(descale)
    refuse_unless_crew(by, row)
    if row.state not in PROVABLE:
        words = f"It is {row.state.replace('_', ' ')}; readings after are taken when it is back in service."
        raise Problem("descale-state", words, state=row.state)
    before, after = before or _found(row, "before_descale"), after or _found(row, "after_descale")
    for pointer, reading in (("/before", before), ("/after", after)):
        if reading is None:
            raise invalid(pointer, "There are no such readings on record; post them first.")
        if reading.exchanger_id != row.exchanger_id:
            raise invalid(pointer, f"These readings are not of {row.exchanger}.")
    assert before is not None and after is not None
    if before.mode != after.mode:
        raise invalid("/after", f"Taken in {after.mode}, those before in {before.mode}; expected one mode.")
    payload = {"before": str(before.pk), "after": str(after.pk)}
    return queue(PROVE, str(row.pk), payload=payload, asked_by=by)


@transaction.atomic
def follow_after_readings(exchanger_id: UUID, asked_by: Person | None = None) -> WorkItem | None:
    """Ask for the proof of the unit that is back, once its readings after are assessed. None where it is not
    back, the readings are not there or not of one mode, or these two were compared already."""
    row = Descale.objects.of_exchanger(exchanger_id).filter(state__in=UNPROVED).order_by("created_at").last()
    before, after = (_found(row, one) if row else None for one in ("before_descale", "after_descale"))
    if row is None or before is None or after is None or before.mode != after.mode:
        return None
    if not Assessment.objects.current().filter(reading=after).exists():
        return None
    kept = Verification.objects.filter(descale=row, superseded_at__isnull=True)
    if kept.filter(before=before, after=after).exists():
        return None
    payload = {"before": str(before.pk), "after": str(after.pk)}
    return queue(PROVE, str(row.pk), payload=payload, asked_by=asked_by)


def prove(
    descale_id: UUID, before_id: UUID, after_id: UUID, now: datetime,
    *, work_item: WorkItem | None = None, before_writing: Before | None = None,
) -> Verification:  # fmt: skip
    """Compare, keep, and say what the readings after may serve as."""
    descale = Descale.objects.select_related(*WITH_SITE).get(pk=descale_id)
    before, after = _loaded(before_id), _loaded(after_id)
    found = compared(descale, before, after)
    with transaction.atomic():
        if before_writing is not None:
            before_writing()
        row = held(descale)
        standing = Verification.objects.filter(descale=row, superseded_at__isnull=True).first()
        if standing is not None:
            if standing.inputs_digest == found["inputs_digest"]:
                return standing
            rows.change(standing, {"superseded_at": now})
        kept = rows.put_in(
            Verification(
                descale=row, before=before, after=after, work_item=work_item, made_at=now,
                asked_by=work_item.asked_by if work_item else None, engine_version=ENGINE_VERSION, **found,
            )
        )  # fmt: skip
        if standing is not None and standing.after_id != after.pk:
            let_stand_as_clean(standing.after, False, kept.asked_by)
        let_stand_as_clean(after, kept.reference == "clean_reference", kept.asked_by)
        follow(row, "proved")
        tell_causes(row, kept)
        return kept


def compared(descale: Descale, before: Reading, after: Reading) -> dict[str, Any]:
    """Everything a verification's row tells, from two sets of readings."""
    first, second = selectors.inputs_of(before), selectors.inputs_of(after)
    removal = _removed(second, first)
    answer = judge(second)
    cautions = [*_cautions(descale, before, after), *removal["warnings"]]
    left, gone = removal["after"], removal["removed"]
    left = left or answer.fouling_resistance_k_per_w
    reference = reference_of(descale, left, cautions)
    below = None if answer.probability_over_limit is None else 1.0 - answer.probability_over_limit
    return {
        "inputs_digest": hashlib.sha256(
            repr((ENGINE_VERSION, EACH_BY_ITS_OWN, first, second, descale.end_called_at)).encode()
        ).hexdigest(),
        **_three("removed", gone),
        **_three("left", left),
        "probability_improved": removal["probability"],
        "probability_below_limit": below,
        "lockout_cleared": _cleared(before, after),
        "reference": reference,
        "result": {
            "removed_m2k_per_w": _interval(removal["removed_m2k_per_w"]),
            "before_k_per_w": _interval(removal["before"]),
            "after_k_per_w": _interval(removal["after"]),
            "left_m2k_per_w": _interval(answer.fouling_resistance_m2k_per_w),
            "limit": dataclasses.asdict(answer.limit) if answer.limit else None,
            "improved": _improved(gone),
            "power": _power_ratio(before, after),
            "head_pressure": _ratio(before.head_pressure_pa, after.head_pressure_pa),
            "suction_pressure": _ratio(before.suction_pressure_pa, after.suction_pressure_pa),
            "heat": _ratio(_heat(first), _value(answer.heat_w)),
            "same_conditions": _same_conditions(before, after),
            "equal_conditions": _at_equal_conditions(second, removal),
            "reference_words": REFERENCE_WORDS[reference],
            "cautions": cautions,
            "end_called": descale.end_called_at is not None,
        },
    }


def reference_of(descale: Descale, left: records.Interval | None, cautions: list[dict[str, str]]) -> str:
    """What the readings after may serve as: clean only where the end was called and nothing need be left."""
    if left is None or any(one["code"] == "charge_moved" for one in cautions):
        return "none"
    return "clean_reference" if descale.end_called_at is not None and left.low <= 0.0 else "best_since"


def _removed(after: selectors.Inputs, before: selectors.Inputs) -> dict[str, Any]:
    """What repeats cancels only where both were read with one gauge set that is named; each set errs by its
    own gauges' accuracies."""
    from diagnostics.engine.removal import removed  # loads the property library: not before needed

    try:
        found = removed(
            after.facts, _told_apart(before.reading, after.reading), after.reading, after.history,
            after.instruments or None, instruments_before=before.instruments,
        )  # fmt: skip
    except COMPUTATION_FAULTS as fault:
        said = [{"code": "not_computed", "text": f"The comparison was not computed: {fault}."}]
        empty = dict.fromkeys(("removed", "removed_m2k_per_w", "before", "after", "probability"))
        return {**empty, "warnings": said}
    return {
        "removed": found.removed_k_per_w,
        "removed_m2k_per_w": found.removed_m2k_per_w,
        "before": found.before_k_per_w,
        "after": found.after_k_per_w,
        "probability": found.probability,
        "warnings": [{"code": one.code, "text": one.text} for one in found.warnings],
    }


def _told_apart(before: records.ReadingSet, after: records.ReadingSet) -> records.ReadingSet:
    """Nobody said with which gauges either was read: that they were the same is not taken for granted."""
    unsaid = before.gauge_set is None and after.gauge_set is None
    return dataclasses.replace(before, gauge_set="not said") if unsaid else before


def _cautions(descale: Descale, before: Reading, after: Reading) -> list[dict[str, str]]:
    """What makes two sets less alike than they should be."""
    found = []
    if before.gauge_set_id != after.gauge_set_id or before.gauge_set_id is None:
        found.append(
            (
                "other_instruments",
                OTHER_GAUGES,
            )
        )
    if before.stage != after.stage:
        found.append(("other_stage", f"Read at stage {before.stage}, then at {after.stage}."))
    moved = UnitEvent.objects.filter(
        unit=descale.exchanger.unit_id, what__in=CHARGE_EVENTS, taken_back_at__isnull=True,
        at__gt=before.taken_at, at__lte=after.taken_at,
    )  # fmt: skip
    if moved.exists():
        found.append(("charge_moved", "Charge or parts were changed in between: the two do not compare."))
    return [{"code": code, "text": text} for code, text in found]


def _cleared(before: Reading, after: Reading) -> bool | None:
    if before.fault_lockout in ("", "none"):
        return None
    return after.fault_lockout in ("", "none")


def _improved(gone: records.Interval | None) -> str:
    if gone is None:
        return "not_known"
    if gone.low > 0:
        return "improved"
    return "worse" if gone.high < 0 else "no_improvement_shown"


def _heat(inputs: selectors.Inputs) -> float | None:
    return _value(judge(inputs).heat_w)


def _value(interval: records.Interval | None) -> float | None:
    return None if interval is None else interval.value


def _same_conditions(before: Reading, after: Reading) -> dict[str, Any]:
    """Power, capacity and pressures are as read; whether the water was alike in both, and what that means."""
    moved = {
        name: getattr(after, name) - getattr(before, name)
        for name in ALIKE
        if getattr(after, name) is not None and getattr(before, name) is not None
    }
    alike = bool(moved) and all(abs(moved[name]) <= ALIKE[name] for name in moved)
    return {"alike": alike, "moved": moved, "words": AS_READ if alike else f"{AS_READ} {UNLIKE}"}


def _at_equal_conditions(after: selectors.Inputs, removal: dict[str, Any]) -> dict[str, Any] | None:
    """Capacity and power that the fouling before and after give the unit's own model, at the conditions
    after; None where either is not known, or the register knows too little for a model."""
    if removal["after"] is None or removal["removed"] is None:
        return None
    from diagnostics.engine.descaling.regained import regained  # loads the property tables

    try:
        found = regained(after.facts, after.reading, removal["after"], removal["removed"])
    except COMPUTATION_FAULTS:
        return None
    return None if found is None else {**dataclasses.asdict(found), "words": MODELLED}


def _ratio(before: float | None, after: float | None) -> dict[str, float] | None:
    """Before and after as read, and after over before; at other water temperatures it says less."""
    if before is None or after is None or not before:
        return None
    return {"before": before, "after": after, "ratio": after / before}


def _power_ratio(before: Reading, after: Reading) -> dict[str, float] | None:
    """Nothing where the fan was on the meter at one of the two only."""
    if bool(before.power_includes_fan) != bool(after.power_includes_fan):
        return None
    return _ratio(before.compressor_power_w, after.compressor_power_w)


def _three(name: str, value: records.Interval | None) -> dict[str, float | None]:
    low, high = (None, None) if value is None else (value.low, value.high)
    return {f"{name}_k_per_w": _value(value), f"{name}_low_k_per_w": low, f"{name}_high_k_per_w": high}


def _interval(value: records.Interval | None) -> dict[str, float] | None:
    return None if value is None else dataclasses.asdict(value)


def _found(descale: Descale, purpose: str) -> Reading | None:
    standing = Reading.objects.standing().filter(exchanger=descale.exchanger_id, purpose=purpose)
    if purpose == "before_descale":
        return standing.order_by("-taken_at").first()
    mixed = descale.batch_set.order_by("at").values_list("at", flat=True).first()
    return (standing.filter(taken_at__gt=mixed) if mixed else standing).order_by("taken_at").first()


def _loaded(reading_id: UUID) -> Reading:
    rows_ = Reading.objects.select_related(*selectors.WITH_EXCHANGER)
    return rows_.prefetch_related("gauge_set__instruments").get(pk=reading_id)

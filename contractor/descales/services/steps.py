"""Whether an end step counts, by its reading, and what still lacks."""

from __future__ import annotations

from collections.abc import Callable

from contractor.descales.models import Descale, EndStep
from contractor.descales.services.checking import hold_fault, latest_checks
from contractor.descales.services.rules import Saying
from contractor.descales.words import AFTER_SERVICE, END_STEPS, NEVER_WAIVED
from diagnostics.engine.descaling.rinsing import rinse_lacks
from diagnostics.engine.waters import water

FREEZE_MARGIN_K = 1.0
"""How far the freeze cut-out stands above the water's freezing point, at the least: common practice."""
STANDING_SHARE = 0.03
"""What a standing pressure may differ by and still be that of before: common practice, both gauges."""
RINSE_WORDS = {"time": "five minutes at least", "ph": "pH not yet the supply's",
               "conductivity": "conductivity not yet the supply's"}  # fmt: skip


def settled_steps(descale: Descale, before: EndStep | None = None) -> dict[str, EndStep]:
    """Steps that are done and pass, not needed, or left open by name: the latest of each by its clock."""
    steps = EndStep.objects.filter(descale=descale).order_by("at", "received_at")
    if before is not None:
        steps = steps.filter(at__lte=before.at).exclude(pk=before.pk)
    latest = {step.kind: step for step in steps}
    return {kind: step for kind, step in latest.items() if not why_not(kind, step, descale)}


def why_not(kind: str, step: EndStep | None, descale: Descale) -> str:
    """Why a step does not count as settled; "" where it does."""
    words = END_STEPS[kind]
    if step is None:
        return f"Not yet: {words}."
    if step.outcome == "failed":
        return f"Did not pass: {words}."
    if step.outcome == "left_open":
        return f"Never left open: {words}." if kind in NEVER_WAIVED else ""
    if step.outcome == "not_needed":
        return f"Cannot be left out: {words}." if kind in NEVER_WAIVED else ""
    return fault_of_step(step, descale)


def what_lacks(descale: Descale) -> tuple[Saying, ...]:
    """What still stands between this unit and its service, in order; the first is what to do now."""
    latest = {s.kind: s for s in EndStep.objects.filter(descale=descale).order_by("at", "received_at")}
    wanted = [kind for kind in END_STEPS if kind not in AFTER_SERVICE]
    reasons = ((kind, why_not(kind, latest.get(kind), descale)) for kind in wanted)
    return tuple(Saying(kind, words, kind in NEVER_WAIVED) for kind, words in reasons if words)


def fault_of_step(step: EndStep, descale: Descale) -> str:
    judged = JUDGED.get(step.kind)
    return judged(step, descale) if judged else ""


def _rinse(step: EndStep, descale: Descale) -> str:
    read = (step.ph, step.supply_ph, step.conductivity_s_per_m, step.supply_conductivity_s_per_m)
    if step.duration_s is None or None in read:
        return "A final rinse has its time, and pH and conductivity of what comes out and of the supply."
    lacks = rinse_lacks(*read, step.duration_s)  # type: ignore[arg-type]
    return f"Rinse on: {', '.join(RINSE_WORDS[one] for one in lacks)}." if lacks else ""


def _hold(step: EndStep, descale: Descale) -> str:
    return hold_fault(step, descale.exchanger.water_rating_pa_gauge)


def _balancing(step: EndStep, descale: Descale) -> str:
    noted = latest_checks(descale).get("balancing_noted")
    if not step.told.strip():
        return "Tell the balancing valve's position."
    if noted is not None and noted.told.strip().casefold() != step.told.strip().casefold():
        return f"It was noted at {noted.told.strip()!r}; it stands at {step.told.strip()!r}."
    return ""


def _antifreeze(step: EndStep, descale: Descale) -> str:
    """The freeze cut-out as set stands above the freezing point of the water as measured."""
    site = descale.exchanger.unit.site
    if step.freeze_setting_k is None:
        return "Tell the freeze cut-out's setting."
    if site.antifreeze != "none" and step.antifreeze_fraction is None:
        return "Tell the antifreeze's strength as measured."
    try:
        freezes = water(site.antifreeze, step.antifreeze_fraction or None).freezing_point_k
    except ValueError as error:
        return f"The antifreeze's strength does not fit: {error}."
    if step.freeze_setting_k < freezes + FREEZE_MARGIN_K:
        return (
            f"The water freezes at {freezes - 273.15:.1f} degC and the cut-out is set to "
            f"{step.freeze_setting_k - 273.15:.1f} degC: they do not agree."
        )
    return ""


def _flow(step: EndStep, descale: Descale) -> str:
    return "" if step.flow_m3_per_s else "Tell the flow that was read."


def _standing(step: EndStep, descale: Descale) -> str:
    """Against the standing pressure before, where both were read."""
    if step.static_pressure_pa is None:
        return "Tell the standing pressure."
    before = standing_before(descale)
    if before is not None and step.static_pressure_pa < before * (1.0 - STANDING_SHARE):
        return "The standing pressure is below that before: refrigerant may be lost; a certified person."
    return ""


def standing_before(descale: Descale) -> float | None:
    """The refrigerant's standing pressure before [Pa abs]; None where nobody read it."""
    readings = descale.exchanger.readings.standing().filter(
        purpose="before_descale", static_pressure_pa__isnull=False
    )
    found: float | None = readings.order_by("-taken_at").values_list("static_pressure_pa", flat=True).first()
    return found


Judges = Callable[[EndStep, Descale], str]
JUDGED: dict[str, Judges] = {
    "final_rinse": _rinse,
    "second_hold_test": _hold,
    "balancing_back": _balancing,
    "refrigerant_detector": _standing,
    "antifreeze_back": _antifreeze,
    "flow_proven": _flow,
}

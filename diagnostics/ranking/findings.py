"""From findings, as the crew wrote them, to the outcomes of checks that the engine weighs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from django.db.models import Q

from contractor.visits.models import Finding, Reading
from diagnostics.engine import records
from diagnostics.engine.causes.evidence import Findings

SAME: dict[str, str] = {
    "strainer": "open_strainer",
    "back_flush": "back_flush",
    "flow_control": "look_at_flow_control",
    "loop_flow": "ask_the_loop",
    "water_vent": "vent_water",
    "air_side": "look_at_air_side",
    "charge": "weigh_charge",
    "reversing_valve": "feel_reversing_valve",
    "metering": "feel_drier",
    "compressor": "pump_compressor",
    "read_again": "read_again",
    "data_plate": "read_data_plate",
}
"""Kinds whose words are the outcomes of a check."""
DESCALE_BEARS_FOR = timedelta(days=60)
BROUGHT_BY_DESCALE = {"nothing": "nothing", "solids": "deposit", "mud": "deposit", "slime": "deposit"}
CHANGED_BY_DESCALE = {"better": "better", "no_change": "nothing"}


@dataclass
class Gathered:
    """What findings add to a reading set, and what they say by check."""

    reading: records.ReadingSet
    checks: dict[str, str] = field(default_factory=dict)
    brought: str | None = None
    changed: str | None = None

    def findings(self) -> Findings:
        return Findings(self.checks, self.brought, self.changed)


def bearing_on(reading: Reading) -> list[Finding]:
    """Findings that stand, of its visit and unit and not of another exchanger; descales near it in time."""
    near = {
        "found_at__gte": reading.taken_at - DESCALE_BEARS_FOR,
        "found_at__lte": reading.taken_at + DESCALE_BEARS_FOR,
    }
    unit = Finding.objects.in_use().filter(unit=reading.exchanger.unit_id)
    ours = unit.filter(Q(exchanger=None) | Q(exchanger=reading.exchanger_id))
    rows = ours.filter(Q(visit=reading.visit_id) | Q(kind="descale", **near))
    return list(rows.order_by("found_at", "pk"))


def readings_borne_on(finding: Finding) -> list[Reading]:
    """The readings that a finding says something of, oldest first."""
    of_unit = Reading.objects.standing().filter(exchanger__unit=finding.unit_id)
    if finding.exchanger_id is not None:
        of_unit = of_unit.filter(exchanger=finding.exchanger_id)
    which = Q(visit=finding.visit_id)
    if finding.kind == "descale":
        first, last = finding.found_at - DESCALE_BEARS_FOR, finding.found_at + DESCALE_BEARS_FOR
        which |= Q(taken_at__gte=first, taken_at__lte=last)
    return list(of_unit.filter(which).order_by("taken_at", "pk"))


def gathered(reading: records.ReadingSet, found: Iterable[Finding]) -> Gathered:
    """Later findings replace earlier ones of the same check."""
    so_far = Gathered(reading)
    for finding in found:
        _add(so_far, finding)
    return so_far


def _add(so_far: Gathered, finding: Finding) -> None:
    kind, value = finding.kind, finding.value
    if kind in SAME:
        so_far.checks[SAME[kind]] = value
    elif kind == "strainer_cleaned":
        _cleaned(so_far, value, finding.found_at)
    elif kind == "hoses":
        check, outcome = ("look_at_flow_control", "wrong") if value == "kinked" else ("trace_hoses", value)
        so_far.checks[check] = outcome
    elif kind in ("cutout_setting", "freeze_sensor"):
        drifted = value != "right" or so_far.checks.get("check_cutouts") == "drifted"
        so_far.checks["check_cutouts"] = "drifted" if drifted else "right"
    elif kind == "static_test":
        _static(so_far, finding)
    elif kind == "lockout":
        _lockout(so_far, finding)
    elif kind == "descale":
        _descaled(so_far, finding)


def _cleaned(so_far: Gathered, value: str, at: datetime) -> None:
    """A reading after the cleaning has a clean strainer; flow that came back says what it was before."""
    if at <= so_far.reading.taken_at:
        so_far.checks["open_strainer"] = "clean"
    elif value == "flow_restored":
        so_far.checks["open_strainer"] = "blocked"


def _static(so_far: Gathered, finding: Finding) -> None:
    if finding.static_pressure_pa is not None and finding.static_coldest_k is not None:
        so_far.reading = replace(
            so_far.reading,
            static_pressure_pa=finding.static_pressure_pa,
            static_coldest_k=finding.static_coldest_k,
        )
    elif finding.value != "measured":
        so_far.checks["static_test"] = finding.value


def _lockout(so_far: Gathered, finding: Finding) -> None:
    """What the control showed, where the reading doesn't say and the mode is the reading's."""
    if so_far.reading.fault_lockout is None and finding.mode in ("", so_far.reading.mode):
        so_far.reading = replace(so_far.reading, fault_lockout=finding.value)


def _descaled(so_far: Gathered, finding: Finding) -> None:
    """Of a reading before the descale all that it brought is evidence; after it only that it was in vain,
    since what came out is gone."""
    brought, changed = BROUGHT_BY_DESCALE.get(finding.brought), CHANGED_BY_DESCALE.get(finding.value)
    if finding.found_at <= so_far.reading.taken_at:
        brought, changed = (one if one == "nothing" else None for one in (brought, changed))
    so_far.brought, so_far.changed = brought or so_far.brought, changed or so_far.changed

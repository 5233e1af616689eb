"""What the readings after may serve as, and when two sets are too unlike to tell."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

import pytest

from contractor.descales import services
from contractor.descales.models import Descale
from contractor.descales.services.proving import compared, reference_of
from contractor.http.problems import Problem
from contractor.register.models import GaugeSet, Instrument, UnitEvent
from contractor.visits.services import let_stand_as_clean
from contractor.workqueue.models import WorkItem
from diagnostics import selectors
from diagnostics.engine.records import Interval
from tests.cast import Cast
from tests.diagnostics import world as machine

pytestmark = pytest.mark.django_db


def descale_of(cast: Cast, state: str = "in_service", called: bool = True) -> Descale:
    machine.know(cast.exchanger)
    machine.clean_visits(cast.visit, cast.exchanger, cast.assigned)
    ended = machine.FIRST_DAY + dt.timedelta(days=400) if called else None
    return Descale.objects.create(exchanger=cast.exchanger, because="fouled", recommended_by=cast.office,
                                  state=state, visit=cast.visit, end_called_at=ended)  # fmt: skip


def both(cast: Cast, left: float = 0.0) -> tuple[object, object]:
    before = machine.reading(cast.visit, cast.exchanger, cast.assigned, day=399, purpose="before_descale",
                             fouling_m2k_per_w=machine.HEAVY, fault_lockout="high_head")  # fmt: skip
    after = machine.reading(cast.visit, cast.exchanger, cast.assigned, day=401, purpose="after_descale",
                            fouling_m2k_per_w=left)  # fmt: skip
    return before, after


@pytest.mark.parametrize(
    ("called", "left", "expected"),
    [
        (True, Interval(0.0, -1e-5, 1e-5), "clean_reference"),
        (False, Interval(0.0, -1e-5, 1e-5), "best_since"),
        (True, Interval(3e-5, 1e-5, 5e-5), "best_since"),
        (True, None, "none"),
    ],
)
def test_clean_only_where_the_end_was_called_and_nothing_need_be_left(
    cast: Cast, called: bool, left: Interval | None, expected: str
) -> None:
    assert reference_of(descale_of(cast, called=called), left, []) == expected


def test_no_reference_where_the_charge_was_moved_in_between(cast: Cast) -> None:
    descale = descale_of(cast)
    before, after = both(cast)
    UnitEvent.objects.create(
        unit=cast.unit, at=machine.FIRST_DAY + dt.timedelta(days=400), what="charge_changed"
    )
    found = compared(descale, before, after)  # type: ignore[arg-type]
    assert "charge_moved" in [one["code"] for one in found["result"]["cautions"]]
    assert found["reference"] == "none"


def test_removed_and_left_are_told_with_intervals_and_the_lockout_is_cleared(cast: Cast) -> None:
    descale = descale_of(cast)
    before, after = both(cast)
    found = compared(descale, before, after)  # type: ignore[arg-type]
    assert found["removed_low_k_per_w"] < machine.HEAVY / machine.AREA_M2 < found["removed_high_k_per_w"]
    assert found["left_low_k_per_w"] < 0.1 * machine.HEAVY / machine.AREA_M2
    assert found["lockout_cleared"] is True and found["result"]["improved"] == "improved"
    assert found["result"]["heat"]["ratio"] > 0 and found["result"]["power"]["ratio"] < 1


def test_no_improvement_is_reported_as_such(cast: Cast) -> None:
    descale = descale_of(cast)
    before, after = both(cast, left=machine.HEAVY)
    found = compared(descale, before, after)  # type: ignore[arg-type]
    assert found["result"]["improved"] == "no_improvement_shown"
    assert found["reference"] == "best_since"


def width(found: dict[str, Any]) -> float:
    return float(found["removed_high_k_per_w"] - found["removed_low_k_per_w"])


def test_what_repeats_cancels_only_with_one_gauge_set_that_is_named(cast: Cast) -> None:
    descale = descale_of(cast)
    sets = [GaugeSet.objects.create(name=name, holder=cast.assigned) for name in ("A", "B")]
    before, after = both(cast)

    def judged(first: GaugeSet | None, second: GaugeSet | None) -> dict[str, Any]:
        before.gauge_set, after.gauge_set = first, second  # type: ignore[attr-defined]
        return compared(descale, before, after)  # type: ignore[arg-type]

    one, two, unsaid = judged(sets[0], sets[0]), judged(sets[0], sets[1]), judged(None, None)
    assert width(two) > 1.1 * width(one) and width(unsaid) > 1.1 * width(one)
    codes = [[each["code"] for each in found["result"]["cautions"]] for found in (one, two, unsaid)]
    assert ["other_instruments" in each for each in codes] == [False, True, True]
    for name in ("entering_water", "leaving_water"):
        Instrument.objects.create(gauge_set=sets[0], reading=name, repeating=1.0, random=0.5, relative=False)
    coarse = judged(GaugeSet.objects.get(pk=sets[0].pk), sets[1])
    assert width(coarse) > 1.3 * width(two), "the set before errs by its own gauges"


def test_the_engine_takes_readings_that_stand_as_clean_for_a_clean_reference(cast: Cast) -> None:
    descale_of(cast)
    _, after = both(cast)
    assert selectors.reading_set(after, "x").purpose == "after_descale"  # type: ignore[arg-type]
    assert let_stand_as_clean(after, True)  # type: ignore[arg-type]
    after.refresh_from_db()  # type: ignore[attr-defined]
    assert selectors.reading_set(after, "x").purpose == "clean_reference"  # type: ignore[arg-type]
    assert WorkItem.objects.filter(kind="reassess", subject=str(cast.exchanger.pk)).exists()
    assert not let_stand_as_clean(after, True)  # type: ignore[arg-type]


def test_a_proof_wants_readings_before_and_after_of_one_mode_and_a_unit_in_service(cast: Cast) -> None:
    descale = descale_of(cast, state="rinsing")
    with pytest.raises(Problem) as refused:
        services.request_proof(cast.office, descale)
    assert refused.value.kind == "descale-state"
    Descale.objects.filter(pk=descale.pk).update(state="in_service")
    with pytest.raises(Problem) as refused:
        services.request_proof(cast.office, descale)
    assert refused.value.errors[0]["pointer"] == "#/before"
    _, after = both(cast)
    type(after).objects.filter(pk=after.pk).update(mode="heating")  # type: ignore[attr-defined]
    with pytest.raises(Problem) as refused:
        services.request_proof(cast.office, descale)
    assert "one mode" in str(refused.value.detail)


def test_capacity_and_power_are_brought_to_the_same_conditions_by_the_units_own_model(cast: Cast) -> None:
    descale = descale_of(cast)
    before, after = both(cast)
    cast.unit.capacity_w = 12_500.0
    cast.unit.save()
    again = [type(one).objects.get(pk=one.pk) for one in (before, after)]  # type: ignore[attr-defined]
    found = compared(descale, *again)["result"]["equal_conditions"]
    gained, saved = found["capacity_w"], found["power_w"]
    assert 0.0 < gained["low"] < gained["value"] < gained["high"]
    assert saved["low"] < saved["value"] < saved["high"] < 0.0
    assert found["capacity_after_w"] - found["capacity_before_w"] == pytest.approx(gained["value"])
    assert found["entering_water_k"] == after.entering_water_k  # type: ignore[attr-defined]
    assert "not measured" in found["words"]


def test_no_model_is_told_where_the_register_does_not_know_the_machine(cast: Cast) -> None:
    descale = descale_of(cast)
    before, after = both(cast)
    type(cast.unit).objects.filter(pk=cast.unit.pk).update(capacity_w=None)
    type(cast.exchanger).objects.filter(pk=cast.exchanger.pk).update(design_flow_m3_per_s=None)
    again = [type(one).objects.get(pk=one.pk) for one in (before, after)]  # type: ignore[attr-defined]
    assert compared(descale, *again)["result"]["equal_conditions"] is None


def test_what_errs_in_both_alike_cancels_in_what_was_removed(cast: Cast) -> None:
    """Both sets with the same instruments: the change is known better than two unrelated values would be."""
    descale = descale_of(cast)
    before, after = both(cast)
    before.gauge_set = after.gauge_set = GaugeSet.objects.create(name="A", holder=cast.assigned)  # type: ignore[attr-defined]
    found = compared(descale, before, after)  # type: ignore[arg-type]
    first, second = (found["result"][name] for name in ("before_k_per_w", "after_k_per_w"))
    apart = math.hypot(first["high"] - first["low"], second["high"] - second["low"])
    assert found["removed_high_k_per_w"] - found["removed_low_k_per_w"] < 0.9 * apart


def test_best_since_keeps_the_full_width_of_what_is_left_and_says_so(cast: Cast) -> None:
    descale = descale_of(cast, called=False)
    before, after = both(cast)
    found = compared(descale, before, after)  # type: ignore[arg-type]
    assert found["reference"] == "best_since"
    left = found["result"]["after_k_per_w"]
    assert (found["left_low_k_per_w"], found["left_high_k_per_w"]) == (left["low"], left["high"])
    assert "kept with the full width" in found["result"]["reference_words"]


def test_power_and_capacity_are_said_to_be_as_read_and_whether_the_water_was_alike(cast: Cast) -> None:
    descale = descale_of(cast)
    before, after = both(cast)
    told = compared(descale, before, after)["result"]["same_conditions"]  # type: ignore[arg-type]
    assert "not brought to the same conditions" in told["words"] and told["alike"] is True
    after.entering_water_k = before.entering_water_k + 4.0  # type: ignore[attr-defined]
    told = compared(descale, before, after)["result"]["same_conditions"]  # type: ignore[arg-type]
    assert told["alike"] is False and told["moved"]["entering_water_k"] == pytest.approx(4.0)

"""An instrument overdue for calibration is named in the answer, in the report and over the API."""

from __future__ import annotations

import datetime as dt

import pytest

from contractor.register import services as register
from contractor.register.models import GaugeSet, Instrument
from contractor.visits.models import Reading
from diagnostics import services
from diagnostics.calibration import overdue_warnings
from diagnostics.models import Assessment
from reporting import selectors
from tests.cast import Cast, as_person
from tests.diagnostics import world

pytestmark = pytest.mark.django_db
ACCURACY = {"repeating": 0.2, "random": 0.1, "relative": False}


@pytest.fixture
def gauges(cast: Cast) -> GaugeSet:
    return GaugeSet.objects.create(name="van 2", holder=cast.assigned)


@pytest.fixture
def reading(cast: Cast, gauges: GaugeSet) -> Reading:
    made = world.reading(cast.visit, cast.exchanger, cast.assigned, day=300)
    Reading.objects.filter(pk=made.pk).update(gauge_set=gauges)
    return Reading.objects.get(pk=made.pk)


def instrument(gauges: GaugeSet, of: str = "entering_water", **given: object) -> Instrument:
    return register.add_instrument({"gauge_set": gauges, "reading": of, **ACCURACY, **given})


def days(reading: Reading, number: int) -> dt.date:
    return reading.taken_at.date() + dt.timedelta(days=number)


def test_one_that_was_overdue_is_named_with_the_day_and_what_would_be_right(
    reading: Reading, gauges: GaugeSet
) -> None:
    due = days(reading, -40)
    instrument(gauges, calibration_due_on=due)
    [warning] = overdue_warnings(reading)
    assert warning.code == "calibration_overdue"
    for words in ("entering water", "van 2", f"{due:%Y-%m-%d}", "40 days", "Have it calibrated"):
        assert words in warning.text


@pytest.mark.parametrize(
    ("of", "due", "made"),
    [("entering_water", 0, None), ("entering_water", 200, -100), ("entering_water", None, None),
     ("entering_water", 370, 5), ("power_factor", -40, None)],
    ids=["due that very day", "in time", "no date known", "calibrated since", "not read from"],
)  # fmt: skip
def test_one_that_was_not_is_not(
    reading: Reading, gauges: GaugeSet, of: str, due: int | None, made: int | None
) -> None:
    when = {"calibration_due_on": due, "calibrated_on": made}
    instrument(gauges, of, **{name: days(reading, n) for name, n in when.items() if n is not None})
    assert overdue_warnings(reading) == ()


def test_it_stands_in_the_assessment_and_the_report_and_leaves_the_number_alone(
    cast: Cast, reading: Reading, gauges: GaugeSet
) -> None:
    world.know(cast.exchanger)
    row = instrument(gauges, calibration_due_on=days(reading, 10))
    before = services.assess_reading(reading.pk)
    register.change_instrument(row, {"calibration_due_on": days(reading, -10)})
    after = services.assess_reading(reading.pk)
    assert before is not None and after is not None and after.pk != before.pk
    assert after.fouling_m2k_per_w == before.fouling_m2k_per_w
    told = as_person(cast.office).get(f"/api/v1/readings/{reading.pk}/assessment/").json()["warnings"]
    assert "calibration_overdue" in [warning["code"] for warning in told]
    whole = Assessment.objects.select_related(*selectors.WITH_EVERYTHING).get(pk=after.pk)
    assert any("van 2" in warning.text for warning in selectors.visit_report_of(whole).answer.warnings)


@pytest.mark.parametrize(
    ("of", "made", "due"),
    [("entering_water", dt.date(2026, 2, 28), dt.date(2027, 2, 28)),
     ("water_flow", dt.date(2024, 2, 29), dt.date(2026, 2, 28)),
     ("amps", dt.date(2026, 12, 31), dt.date(2028, 12, 31))],
)  # fmt: skip
def test_a_calibration_says_when_the_next_is_due(
    gauges: GaugeSet, of: str, made: dt.date, due: dt.date
) -> None:
    row = instrument(gauges, of, calibrated_on=made)
    assert row.calibration_due_on == due
    register.change_instrument(row, {"calibrated_on": made, "calibration_due_on": dt.date(2030, 1, 1)})
    assert row.calibration_due_on == dt.date(2030, 1, 1)

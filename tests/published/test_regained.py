"""Capacity and power regained at equal conditions, by hand and at the limits."""

from datetime import UTC, datetime

import pytest

from diagnostics.engine.descaling.regained import regained
from diagnostics.engine.records import ExchangerFacts, Interval, ReadingSet
from diagnostics.engine.virtual_unit import Conditions, rated_unit, solve
from tests.published.sources import published

FACTS = ExchangerFacts("HP-1", "R410A", "coaxial", area_m2=1.0, capacity_w=10e3, design_flow_m3_per_s=5.5e-4)
DAY = datetime(2027, 5, 4, tzinfo=UTC)
READ = ReadingSet("HP-1", DAY, "cooling", entering_water_k=305.65)
NONE = Interval(0.0, 0.0, 0.0)


@published(
    regained,
    source="hand calculation: condensing falls by heat flux times scale, power by 2.2 to 3.2 % a kelvin at "
    "one displacement (cycles computed with CoolProp)",
)
def test_power_saved_is_what_heat_flux_and_the_cycle_say():
    scale = 2e-4
    found = regained(FACTS, READ, NONE, Interval(scale, 0.5 * scale, 1.5 * scale))
    clean = solve(rated_unit(FACTS), Conditions("cooling", 305.65))
    kelvin = clean.heat_w * scale
    assert 0.022 * kelvin < -found.power_w.value / found.power_after_w < 0.032 * kelvin
    assert found.power_w.low < found.power_w.value < found.power_w.high < 0.0
    assert found.capacity_w.value == pytest.approx(found.capacity_after_w - found.capacity_before_w)


def test_nothing_removed_regains_nothing_and_a_change_that_may_be_none_holds_none():
    found = regained(FACTS, READ, Interval(1e-4, 1e-4, 1e-4), NONE)
    assert found.capacity_w == found.power_w == NONE
    found = regained(FACTS, READ, Interval(1e-4, 0.5e-4, 1.5e-4), Interval(0.2e-4, -0.5e-4, 0.9e-4))
    assert found.capacity_w.low < 0.0 < found.capacity_w.high


def test_the_interval_widens_with_that_of_what_was_removed():
    wide, narrow = (
        regained(FACTS, READ, NONE, Interval(2e-4, 2e-4 - half, 2e-4 + half)) for half in (1e-4, 0.2e-4)
    )
    assert wide.power_w.high - wide.power_w.low > 3 * (narrow.power_w.high - narrow.power_w.low)


def test_without_entering_water_or_size_nothing_is_told():
    bare = ReadingSet("HP-1", DAY, "cooling")
    assert regained(FACTS, bare, NONE, NONE) is None
    assert regained(ExchangerFacts("HP-1", "R410A", "coaxial"), READ, NONE, NONE) is None

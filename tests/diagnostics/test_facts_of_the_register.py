"""What of the register's rows the engine is told."""

from __future__ import annotations

import pytest

from diagnostics import selectors
from tests import make

pytestmark = pytest.mark.django_db
TOWER = {"water_source": "cooling_tower", "loop_low_k": 288.15, "loop_high_k": 305.15}


def test_a_chillers_condenser_stands_in_the_sites_loop() -> None:
    chiller = make.unit(make.site(**TOWER), kind="water_cooled_chiller")
    facts = selectors.facts_of(make.exchanger(chiller, modes="cooling"))
    assert (facts.water_source, facts.loop_low_k, facts.loop_high_k) == ("cooling_tower", 288.15, 305.15)


def test_a_chillers_evaporator_is_not_held_against_the_sites_loop() -> None:
    chiller = make.unit(make.site(**TOWER), kind="water_cooled_chiller")
    facts = selectors.facts_of(make.exchanger(chiller, modes="heating"))
    assert (facts.water_source, facts.loop_low_k, facts.loop_high_k) == (None, None, None)


def test_ports_and_fan_are_told_as_on_record() -> None:
    unit = make.unit(fan_power_w=250.0)
    told = selectors.facts_of(make.exchanger(unit, between_ports="strainer", port_rise_m=-0.4))
    assert (told.between_ports, told.port_rise_m, told.fan_power_w) == ("strainer", -0.4, 250.0)
    bare = selectors.facts_of(make.exchanger())
    assert (bare.between_ports, bare.port_rise_m, bare.fan_power_w) == (None, None, None)


def test_how_a_drop_was_read_and_what_was_on_the_meter_are_told() -> None:
    on = make.visit(make.site())
    exchanger, by = make.exchanger(make.unit(on.site)), make.person()
    said = make.reading(on, exchanger, by, drop_read_by="gauge_at_each_port", power_includes_fan=True)
    told = selectors.reading_set(said, "HP-1")
    assert (told.drop_read_by, told.power_includes_fan) == ("gauge_at_each_port", True)
    bare = selectors.reading_set(make.reading(on, exchanger, by), "HP-1")
    assert (bare.drop_read_by, bare.power_includes_fan) == (None, None)

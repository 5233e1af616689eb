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

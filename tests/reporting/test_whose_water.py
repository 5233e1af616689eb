"""Which water a paper speaks of."""

from __future__ import annotations

import pytest

from contractor.descales.models import Descale
from reporting.gathering import place_of
from tests import make

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("modes", "told"), [("heating", ""), ("cooling", "cooling_tower")])
def test_the_cooling_tower_is_the_condensers_water_and_not_the_evaporators(modes: str, told: str) -> None:
    unit = make.unit(make.site(water_source="cooling_tower"), kind="water_cooled_chiller")
    exchanger = make.exchanger(unit, kind="shell_and_tube", modes=modes)
    assert place_of(Descale(exchanger=exchanger)).water_source == told

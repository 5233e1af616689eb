"""Heat over power against CoolProp's cycle."""

import pytest
from CoolProp.CoolProp import PropsSI

from diagnostics.engine import power as p
from diagnostics.engine.refrigerants import refrigerant
from tests.published.sources import published


@published(
    p.heat_over_power,
    p.saturation_by_power,
    source="CoolProp 8: single-stage cycle with eta 0.65 and 5 % shell loss, state by state",
)
@pytest.mark.parametrize(
    ("name", "evaporating", "condensing"), [("R134a", 278.15, 313.15), ("R32", 275.15, 318.15)]
)
def test_heat_over_power_of_a_cycle_and_back(name, evaporating, condensing):
    suction, head = (PropsSI("P", "T", kelvin, "Q", 1, name) for kelvin in (evaporating, condensing))
    before = PropsSI("H", "P", suction, "T", evaporating + 5.0, name)
    entropy = PropsSI("S", "P", suction, "T", evaporating + 5.0, name)
    work = (PropsSI("H", "P", head, "S", entropy, name) - before) / 0.65
    liquid = PropsSI("H", "P", head, "T", condensing - 5.0, name)
    fluid = refrigerant(name)
    for condenser, heat in ((True, before + 0.95 * work - liquid), (False, before - liquid)):
        ours = p.heat_over_power(fluid, evaporating, condensing, condenser, 5.0, 5.0)
        assert ours == pytest.approx(heat / work, rel=2e-3)
        other, wanted = (evaporating, condensing) if condenser else (condensing, evaporating)
        span = (wanted - 20.0, wanted + 20.0)
        found = p.saturation_by_power(fluid, heat / work, condenser, other, span, 5.0, 5.0)
        assert found == pytest.approx(wanted, abs=0.1)

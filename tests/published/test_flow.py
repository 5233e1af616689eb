"""How a deposit leads a clean pressure-drop curve astray, against the tube's own law."""

import pytest

from diagnostics.engine import flow
from tests.published.sources import published


@published(
    flow.narrowing,
    source="White, Fluid Mechanics, ch. 6 (from memory): dp ~ Q^1.75 D^-4.75; 0.1 mm on 16 mm by hand",
)
def test_a_narrowed_bore_runs_ahead_by_the_power_of_the_diameter():
    resistance, conductivity, bore = 5e-5, 2.0, 0.016
    narrowed = bore - 2 * conductivity * resistance
    read_over_true = (bore / narrowed) ** (4.75 / 1.75)
    ahead = flow.narrowing(conductivity, bore, 1.75) * resistance
    assert 1 + ahead == pytest.approx(read_over_true, rel=0.005)


@published(flow.narrowing, source="parallel plates, from memory: dp ~ V^n/gap^(1+n) at one volume flow")
def test_a_narrowed_gap_between_plates():
    gap, exponent = 0.0035, 1.8
    layer = 1.5 * 1e-5
    read_over_true = (gap / (gap - 2 * layer)) ** ((1 + exponent) / exponent)
    assert 1 + flow.narrowing(1.5, gap, exponent, plates=True) * 1e-5 == pytest.approx(
        read_over_true, rel=2e-3
    )

"""Line loss between port and exchanger: an allowance that grows with the square of the refrigerant's flow."""

from dataclasses import replace

import pytest

from diagnostics.engine import gathering
from diagnostics.engine.channels import TAP_K, line_loss, saturation_errors
from diagnostics.engine.uncertainty import instrument_table
from tests.engine.case import FACTS

RATED_W = 12_500.0
"""1.25 times the capacity on record (common practice for heat rejected in cooling)."""


@pytest.mark.parametrize("load", [0.5, 0.8, 1.0, 1.2])
def test_it_grows_with_the_square_of_the_load(load):
    assert line_loss(FACTS, "cooling", load * RATED_W) == pytest.approx(load**2)


def test_without_a_rating_or_a_heat_it_is_the_rated_allowance():
    assert line_loss(replace(FACTS, capacity_w=None), "cooling", 5000.0) == 1.0
    assert line_loss(FACTS, "heating", None) == 1.0


def test_a_rating_that_is_hardly_this_machines_does_not_run_away():
    assert line_loss(FACTS, "cooling", 100 * RATED_W) == pytest.approx(1.5**2)
    assert line_loss(FACTS, "cooling", 0.0) == pytest.approx(0.3**2)


def test_in_kelvin_it_is_the_stated_allowance_at_the_rated_heat():
    bench = gathering.bench_of(FACTS, [], instrument_table(None))
    slope = 25.0
    full, half = (
        saturation_errors(bench, "cooling", slope, "head_pressure", load * RATED_W)[0] for load in (1.0, 0.5)
    )
    assert full.weight * full.spread * slope == pytest.approx(TAP_K)
    assert half.weight == pytest.approx(full.weight / 4)
    assert half.key == full.key

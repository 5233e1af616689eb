"""The refrigerant side's account against CoolProp, standards and worked arithmetic."""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from diagnostics.engine import balance as b
from tests.published.sources import published


@published(
    b.refrigerant_flow,
    b.refrigerant_heat,
    source="CoolProp 8: single-stage cycle of R134a, 5/40 degC, 5 K, 5 K, eta 0.7: COP 4.825",
)
def test_flow_and_heat_of_a_known_cycle():
    suction = PropsSI("P", "T", 278.15, "Q", 1, "R134a")
    head = PropsSI("P", "T", 313.15, "Q", 1, "R134a")
    before = PropsSI("H", "P", suction, "T", 283.15, "R134a")
    entropy = PropsSI("S", "P", suction, "T", 283.15, "R134a")
    after = before + (PropsSI("H", "P", head, "S", entropy, "R134a") - before) / 0.7
    liquid = PropsSI("H", "P", head, "T", 308.15, "R134a")
    flow = b.refrigerant_flow(3000.0, 0.0, after, before)
    cooling = b.refrigerant_heat(flow, before, liquid)
    rejected = b.refrigerant_heat(flow, after, liquid)
    assert cooling / 3000.0 == pytest.approx(4.825, abs=0.001)
    assert rejected == pytest.approx(cooling + 3000.0)


@published(
    b.refrigerant_flow, source="ISO 917, energy balance (from memory): a loss takes its share of the flow"
)
def test_a_shell_loss_takes_its_share():
    assert b.refrigerant_flow(3000.0, 0.05, 460e3, 422e3) == pytest.approx(0.075)


@published(
    b.heat_past_leak,
    source="Cengel and Boles, Thermodynamics, mixing of hot and cold water in a shower: enthalpies 107.99 "
    "and 18.07 Btu/lb mix to 78.02 at a ratio of 2.0 (from memory)",
)
def test_a_leaking_valve_is_a_mixing_chamber():
    hot, cold, mixed, unit = 107.99, 18.07, 78.02, 2326.0
    # in heating one third of what the compressor draws in came through the evaporator, at the cold state
    passed = b.heat_past_leak(3.0, mixed * unit, 0.0, hot * unit, 2.0 / 3.0)
    assert passed == pytest.approx(1.0 * cold * unit, rel=0.01)
    # in cooling one third condenses
    assert b.heat_past_leak(3.0, hot * unit, 0.0, hot * unit, 2.0 / 3.0) == pytest.approx(hot * unit)


@published(b.electrical_power, source="IEC 60050-131 (from memory): three phases, P = sqrt(3) U I cos phi")
def test_power_from_volts_and_amps():
    assert b.electrical_power(400.0, 10.0, 3, 0.85) == pytest.approx(5889, abs=1)
    assert b.electrical_power(230.0, 10.0) == 2300.0
    with pytest.raises(ValueError, match="1 or 3"):
        b.electrical_power(230.0, 10.0, 2)


@published(b.disagreement, source="ISO 13528:2015, zeta scores: difference over the root of summed squares")
def test_a_zeta_score():
    assert b.disagreement(1.10, 1.00, 0.03, 0.04) == pytest.approx(2.0)
    # fully correlated errors of one size leave the difference certain (JCGM 100, eq. 16)
    assert b.disagreement(1.0, 1.0, 0.1, 0.1, correlation=1.0) == 0.0
    assert b.disagreement(1.1, 1.0, 0.1, 0.1, correlation=1.0) == np.inf


@published(b.weighted_mean, source="NumPy average with inverse-variance weights; Cox, Metrologia 39 (2002)")
def test_a_weighted_mean():
    values, spreads = np.array([1.0, 1.2, 0.9]), np.array([0.1, 0.2, 0.05])
    mean, spread, weights = b.weighted_mean(values, spreads)
    assert mean == pytest.approx(np.average(values, weights=spreads**-2.0))
    assert spread == pytest.approx((spreads**-2.0).sum() ** -0.5)
    assert weights.sum() == pytest.approx(1.0)


@published(
    b.leave_one_out,
    source="NumPy least squares, the reading's error a free unknown, the residuals whitened by Cholesky",
)
def test_leaving_a_reading_out_is_least_squares_with_its_error_free():
    rng = np.random.default_rng(4)
    residuals, columns = rng.normal(size=5), rng.normal(size=(5, 3))
    root = rng.normal(size=(5, 5))
    covariance = root @ root.T + np.eye(5)
    whole, left, errors = b.leave_one_out(residuals, covariance, columns)
    white = np.linalg.inv(np.linalg.cholesky(covariance))
    assert whole == pytest.approx(float(((white @ residuals) ** 2).sum()))
    for place in range(3):
        found, rest, _, _ = np.linalg.lstsq(white @ columns[:, [place]], white @ residuals, rcond=None)
        assert errors[place] == pytest.approx(float(found[0]))
        assert left[place] == pytest.approx(float(rest[0]))


@published(b.leave_one_out, source="by hand: 10.0, 10.1 and 13.0 read of one quantity, each good to 0.1")
def test_the_odd_one_of_three_is_found():
    # Differences from the first; its own error is in both, so their covariance is 0.01.
    residuals = np.array([0.1, 3.0])
    covariance = np.array([[0.02, 0.01], [0.01, 0.02]])
    _, left, errors = b.leave_one_out(residuals, covariance, np.array([[-1.0, 1.0, 0.0], [-1.0, 0.0, 1.0]]))
    # Without the third: 0.1^2 / (2 * 0.01); the third stands 2.95 above the mean of the others.
    assert left[2] == pytest.approx(0.5)
    assert errors[2] == pytest.approx(2.95)
    assert left[2] < min(left[0], left[1])


@published(
    b.less_fan,
    source="JCGM 100:2008, 4.3.7: half-width over sqrt(3) of ln between its limits; by hand 2000 W less 200 "
    "to 300 W is 1800 to 1700 W, sqrt(1800 x 1700) = 1749.29 W, ln(1800/1700)/sqrt(12) = 0.016500",
)
def test_a_power_less_its_fan():
    power, spread = b.less_fan(2000.0, 200.0, 300.0)
    assert power == pytest.approx(1749.29, abs=0.01)
    assert spread == pytest.approx(0.016500, abs=1e-6)
    assert b.less_fan(2000.0, 0.0, 0.0) == (2000.0, 0.0)

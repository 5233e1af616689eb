"""Zone conductances against integration along the surface, the ht library and arithmetic."""

import ht
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from diagnostics.engine import zones as z
from tests.published.sources import published


@published(z.mean_difference, source="ht library, ht.LMTD")
@pytest.mark.parametrize(("one", "other"), [(10.0, 3.0), (3.0, 10.0), (5.0, 5.0), (0.01, 8.0)])
def test_the_mean_difference_of_the_hot_loop(one, other):
    assert z.mean_difference(one, other) == pytest.approx(ht.LMTD(one, other, 0.0, 0.0), rel=1e-5)


def surface_needed(change, hot_start, hot_end, cold_start, cold_end):
    """Conductance needed along a zone by integration: d(UA)/dq = 1/(hot - cold), both linear in heat."""

    def slope(share, _):
        hot = hot_start + share * (hot_end - hot_start)
        cold = cold_start + share * (cold_end - cold_start)
        return [change / abs(hot - cold)]

    return solve_ivp(slope, (0.0, 1.0), [0.0], rtol=1e-10, atol=1e-12).y[0, -1]


@published(z.condensing_zones, source="scipy.integrate.solve_ivp: dUA = dq/(Th - Tw) along each zone")
def test_condenser_zones_by_integration_along_the_surface():
    heat, entering, change = 10e3, 300.0, 5.0
    vapour, dew, bubble, liquid = 340.0, 311.5, 310.0, 304.0
    gas, cold = 0.15, 0.04
    ours = z.condensing_zones(heat, entering, change, vapour, dew, bubble, liquid, gas, cold)
    first, second = entering + cold * change, entering + (1 - gas) * change
    cold_zone = surface_needed(cold * heat, liquid, bubble, entering, first)
    assert ours.liquid == pytest.approx(cold_zone, rel=1e-8)
    whole = surface_needed((1 - gas - cold) * heat, bubble, dew, first, second)
    assert ours.two_phase == pytest.approx(whole, rel=1e-8)
    hot_zone = surface_needed(gas * heat, dew, vapour, second, entering + change)
    assert ours.vapour == pytest.approx(hot_zone, rel=1e-8)


@published(z.evaporating_zones, source="scipy.integrate.solve_ivp: dUA = dq/(Tw - Tr) along each zone")
@pytest.mark.parametrize("counterflow", [True, False])
def test_evaporator_zones_by_integration_along_the_surface(counterflow):
    heat, entering, change = 8e3, 288.0, 4.0
    inlet, dew, vapour, share = 276.0, 277.5, 282.0, 0.05
    leaving = entering - change
    ours = z.evaporating_zones(heat, entering, change, inlet, dew, vapour, share, counterflow)
    wet, dry = (leaving, entering) if counterflow else (entering, leaving)
    between = entering - share * change if counterflow else leaving + share * change
    two_phase = surface_needed((1 - share) * heat, inlet, dew, wet, between)
    assert ours.two_phase == pytest.approx(two_phase, rel=1e-8)
    assert ours.vapour == pytest.approx(surface_needed(share * heat, dew, vapour, between, dry), rel=1e-8)
    assert ours.liquid == 0


@published(
    z.condensing_zones,
    source="Kays & London, ch. 2: without gas, liquid or glide UA = -C ln(1 - eps) (from memory)",
)
def test_without_gas_and_liquid_one_isothermal_exchanger_is_left():
    heat, change = 10e3, 5.0
    ours = z.condensing_zones(heat, 300.0, change, 310.0, 310.0, 310.0, 310.0, 0.0, 0.0)
    assert ours.two_phase == pytest.approx(-heat / change * np.log(1 - change / 10), rel=1e-9)
    assert ours.vapour == ours.liquid == 0


@published(z.soften, source="softplus by hand: f ln 2 at zero, d far above, f e^(d/f) far below")
def test_a_pinched_end_is_bent_up_and_a_wide_one_left_alone():
    assert z.soften(0.0, 0.1) == pytest.approx(0.1 * np.log(2))
    assert z.soften(5.0, 0.1) == pytest.approx(5.0, abs=1e-12)
    assert z.soften(-1.0, 0.1) == pytest.approx(0.1 * np.exp(-10), rel=1e-4)
    assert z.soften(-1.0, 0.0) == -1.0
    rising = z.soften(np.linspace(-2, 2, 101), 0.1)
    assert (np.diff(rising) > 0).all()


def test_noise_about_zero_subcooling_stays_unbiased():
    up, down = (
        z.condensing_zones(10e3, 300.0, 5.0, 340.0, 311.0, 311.0, 311.0 - step, 0.15, share).liquid
        for step, share in ((0.1, 0.0006), (-0.1, -0.0006))
    )
    assert up == pytest.approx(-down, rel=0.02)

"""Mean temperature difference, effectiveness and conductance against textbooks and the ht library."""

import ht
import numpy as np
import pytest
from scipy.optimize import brentq

from diagnostics.engine import exchanger as x
from tests.published.sources import published

INCROPERA_11_1 = (
    "Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, example 11.1 (answers from memory)"
)


@published(x.log_mean_temperature_difference, x.heat_from_water, source=INCROPERA_11_1)
def test_a_concentric_oil_cooler():
    # oil 0.1 kg/s cp 2131 from 100 to 60 degC, water 0.2 kg/s cp 4178 from 30 degC:
    # q 8524 W, leaving water 40.2 degC, mean difference 43.2 K
    heat = -x.heat_from_water(0.1, 2131.0, 60.0 - 100.0)
    assert heat == pytest.approx(8524, rel=5e-4)
    leaving = 30.0 + heat / (0.2 * 4178)
    assert leaving == pytest.approx(40.2, abs=0.05)
    assert x.log_mean_temperature_difference(100 - leaving, 60 - 30.0) == pytest.approx(43.2, abs=0.05)


@published(x.effectiveness, x.transfer_units, source=INCROPERA_11_1)
def test_the_oil_cooler_by_effectiveness_gives_the_same_size():
    rates = 0.1 * 2131, 0.2 * 4178
    eps, ratio = 40 / 70, rates[0] / rates[1]
    ntu = x.transfer_units(eps, ratio)
    by_mean_difference = 8524 / 43.2 / rates[0]
    assert ntu == pytest.approx(by_mean_difference, rel=2e-3)
    assert x.effectiveness(ntu, ratio) == pytest.approx(eps, rel=1e-12)


@published(x.log_mean_temperature_difference, source="ht library, ht.LMTD")
@pytest.mark.parametrize(
    ("hot_in", "hot_out", "cold_in", "cold_out"),
    [(50.0, 50.0, 20.0, 36.0), (90.0, 60.0, 20.0, 50.0), (60.0, 40.0, 20.0, 35.0)],
)
def test_mean_difference_as_the_ht_library_has_it(hot_in, hot_out, cold_in, cold_out):
    ours = x.log_mean_temperature_difference(hot_in - cold_out, hot_out - cold_in)
    assert ours == pytest.approx(ht.LMTD(hot_in, hot_out, cold_in, cold_out), rel=1e-12)


def test_equal_ends_give_their_common_difference():
    assert x.log_mean_temperature_difference(40.0, 40.0) == 40.0
    assert x.log_mean_temperature_difference(40.0, 40.0 + 1e-9) == pytest.approx(40.0, abs=1e-8)


def test_a_temperature_cross_is_refused_alone_and_marked_in_an_array():
    with pytest.raises(ValueError, match="above zero"):
        x.log_mean_temperature_difference(-1.0, 5.0)
    marked = x.log_mean_temperature_difference(np.array([-1.0, 3.0]), np.array([5.0, 3.0]))
    assert np.isnan(marked[0])
    assert marked[1] == 3.0


HT_NAMES = {
    "counterflow": "counterflow",
    "parallel": "parallel",
    "shell_and_tube": "S&T",
    "crossflow_unmixed": "crossflow approximate",
    "crossflow_stream_with_smaller_rate_mixed": "crossflow, mixed Cmin",
    "crossflow_stream_with_larger_rate_mixed": "crossflow, mixed Cmax",
}


@published(x.effectiveness, source="ht library, ht.effectiveness_from_NTU (Incropera, table 11.3)")
@pytest.mark.parametrize("arrangement", x.ARRANGEMENTS)
@pytest.mark.parametrize("ntu", [0.1, 0.7, 2.0, 5.0])
@pytest.mark.parametrize("ratio", [0.1, 0.5, 0.99])
def test_effectiveness_of_every_arrangement(arrangement, ntu, ratio):
    theirs = ht.effectiveness_from_NTU(ntu, ratio, subtype=HT_NAMES[arrangement])
    assert x.effectiveness(ntu, ratio, arrangement) == pytest.approx(theirs, rel=1e-9)


@published(
    x.effectiveness, source="Kays & London, Compact Heat Exchangers, ch. 2: 1 - e^-NTU (hand calculation)"
)
@pytest.mark.parametrize("arrangement", x.ARRANGEMENTS)
@pytest.mark.parametrize(("ntu", "eps"), [(0.5, 0.39347), (1, 0.63212), (2, 0.86466), (3, 0.95021)])
def test_every_arrangement_is_alike_against_a_condensing_side(arrangement, ntu, eps):
    assert x.effectiveness(ntu, 0.0, arrangement) == pytest.approx(eps, abs=5e-6)


def test_equal_rates_in_counterflow():
    # hand calculation: N/(1+N)
    assert x.effectiveness(3.0, 1.0) == 0.75
    assert x.effectiveness(3.0, 1.0 - 1e-9) == pytest.approx(0.75, abs=1e-6)


@published(x.transfer_units, source="ht library, ht.NTU_from_effectiveness")
@pytest.mark.parametrize("arrangement", ["counterflow", "parallel"])
@pytest.mark.parametrize(("eps", "ratio"), [(0.3, 0.5), (0.5, 0.9), (0.45, 0.2), (0.4, 1.0)])
def test_transfer_units_from_effectiveness(arrangement, eps, ratio):
    theirs = ht.NTU_from_effectiveness(eps, ratio, subtype=HT_NAMES[arrangement])
    assert x.transfer_units(eps, ratio, arrangement) == pytest.approx(theirs, rel=1e-9)


def test_an_effectiveness_beyond_the_arrangement_is_refused():
    with pytest.raises(ValueError, match="below 0"):
        x.transfer_units(0.6, 1.0, "parallel")
    with pytest.raises(ValueError, match="must not be negative"):
        x.effectiveness(-1.0, 0.5)
    with pytest.raises(ValueError, match="is not one of"):
        x.effectiveness(1.0, 0.5, "sideways")


@published(
    x.isothermal_effectiveness,
    x.lumped_conductance,
    x.saturation_needed,
    source="ht library: effectiveness_from_NTU and NTU_from_effectiveness at capacity ratio zero",
)
@pytest.mark.parametrize("sign", [1, -1])
def test_conductance_against_one_temperature_in_both_modes(sign):
    entering, leaving, saturation = 300.0, 300.0 + sign * 5.0, 300.0 + sign * 11.0
    eps = x.isothermal_effectiveness(entering, leaving, saturation)
    rate = 0.5 * 4180.0
    conductance = x.lumped_conductance(0.5, 4180.0, eps)
    assert conductance == pytest.approx(rate * ht.NTU_from_effectiveness(5 / 11, 0.0), rel=1e-9)
    back = x.saturation_needed(entering, sign * rate * 5.0, rate, conductance)
    assert back == pytest.approx(saturation, abs=1e-9)


@published(
    x.saturation_needed,
    x.approach_from_conductance,
    source="hand calculation with eps = 1 - exp(-UA/C): plate condenser, 44 kW, 2.1 kg/s, 2 m2, 3000 W/(m2K)",
)
@pytest.mark.parametrize(
    ("fouling", "saturation", "approach"),
    [
        (0.0, 39.52, 5.11),
        (4.4e-5, 40.46, 6.05),
        (8.8e-5, 41.40, 6.99),
        (1.76e-4, 43.30, 8.89),
        (3.5e-4, 47.08, 12.67),
    ],
)
def test_a_plate_condenser_climbs_as_it_fouls(fouling, saturation, approach):
    rate, conductance = 2.1 * 4180, 2.0 / (1 / 3000 + fouling)
    assert x.saturation_needed(29.4, 44e3, rate, conductance) == pytest.approx(saturation, abs=0.01)
    assert x.approach_from_conductance(44e3 / rate, rate, conductance) == pytest.approx(approach, abs=0.01)


def test_water_beyond_saturation_has_no_lumped_conductance():
    with pytest.raises(ValueError, match="passed saturation"):
        x.lumped_conductance(1.0, 4180.0, 1.0)
    assert np.isnan(x.lumped_conductance(1.0, 4180.0, np.array([1.2]))[0])


@published(
    x.saturation_needed, source="scipy.optimize: the temperature whose q = C eps (Ts - Tin) is the heat"
)
def test_saturation_solves_its_own_balance():
    rate, conductance, heat, entering = 3000.0, 2200.0, 14e3, 295.0

    def excess(saturation: float) -> float:
        return rate * (1 - np.exp(-conductance / rate)) * (saturation - entering) - heat

    assert x.saturation_needed(entering, heat, rate, conductance) == pytest.approx(
        brentq(excess, 296.0, 400.0), abs=1e-8
    )


@pytest.mark.parametrize("relation", [x.effectiveness, x.transfer_units])
def test_arrays_equal_the_scalars(relation):
    first, second = np.array([0.1, 0.3, 0.45]), np.array([0.0, 0.5, 0.9])
    whole = relation(first, second)
    assert whole.tolist() == [relation(float(a), float(b)) for a, b in zip(first, second, strict=True)]

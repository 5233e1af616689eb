"""Uncertainty against worked examples of the GUM and its first supplement, and the uncertainties library."""

import math

import numpy as np
import pytest
import uncertainties
from uncertainties import umath

from diagnostics.engine import uncertainty as u
from tests.published.sources import published

GUM_H2 = "JCGM 100:2008, H.2, tables H.2 to H.4 (from memory): simultaneous resistance and reactance"
VOLTS = (5.007, 4.994, 5.005, 4.990, 4.999)
AMPERES = (19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3)
RADIANS = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)


def impedance(values):
    volts, amperes, phase = values
    z = volts / amperes
    return np.array([z * math.cos(phase), z * math.sin(phase), z])


@published(u.mean_and_uncertainty, u.sensitivities, u.propagate, source=GUM_H2)
def test_resistance_and_reactance_of_the_gum():
    means, covariance = u.mean_and_uncertainty((VOLTS, AMPERES, RADIANS))
    spread = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(spread, spread)
    assert correlation[0, 1] == pytest.approx(-0.36, abs=0.01)
    assert correlation[0, 2] == pytest.approx(0.86, abs=0.01)
    assert correlation[1, 2] == pytest.approx(-0.65, abs=0.01)
    results = impedance(means)
    assert results == pytest.approx([127.732, 219.847, 254.260], abs=1.5e-3)
    slopes = u.sensitivities(impedance, means, 1e-3 * spread)
    out = u.propagate(slopes, covariance)
    assert np.sqrt(np.diag(out)) == pytest.approx([0.071, 0.295, 0.236], abs=1.2e-3)
    spread = np.sqrt(np.diag(out))
    correlation = out / np.outer(spread, spread)
    assert correlation[0, 1] == pytest.approx(-0.588, abs=2e-3)
    assert correlation[0, 2] == pytest.approx(-0.485, abs=2e-3)
    assert correlation[1, 2] == pytest.approx(0.993, abs=2e-3)


@published(u.draw, u.interval, source="JCGM 101:2008, 9.2.2 to 9.2.4 (from memory): sums of four quantities")
@pytest.mark.parametrize(
    ("spreads", "rectangular", "uncertainty", "end"),
    [
        ((1, 1, 1, 1), False, 2.00, 3.92),
        ((1, 1, 1, 1), True, 2.00, 3.88),
        ((1, 1, 1, 10), True, 10.1, 17.0),
    ],
)
def test_sums_of_the_first_supplement(spreads, rectangular, uncertainty, end):
    flat = np.full(4, rectangular)
    total = u.draw(np.random.default_rng(101), np.array(spreads, float), flat, 1_000_000).sum(axis=0)
    assert total.std() == pytest.approx(uncertainty, rel=0.01)
    told = u.interval(total)
    assert told.low == pytest.approx(-end, rel=0.006)
    assert told.high == pytest.approx(end, rel=0.006)
    assert told.value == pytest.approx(0, abs=4 * end / 1000)  # standard error of a median


@published(
    u.standard_uncertainty, source="JCGM 100:2008, 4.3.7: a rectangular half-width a has u = a/sqrt(3)"
)
def test_limits_become_standard_uncertainties():
    assert u.standard_uncertainty(0.3) == pytest.approx(0.17321, abs=1e-5)
    assert u.standard_uncertainty(0.3, "normal") == 0.15
    with pytest.raises(ValueError, match="rectangular, normal"):
        u.standard_uncertainty(0.3, "triangular")


@published(u.propagate, source="uncertainties library: a quantity less itself is exactly zero")
def test_a_difference_of_one_quantity_with_itself_is_certain():
    x = uncertainties.ufloat(5.0, 0.2)
    assert (x - x).std_dev == 0.0
    assert u.propagate(np.array([[1.0, -1.0]]), np.full((2, 2), 0.04))[0, 0] == 0.0


@published(
    u.sensitivities, u.variance_shares, source="uncertainties library: error components of a conductance"
)
def test_shares_of_variance_of_a_conductance():
    inputs = {"flow": (0.5, 0.01), "entering": (30.0, 0.1), "leaving": (35.0, 0.1), "saturation": (40.0, 0.2)}
    symbols = {name: uncertainties.ufloat(*pair, tag=name) for name, pair in inputs.items()}
    rise = symbols["leaving"] - symbols["entering"]
    theirs = -4180 * symbols["flow"] * umath.log(1 - rise / (symbols["saturation"] - symbols["entering"]))
    components = {variable.tag: error**2 for variable, error in theirs.error_components().items()}

    def conductance(v):
        return np.array([-4180 * v[0] * np.log(1 - (v[2] - v[1]) / (v[3] - v[1]))])

    values, spreads = (np.array(column) for column in zip(*inputs.values(), strict=True))
    slopes = u.sensitivities(conductance, values, 1e-3 * spreads)[0]
    shares = u.variance_shares(slopes, spreads)
    for share, name in zip(shares, inputs, strict=True):
        assert share == pytest.approx(components[name] / theirs.std_dev**2, rel=1e-4)
    assert shares.sum() == pytest.approx(1.0)


def test_defaults_name_their_source_and_can_be_overridden():
    from diagnostics.engine.records import InstrumentAccuracy

    table = u.instrument_table([InstrumentAccuracy("water_flow", 0.01, 0.005, True, source="certificate")])
    assert table["water_flow"].repeating == 0.01
    assert table["head_pressure"].repeating == 0.006
    assert all(one.source for one in table.values())
    with pytest.raises(ValueError, match="entering_water"):
        u.instrument_table([InstrumentAccuracy("moon_phase", 1.0, 1.0, False)])

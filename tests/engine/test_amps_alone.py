"""Amps without volts: held against a clean visit's amps, and silent without one.

The machines' electrical power is the forward model's; amps are worked out of it by hand,
I = P / (sqrt 3 V cos phi), with a voltage and a power factor that the readings do not tell.
"""

from dataclasses import replace
from datetime import timedelta

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.causes import rank
from diagnostics.engine.records import History
from tests.engine.case import COOLING, FACTS, HEATING, clean, codes, history, reading
from tests.engine.causes_case import HEAT_PUMP, WHEN, read_with
from tests.engine.test_little_read import WATER_ONLY

VOLTS, POWER_FACTOR = 388.0, 0.79
W_PER_A = 3**0.5 * VOLTS * POWER_FACTOR
POINTS = pytest.mark.parametrize("point", [COOLING, HEATING], ids=["cooling", "heating"])


def with_amps(row, times=1.0, **changes):
    amps = times * row.compressor_power_w / W_PER_A
    return replace(row, compressor_power_w=None, amps_a=amps, **changes)


def past(point, times=1.0):
    return history(*(with_amps(one, times) for one in (clean(point=point), clean(20.0, point=point))))


def by_amps(point, fouling, known):
    row = reading(fouling, point)
    bare = replace(row, **{**WATER_ONLY, "compressor_power_w": row.compressor_power_w})
    return assess(FACTS, with_amps(bare), known, draws=4000)


@POINTS
@pytest.mark.parametrize("fouling", [0.0, 3e-4])
def test_amps_stand_in_for_gauges_where_a_clean_visit_read_them_too(point, fouling):
    span = by_amps(point, fouling, past(point)).fouling_resistance_m2k_per_w
    assert span.low < fouling < span.high


@POINTS
def test_more_amps_than_on_the_clean_visits_read_as_more_fouling(point):
    clean_ones = past(point)
    values = [
        by_amps(point, fouling, clean_ones).fouling_resistance_m2k_per_w.value for fouling in (0.0, 6e-4)
    ]
    assert values[1] > values[0] + 1e-4


def test_the_clean_visits_voltage_and_power_factor_need_not_be_known():
    """Another voltage on all visits moves every amp alike and so no result."""
    row = with_amps(replace(reading(3e-4), **{**WATER_ONLY, "compressor_power_w": 3000.0}))
    values = [
        assess(FACTS, replace(row, amps_a=row.amps_a * times), past(COOLING, times), draws=4000)
        for times in (1.0, 0.5)
    ]
    one, other = (answer.fouling_resistance_m2k_per_w for answer in values)
    assert one.value == pytest.approx(other.value, abs=0.05 * (one.high - one.low))


def test_without_such_a_visit_amps_tell_no_number_and_it_says_what_would_help():
    known = history(clean(), clean(20.0))
    answer = by_amps(COOLING, 3e-4, known)
    assert answer.fouling_resistance_m2k_per_w is None and "no_gauges" in codes(answer)
    text = " ".join(warning.text for warning in answer.warnings)
    assert "a clean visit that read amps and gauges" in text


LINES = ("liquid", "suction", "discharge")


def few(row):
    """What a look at thermometers and a clamp ammeter gives."""
    lines = dict.fromkeys(("head_pressure_pa", "suction_pressure_pa", *(f"{n}_line_k" for n in LINES)))
    rest = dict.fromkeys(("water_pressure_drop_pa", "volts_v", "power_factor", "phases"))
    return replace(with_amps(row), **lines, **rest)


SOUND = replace(read_with("nothing_wrong"), purpose="clean_reference", taken_at=WHEN - timedelta(days=200))


def test_amps_above_the_clean_visits_count_for_what_raises_them():
    row, known = few(read_with("exchanger_fouled")), History(readings=(few(SOUND),))
    without = rank(HEAT_PUMP, replace(row, amps_a=None), known)
    told = rank(HEAT_PUMP, row, known)
    assert told.probability("nothing_wrong") < 0.5 * without.probability("nothing_wrong")
    reasons = " ".join(reason for one in told.causes[:4] for reason in one["reasons"])
    assert f"amps {row.amps_a:.3g} A, by the clean visits this unit would show" in reasons


def test_a_clean_visit_read_with_a_power_meter_and_an_ammeter_is_seen_by_its_amps():
    row = few(read_with("exchanger_fouled"))
    metered = replace(few(SOUND), compressor_power_w=SOUND.compressor_power_w)
    known = (History(readings=(one,)) for one in (few(SOUND), metered))
    first, second = (rank(HEAT_PUMP, row, one).probability("exchanger_fouled") for one in known)
    assert first == pytest.approx(second, abs=1e-9)


def test_amps_without_a_clean_visit_move_no_cause():
    row = few(read_with("exchanger_fouled"))
    told, without = (rank(HEAT_PUMP, one) for one in (row, replace(row, amps_a=None)))
    for cause in ("exchanger_fouled", "nothing_wrong", "water_flow_low"):
        assert told.probability(cause) == pytest.approx(without.probability(cause), abs=0.04)

"""Little read, little known: what such readings can tell, what to connect or enter next, and what it buys."""

from dataclasses import replace

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.records import History
from tests.engine.case import COOLING, FACTS, HEATING, LIMIT, TWO_CLEAN, codes, history, reading, table_row

BARE = replace(FACTS, area_m2=None, bore_m=None, capacity_w=None)
NO_GAUGES = {"head_pressure_pa": None, "suction_pressure_pa": None}
WATER_ONLY = NO_GAUGES | dict.fromkeys(
    ("liquid_line_k", "suction_line_k", "discharge_line_k", "compressor_power_w")
)
POINTS = pytest.mark.parametrize("point", [COOLING, HEATING], ids=["cooling", "heating"])


def judge(row, past, facts=BARE):
    return assess(facts, row, past, draws=3000)


def text_of(answer, code):
    return next(warning.text for warning in answer.warnings if warning.code == code)


@POINTS
def test_with_neither_area_gauges_nor_reference_heat_and_conductance_are_told_and_what_to_enter(point):
    answer = judge(replace(reading(2 * LIMIT, point), **NO_GAUGES), history())
    assert answer.fouling_resistance_k_per_w is None and answer.verdict == "undecided"
    assert answer.heat_w.value == pytest.approx(point.heat_w, rel=0.02)
    assert answer.ua_w_per_k.low < answer.ua_w_per_k.high
    assert answer.do_next.startswith("Enter the operating table from the unit's manual")
    assert "with it to about +-" in answer.do_next and "K/W" in answer.do_next
    assert "cleaner_than_reference" not in codes(answer)


@POINTS
def test_what_the_table_was_said_to_buy_it_buys(point):
    row = replace(reading(2 * LIMIT, point), **NO_GAUGES)
    said = float(judge(row, history()).do_next.split("+-")[1].split()[0])
    span = judge(row, History(tables=(table_row(point),))).fouling_resistance_k_per_w
    assert (span.high - span.low) / 2 == pytest.approx(said, rel=0.4)


@POINTS
def test_water_alone_tells_heat_and_flow_and_names_what_to_enter_with_what_it_buys(point):
    row = replace(reading(2 * LIMIT, point), **WATER_ONLY)
    bare = judge(row, history())
    assert bare.heat_w.low < point.heat_w < bare.heat_w.high
    assert "enter the operating table" in text_of(bare, "enter_next")
    assert "then about 1.1 limits" in text_of(bare, "enter_next")
    table = judge(row, History(tables=(table_row(point),)))
    assert "read a clean visit" in text_of(table, "enter_next")
    assert "then about 0.5 limits" in text_of(table, "enter_next")
    assert "enter_next" not in codes(judge(replace(row, mode="cooling"), TWO_CLEAN))


@pytest.mark.parametrize(("fouling", "word"), [(2 * LIMIT, "probably"), (1.05 * LIMIT, "hardly")])
def test_without_gauges_it_says_whether_connecting_them_would_decide(fouling, word):
    row = replace(reading(fouling), **NO_GAUGES)
    answer = judge(row, history(), FACTS) if word == "hardly" else judge(row, TWO_CLEAN, FACTS)
    assert answer.verdict == "undecided"
    assert answer.do_next.startswith("Connect gauges and read the head pressure")
    assert f"would {word} decide" in answer.do_next


@pytest.mark.parametrize(
    ("past", "facts", "said"),
    [
        (TWO_CLEAN, FACTS, "gauges would probably decide, fouling is then known to about 0.5 limits"),
        (History(tables=(table_row(),)), BARE, "gauges would decide heavy fouling only"),
        (history(), FACTS, "gauges alone would hardly decide, fouling is then known to about 2.1 limits"),
        (history(), BARE, "gauges alone would hardly decide, since nothing is known of the clean surface"),
    ],
)
def test_by_water_alone_it_is_said_whether_gauges_would_decide(past, facts, said):
    """Half widths of the study of reference levels (STUDIES.md): 0.5, 1.1 and 2.1 limits."""
    answer = judge(replace(reading(2 * LIMIT), **WATER_ONLY), past, facts)
    assert "no_gauges" in codes(answer)
    assert said in answer.do_next and answer.do_next.startswith("Connect gauges")


def test_a_water_regulating_valve_is_named_as_what_hides_fouling():
    facts = replace(FACTS, head_pressure_valve=True)
    row = replace(reading(0.0), water_flow_kg_per_s=None)
    assert "water-regulating valve" in text_of(judge(row, TWO_CLEAN, facts), "head_pressure_valve")


def test_one_probe_moved_from_port_to_port_knows_the_change_of_the_water_better():
    spans = [
        judge(row, history(), FACTS).heat_w
        for row in (replace(reading(0.0), probe_moved=moved) for moved in (False, True))
    ]
    two, one = (span.high - span.low for span in spans)
    # Repeating parts of 0.2 K cancel: 0.164 K become 0.082 K of 5.4 K, beside 2.1 % of flow.
    assert one / two == pytest.approx((0.0209**2 + (0.0816 / 5.44) ** 2) ** 0.5 /
                                      (0.0209**2 + (0.1826 / 5.44) ** 2) ** 0.5, rel=0.12)  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"subcooling_k": 14.0}, "subcooling is 9 K above the clean visits"),
        ({"superheat_k": 13.0}, "superheat is 7 K above the clean visits"),
    ],
)
def test_what_has_moved_is_put_right_before_the_surface_is_judged(changes, words):
    answer = judge(reading(0.0, **changes), TWO_CLEAN, FACTS)
    assert answer.do_next.startswith("Read lines and pressures once more, then have a certified person")
    assert answer.do_next.endswith(f"before the surface is judged: {words}.")
    assert answer.verdict != "fouled"

"""What stands beside the number: which probability is which, why undecided, what it rests on, cautions."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from diagnostics.engine.records import Assessment, Limit, Warning
from reporting.documents import verdicts
from reporting.documents.facts import LoopTold, VisitReport
from tests.reporting import samples
from tests.reporting.ranked import HELD_BACK
from tests.reporting.test_visit_report import pages, whole

FOULED_LEADS = replace(
    HELD_BACK,
    do_next="Next: back-flush the exchanger and see what it brings, since it is likely (97 %) that the water "
    "side of the exchanger is fouled.",
    causes=({**HELD_BACK.causes[0], "probability": 0.97},),
)


def undecided(**changed: object) -> VisitReport:
    report = replace(samples.undecided(), ranking=FOULED_LEADS)
    return replace(report, answer=replace(report.answer, **changed))  # type: ignore[arg-type]


def test_two_probabilities_that_look_like_a_contradiction_are_told_apart_on_the_first_page() -> None:
    text = pages(undecided())[0]
    assert (
        "97 % that fouling is what causes what the readings show; 41 % that it is already beyond its limit"
        in text
    )
    assert "Two questions" not in whole(replace(samples.fouled(), ranking=FOULED_LEADS))


def test_every_probability_of_a_report_is_written_in_one_way() -> None:
    text = whole(undecided())
    assert "97 %" in text and not re.search(r"\d%", text)


def test_an_undecided_case_says_why_it_is_and_what_would_decide_it_on_the_first_page() -> None:
    # 10 and 90 per cent are the engine's own bounds (diagnostics/engine/fouling.py)
    text = pages(undecided())[0]
    assert "called clean up to 10 % and fouled from 90 % on, and 41 % lies between" in text
    assert "What would decide it: the maker's operating table would narrow the interval" in text


def test_the_engines_reason_for_not_calling_it_stands_on_the_first_page_and_only_there() -> None:
    reason = (
        "97 % beyond the limit, yet undecided: the interval's half width of 0.0004 m2K/W exceeds the limit"
    )
    answer = {"probability_over_limit": 0.97, "warnings": (Warning("why_undecided", reason),)}
    told = pages(undecided(**answer))
    said = "yet undecided: the interval's half width of 4 × 10⁻⁴ m²K/W exceeds the limit"
    assert said in told[0] and sum(page.count(said) for page in told) == 1


def explained(**more: object) -> Assessment:
    limit = Limit(
        2e-4, "m2K/W", "by consequence: 5 % of capacity lost in cooling with entering water of 30.0 degC"
    )
    return replace(samples.FOULED_ANSWER, limit=limit, more={**samples.FOULED_ANSWER.more, **more})


def test_the_consequence_that_set_the_limit_is_named_on_the_first_page_and_explained_further_down() -> None:
    told = pages(replace(samples.fouled(), answer=explained(limit_set_by="capacity")))
    assert "What set it: 5 % of capacity lost." in told[0]
    assert (
        "set by the consequence that comes first on this unit: 5 % of capacity lost in cooling"
        in " ".join(told)
    )


def test_what_to_enter_next_is_told_with_what_each_would_buy() -> None:
    left = {"operating_table": 0.55, "rated_data": 0.98, "clean_reference": 0.7}
    told = verdicts.buying_sentence(explained(interval_left_with_one_more=left)).replace("\u00a0", " ")
    assert "the maker's operating table to about 55 % and one more clean visit to about 70 %" in told
    assert "rated capacity" not in told
    little = dict.fromkeys(left, 0.99)
    assert "Neither" in verdicts.buying_sentence(explained(interval_left_with_one_more=little))


def test_the_newest_survey_of_the_loop_is_told_in_short() -> None:
    words = "Nearly all units are fouled by the same water (93 %): confirm with gauges on HR-02 and HR-05."
    text = whole(replace(samples.fouled(), loop=LoopTold(samples.TAKEN, words, 0.93, 2)))
    assert "The loop as a whole Nearly all units are fouled by the same water (93 %)" in text
    assert "14 March 2025" in text and "2 units were no evidence" in text
    assert "The loop as a whole" not in whole(samples.fouled())


CAUTIONED = (
    "shut and tag both isolating valves",
    "Lock out, tag out and prove dead",
    "Compressor and discharge line burn",
    "label and safety data sheet come first",
    "local codes and licensed practice govern",
    "Only certified people open refrigerant circuits",
)


@pytest.mark.parametrize("caution", CAUTIONED)
def test_a_fouled_unit_to_be_back_flushed_carries_the_cautions_of_that_and_of_what_may_follow(
    caution: str,
) -> None:
    report = replace(samples.fouled(), ranking=FOULED_LEADS, done=())
    assert caution in whole(report)
    assert caution in whole(replace(report, ranking=None))


def test_a_clean_unit_where_nothing_is_done_speaks_of_no_chemical_work() -> None:
    text = whole(replace(samples.clean(), ranking=None, done=()))
    assert "Should chemical work follow" not in text and "isolating valves" not in text
    assert "Lock out, tag out" in text

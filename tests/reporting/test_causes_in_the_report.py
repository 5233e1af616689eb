"""The report's first lines: what to do next, and why not acid yet; then the causes and the next check."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from reporting.documents import causes, visit_report
from reporting.documents.causes import RankingTold
from tests.reporting.ranked import HELD_BACK, IN_VAIN, LET, ranked


def printed(told: RankingTold, **changed: object) -> str:
    report = replace(ranked(told), **changed)  # type: ignore[arg-type]
    pages = PdfReader(io.BytesIO(visit_report.render(report))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_the_first_lines_are_what_to_do_next_and_why_not_acid_yet() -> None:
    text = printed(HELD_BACK)
    step, acid = text.index("Open and look at the strainer."), text.index("Why not acid yet.")
    assert step < acid < text.index("The heat transfer surface") < text.index("What is wrong, and how sure")


def test_acid_that_is_reasonable_is_said_with_why_and_with_the_cautions() -> None:
    text = printed(LET)
    assert "Chemical work is now reasonable." in text and "a back-flush changed nothing" in text
    assert "reasonable now; label and safety sheet first" in text.replace("\u00a0", " ")
    assert "safety data sheet come first" in text and "Why not acid" not in text


def test_while_nothing_chemical_is_proposed_the_chemical_cautions_stay_out() -> None:
    assert "Acid into water, never the reverse" not in printed(HELD_BACK, done=())


def test_causes_stand_with_reasons_in_the_readings_numbers() -> None:
    text = printed(HELD_BACK)
    assert "Approach 9.1 K, the clean unit at this flow and load would show 4.9 ± 0.6 K" in text.replace(
        "\u00a0", " "
    )
    assert "All other causes together" in text


def test_the_next_check_tells_its_cautions_and_what_each_outcome_would_do() -> None:
    text = printed(HELD_BACK).replace("\u00a0", " ")
    assert "about 10 minutes, opens the water side" in text
    assert "Lock out, tag out and prove dead before opening." in text
    assert "the strainer before the unit is blocked 91 %" in text


def test_a_descale_in_vain_reopens_the_question_in_the_report() -> None:
    text = printed(IN_VAIN)
    assert "Why not acid again." in text and "scale was probably not the cause" in text


@pytest.mark.parametrize("told", [HELD_BACK, IN_VAIN])
def test_the_step_is_the_rankings_own(told: RankingTold) -> None:
    assert causes.step(told).rstrip(".").lower() in causes.said(told.do_next).lower()


@pytest.mark.parametrize("told", [HELD_BACK, LET, IN_VAIN])
def test_the_reasons_stand_on_the_first_page_with_the_decision(told: RankingTold) -> None:
    first = PdfReader(io.BytesIO(visit_report.render(ranked(told)))).pages[0].extract_text()
    text = " ".join(first.split())
    assert "What to do next" in text and "What is wrong, and how sure" in text
    assert "For (+) and against" in text
    top = str(told.causes[0]["reasons"][0]).split(": ", 1)[-1][:12]
    assert top.lower() in text.replace("\u00a0", " ").lower()


def test_a_fault_without_a_name_and_without_reasons_says_what_it_rests_on() -> None:
    bare = replace(HELD_BACK, causes=[{"cause": "other_fault", "probability": 0.98, "reasons": []}])
    assert "It rests on no single value" in printed(bare).replace("\u00a0", " ")

"""The table of answers, wide and narrow."""

from __future__ import annotations

import pytest

from contractor.demo.table import Line, printed, summary

LINE = Line(
    unit="HP-1",
    do_next="Clean the strainer (blocked), then read again: nothing else is judged before water flows.",
    verdict="undecided 17 %",
    excess="+0.5 K",
    fouling="0.81 (-1.23 to 2.66)",
    truth="0.24; strainer blocked",
    holds_truth=True,
)


@pytest.mark.parametrize("width", [80, 132, 180, 250])
def test_it_fits_the_terminal_and_loses_no_word(width: int) -> None:
    lines = list(printed([LINE], width))
    assert max(map(len, lines)) <= width
    text = " ".join(" ".join(lines).split())
    for word in f"{LINE.unit} {LINE.do_next} {LINE.verdict} {LINE.fouling} {LINE.truth}".split():
        assert word in text


def test_what_to_do_comes_before_any_number() -> None:
    for width in (80, 200):
        text = " ".join(printed([LINE], width))
        assert text.index("Clean the") < text.index("17 %") < text.index("0.24")


def test_the_summary_counts_only_exchangers_with_a_figure() -> None:
    withheld = Line("HP-2", "Read again.", "undecided", "withheld", "withheld", "1.0", None)
    missed = Line("HP-3", "Nothing.", "clean 95 %", "+0.1 K", "0.1 (0.0 to 0.2)", "0.9", False)
    assert "holds the truth for 1 of the 2" in summary([LINE, withheld, missed])

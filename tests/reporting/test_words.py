"""Numbers as people read them."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from diagnostics.engine.records import Interval
from reporting.documents import words


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.0, 3, "0"),
        (2783.4, 3, "2\u202f783"),
        (0.51234, 3, "0.512"),
        (-0.0371, 2, "−0.037"),
        (float("nan"), 3, "–"),
    ],
)
def test_a_number_keeps_its_significant_digits(value: float, digits: int, text: str) -> None:
    assert words.number(value, digits) == text


def test_minus_zero_is_not_written() -> None:
    assert words.fixed(-0.001, 1) == "0.0"


@pytest.mark.parametrize(
    ("width", "decimals"),
    # JCGM 100:2008, 7.2.6: at most two significant digits of the uncertainty
    [(0.73, 1), (0.15, 2), (7.0, 0), (12.0, 0), (0.049, 3), (0.012, 3)],
)
def test_an_interval_decides_how_many_digits_its_value_deserves(width: float, decimals: int) -> None:
    assert words.decimals_for(width) == decimals


def test_a_value_stands_with_its_interval_in_one_unit() -> None:
    assert words.interval(Interval(3.14, 2.41, 3.92), "K") == "3.1\u00a0K (2.4 to 3.9\u00a0K)"


def test_a_small_number_is_written_in_powers_of_ten() -> None:
    assert words.scientific(1.761e-4, "m2K/W") == "1.76\u00a0×\u00a010⁻⁴\u00a0m²K/W"


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.9996, "more than 99\u00a0%"),
        (1.0, "more than 99\u00a0%"),
        (0.0, "less than 1\u00a0%"),
        (0.41, "41\u00a0%"),
        (0.978, "98\u00a0%"),
    ],
)
def test_a_probability_is_never_rounded_to_certainty(share: float, text: str) -> None:
    assert words.percent(share) == text


def test_a_time_is_told_in_the_zone_of_the_site() -> None:
    summer = words.local(datetime(2025, 7, 1, 9, 5, tzinfo=UTC), "Europe/London")
    assert words.moment_words(summer) == "1\u00a0July\u00a02025, 10:05\u00a0BST"


def test_an_unknown_zone_falls_back_to_utc() -> None:
    assert words.local(datetime(2025, 7, 1, 9, 5, tzinfo=UTC), "Nowhere/At all").hour == 9

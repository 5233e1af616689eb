"""Numbers as people read them."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from diagnostics.engine.records import Interval
from reporting.documents import words
from reporting.documents.hand import Hand, written_by


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
    ("engine", "text"),
    # arithmetic by hand
    [
        ("from 2e-4 m2K/W on", "from 2 × 10⁻⁴ m²K/W on"),
        ("half width of 0.00018 m2K/W exceeds 0.0002,", "half width of 1.8 × 10⁻⁴ m²K/W exceeds 2 × 10⁻⁴,"),
        ("5.2e-05 K/W; 0.001 K/W", "5.2 × 10⁻⁵ K/W; 0.001 K/W"),
        ("RGP-T-2.4 of 1988, 0.05 and 30.0002", "RGP-T-2.4 of 1988, 0.05 and 30.0002"),
        (
            "fault_lockout shows high_head: subcooling -0.4 K",
            "fault lockout shows high head: subcooling −0.4 K",
        ),
        ("it is likely (100%) that", "it is likely (over 99 %) that"),
        ("limit (0% beyond), 97% of it", "limit (below 1 % beyond), 97 % of it"),
        ("it is likely (over 99 %) that", "it is likely (over 99 %) that"),
    ],
)
def test_small_numbers_and_probabilities_of_the_engine_are_written_in_one_way(engine: str, text: str) -> None:
    assert words.for_people(engine).replace("\u00a0", " ") == text


def test_what_bare_numbers_count_is_told_in_the_same_notation() -> None:
    assert words.counted_in("m2K/W", -4).replace("\u00a0", " ") == "10⁻⁴ m²K/W"
    assert words.counted_in("K", 0) == "K"


@pytest.mark.parametrize(
    ("hand", "text"),
    # 9 K is 16.2 degF of difference, 25.0 degC is 77.0 degF, by the definition of the scales
    [
        (Hand(), "9.0 K above 4.9 ± 0.6 K at 25.0 °C, 20.0 to 25.0 °C, −5 °C, 1.5 K/W, 97 %"),
        (
            Hand("inch_pound"),
            "16.2 °F above 8.8 ± 1.1 °F at 77.0 °F, 68.0 to 77.0 °F, 23 °F, 1.5 K/W, 97 %",
        ),
        (Hand("si", "comma"), "9,0 K above 4,9 ± 0,6 K at 25,0 °C, 20,0 to 25,0 °C, −5 °C, 1,5 K/W, 97 %"),
    ],
)
def test_the_engines_sentences_are_told_in_the_units_and_with_the_mark_of_the_reader(
    hand: Hand, text: str
) -> None:
    told = "9.0 K above 4.9 +- 0.6 K at 25.0 degC, 20.0 to 25.0 degC, -5 degC, 1.5 K/W, 97%"
    with written_by(hand):
        assert words.for_people(told).replace("\u00a0", " ") == text


def test_numbers_are_written_with_the_readers_mark_and_the_next_reader_has_their_own() -> None:
    with written_by(Hand("si", "comma")):
        assert words.interval(Interval(3.14, 2.41, 3.92), "K") == "3,1\u00a0K (2,4 to 3,9\u00a0K)"
        assert words.scientific(1.761e-4, "m2K/W").startswith("1,76")
    assert words.fixed(3.14, 1) == "3.1"


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.9996, "over 99\u00a0%"),
        (1.0, "over 99\u00a0%"),
        (0.0, "below 1\u00a0%"),
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


@pytest.mark.parametrize(
    ("engine", "text"),
    # NIST SP 811 (2008), appendix B.8: 1 psi is 6.894757 kPa, 1 US gpm 6.309020e-5 m3/s (of water at 20 degC
    # 0.06298 kg/s), 1 h ft2 degF/Btu 0.1761102 m2K/W, 1 Btu/(h ft2 degF) 5.678263 W/(m2K)
    [
        ("tells 0.565 kg/s, heat 0.476 kg/s:", "tells 8.97 gpm of water, heat 7.56 gpm of water:"),
        ("went from 2418 kPa to 2500 kPa within", "went from 350.7 psi to 362.6 psi within"),
        ("head 6.9e+30 kPa absolute is none", "head 1.0 × 10³⁰ psi absolute is none"),
        ("drop is -3000 Pa: with water", "drop is −0.4351 psi: with water"),
        ("from 0.00081 m2K/W on", "from 0.0046 h·ft²·°F/Btu on"),
        ("within 0.3 K of water; +-0.00029 K/W", "within 0.5 °F of water; ±1.5 × 10⁻⁴ h·°F/Btu"),
        ("a surface of 3000 W/(m2K) is", "a surface of 528.3 Btu/(h·ft²·°F) is"),
        ("power 2750 W, 18 % of 12 K/h", "power 2750 W, 18 % of 12 K/h"),
    ],
)
def test_flows_pressures_and_resistances_are_converted_where_their_unit_stands_beside(
    engine: str, text: str
) -> None:
    with written_by(Hand("inch_pound")):
        assert words.for_people(engine, resistances=True).replace("\u00a0", " ") == text


def test_a_document_whose_figures_are_in_si_keeps_resistances_so_in_its_sentences() -> None:
    with written_by(Hand("inch_pound")):
        said = words.for_people("half width of 0.0004 m2K/W; condensing at 45.0 degC")
    assert said.replace("\u00a0", " ") == "half width of 4 × 10⁻⁴ m²K/W; condensing at 113.0 °F"


def test_a_spread_is_told_with_its_own_sign() -> None:
    assert words.for_people("the interval of +-0.00018 K/W would narrow").startswith("the interval of ±1.8")
    assert f"4.9{words.HARD}±{words.HARD}3.8" in words.for_people("approach 4.9 +- 3.8 K")

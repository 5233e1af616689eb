"""The round trip at a twentieth: intervals hold, no bias, no clean surface called fouled."""

import pytest

from tests.studies.round_trip import CASES, LIMIT, SEEDS, Setting, run, summarise


@pytest.fixture(scope="module", params=[0.0, 0.5], ids=["nothing moved", "charge moved in half"])
def summary(request):
    setting = Setting(draws=5000, moved_share=request.param)
    return summarise([one for seed in SEEDS for one in run(seed, CASES // 20, setting)])


def test_the_interval_holds_the_truth(summary):
    # 300 cases: three standard errors of 95 % are 3.8 %
    assert 0.912 <= summary.coverage <= 0.99


def test_the_median_error_is_below_a_tenth_of_the_limit(summary):
    assert abs(summary.median_error) < LIMIT / 10


def test_clean_surfaces_are_not_called_fouled(summary):
    assert summary.fouled_when_clean < 0.03
    assert summary.clean_beyond_twice < 0.02


def test_heavy_fouling_is_called(summary):
    assert summary.called_at_twice > 0.7
    assert summary.called_at_four_times > 0.85


def test_hardly_any_number_is_withheld(summary):
    assert summary.told > 0.97 * summary.cases


def test_a_seed_gives_the_same_cases_and_answers_twice():
    setting = Setting(draws=1000)
    assert run(9, 4, setting) == run(9, 4, setting)

"""The study of causes at a twentieth: what is wrong is first or second; clean exchangers get no acid."""

import pytest

from tests.studies.causes import CASES, chemical_figures, marked, run, share


@pytest.fixture(scope="module")
def outcomes():
    return run(5, CASES // 20)


def of(outcomes, visit):
    return [one for one in outcomes if one.visit == visit]


@pytest.mark.parametrize(
    ("visit", "first", "in_two"),
    [
        # aims 0.85 and 0.95 (full), 0.70 and 0.88 (quick), less two standard errors of some 75 cases
        ("full", 0.77, 0.90),
        ("quick", 0.60, 0.80),
    ],
)
def test_plain_and_heavy_causes_lead(outcomes, visit, first, in_two):
    part = marked(of(outcomes, visit))
    assert share(part, "right") >= first
    assert share(part, "in_two") >= in_two


def test_hardly_any_acid_is_proposed_on_clean_exchangers(outcomes):
    wrong, _ = chemical_figures(outcomes)
    assert wrong <= 0.02


def test_the_same_seed_gives_the_same_outcomes():
    assert run(9, 4) == run(9, 4)

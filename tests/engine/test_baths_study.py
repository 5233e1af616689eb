"""The study of baths at a fifth of its size (it is quick): what the log calls, against a known truth."""

from dataclasses import replace

import pytest

from tests.studies.bath_truth import Bath, draw_jobs, hydrogen
from tests.studies.baths import JOBS, figures, run


@pytest.fixture(scope="module")
def found():
    return figures(run(4, JOBS // 5))


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        # aims 0.05, 0.90, 0.95, 0.95, 0.02, 0.90, less two standard errors of some 20 to 60 cases
        ("more than a tenth left at the called end", 0.0, 0.10),
        ("end late by at most a hold and an entry", 0.82, 1.0),
        ("fresh batch before dissolution stalls", 0.89, 1.0),
        ("nothing dissolving told in time", 0.85, 1.0),
        ("nothing dissolving, falsely", 0.0, 0.03),
        ("leaking valve told", 0.75, 1.0),
        ("leaking valve, falsely", 0.0, 0.04),
        ("never ended", 0.0, 0.0),
    ],
)
def test_the_log_calls_what_is_true(found, name, least, most):
    value, count = found[name]
    assert count >= 10
    assert least <= value <= most


def test_the_same_seed_gives_the_same_outcomes():
    assert run(9, 4) == run(9, 4)


@pytest.mark.parametrize(
    ("acid", "mol_per_l", "ph"),
    [
        # textbook: strong acid -log10 c; one weak acid sqrt(Ka c) or its quadratic
        ("hydrochloric", 0.1, 1.0),
        ("glycolic", 0.5, 2.07),  # x2 = 10^-3.83 (0.5 - x): x = 8.53e-3
        ("phosphoric", 0.1, 1.62),  # x2 = 10^-2.15 (0.1 - x): x = 0.0232
    ],
)
def test_the_studys_own_speciation_is_the_textbooks(acid, mol_per_l, ph):
    import math

    assert -math.log10(hydrogen(acid, mol_per_l, 0.0, False)) == pytest.approx(ph, abs=0.03)


def test_no_more_dissolves_than_the_acid_can_carry():
    job = next(job for job in draw_jobs(1, 50) if job.acid == "hydrochloric" and job.deposit_kg)
    bath = Bath(replace(job, deposit_kg=50.0, leak_m3_per_s=0.0, strength_error=0.0))
    start = bath.left_kg
    bath.run_to(12 * 3600.0)
    by_hand = job.protons_mol / 2 * 0.10009  # two protons for each carbonate
    assert start - bath.left_kg <= by_hand * 1.02
    assert start - bath.left_kg >= by_hand * 0.9

"""The envelope study at a twentieth of its size."""

import pytest

from tests.studies.virtual_unit_envelope import CASES, run


@pytest.fixture(scope="module")
def found():
    return run(CASES // 20, seed=3)


def test_no_machine_of_the_envelope_fails_to_solve(found):
    assert found.failed == 0


def test_few_trip_and_the_rest_settle(found):
    assert found.tripped < 0.02 * found.cases
    assert found.lockouts["none"] > 0.85 * found.cases


def test_a_hundred_solves_a_second_of_one_core(found):
    assert found.solves_per_s > 100

"""A surface that seems cleaner than clean: what is told moves with the readings and does not jump."""

import numpy as np

from diagnostics.engine.assessment import assess
from tests.engine.case import FACTS, LIMIT, codes, history, reading, table_row


def test_the_interval_does_not_jump_where_half_of_the_draws_are_too_clean_to_be_believed():
    past, steps = history(tables=(table_row(),)), np.arange(-0.40, -0.72, -0.02)
    answers = [assess(FACTS, reading(float(step) * LIMIT), past, draws=20_000) for step in steps]
    assert "cleaner_than_reference" in codes(answers[-1])
    assert "cleaner_than_reference" not in codes(answers[0])
    low = np.array([one.fouling_resistance_m2k_per_w.low for one in answers]) / LIMIT
    assert low[0] - low[-1] > 0.6  # all of it at one step, were the draws kept or left out all at once
    assert np.abs(np.diff(low)).max() < 0.3

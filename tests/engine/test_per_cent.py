"""Shares and probabilities as the engine's sentences write them: arithmetic by hand."""

import re
from pathlib import Path

import pytest

import diagnostics
from diagnostics.engine import per_cent
from diagnostics.engine.causes import steps
from diagnostics.engine.causes.chemical import Refusal
from diagnostics.engine.records import ExchangerFacts

BARE = re.compile(r":[+,]?\.\d%\}")


@pytest.mark.parametrize(
    ("probability", "words"),
    [
        (1.0, "over 99 %"),
        (0.9951, "over 99 %"),
        (0.99, "99 %"),
        (0.97, "97 %"),
        (0.01, "1 %"),
        (0.004, "below 1 %"),
        (0.0, "below 1 %"),
    ],
)
def test_no_probability_is_written_as_certainty(probability: float, words: str) -> None:
    assert per_cent.chance(probability) == words


def test_what_is_measured_may_be_all_or_nothing_and_a_change_has_its_sign() -> None:
    assert (per_cent.share(1.0), per_cent.share(0.0), per_cent.share(0.125, 1)) == ("100 %", "0 %", "12.5 %")
    assert (per_cent.change(0.38), per_cent.change(-0.14)) == ("+38 %", "-14 %")


def test_a_cause_that_is_all_but_sure_is_not_called_certain() -> None:
    facts = ExchangerFacts("HP-1", "R410A", "coaxial")
    chance = {"strainer_blocked": 1.0, "exchanger_fouled": 0.0}
    told = steps.step(facts, chance, {"open_strainer": "clean"}, None, Refusal("Not acid."))
    assert "(over 99 %)" in told.words and "100" not in told.words


def test_every_sentence_writes_its_per_cent_by_the_one_function() -> None:
    engine = Path(diagnostics.__file__).parent
    bare = [path.name for path in engine.rglob("*.py") if BARE.search(path.read_text(encoding="utf-8"))]
    assert bare == []

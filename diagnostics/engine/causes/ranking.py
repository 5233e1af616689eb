"""The public answer: causes ranked with reasons, what to do next, why nothing chemical yet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from diagnostics.engine.causes.background import NOTHING_KNOWN, Background
from diagnostics.engine.causes.evidence import Findings
from diagnostics.engine.causes.explaining import explained
from diagnostics.engine.causes.priors import prior_of
from diagnostics.engine.causes.seen import seen_of
from diagnostics.engine.causes.sizes import sized
from diagnostics.engine.causes.steadiness import settled_part
from diagnostics.engine.causes.weighing import weigh
from diagnostics.engine.records import ExchangerFacts, History, InstrumentAccuracy, ReadingSet
from diagnostics.engine.uncertainty import instrument_table

NO_HISTORY, NO_FINDINGS = History(), Findings()


@dataclass(frozen=True, slots=True)
class Ranking:
    """The answer, plain enough for JSON: causes sorted by probability, pairs of causes at once with theirs,
    what to do next, the next check (None where the next step is none), why nothing chemical yet (None where
    chemical work is reasonable), and after a descale in vain that the question is open again. `checks` are
    all that could still be made, by name, for whoever decides with more than the ranking."""

    causes: tuple[dict[str, object], ...]
    pairs: tuple[dict[str, object], ...]
    do_next: str
    next_check: dict[str, object] | None
    why_not_chemical: str | None
    cannot_tell_apart: tuple[dict[str, object], ...]
    reopened: str | None = None
    checks: Mapping[str, dict[str, object]] = field(default_factory=dict, repr=False)

    def probability(self, cause: str) -> float:
        """Probability [-] of a cause, alone or as half of a pair."""
        return float(next(one["probability"] for one in self.causes if one["cause"] == cause))  # type: ignore[arg-type]

    def as_json(self) -> dict[str, object]:
        """Plain lists and dictionaries."""
        return {
            "causes": [dict(one) for one in self.causes],
            "pairs": [dict(one) for one in self.pairs],
            "do_next": self.do_next,
            "next_check": self.next_check,
            "why_not_chemical": self.why_not_chemical,
            "cannot_tell_apart": [dict(one) for one in self.cannot_tell_apart],
            "reopened": self.reopened,
        }


def rank(
    facts: ExchangerFacts,
    reading: ReadingSet,
    history: History = NO_HISTORY,
    clean: ReadingSet | Sequence[ReadingSet] | None = None,
    *,
    findings: Findings = NO_FINDINGS,
    instruments: Iterable[InstrumentAccuracy] | None = None,
    prior: Mapping[str, float] | None = None,
    background: Background = NOTHING_KNOWN,
) -> Ranking:
    """Rank the causes of what a reading set shows, and say what to do next.

    Parameters
    ----------
    facts : ExchangerFacts
        The register's row.
    reading : ReadingSet
        What was read; what was not read is not assumed, and what was read before the machine had settled
        tells no cause.
    history : History
        Earlier readings and events of the unit.
    clean : ReadingSet or sequence of them, optional
        Clean visits; those of the history where absent.
    findings : Findings
        Outcomes of checks and of a descale.
    instruments : iterable of InstrumentAccuracy, optional
        Accuracies that replace the defaults.
    prior : mapping of str to float, optional
        Probabilities of causes that replace `priors.prior_of`. [-]
    background : Background
        Earlier results and the water's tendency to scale, where known.

    Returns
    -------
    Ranking
        Causes with probabilities and reasons, next check, why nothing chemical.

    References
    ----------
    Rossi & Braun (1997), HVAC&R Research 3(1) (from memory), for the statistical comparison of residuals.

    Examples
    --------
    >>> from datetime import datetime
    >>> facts = ExchangerFacts("HP-1", "R410A", "coaxial", capacity_w=12e3)
    >>> water = {"entering_water_k": 303.15, "leaving_water_k": 313.15}
    >>> read = ReadingSet("HP-1", datetime(2024, 5, 1), "cooling", **water)
    >>> rank(facts, read).why_not_chemical is None
    False
    """
    table = instrument_table(instruments)
    reading = settled_part(reading, history.readings)
    seen = seen_of(sized(facts, reading, history), reading, history, clean, table, on_record=facts)
    called = reading.fault_lockout not in (None, "none")
    before = prior or prior_of(facts, history, reading.taken_at, background, called)
    weighed = weigh(facts, reading, history, seen, findings, table, before)
    return Ranking(**explained(facts, reading, findings, seen, weighed, background))


def not_ranked(facts: ExchangerFacts, history: History, reading: ReadingSet, why: str) -> Ranking:
    """The answer where the readings or the record could not be computed with: how common each cause is, and
    why no more.

    Parameters
    ----------
    facts : ExchangerFacts
        The register's row.
    history : History
        Earlier readings and events of the unit.
    reading : ReadingSet
        What was read.
    why : str
        What went wrong.

    Returns
    -------
    Ranking
        Priors as probabilities [-]; nothing chemical.

    References
    ----------
    Common practice: what cannot be computed is looked for in the readings first.

    Examples
    --------
    >>> from datetime import datetime
    >>> read = ReadingSet("HP-1", datetime(2024, 5, 1), "cooling")
    >>> not_ranked(ExchangerFacts("HP-1", "R410A", "coaxial"), History(), read, "x").next_check is None
    True
    """
    before = prior_of(facts, history, reading.taken_at)
    causes = tuple(
        {"cause": name, "probability": round(before[name], 6), "reasons": []}
        for name in sorted(before, key=lambda name: -before[name])
    )
    return Ranking(
        causes,
        (),
        "Look for a reading of absurd size or a slip in the unit's data, correct it, and rank again.",
        None,
        f"Not acid yet: the causes could not be computed ({why}).",
        (),
    )

"""Good rows through the engine, in the file's order, in one process or several."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass

from diagnostics.batch.faults import Fault, NothingRun
from diagnostics.batch.history import Histories
from diagnostics.batch.reading import Inputs
from diagnostics.batch.results import as_json_line, withheld
from diagnostics.engine.records import Assessment, InstrumentAccuracy, ReadingSet, Warning

Assess = Callable[..., Assessment]
ROWS_A_TURN = 20


@dataclass(frozen=True, slots=True)
class Settings:
    """How to compute: the number of draws, and accuracies that take the place of the defaults."""

    draws: int
    instruments: tuple[InstrumentAccuracy, ...] = ()


@dataclass(frozen=True, slots=True)
class Result:
    """One line of JSON, and what is to be said about it beside."""

    line: str
    notes: tuple[str, ...] = ()


class Assessor:
    """Assesses the reading sets of a run, each with the history that it may know."""

    def __init__(self, inputs: Inputs, settings: Settings, assess: Assess | None = None) -> None:
        self.inputs, self.settings, self.given = inputs, settings, assess
        self.histories = Histories(inputs.readings, inputs.tables, inputs.events)

    def __len__(self) -> int:
        return len(self.inputs.readings)

    def result(self, index: int) -> Result:
        """The result of the reading set at this place of the file's good rows."""
        reading, line = self.inputs.readings[index], self.inputs.lines[index]
        notes: tuple[str, ...] = ()
        try:
            assessment = self._assess(reading)
        except Exception as error:  # One row that the engine cannot bear must not cost the others.
            assessment = _failed(reading, error)
            notes = (f"readings, line {line}: warning: not computed: {type(error).__name__}: {error}",)
        return Result(as_json_line(line, reading, assessment), notes)

    def _assess(self, reading: ReadingSet) -> Assessment:
        assess = self.given or _engine()
        return assess(
            self.inputs.facts[reading.unit],
            reading,
            self.histories.before(reading),
            instruments=self.settings.instruments or None,
            draws=self.settings.draws,
        )


def assess_in_order(assessor: Assessor, processes: int = 1) -> Iterator[Result]:
    """Results in the file's order; the same whatever the number of processes."""
    if processes <= 1 or len(assessor) < 2:
        yield from map(assessor.result, range(len(assessor)))
        return
    context = multiprocessing.get_context("spawn")
    try:
        with ProcessPoolExecutor(processes, context, _start, (assessor,)) as pool:
            yield from pool.map(_result, range(len(assessor)), chunksize=ROWS_A_TURN)
    except BrokenProcessPool as error:
        reason = "a process was ended from outside, perhaps for want of memory"
        raise NothingRun(Fault("assess", 0, reason, "a run with --processes 1")) from error


_here: Assessor


def _start(assessor: Assessor) -> None:
    global _here
    _here = assessor


def _result(index: int) -> Result:
    return _here.result(index)


def _engine() -> Assess:
    # Imported here because it takes a second or two, which a mistyped header need not wait for.
    from diagnostics.engine.assessment import assess

    return assess


def _failed(reading: ReadingSet, error: Exception) -> Assessment:
    text = f"The number is withheld because the computation failed: {error or type(error).__name__}."
    do_next = "Look for a reading of absurd size or a slip in the unit's data, correct it, and run again."
    return withheld(reading, Warning("not_computed", text), do_next)

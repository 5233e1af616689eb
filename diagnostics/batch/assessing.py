"""Good rows through the engine, in the file's order, in one process or several."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass

import numpy as np

from diagnostics.batch.columns import READINGS, UNITS, Layout
from diagnostics.batch.faults import Fault, NothingRun
from diagnostics.batch.history import Histories, with_one_gauge_set
from diagnostics.batch.reading import Inputs
from diagnostics.batch.results import as_json_line, withheld
from diagnostics.engine.records import Assessment, ExchangerFacts, InstrumentAccuracy, ReadingSet, Warning

Assess = Callable[..., Assessment]
ROWS_A_TURN = 20
ABOVE_ZERO = (
    "area",
    "length",
    "count",
    "ratio",
    "water_flow",
    "pressure_difference",
    "refrigerant_pressure",
    "temperature",
    "power",
)


@dataclass(frozen=True, slots=True)
class Settings:
    """How to compute: the number of draws, accuracies that take the place of the defaults, the folder in
    which causes' signatures are kept, and whether causes are ranked."""

    draws: int
    instruments: tuple[InstrumentAccuracy, ...] = ()
    signatures: str | None = None
    causes: bool = True


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
            assessment = self._assess(index)
        except Exception as error:  # One row that the engine cannot bear must not cost the others.
            assessment = _failed(self.inputs.facts[reading.unit], reading, error)
            if not isinstance(
                error, ValueError
            ):  # A ValueError speaks of the inputs; others are our own slip.
                said = f"warning: the computation failed: {type(error).__name__}: {error}"
                notes = (f"{self.inputs.readings_file}:{line}: {said}",)
        return Result(as_json_line(line, reading, self._completed(index, assessment)), notes)

    def _completed(self, index: int, assessment: Assessment) -> Assessment:
        """The assessment with what a descale removed, its causes, and the next step that all decide."""
        if self.given is not None:
            return assessment
        from diagnostics.batch import causes, removing

        given, reading = self.settings, self.inputs.readings[index]
        facts, history = self.inputs.facts[reading.unit], self.histories.before(index)
        assessment, changed = removing.told(
            facts, *with_one_gauge_set(reading, history), assessment, given.instruments, given.draws
        )
        if not given.causes:
            return assessment
        return causes.added(facts, reading, history, assessment, given.instruments, given.signatures, changed)

    def _assess(self, index: int) -> Assessment:
        reading, history = with_one_gauge_set(self.inputs.readings[index], self.histories.before(index))
        assess = self.given or _engine()
        # Readings of absurd size overflow on their way to being withheld; that is no news for the terminal.
        with np.errstate(all="ignore"):
            return assess(
                self.inputs.facts[reading.unit],
                reading,
                history,
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


def _failed(facts: ExchangerFacts, reading: ReadingSet, error: Exception) -> Assessment:
    named = [*_not_above_zero(UNITS, facts), *_not_above_zero(READINGS, reading)]
    why = f"{', '.join(named)}; expected above 0" if named else str(error) or type(error).__name__
    text = f"The number is withheld because it could not be computed: {why}."
    do_next = "Look for a reading of absurd size or a slip in the unit's data, correct it, and run again."
    return withheld(reading, Warning("not_computed", text), do_next)


def _not_above_zero(layout: Layout, record: ExchangerFacts | ReadingSet) -> list[str]:
    """Columns whose value is zero or below where only values above zero can be."""
    able = [column for column in layout.columns if column.kind in ABOVE_ZERO and column.name != "elevation"]
    return [
        f"{column.name} is {value:g} (in SI)"
        for column in able
        for field in (column.field, column.mass_field)
        if isinstance(value := getattr(record, field, None), int | float) and value <= 0
    ]

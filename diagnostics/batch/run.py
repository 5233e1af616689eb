"""The whole run: files in, results out in the file's order, an exit code that tells how it went."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace

from diagnostics.batch.assessing import Assess, Assessor, Settings, assess_in_order
from diagnostics.batch.faults import Fault, NothingRun, one_line
from diagnostics.batch.reading import Inputs, read_inputs
from diagnostics.batch.sink import Writer, results_file

ALL_GOOD, SOME_BAD, NOTHING_RUN = 0, 1, 2
DRAWS, FEWEST_DRAWS, MOST_DRAWS = 20_000, 1_000, 1_000_000
LARGE = 300
ROWS_BETWEEN_NEWS = 100
MOST_PROCESSES = 2


@dataclass(frozen=True, slots=True)
class Job:
    """What to read, where to write, how to compute. `processes` None: two for large files, else one."""

    units: str
    readings: str
    tables: str | None = None
    events: str | None = None
    instruments: str | None = None
    out: str | None = None
    draws: int = DRAWS
    processes: int | None = None
    signatures: str | None = None
    causes: bool = True

    @property
    def files(self) -> list[str]:
        named = (self.units, self.readings, self.tables, self.events, self.instruments)
        return [name for name in named if name is not None]


def run(job: Job, output: Writer, errors: Writer, assess: Assess | None = None) -> int:
    """Assess every good row of the readings. Returns 0: all rows good, 1: some bad, 2: nothing run."""
    try:
        return _run(job, output, errors, assess)
    except NothingRun as nothing:
        _say(nothing.faults, errors)
    except BrokenPipeError:
        raise
    except OSError as error:
        reason = f"cannot be written: {error.strerror}"
        _say([Fault(job.out or "results", 0, reason, "room to write")], errors)
    return NOTHING_RUN


def _run(job: Job, output: Writer, errors: Writer, assess: Assess | None) -> int:
    if not FEWEST_DRAWS <= job.draws <= MOST_DRAWS:
        expected = f"{FEWEST_DRAWS} to {MOST_DRAWS}"
        raise NothingRun(Fault("--draws", 0, f"{job.draws} will not do", expected))
    if job.processes is not None and job.processes < 1:
        raise NothingRun(Fault("--processes", 0, f"{job.processes} will not do", "1 or more"))
    inputs = read_inputs(job.units, job.readings, job.tables, job.events)
    settings = Settings(job.draws, signatures=job.signatures, causes=job.causes)
    if job.instruments is not None:
        from diagnostics.batch.instruments import read_instruments

        stated, notes = read_instruments(job.instruments)
        inputs.notes += notes
        settings = replace(settings, instruments=tuple(stated))
    with results_file(job.out, output, job.files) as file:
        _say(inputs.notes, errors)
        _say(inputs.faults, errors)
        assessor = Assessor(inputs, settings, assess)
        if not len(assessor) and not inputs.faults:
            _say([f"{job.readings}: warning: no rows under the header, nothing to assess"], errors)
        watched = errors.isatty()
        for done, result in enumerate(assess_in_order(assessor, _processes(job, inputs)), start=1):
            file.write(result.line + "\n")
            _say(result.notes, errors)
            if watched and done % ROWS_BETWEEN_NEWS == 0:
                _say([f"{done} of {len(assessor)} rows done"], errors)
    return SOME_BAD if inputs.faults else ALL_GOOD


def _processes(job: Job, inputs: Inputs) -> int:
    if job.processes is not None:
        return job.processes
    return min(MOST_PROCESSES, os.cpu_count() or 1) if len(inputs.readings) >= LARGE else 1


def _say(lines: Sequence[object], errors: Writer) -> None:
    for line in lines:
        errors.write(one_line(str(line)) + "\n")

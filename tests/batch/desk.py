"""A desk for tests of batch use: files in a folder, one run over them, what came out."""

from __future__ import annotations

import io
import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from diagnostics.batch.run import Job, run
from diagnostics.engine.records import (
    Assessment,
    ExchangerFacts,
    History,
    Interval,
    ReadingSet,
    ReferenceUsed,
    Warning,
)

UNITS = "unit,refrigerant,exchanger\nHP-1,R410A,coaxial\n"
HEADER = "unit,taken_at,mode"
ROW = "HP-1,2025-06-30T14:05,cooling"


@dataclass
class Seen:
    """What the stand-in for the engine was given, call by call."""

    calls: list[tuple[ExchangerFacts, ReadingSet, History, dict[str, Any]]] = field(default_factory=list)

    def __call__(
        self, facts: ExchangerFacts, reading: ReadingSet, history: History, **settings: Any
    ) -> Assessment:
        self.calls.append((facts, reading, history, settings))
        return stand_in(facts, reading, history, **settings)

    @property
    def facts(self) -> ExchangerFacts:
        return self.calls[-1][0]

    @property
    def reading(self) -> ReadingSet:
        return self.calls[-1][1]

    @property
    def history(self) -> History:
        return self.calls[-1][2]


def stand_in(facts: ExchangerFacts, reading: ReadingSet, history: History, **settings: Any) -> Assessment:
    """In the engine's place: no physics, only something that depends on what was given."""
    return Assessment(
        unit=reading.unit,
        taken_at="said by the stand-in",
        mode=reading.mode,
        line=None,
        water_flow_kg_per_s=Interval(float(len(history.readings)), 0.0, 1.0),
        heat_w=None,
        ua_w_per_k=None,
        excess_approach_k=None,
        cleanliness=None,
        fouling_resistance_m2k_per_w=None,
        fouling_resistance_k_per_w=None,
        probability_over_limit=None,
        limit=None,
        verdict="undecided",
        reference=(ReferenceUsed("operating_table"),),
        decides_next="head_pressure",
        do_next="Connect gauges.",
        warnings=(Warning("stand_in", "No physics here."),),
        more={"superheat_k": 5.0},
    )


@dataclass
class Outcome:
    code: int
    results: list[dict[str, Any]]
    errors: list[str]
    seen: Seen
    folder: Path

    @property
    def error(self) -> str:
        assert len(self.errors) == 1, self.errors
        return self.errors[0]


class Desk:
    """Writes files where their text is given, runs, and reads back. Paths in errors are cut to file names."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def write(self, name: str, text: str | bytes) -> str:
        path = self.folder / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return str(path)

    def run(
        self,
        readings: str | bytes = f"{HEADER}\n{ROW}\n",
        units: str | bytes = UNITS,
        *,
        tables: str | bytes | None = None,
        events: str | bytes | None = None,
        instruments: str | bytes | None = None,
        assess: Any = None,
        **job: Any,
    ) -> Outcome:
        optional = {"tables": tables, "events": events, "instruments": instruments}
        files = {name: self.write(f"{name}.csv", text) for name, text in optional.items() if text is not None}
        files |= {"units": self.write("units.csv", units), "readings": self.write("readings.csv", readings)}
        output, errors, seen = io.StringIO(), io.StringIO(), Seen()
        code = run(Job(**files, **job), output, errors, assess or seen)
        lines = errors.getvalue().replace(f"{self.folder}/", "").splitlines()
        results = [json.loads(line) for line in output.getvalue().splitlines()]
        return Outcome(code, results, lines, seen, self.folder)

    def row(self, **cells: str) -> Outcome:
        """One row of HP-1 with further columns, given as name and unit by cell."""
        header = ",".join([HEADER, *cells])
        return self.run(f"{header}\n{','.join([ROW, *cells.values()])}\n")

    def read(self, column: str, cell: str) -> ReadingSet:
        outcome = self.row(**{column: cell})
        assert (outcome.code, outcome.errors) == (0, [])
        return outcome.seen.reading

    def header_error(self, column: str) -> str:
        outcome = self.row(**{column: "1"})
        assert outcome.code == 2
        assert outcome.results == [] and outcome.seen.calls == []
        return outcome.error

    def cell_error(self, column: str, cell: str) -> str:
        outcome = self.row(**{column: cell})
        assert outcome.code == 1
        assert outcome.results == []
        return outcome.error

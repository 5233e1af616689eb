"""Baths: simulated descales looked at by a person, judged by the engine's log; what was called, and when.

    python -m tests.studies.baths [--jobs 500] [--seed 1] [--processes 2] [--write]

The bath (`bath_truth`) has its own chemistry. The person looks at 0, 3, 6, 10 minutes of a batch and then
every ten, titrates at 10 and then every 20 to 30, misses whole looks and single readings, and does what the
judgement says: a fresh batch (fifteen minutes), a stop, an end. Dissolution is over when a fiftieth is left
and its gas is no longer seen at every second look (a fiftieth of ten kilograms still fizzes); the end is late
when it comes more than a hold and an entry after that. The same counted from a twentieth left is printed
too. A bath has stalled when its power to dissolve is below a tenth of a fresh one's while more than a tenth
of the deposit is left.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from diagnostics.engine.descaling.cleaners import CLEANERS
from diagnostics.engine.descaling.end_point import BathRules, Judgement, Look, judge
from diagnostics.engine.version import ENGINE_VERSION
from tests.studies.bath_truth import HALF_SEEN_GAS_MOL_PER_S, Bath, Job, draw_jobs
from tests.studies.page import write_section

JOBS = 500
HOLD_S, ENTRY_S, CHANGE_S, LONGEST_S = 1800.0, 600.0, 900.0, 16 * 3600.0
ON_TIME_S = HOLD_S + ENTRY_S + 1
DISSOLVED, STALLED = 0.02, 0.10
SHEETS = {"hydrochloric": "inhibited_hydrochloric", "glycolic": "glycolic_formic"}
QUICK = ("hydrochloric", "sulfamic")
ENDS = ("finished", "nothing_dissolving", "stop")


@dataclass(frozen=True)
class Outcome:
    """One job: what was true and what was called."""

    acid: str
    scale: bool
    leak: bool
    called: str
    reasons: tuple[str, ...]
    ended_s: float
    left: float
    dissolved_s: float
    twentieth_s: float
    batches: int
    stalls: int
    would_stall: int
    quick: bool

    @property
    def late_s(self) -> float:
        return self.ended_s - self.dissolved_s

    @property
    def late_from_twentieth_s(self) -> float:
        return self.ended_s - self.twentieth_s

    @property
    def leak_called(self) -> bool:
        return "level_rising" in self.reasons


def rules_of(job: Job) -> BathRules:
    sheet = CLEANERS[SHEETS.get(job.acid, job.acid)]
    return BathRules((job.acid,), job.strength, sheet.renew_below_share, sheet.renewal_ph)


class Run:
    """One job looked at until something ends it."""

    def __init__(self, job: Job) -> None:
        self.job, self.bath, self.rules = job, Bath(job), rules_of(job)
        self.person = np.random.default_rng(job.seed + 7)
        self.looks: list = []
        self.batch, self.started_s, self.titrated_s = 1, 0.0, None
        self.dissolved_s = self.twentieth_s = float("inf")
        self.stalls = self.would_stall = 0
        self.stalled_now = False

    def outcome(self) -> Outcome:
        called, reasons = "never", ()
        while self.bath.time_s < LONGEST_S:
            found = self.next_look()
            if found is None:
                continue
            if found.action in ENDS:
                called, reasons = found.action, found.reasons
                break
            if found.action == "fresh_batch":
                self.change_bath()
        job = self.job
        left = self.bath.left_kg / self.bath.start_kg if job.deposit_kg else 0.0
        self.would_stall += self.stalled_now
        self.stalls += self.stalled_now
        return Outcome(
            job.acid, job.deposit_kg > 0, job.leak_m3_per_s > 0, called, reasons, self.bath.time_s, left,
            self.dissolved_s, self.twentieth_s, self.batch, self.stalls, self.would_stall, job.acid in QUICK,
        )  # fmt: skip

    def next_look(self) -> Judgement | None:
        """Wait for the next look; None where the person misses it."""
        into = self.bath.time_s - self.started_s
        minutes = next((m for m in (3, 6, 10) if m * 60 > into + 1), None)
        wait = minutes * 60 - into if minutes else ENTRY_S
        if not self.looks or (self.looks[-1].batch != self.batch and into == 0):
            wait = 0.0 if into == 0 and not self._looked_at_start() else wait
        self.watch(wait)
        if wait and self.person.random() < self.job.missed:
            return None
        look = self.bath.look(self.batch, self.titrates())
        self.looks.append(look)
        if look.strength is not None:
            self.titrated_s = look.time_s
        found = judge(self.looks, self.rules)
        if "strength" in found.asks and look.strength is None:
            return self.titrate_as_asked(look)
        return found

    def titrate_as_asked(self, look: Look) -> Judgement:
        """The screen asked for the strength: the same look with it, as a person adds it."""
        self.looks[-1] = replace(look, strength=self.bath.titrated())
        self.titrated_s = look.time_s
        return judge(self.looks, self.rules)

    def _looked_at_start(self) -> bool:
        return any(look.batch == self.batch for look in self.looks)

    def titrates(self) -> bool:
        into = self.bath.time_s - self.started_s
        since = self.bath.time_s - (self.titrated_s if self.titrated_s is not None else -1e9)
        due = self.person.choice([1200.0, 1800.0])
        first = into >= 600 and (self.titrated_s is None or self.titrated_s < self.started_s)
        return bool(first or (into >= 600 and since >= due - 30))

    def watch(self, wait: float) -> None:
        """Run on, and note when the scale was dissolved and whether the bath stalls."""
        until = self.bath.time_s + wait
        while self.bath.time_s < until - 1e-6:
            self.bath.run_to(min(self.bath.time_s + 60.0, until))
            left = self.bath.left_kg / self.bath.start_kg if self.job.deposit_kg else 0.0
            if left <= 0.05:
                self.twentieth_s = min(self.twentieth_s, self.bath.time_s)
            if left <= DISSOLVED and self.bath.gas_mol_per_s < HALF_SEEN_GAS_MOL_PER_S:
                self.dissolved_s = min(self.dissolved_s, self.bath.time_s)
            if left > 0.10 and self.bath.relative_power() < STALLED:
                self.stalled_now = True

    def change_bath(self) -> None:
        self.would_stall += 1
        self.stalls += self.stalled_now
        self.stalled_now = False
        self.bath.time_s += CHANGE_S
        self.bath.fill()
        self.batch, self.started_s = self.batch + 1, self.bath.time_s


def outcome_of(job: Job) -> Outcome:
    return Run(job).outcome()


def run(seed: int, jobs: int, processes: int = 1) -> list[Outcome]:
    """Every job, in order; the same seed gives the same outcomes whatever the processes."""
    drawn = draw_jobs(seed, jobs)
    if processes == 1:
        return [outcome_of(job) for job in drawn]
    with ProcessPoolExecutor(processes) as pool:
        return list(pool.map(outcome_of, drawn, chunksize=5))


def share(part: Sequence[Outcome], what: Callable[[Outcome], bool]) -> float:
    return float(np.mean([what(one) for one in part])) if part else float("nan")


def figures(outcomes: Sequence[Outcome]) -> dict[str, tuple[float, int]]:
    """Share [-] and count by name of aim."""
    scale = [one for one in outcomes if one.scale and not one.leak]
    ended = [one for one in scale if one.called == "finished"]
    free = [one for one in outcomes if not one.scale]
    leaks = [one for one in outcomes if one.leak]
    sound = [one for one in outcomes if not one.leak]
    batches = sum(one.would_stall for one in scale)

    def in_time(one: Outcome) -> bool:
        wait = 600.0 if one.quick else 1800.0
        return one.called == "nothing_dissolving" and one.ended_s <= wait + 2 * ENTRY_S + 1

    return {
        "more than a tenth left at the called end": (share(ended, lambda o: o.left > 0.10), len(ended)),
        "end late by at most a hold and an entry": (
            share(scale, lambda o: o.called == "finished" and o.late_s <= ON_TIME_S), len(scale),
        ),
        "the same from a twentieth left": (
            share(scale, lambda o: o.called == "finished" and o.late_from_twentieth_s <= ON_TIME_S),
            len(scale),
        ),
        "fresh batch before dissolution stalls": (
            1 - sum(one.stalls for one in scale) / batches if batches else float("nan"), batches,
        ),
        "nothing dissolving told in time": (share(free, in_time), len(free)),
        "nothing dissolving, falsely": (share(scale, lambda o: o.called == "nothing_dissolving"), len(scale)),
        "leaking valve told": (share(leaks, lambda o: o.leak_called), len(leaks)),
        "leaking valve, falsely": (share(sound, lambda o: o.leak_called), len(sound)),
        "other stops, falsely": (
            share(outcomes, lambda o: o.called == "stop" and not o.leak_called), len(outcomes),
        ),
        "never ended": (share(outcomes, lambda o: o.called == "never"), len(outcomes)),
    }  # fmt: skip


AIMS = {
    "more than a tenth left at the called end": "at most 0.05",
    "end late by at most a hold and an entry": "0.90",
    "fresh batch before dissolution stalls": "0.95",
    "nothing dissolving told in time": "0.95",
    "nothing dissolving, falsely": "below 0.02",
    "leaking valve told": "0.90",
}


def report(outcomes: Sequence[Outcome]) -> str:
    lines = [f"{'':<44}{'share':>8}{'of':>6}  aim"]
    for name, (value, count) in figures(outcomes).items():
        lines.append(f"{name:<44}{value:8.3f}{count:6d}  {AIMS.get(name, '')}")
    return "\n".join(lines)


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--jobs", type=int, default=JOBS)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--write", action="store_true", help="put the table on the documentation's page")
    asked = parser.parse_args()
    outcomes = run(asked.seed, asked.jobs, asked.processes)
    print(report(outcomes))
    if asked.write:
        write_section("baths", _page(asked, outcomes))


def _page(asked: argparse.Namespace, outcomes: Sequence[Outcome]) -> str:
    rows = [f"{datetime.now(UTC):%Y-%m-%d}, engine {ENGINE_VERSION}, seed {asked.seed}, {asked.jobs} jobs.",
            "",
            "| | share | of | aim |", "|---|---|---|---|"]  # fmt: skip
    for name, (value, count) in figures(outcomes).items():
        rows.append(f"| {name} | {value:.3f} | {count} | {AIMS.get(name, '')} |")
    return "\n".join(rows)


if __name__ == "__main__":
    main()

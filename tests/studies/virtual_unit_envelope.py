"""Solve random machines, conditions and faults over the whole stated envelope, and count what fails.

    python -m tests.studies.virtual_unit_envelope [--cases 10000] [--seed 1] [--write]

A case fails where the four equations are not met and nothing tells why. A machine that trips on the way to
its conditions (`State.beyond`) is an answer, and is counted apart.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from diagnostics.engine.version import ENGINE_VERSION
from diagnostics.engine.virtual_unit import NO_FAULTS, solve_many
from diagnostics.engine.virtual_unit.drawing import draw_conditions, draw_faults, draw_unit
from tests.studies.page import write_section

CASES = 10_000
CASES_A_UNIT = 20
BLOCK = 500


@dataclass(frozen=True)
class Envelope:
    """What the study found; speed is solved cases a second of processor time, sizing apart."""

    cases: int
    failed: int
    tripped: int
    lockouts: dict[str, int]
    solves_per_s: float
    sizing_s_per_unit: float


def run(cases: int = CASES, seed: int = 1) -> Envelope:
    """Draw and solve."""
    rng = np.random.default_rng(seed)
    failed = tripped = units_drawn = 0
    lockouts: Counter[str] = Counter()
    solving = sizing = 0.0
    for start in range(0, cases, BLOCK):
        size = min(BLOCK, cases - start)
        before = time.process_time()
        machines = [draw_unit(rng) for _ in range(max(1, size // CASES_A_UNIT))]
        sizing += time.process_time() - before
        units_drawn += len(machines)
        units = [machines[int(rng.integers(len(machines)))] for _ in range(size)]
        conditions = [draw_conditions(rng, one) for one in units]
        faults = [draw_faults(rng, one) if rng.random() < 0.7 else NO_FAULTS for one in units]
        before = time.process_time()
        states = solve_many(units, conditions, faults)
        solving += time.process_time() - before
        failed += sum(not state.converged and not state.beyond for state in states)
        tripped += sum(bool(state.beyond) for state in states)
        lockouts.update(state.lockout for state in states)
    return Envelope(cases, failed, tripped, dict(lockouts), cases / solving, sizing / units_drawn)


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--cases", type=int, default=CASES)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write", action="store_true", help="put the table on the documentation's page")
    asked = parser.parse_args()
    told = table(run(asked.cases, asked.seed), asked.seed)
    print(told)
    if asked.write:
        write_section("envelope", told)


def table(found: Envelope, seed: int) -> str:
    """The figures with their aims."""
    steady = "none"
    rows = [
        ("cases drawn", found.cases, ""),
        ("failed: the equations not met, and nothing says why", found.failed, "0"),
        ("tripped on the way, and said so", found.tripped, ""),
        *(
            (f"standing under lockout: {name.replace('_', ' ')}", count, "")
            for name, count in sorted(found.lockouts.items())
            if name != steady
        ),
        ("solves a second of processor time", f"{found.solves_per_s:.0f}", "at least 100"),
        ("sizing a machine [ms]", f"{found.sizing_s_per_unit * 1e3:.0f}", ""),
    ]
    when = f"{datetime.now(UTC):%Y-%m-%d}, engine {ENGINE_VERSION}, seed {seed}."
    return f"{when}\n\n| | found | aim |\n|---|---|---|\n" + "\n".join(
        f"| {name} | {value} | {aim} |" for name, value, aim in rows
    )


if __name__ == "__main__":
    main()

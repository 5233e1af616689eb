"""One assessment at 20,000 draws, against the same draws through a loop over a reused low-level property
state.

    python -m tests.benchmarks.assessing [REPEATS]

Bare: for every draw the saturation at the drawn pressure, the states' enthalpies and the zones' conductances,
one after another, with one AbstractState of CoolProp that is made once and reused. Ours: the whole
assessment, its evidence, intervals, verdict and words included. The aims: at least 5 times faster, and 40 ms
at most. Then one reading on record, from its rows to the row that keeps the answer: 60 ms at most, in a
process that has assessed the unit before.
"""

from __future__ import annotations

import math
import os
import statistics
import sys
import time

import CoolProp
import numpy as np

from diagnostics.engine.assessment import DRAWS, assess
from tests.engine.case import FACTS, LIMIT, TWO_CLEAN, reading

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

LOOPED = 2000


def assessment_s(repeats: int) -> float:
    """Median time of one assessment. [s]"""
    row = reading(1.5 * LIMIT)
    assess(FACTS, row, TWO_CLEAN)
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        assess(FACTS, row, TWO_CLEAN)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def loop_s(draws: int = LOOPED) -> float:
    """Time of the plain loop, scaled to the assessment's draws. [s]"""
    row = reading(1.5 * LIMIT)
    rng = np.random.default_rng(1)
    state = CoolProp.AbstractState("HEOS", "R410A")
    start = time.perf_counter()
    for _ in range(draws):
        _one(state, row, rng)
    return (time.perf_counter() - start) * DRAWS / draws


def _one(state: CoolProp.AbstractState, row: object, rng: np.random.Generator) -> float:
    pressure = row.head_pressure_pa * (1 + rng.uniform(-0.006, 0.006) + rng.uniform(-0.004, 0.004))
    entering = row.entering_water_k + rng.uniform(-0.2, 0.2) + rng.uniform(-0.1, 0.1)
    leaving = row.leaving_water_k + rng.uniform(-0.2, 0.2) + rng.uniform(-0.1, 0.1)
    flow = row.water_flow_kg_per_s * (1 + rng.uniform(-0.03, 0.03) + rng.uniform(-0.02, 0.02))
    vapour = row.discharge_line_k + rng.uniform(-0.5, 0.5) + rng.uniform(-0.3, 0.3)
    cold = row.liquid_line_k + rng.uniform(-0.5, 0.5) + rng.uniform(-0.3, 0.3)
    state.update(CoolProp.PQ_INPUTS, pressure, 0.0)
    bubble, boiling = state.T(), state.hmass()
    state.update(CoolProp.PQ_INPUTS, pressure, 1.0)
    dew, gas = state.T(), state.hmass()
    state.update(CoolProp.PT_INPUTS, pressure, vapour)
    hot = state.hmass()
    state.update(CoolProp.QT_INPUTS, 0.0, cold)
    liquid = state.hmass()
    whole, heat, change = hot - liquid, flow * 4180.0 * (leaving - entering), leaving - entering
    first = entering + (boiling - liquid) / whole * change
    second = leaving - (hot - gas) / whole * change
    ends = (cold - entering, bubble - first), (bubble - first, dew - second), (dew - second, vapour - leaving)
    shares = (boiling - liquid) / whole, (gas - boiling) / whole, (hot - gas) / whole
    return sum(share * heat * math.log(b / a) / (b - a) for share, (a, b) in zip(shares, ends, strict=True))


def on_record_s(repeats: int) -> float:
    """Median time of one assessment with its database: rows read, judged, and the answer kept. [s]"""
    from diagnostics.services import assess_reading
    from tests import make
    from tests.diagnostics import world

    site, by = make.site(), make.person("technician")
    exchanger, visit = world.know(make.exchanger(make.unit(site))), make.visit(site, [by])
    world.clean_visits(visit, exchanger, by)
    rows = [world.reading(visit, exchanger, by, day=300 + day) for day in range(repeats + 1)]
    times = []
    for row in rows:
        start = time.perf_counter()
        assess_reading(row.pk)
        times.append(time.perf_counter() - start)
    print(f"first in this process {times[0] * 1e3:.0f} ms")
    return statistics.median(times[1:])


def with_database(repeats: int) -> float:
    """As `on_record_s`, in a database made for it."""
    import django

    django.setup()
    from django.test.utils import setup_databases, teardown_databases

    places = setup_databases(verbosity=0, interactive=False)
    try:
        return on_record_s(repeats)
    finally:
        teardown_databases(places, verbosity=0)


def main() -> None:
    """Measure and print."""
    repeats = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    ours, loop = assessment_s(repeats), loop_s()
    print(f"assessment {ours * 1e3:.1f} ms, loop {loop * 1e3:.0f} ms, {loop / ours:.1f} times")
    print(f"assessment on record {with_database(repeats) * 1e3:.1f} ms, aim 60")


if __name__ == "__main__":
    main()

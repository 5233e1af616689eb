"""Whole histories assessed again through the queue, in bulk: how fast, in what memory, the same answers?

    python -m tests.benchmarks.reassessing [--exchangers 2000] [--readings 5] [--write]

Starts PostgreSQL and Redis of its own, fills them with exchangers of known truth, queues one item of work for
each exchanger and lets two worker processes carry them out. Told are readings a second from the first message
waiting to the last answer kept, against the bound (what the engine alone needs on as many processes), the
workers' memory over the run with recycling off, and the time of one interactive assessment with its database.
Every answer must hold the full draws, and a sample of them must be the interactive answer, digest and all.
Exit 1 where one is not, or where fewer than 60 a second are reached at full size.
"""

from __future__ import annotations

import argparse
import datetime as dt
import itertools
import os
import statistics
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

LEAST_A_SECOND, AIM_A_SECOND, AIM_ONE_MS = 60.0, 150.0, 60.0
FULL_SIZE, PROCESSES, SAMPLE = 2000, 2, 25
STATES = [
    (fouling, water) for fouling in (0.0, 5e-5, 1.5e-4, 3e-4, 5.5e-4) for water in (295.15, 300.15, 305.15)
]


@dataclass
class Run:
    seconds: float = 0.0
    memory_mb: list[float] = field(default_factory=list)


def main() -> int:
    asked = arguments()
    from tests.grown import stores

    with stores.running() as pair:
        os.environ.update(pair.environment, DJANGO_SETTINGS_MODULE="tests.settings")
        import django

        django.setup()
        from django.test.utils import setup_databases, teardown_databases

        places = setup_databases(verbosity=0, interactive=False)
        try:
            return measure(asked.exchangers, asked.readings, asked.write)
        finally:
            teardown_databases(places, verbosity=0)


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--exchangers", type=int, default=FULL_SIZE)
    parser.add_argument(
        "--readings", type=int, default=5, help="readings of each exchanger, two of them clean"
    )
    parser.add_argument("--write", action="store_true", help="put the table on the documentation's page")
    asked = parser.parse_args()
    if asked.exchangers < 1 or asked.readings < 3:
        parser.error("at least 1 exchanger and 3 readings of each")
    return asked


def measure(exchangers: int, readings: int, write: bool) -> int:
    count = fill(exchangers, readings)
    print(f"{count} readings of {exchangers} exchangers", flush=True)
    queued = ask_for_all()
    ran = carry_out(count)
    rate = count / ran.seconds
    wrong = different_answers(count)
    one_ms, engine_ms = interactive_ms()
    bound = PROCESSES * 1000.0 / engine_ms
    rows = [
        (f"queueing {exchangers} items [s]", f"{queued:.1f}", ""),
        ("carried out in [s]", f"{ran.seconds:.1f}", ""),
        ("readings a second", f"{rate:.1f}", f"{AIM_A_SECOND:.0f}, at least {LEAST_A_SECOND:.0f}"),
        (f"bound: the engine alone on {PROCESSES} processes [readings/s]", f"{bound:.1f}", ""),
        ("share of the bound", f"{rate / bound:.0%}", ""),
        ("the engine alone, one reading [ms]", f"{engine_ms:.1f}", ""),
        ("one interactive assessment with its database [ms]", f"{one_ms:.1f}", f"below {AIM_ONE_MS:.0f}"),
        ("memory of the worker's largest process", memory_words(ran.memory_mb), "flat"),
        ("answers with fewer draws, or not the interactive one", wrong, "0"),
    ]
    table = "\n".join(f"| {name} | {value} | {aim} |" for name, value, aim in rows)
    print(table)
    if write:
        keep(table, count, exchangers)
    too_slow = exchangers >= FULL_SIZE and rate < LEAST_A_SECOND
    return 1 if wrong or too_slow else 0


def keep(table: str, count: int, exchangers: int) -> None:
    """The figures on the documentation's page, with their date."""
    from diagnostics.engine.version import ENGINE_VERSION
    from tests.studies.page import write_section

    day = dt.datetime.now(dt.UTC).date()
    of = f"{count} readings of {exchangers} exchangers, {os.cpu_count()} cores"
    head = f"{day}, engine {ENGINE_VERSION}: {of}."
    write_section("in bulk", f"{head}\n\n| | found | aim |\n|---|---|---|\n{table}")


def fill(exchangers: int, readings: int) -> int:
    """Units alike but for their state, each with two clean visits first. Past the trail: it is scenery."""
    from contractor.accounts.models import Role
    from contractor.visits.models import Reading
    from tests import make
    from tests.diagnostics import world

    seen = {state: world.values(*state) for state in {*STATES, (0.0, 303.15), (0.0, 298.15)}}
    site, who = make.site(water_source="cooling_tower"), make.person(Role.TECHNICIAN)
    visit, states = make.visit(site, [who]), itertools.cycle(STATES)
    rows = []
    for _ in range(exchangers):
        exchanger = make.exchanger(make.unit(site), area_m2=world.AREA_M2)
        for place in range(readings):
            clean = place < 2
            state = ((0.0, 303.15), (0.0, 298.15))[place] if clean else next(states)
            rows.append(
                Reading(
                    visit=visit, exchanger=exchanger, taken_by=who, mode="cooling", minutes_running=20.0,
                    strainer="clean", purpose="clean_reference" if clean else "routine",
                    taken_at=world.FIRST_DAY + dt.timedelta(days=place if clean else 100 * place),
                    as_typed=world.typed(seen[state]), **seen[state],
                )
            )  # fmt: skip
    Reading.objects.bulk_create(rows, batch_size=500)
    return len(rows)


def ask_for_all() -> float:
    from contractor.register.models import Exchanger
    from diagnostics.services import request_reassessment

    start = time.perf_counter()
    for exchanger in Exchanger.objects.all():
        request_reassessment(exchanger, because="benchmark")
    return time.perf_counter() - start


def carry_out(count: int) -> Run:
    """From the workers' readiness to the last answer kept, with what their processes hold on the way."""
    from contractor.workqueue import embedded
    from contractor.workqueue.models import WorkItem
    from diagnostics.models import Assessment

    ran, open_now = Run(), WorkItem.objects.filter(state__in=["waiting", "running"])
    no_recycling = {"WATERSIDE_WORKER_MAX_TASKS": "1000000"}
    with embedded.worker(processes=PROCESSES, queues="bulk,house", environment=no_recycling) as worker:
        start = time.perf_counter()
        while open_now.exists():
            time.sleep(1.0)
            ran.memory_mb.append(resident_mb(worker.group))
        ran.seconds = time.perf_counter() - start
    failed = WorkItem.objects.filter(state="failed").values_list("problem", flat=True)[:3]
    assert not failed, list(failed)
    assert Assessment.objects.filter(superseded_at=None).count() == count
    return ran


def resident_mb(group: int) -> float:
    """The largest process of the group [MB]: the one whose growth would show first."""
    sizes = [0.0]
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            fields = (entry / "stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[2]) == group:
            sizes.append(int(fields[21]) * os.sysconf("SC_PAGE_SIZE") / 2**20)
    return max(sizes)


def memory_words(sizes: list[float]) -> str:
    """The largest of them in the second fifth of the run (all is loaded by then) and in the last."""
    if len(sizes) < 10:
        return f"at most {max(sizes, default=0.0):.0f} MB; too short a run to tell growth"
    fifth = len(sizes) // 5
    early, late = statistics.median(sizes[fifth : 2 * fifth]), statistics.median(sizes[-fifth:])
    return f"{early:.0f} MB early, {late:.0f} MB at the end, growth {late - early:+.1f} MB"


def different_answers(count: int) -> int:
    """Answers without the full draws, and of a sample those that the interactive way answers otherwise."""
    from diagnostics.answers import columns_of
    from diagnostics.engine.assessment import DRAWS
    from diagnostics.models import Assessment
    from diagnostics.services import inputs_now, judge

    current = Assessment.objects.filter(superseded_at=None).order_by("pk")
    wrong = current.exclude(result__draws=DRAWS).count()
    for kept in current[:: max(count // SAMPLE, 1)]:
        inputs = inputs_now(kept.reading_id)
        again: dict[str, Any] = columns_of(inputs.reading, judge(inputs))
        wrong += (
            again["inputs_digest"] != kept.inputs_digest
            or again["fouling_m2k_per_w"] != kept.fouling_m2k_per_w
        )
    return wrong


def interactive_ms() -> tuple[float, float]:
    """Median of one assessment with its database, kept anew each time, and of its engine alone [ms]."""
    from diagnostics.models import Assessment
    from diagnostics.services import assess_reading, inputs_now, judge

    ids = list(Assessment.objects.filter(superseded_at=None).values_list("reading_id", flat=True)[:SAMPLE])
    Assessment.objects.filter(reading__in=ids).update(inputs_digest="0" * 64)
    whole, engine = [], []
    for reading_id in ids:
        inputs = inputs_now(reading_id)
        engine.append(timed(lambda given=inputs: judge(given)))
        whole.append(timed(lambda given=reading_id: assess_reading(given)))
    return statistics.median(whole) * 1e3, statistics.median(engine) * 1e3


def timed(act: Any) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


if __name__ == "__main__":
    sys.exit(main())

"""How much one worker process grows from its 100th to its 1,000th item, with recycling off.

    python -m tests.benchmarks.memory [--items 1000] [--limit-mb 20]

Runs the real handlers in this process, on rows of its own in a temporary database: each item is either a new
assessment (the facts differ a little each time, so that nothing is kept from before) or a new document.
Prints one line a kind; exit 1 where the growth is above the limit.
"""

from __future__ import annotations

import argparse
import gc
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

WARM = 100


def resident_mb() -> float:
    """Memory of this process that is in use, from the kernel's own account [MB]."""
    gc.collect()
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1024
    raise RuntimeError("no VmRSS in /proc/self/status")


def own_house(folder: str) -> None:
    """A database and files of our own, before Django reads its settings."""
    os.environ.update(
        WATERSIDE_VAR=folder, WATERSIDE_HTTPS="no", DJANGO_SETTINGS_MODULE="contractor.config.settings"
    )
    for name in ("DATABASE_URL", "REDIS_URL"):
        os.environ.pop(name, None)
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)


def scene() -> tuple[Any, Any]:
    """An exchanger with two clean visits and a routine reading."""
    from contractor.accounts.models import Role
    from tests import make
    from tests.diagnostics import world

    unit = make.unit()
    exchanger = world.know(make.exchanger(unit))
    who = make.person(Role.TECHNICIAN)
    visit = make.visit(unit.site, [who])
    world.clean_visits(visit, exchanger, who)
    return exchanger, world.reading(visit, exchanger, who, day=300, fouling_m2k_per_w=world.HEAVY)


def work(kind: str, subject: str, payload: dict[str, Any] | None = None) -> None:
    """One item through claim, handler and end, as the worker does it."""
    from contractor.workqueue import running
    from contractor.workqueue.models import WorkItem
    from contractor.workqueue.services import same_work

    given = payload or {}
    same_as = same_work(kind, subject, given)
    item = WorkItem.objects.create(kind=kind, subject=subject, payload=given, same_as=same_as)
    end = running.run(item.pk)
    if end != "done":
        item.refresh_from_db()
        raise RuntimeError(f"{kind} ended as {end}: {item.problem}")


def measure(kind: str, items: int, once: Callable[[int], None]) -> float:
    """Growth from the 100th to the last item [MB]."""
    from django.db import reset_queries

    start, before = time.perf_counter(), 0.0
    for number in range(1, items + 1):
        once(number)
        reset_queries()
        if number == WARM:
            before = resident_mb()
    after = resident_mb()
    each = (time.perf_counter() - start) / items * 1000
    sizes = f"{before:.1f} MB after {WARM}, {after:.1f} MB after {items}"
    print(f"{kind}: {sizes}, growth {after - before:+.1f} MB, {each:.0f} ms an item", flush=True)
    return after - before


def run(items: int) -> list[float]:
    exchanger, reading = scene()

    def assessment(number: int) -> None:
        exchanger.fouling_limit_m2k_per_w = 1e-4 + number * 1e-9
        exchanger.save()
        work("assess", str(reading.pk))

    def document(number: int) -> None:
        reading.note = f"note {number}"
        reading.save()
        work("visit_report", str(exchanger.pk), {"paper": "a4" if number % 2 else "letter"})

    return [measure("assessments", items, assessment), measure("documents", items, document)]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--items", type=int, default=1000)
    parser.add_argument("--limit-mb", type=float, default=20.0)
    given = parser.parse_args()
    if given.items <= WARM:
        parser.error(f"--items must be above {WARM}")
    folder = tempfile.mkdtemp(prefix="waterside-memory-")
    try:
        own_house(folder)
        growths = run(given.items)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return 1 if max(growths) > given.limit_mb else 0


if __name__ == "__main__":
    sys.exit(main())

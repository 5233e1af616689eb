"""What each level of clean reference can tell, on cases of the virtual unit.

    python -m tests.studies.reference_levels [--cases 3000] [--seed 1] [--draws 20000] [--processes N]
                                             [--keep FILE.jsonl] [--write]

Machines are drawn over modes, refrigerants, exchanger kinds, 50 to 120 % flow and the loop's temperatures;
charge or expansion device has moved since the clean visits in half of them. Beside the assessment stand what
a lumped conductance and a plain spreadsheet (approach against the clean visit's, no correction) would say;
then cases made with other modelling choices than the inference believes in (exponents, shares and zone ratios
from wider ranges, bell-shaped noise), and cooling cases with air in the circuit, without and with the static
test. Without --processes as many run as cores are free. --keep keeps every block as it is done and goes on
from there; --write puts the tables on the documentation's page with the date.
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack
from dataclasses import astuple, replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from diagnostics.engine.assessment import DRAWS, assess
from diagnostics.engine.exchanger import lumped_conductance
from diagnostics.engine.records import ReadingSet
from diagnostics.engine.refrigerants import refrigerant
from diagnostics.engine.version import ENGINE_VERSION
from diagnostics.engine.waters import water
from tests.studies.levels_table import HEADER, Outcome, line, margins, markdown, shortfalls
from tests.studies.page import free_processes, write_section
from tests.studies.virtual_cases import (
    LIMIT,
    VirtualCase,
    World,
    draw_virtual_cases,
    with_static_test,
)

LEVELS: dict[str, tuple[int, bool]] = {
    "two clean visits": (2, False),
    "one clean visit": (1, False),
    "operating table": (0, True),
    "geometry and rating": (0, False),
}
MORE_LEVELS = {"three clean visits": (3, False), "one visit and table": (1, True)}
"""Beside the four levels, at a sixth of the cases."""
BLOCK = 100
NO_LINES = {"liquid_line_k": None, "discharge_line_k": None, "suction_line_k": None}


def outcomes_of(cases: Sequence[VirtualCase], level: str, draws: int, lines: bool = True) -> list[Outcome]:
    """Assess all cases at one level; without `lines` the line temperatures are kept from it."""
    return [_assessed(case, level, draws, lines) for case in cases]


def _assessed(case: VirtualCase, level: str, draws: int, lines: bool) -> Outcome:
    past, row = case.history(*{**LEVELS, **MORE_LEVELS}[level]), case.reading
    if not lines:
        past = replace(past, readings=tuple(replace(one, **NO_LINES) for one in past.readings))
        row = replace(row, **NO_LINES)
    said = assess(case.facts, row, past, draws=draws)
    told = said.fouling_resistance_m2k_per_w
    value, low, high = (told.value, told.low, told.high) if told else (math.nan,) * 3
    return Outcome(_margins(case), case.truth, value, low, high, said.verdict)


def _margins(case: VirtualCase) -> tuple[str, ...]:
    moved = "charge or valve moved" if case.moved else "nothing moved"
    flow = case.true_state.water_kg_per_s / (case.facts.design_flow_m3_per_s * 998.2)
    band = "flow below 0.75" if flow < 0.75 else "flow 0.75 to 1" if flow < 1.0 else "flow above 1"
    brine = "antifreeze" if case.facts.antifreeze != "none" else "plain water"
    warmth = case.true_state.entering_water_k - 273.15
    water_band = (
        "water below 10 degC"
        if warmth < 10
        else "water 10 to 25 degC"
        if warmth < 25
        else "water above 25 degC"
    )
    return case.reading.mode, case.facts.exchanger, moved, band, brine, water_band, case.facts.refrigerant


def lumped(case: VirtualCase) -> Outcome:
    """The lumped sum: UA against saturation now, less UA at a clean visit, no correction, no width."""
    value = case.facts.area_m2 * (1 / _lumped(case, case.reading) - 1 / _lumped(case, case.clean[0]))
    return _plain(case, value)


def spreadsheet(case: VirtualCase) -> Outcome:
    """A plain spreadsheet: the approach beyond the clean visit's, over the heat flux."""
    now, clean = (_approach(case, row) for row in (case.reading, case.clean[0]))
    flux = _heat(case, case.reading) / case.facts.area_m2
    return _plain(case, (now - clean) / flux)


def _plain(case: VirtualCase, value: float) -> Outcome:
    verdict = "fouled" if value > LIMIT else "clean"
    return Outcome(_margins(case), case.truth, value, math.nan, math.nan, verdict)


def _saturation(case: VirtualCase, row: ReadingSet) -> float:
    fluid = refrigerant(case.facts.refrigerant)
    pressure = row.head_pressure_pa if row.mode == "cooling" else row.suction_pressure_pa
    return 0.5 * float(fluid.bubble_temperature_k(pressure) + fluid.dew_temperature_k(pressure))


def _heat(case: VirtualCase, row: ReadingSet) -> float:
    liquid = water(case.facts.antifreeze, case.facts.antifreeze_fraction)
    cp = float(liquid.specific_heat_j_per_kg_k(row.entering_water_k))
    return row.water_flow_kg_per_s * cp * abs(row.leaving_water_k - row.entering_water_k)


def _lumped(case: VirtualCase, row: ReadingSet) -> float:
    change = row.leaving_water_k - row.entering_water_k
    eps = min(change / (_saturation(case, row) - row.entering_water_k), 0.999)
    return float(lumped_conductance(_heat(case, row) / abs(change), 1.0, max(eps, 0.01)))


def _approach(case: VirtualCase, row: ReadingSet) -> float:
    return abs(_saturation(case, row) - row.leaving_water_k)


def _block(seed: int, block: int, count: int, draws: int) -> dict[str, list[Outcome]]:
    cases = draw_virtual_cases(seed * 10_000 + block, count)
    found = {level: outcomes_of(cases, level, draws) for level in LEVELS}
    some = cases[: max(1, count // 6)]
    found |= {level: outcomes_of(some, level, draws) for level in MORE_LEVELS}
    found["two visits, no lines"] = outcomes_of(some, "two clean visits", draws, lines=False)
    found["lumped sum"] = [lumped(case) for case in cases]
    found["plain spreadsheet"] = [spreadsheet(case) for case in cases]
    other = draw_virtual_cases(seed * 10_000 + block + 5000, max(1, count // 5), World(perturbed=True))
    for level in ("two clean visits", "operating table"):
        found[f"other choices, {level}"] = outcomes_of(other, level, draws)
    rng = np.random.default_rng([seed, block, 7])
    airy = draw_virtual_cases(
        seed * 10_000 + block + 7000, max(2, count // 6), World(air=True, with_tables=False)
    )
    airy = [case for case in airy if case.reading.mode == "cooling"]
    found["air, no static test"] = outcomes_of(airy, "two clean visits", draws)
    tested = [with_static_test(case, rng) for case in airy]
    found["air, static test"] = outcomes_of(tested, "two clean visits", draws)
    return found


def run(
    seed: int, cases: int, draws: int, processes: int = 1, keep: Path | None = None
) -> dict[str, list[Outcome]]:
    """All levels over the same cases; blocks kept in a file are not made again."""
    whole: dict[str, list[Outcome]] = {}
    done = _kept(keep, whole)
    todo = [
        (seed, block, min(BLOCK, cases - block * BLOCK), draws)
        for block in range(-(-cases // BLOCK))
        if block not in done
    ]
    with ExitStack() as stack:
        parts = map(_block, *zip(*todo, strict=True)) if todo else iter(())
        if processes > 1 and todo:
            parts = stack.enter_context(ProcessPoolExecutor(processes)).map(_block, *zip(*todo, strict=True))
        for (_, block, _, _), part in zip(todo, parts, strict=True):
            _add(whole, part)
            if keep is not None:
                with keep.open("a") as file:
                    told = {level: [astuple(one) for one in found] for level, found in part.items()}
                    file.write(json.dumps({"block": block, "found": told}) + "\n")
    return whole


def _kept(keep: Path | None, whole: dict[str, list[Outcome]]) -> set[int]:
    """Blocks that the file holds, added to the whole."""
    done = set()
    if keep is not None and keep.exists():
        for row in map(json.loads, keep.read_text().splitlines()):
            done.add(row["block"])
            _add(
                whole,
                {
                    level: [Outcome(tuple(margin), *rest) for margin, *rest in found]
                    for level, found in row["found"].items()
                },
            )
    return done


def _add(whole: dict[str, list[Outcome]], part: dict[str, list[Outcome]]) -> None:
    for level, outcomes in part.items():
        whole.setdefault(level, []).extend(outcomes)


def main() -> None:
    """Run, print, and write the page where asked."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--cases", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--draws", type=int, default=DRAWS)
    parser.add_argument("--processes", type=int, help="default: as many as cores are free")
    parser.add_argument("--least", type=int, default=300, help="fewest cases of a margin that is shown")
    parser.add_argument("--keep", type=Path, help="file that keeps the blocks done")
    parser.add_argument("--write", action="store_true", help="put the tables on the documentation's page")
    asked = parser.parse_args()
    whole = run(asked.seed, asked.cases, asked.draws, asked.processes or free_processes(), asked.keep)
    print(HEADER)
    for level, outcomes in whole.items():
        print(line(level, outcomes))
        if level in LEVELS:
            for name, part in margins(outcomes, asked.least).items():
                print(line(f"  {name}", part))
    missed = shortfalls(whole, tuple(LEVELS), asked.least)
    print("\n".join(missed) or "All that is asked holds.")
    if asked.write:
        write_section("reference levels", _page(asked, whole, missed))


def _page(asked: argparse.Namespace, whole: dict[str, list[Outcome]], missed: list[str]) -> str:
    cases = len(whole["two clean visits"])
    return (
        f"{datetime.now(UTC):%Y-%m-%d}, engine {ENGINE_VERSION}, seed {asked.seed}, {cases} cases a level, "
        f"{asked.draws} draws each.\n\n"
        + markdown(whole, tuple(LEVELS), asked.least)
        + "\n\n"
        + ("Missed: " + "; ".join(missed) + "." if missed else "All that is asked holds.")
    )


if __name__ == "__main__":
    main()

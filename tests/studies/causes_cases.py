"""Cases with one thing wrong each: a unit off its record, conditions, a reading, clean visits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from diagnostics.engine.causes.evidence import usual_range_k
from diagnostics.engine.forward import draw_repeating_errors, with_instrument_noise
from diagnostics.engine.records import ExchangerFacts, InstrumentAccuracy, ReadingSet
from diagnostics.engine.uncertainty import instrument_table
from diagnostics.engine.virtual_unit import (
    CAUSE_FIELDS,
    CHILLER,
    LEVELS,
    NO_FAULTS,
    Conditions,
    Faults,
    State,
    VirtualUnit,
    faults_of,
    rated_unit,
    readings,
    solve_many,
    static_pressure_pa,
)

INJECTED: tuple[str, ...] = (
    *CAUSE_FIELDS,
    "loop_water_warm",
    "loop_water_cold",
    "safety_control_fault",
    "bad_reading",
    "bad_record",
    "nothing_wrong",
)
SOUND_EVERY = 4
SOUND_SHARE = 1.0 / SOUND_EVERY
FIRST_VISIT = datetime(2022, 5, 3, 9, 30, tzinfo=UTC)
QUICK: tuple[str, ...] = (
    "entering_water_k",
    "leaving_water_k",
    "water_pressure_drop_pa",
    "head_pressure_pa",
    "suction_pressure_pa",
    "liquid_line_k",
    "suction_line_k",
)
NOT_QUICK: tuple[str, ...] = (
    "water_flow_kg_per_s",
    "discharge_line_k",
    "compressor_power_w",
    "amps_a",
    "volts_v",
    "phases",
    "power_factor",
    "entering_air_k",
    "entering_air_wet_bulb_k",
    "leaving_air_k",
    "strainer",
)
SHOWN_LOCKOUT = 0.6
"""How often a machine beyond its cut-out still shows the lockout (common practice)."""
REFRIGERANTS = {
    "coaxial": ("R410A", "R454B", "R32", "R22"),
    "shell_and_tube": ("R134a", "R513A", "R1234ze(E)"),
}
WRONG_REFRIGERANT = {
    "R410A": "R22",
    "R22": "R410A",
    "R454B": "R407C",
    "R32": "R22",
    "R134a": "R22",
    "R513A": "R407C",
    "R1234ze(E)": "R134a",
}


@dataclass(frozen=True)
class CauseCase:
    """What may be seen, and what is true."""

    facts: ExchangerFacts
    reading: ReadingSet
    clean: tuple[ReadingSet, ...]
    cause: str
    level: str
    unit: VirtualUnit
    faults: Faults
    seed: int


@dataclass(frozen=True)
class _Plan:
    facts: ExchangerFacts
    unit: VirtualUnit
    conditions: Conditions
    faults: Faults
    cause: str
    level: str
    clean: tuple[Conditions, ...]


def quick(reading: ReadingSet) -> ReadingSet:
    """What a quick visit reads: two waters, pressure drop, two pressures, two lines."""
    return replace(reading, **dict.fromkeys(NOT_QUICK))  # type: ignore[arg-type]


def draw_cause_cases(
    seed: int, count: int, perturbed: bool = False, clean_visits: int = 0
) -> list[CauseCase]:
    """Cases in turn over all causes and levels; what trips before it settles is drawn again."""
    rng = np.random.default_rng(seed)
    wanted = [_wanted(number) for number in range(count)]
    found: list[CauseCase | None] = [None] * count
    for _ in range(12):
        left = [place for place, one in enumerate(found) if one is None]
        if not left:
            break
        plans = [_plan(rng, *wanted[place], perturbed, clean_visits) for place in left]
        for place, case in zip(left, _solved(rng, plans, perturbed), strict=True):
            found[place] = case
    return [one for one in found if one is not None]


def _wanted(number: int) -> tuple[str, str]:
    """Every fourth unit is sound; the others go through causes and levels in turn."""
    if number % SOUND_EVERY == 0:
        return "nothing_wrong", LEVELS[1]
    faulty = [name for name in INJECTED if name != "nothing_wrong"]
    place = number - number // SOUND_EVERY - 1
    return faulty[place % len(faulty)], LEVELS[(place // len(faulty)) % 3]


def with_static_test(case: CauseCase, reading: ReadingSet) -> ReadingSet:
    """The reading after a static test, with its instruments' errors."""
    rng = np.random.default_rng(case.seed)
    coldest = float(rng.uniform(288.15, 300.15))
    true = replace(
        reading,
        static_pressure_pa=static_pressure_pa(case.unit, coldest, case.faults),
        static_coldest_k=coldest,
    )
    table = instrument_table()
    tested = {name: table[name] for name in ("static_pressure", "static_coldest")}
    return with_instrument_noise(true, tested, rng, draw_repeating_errors(tested, rng))


def _solved(rng: np.random.Generator, plans: list[_Plan], perturbed: bool) -> list[CauseCase | None]:
    units, conditions, faults = [], [], []
    for plan in plans:
        visits = len(plan.clean)
        units += [plan.unit] * (visits + 1)
        conditions += [*plan.clean, plan.conditions]
        faults += [NO_FAULTS] * visits + [plan.faults]
    states = solve_many(units, conditions, faults)
    cases: list[CauseCase | None] = []
    for plan in plans:
        mine, states = states[: len(plan.clean) + 1], states[len(plan.clean) + 1 :]
        good = all(one.converged and not one.beyond and one.superheat_k > -3.0 for one in mine)
        cases.append(_case(rng, plan, mine, perturbed) if good else None)
    return cases


def _plan(rng: np.random.Generator, cause: str, level: str, perturbed: bool, clean_visits: int) -> _Plan:
    chiller = bool(rng.random() < 0.3) and cause not in ("reversing_valve_leaking", "water_hoses_crossed")
    kind = "shell_and_tube" if chiller else "coaxial" if rng.random() < 0.6 else "brazed_plate"
    names = REFRIGERANTS.get(kind, REFRIGERANTS["coaxial"])
    facts = ExchangerFacts(
        unit="drawn",
        refrigerant=str(rng.choice(names)),
        exchanger=kind,
        capacity_w=float(rng.choice([150e3, 300e3, 600e3] if chiller else [6e3, 9e3, 12e3, 18e3, 35e3])),
        expansion=str(rng.choice(["thermostatic", "electronic"])),
        water_source=str(rng.choice(["cooling_tower", "closed_loop"])),
        flow_in_heating="parallel",
    )
    printed = rated_unit(facts).exchanger
    facts = replace(
        facts,
        design_flow_m3_per_s=float(printed.design_flow_kg_per_s) / 998.2,
        design_pressure_drop_pa=float(printed.design_drop_pa),
    )
    unit = draw_machine(rng, rated_unit(facts), perturbed)
    mode = "cooling" if chiller or rng.random() < 0.6 else "heating"
    mode = {"loop_water_warm": "cooling", "loop_water_cold": mode if chiller else "heating"}.get(cause, mode)
    faults = faults_of(cause, level, float(rng.uniform(0.9, 1.1))) if cause in CAUSE_FIELDS else NO_FAULTS
    if cause == "water_hoses_crossed":
        faults = faults_of(cause, level)
    now = draw_conditions(rng, mode, _entering(rng, facts, cause, level))
    clean = tuple(draw_conditions(rng, mode, _entering(rng, facts, "", level)) for _ in range(clean_visits))
    return _Plan(facts, unit, now, faults, cause, level, clean)


def _entering(rng: np.random.Generator, facts: ExchangerFacts, cause: str, level: str) -> float:
    low, high = usual_range_k(facts, "cooling") or (288.15, 305.65)
    beyond = (2.0, 4.0, 7.0)[LEVELS.index(level)]
    if cause == "loop_water_warm":
        return float(high + beyond * rng.uniform(0.8, 1.2))
    if cause == "loop_water_cold":
        return float(low - beyond * rng.uniform(0.8, 1.2))
    return float(rng.uniform(low + 0.5, high - 0.5))


def draw_conditions(rng: np.random.Generator, mode: str, entering_k: float) -> Conditions:
    """What a visit meets."""
    air = rng.uniform(295.15, 301.15) if mode == "cooling" else rng.uniform(290.15, 296.15)
    return Conditions(
        mode,
        entering_k,
        flow_ratio=float(np.exp(0.04 * rng.standard_normal())),
        air_k=float(air),
        air_wet_bulb_k=float(air - rng.uniform(5.0, 9.0)),
        air_flow_ratio=float(rng.uniform(0.93, 1.07)),
        other_water_k=float(
            rng.uniform(283.65, 286.65) if mode == "cooling" else rng.uniform(300.15, 305.15)
        ),
        other_flow_ratio=float(rng.uniform(0.93, 1.07)),
    )


def draw_machine(rng: np.random.Generator, unit: VirtualUnit, perturbed: bool) -> VirtualUnit:
    """The machine as built: films, charge, valve, coil and compressor off their record."""

    def about(spread: float) -> float:
        factor = float(np.exp(spread * rng.standard_normal()))
        return factor * float(rng.uniform(0.9, 1.1)) if perturbed else factor

    exchanger, compressor = unit.exchanger, unit.compressor
    water, gas = about(0.08), about(0.08)
    size = about(0.04)
    unit = replace(
        unit,
        exchanger=replace(
            exchanger,
            water_film_w_per_m2k=exchanger.water_film_w_per_m2k * water,
            condensing_film_w_per_m2k=exchanger.condensing_film_w_per_m2k * gas,
            evaporating_film_w_per_m2k=exchanger.evaporating_film_w_per_m2k * gas,
            design_flow_kg_per_s=exchanger.design_flow_kg_per_s * (about(0.0) if perturbed else 1.0),
            design_drop_pa=exchanger.design_drop_pa * about(0.05),
            water_exponent=exchanger.water_exponent + float(rng.uniform(-0.05, 0.05)),
            condensing_exponent=float(rng.uniform(-0.2, 0.2)),
            evaporating_exponent=float(rng.uniform(0.0, 0.5)),
            desuperheat_ratio=float(rng.uniform(0.15, 0.4)),
            subcool_ratio=float(rng.uniform(0.3, 0.6)),
            superheat_ratio=float(rng.uniform(0.1, 0.2)),
            scale_conductivity_w_per_mk=float(rng.uniform(0.9, 2.5)),
        ),
        compressor=replace(
            compressor,
            displacement_m3_per_s=compressor.displacement_m3_per_s * size,
            isentropic_e=float(compressor.isentropic_e) * float(np.exp(0.03 * rng.standard_normal())),
        ),
        charge=replace(
            unit.charge, total_kg=unit.charge.total_kg * float(np.exp(0.015 * rng.standard_normal()))
        ),
        **{
            side: replace(getattr(unit, side), full_area_m2=getattr(unit, side).full_area_m2 * about(0.05))
            for side in ("cooling_expansion", "heating_expansion")
        },
    )
    if unit.machine == CHILLER or unit.coil is None:
        return unit
    coil = unit.coil
    return replace(unit, coil=replace(coil, air_side_w_per_k=coil.air_side_w_per_k * about(0.06)))


def _case(rng: np.random.Generator, plan: _Plan, states: list[State], perturbed: bool) -> CauseCase:
    instruments = instrument_table()
    noise = _other_shapes(instruments) if perturbed else instruments
    repeating = draw_repeating_errors(noise, rng)
    read = []
    for number, state in enumerate(states):
        judged = number == len(states) - 1
        true = readings(
            state,
            unit="drawn",
            taken_at=FIRST_VISIT + timedelta(days=700 if judged else 20 * number),
            purpose="routine" if judged else "clean_reference",
            faults=plan.faults if judged else NO_FAULTS,
        )
        read.append(with_instrument_noise(true, noise, rng, repeating))
    last = replace(
        read[-1], fault_lockout=_lockout(rng, plan, states[-1]), strainer=_strainer(rng, plan, read[-1])
    )
    if plan.cause == "bad_reading":
        last = _bad(rng, last, plan.level)
    facts = _wrong_record(rng, plan) if plan.cause == "bad_record" else plan.facts
    return CauseCase(
        facts,
        last,
        tuple(read[:-1]),
        plan.cause,
        plan.level,
        plan.unit,
        plan.faults,
        int(rng.integers(1 << 30)),
    )


def _strainer(rng: np.random.Generator, plan: _Plan, read: ReadingSet) -> str:
    """As the virtual unit shows it, but one clean strainer in eight looks dirty."""
    if plan.cause == "strainer_blocked":
        return read.strainer or "dirty"
    return "dirty" if rng.random() < 0.12 else "clean"


def _lockout(rng: np.random.Generator, plan: _Plan, state: State) -> str:
    """What the control shows: mostly what the machine trips on; a drifted switch trips in any case."""
    if plan.cause == "safety_control_fault":
        usual = (
            "high_head"
            if plan.conditions.mode == "cooling"
            else str(rng.choice(["low_suction", "low_water_temperature"]))
        )
        return usual if rng.random() < 0.9 else "none"
    return state.lockout if rng.random() < SHOWN_LOCKOUT else "none"


def _bad(rng: np.random.Generator, reading: ReadingSet, level: str) -> ReadingSet:
    """One of the quick readings grossly wrong, so that both kinds of visit have it."""
    name = str(rng.choice(QUICK))
    size = (
        (0.5, 1.0, 1.8)[LEVELS.index(level)] * float(rng.choice([-1.0, 1.0])) * float(rng.uniform(0.8, 1.2))
    )
    now = float(getattr(reading, name))
    if name.endswith("_k"):
        return replace(reading, **{name: now + 6.0 * size})  # type: ignore[arg-type]
    gross = {"water_pressure_drop_pa": 0.45, "head_pressure_pa": 0.12, "suction_pressure_pa": 0.15}[name]
    return replace(reading, **{name: now * float(np.exp(gross * size))})  # type: ignore[arg-type]


def _wrong_record(rng: np.random.Generator, plan: _Plan) -> ExchangerFacts:
    """Another refrigerant on record, or a design flow off by what the level says."""
    if rng.random() < 0.5:
        return replace(plan.facts, refrigerant=WRONG_REFRIGERANT[plan.facts.refrigerant])
    factor = (1.4, 1.7, 2.2)[LEVELS.index(plan.level)]
    factor = factor if rng.random() < 0.5 else 1.0 / factor
    true = float(plan.unit.exchanger.design_flow_kg_per_s) / 998.2
    return replace(plan.facts, design_flow_m3_per_s=true * factor)


def _other_shapes(instruments: dict[str, InstrumentAccuracy]) -> dict[str, InstrumentAccuracy]:
    """Bell-shaped errors of the same standard uncertainty as the rectangular ones believed in."""
    same = 2 / 3**0.5
    return {
        name: replace(one, repeating=one.repeating * same, random=one.random * same, distribution="normal")
        for name, one in instruments.items()
    }

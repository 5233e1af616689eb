"""Cases of the virtual unit: machines, clean visits, a table of their model, one visit to judge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from diagnostics.engine.forward import draw_repeating_errors, with_instrument_noise
from diagnostics.engine.records import ExchangerFacts, History, InstrumentAccuracy, ReadingSet, TableRow
from diagnostics.engine.references import KINDS
from diagnostics.engine.refrigerants import refrigerant
from diagnostics.engine.uncertainty import instrument_table
from diagnostics.engine.virtual_unit import (
    NO_FAULTS,
    Conditions,
    Faults,
    State,
    VirtualUnit,
    solve_many,
    static_pressure_pa,
)
from diagnostics.engine.virtual_unit.drawing import draw_conditions, draw_unit
from diagnostics.engine.waters import water

LIMIT = 1.76e-4
FIRST_VISIT = datetime(2022, 5, 3, 9, 30, tzinfo=UTC)
CLEAN_VISITS = 3
TABLE_WATERS = {"cooling": (289.15, 297.15, 305.15), "heating": (283.15, 289.15, 295.15)}
TABLE_FLOWS = (0.65, 1.0)
HALF = 0.5**0.5
UNIT_AGAINST_TABLE = 0.04
"""A unit's films stand around its maker's printed ones by this much of ln (common practice)."""


@dataclass(frozen=True)
class VirtualCase:
    """What may be seen, and what is true."""

    facts: ExchangerFacts
    clean: tuple[ReadingSet, ...]
    table: tuple[TableRow, ...]
    reading: ReadingSet
    truth: float
    moved: bool
    true_state: State
    machine: VirtualUnit
    faults: Faults
    instruments: dict[str, InstrumentAccuracy]

    def history(self, clean_visits: int, table: bool) -> History:
        """The history at one level of reference."""
        return History(readings=self.clean[:clean_visits], tables=self.table if table else ())


@dataclass(frozen=True)
class World:
    """How the cases are made: share with charge or valve moved, air in the circuit, other modelling
    choices."""

    with_tables: bool = True
    moved_share: float = 0.5
    air: bool = False
    perturbed: bool = False


def draw_virtual_cases(seed: int, count: int, world: World = World()) -> list[VirtualCase]:
    """Cases that the machine can run without tripping; the rest are drawn again."""
    rng = np.random.default_rng(seed)
    found: list[VirtualCase] = []
    while len(found) < count:
        found += _block(rng, min(64, count - len(found) + 16), world, len(found))
    return found[:count]


@dataclass(frozen=True)
class _Plan:
    unit: VirtualUnit
    conditions: tuple[Conditions, ...]
    faults: Faults
    moved: bool
    table_unit: VirtualUnit
    table: tuple[Conditions, ...]


def _block(rng: np.random.Generator, count: int, world: World, start: int) -> list[VirtualCase]:
    plans = [_plan(rng, world, start + number) for number in range(count)]
    units, conditions, faults = [], [], []
    for plan in plans:
        units += [_on_the_day(rng, plan.unit) for _ in range(CLEAN_VISITS + 1)]
        units += [plan.table_unit] * len(plan.table)
        conditions += [*plan.conditions, *plan.table]
        faults += [NO_FAULTS] * CLEAN_VISITS + [plan.faults] + [NO_FAULTS] * len(plan.table)
    states = solve_many(units, conditions, faults)
    cases = []
    for plan in plans:
        size = CLEAN_VISITS + 1 + len(plan.table)
        mine, states = states[:size], states[size:]
        if all(map(_runs, mine[: CLEAN_VISITS + 1])):
            cases.append(_case(rng, plan, mine, world))
    return cases


def _runs(state: State) -> bool:
    return state.converged and not state.beyond and state.lockout == "none" and state.superheat_k > -2.0


def _plan(rng: np.random.Generator, world: World, number: int) -> _Plan:
    unit = _machine(rng, world)
    moved = bool(rng.random() < world.moved_share)
    mode = str(rng.choice(["cooling", "heating"])) if unit.machine == "heat_pump" else "cooling"
    conditions = tuple(
        replace(draw_conditions(rng, unit, mode), stage="full") for _ in range(CLEAN_VISITS + 1)
    )
    truth = {0: 2 * LIMIT, 5: 4 * LIMIT}.get(number % 10)
    if truth is None:
        truth = 0.0 if rng.random() < 0.3 else float(rng.uniform(0.0, 3 * LIMIT))
    faults = Faults(scale_m2k_per_w=truth)
    if moved:
        faults = replace(faults, **_moved(rng, unit))
    if world.air:
        faults = replace(faults, air_share=float(rng.uniform(*AIR_SHARE)))
    films = np.exp(UNIT_AGAINST_TABLE * rng.standard_normal())
    plain = unit.exchanger
    printed = replace(
        unit,
        exchanger=replace(
            plain,
            water_film_w_per_m2k=plain.water_film_w_per_m2k * films,
            condensing_film_w_per_m2k=plain.condensing_film_w_per_m2k * films,
            evaporating_film_w_per_m2k=plain.evaporating_film_w_per_m2k * films,
            antifreeze="none",
            antifreeze_fraction=0.0,
        ),
    )
    rows = (
        tuple(
            replace(
                conditions[0],
                entering_water_k=entering,
                flow_ratio=flow,
                air_k=299.82,
                air_wet_bulb_k=292.15,
                air_flow_ratio=1.0,
                other_flow_ratio=1.0,
            )
            for entering in TABLE_WATERS[mode]
            for flow in TABLE_FLOWS
        )
        if world.with_tables
        else ()
    )
    return _Plan(unit, conditions, faults, moved, printed, rows)


RESISTANCE_SPREAD, RESISTANCES = 0.5, (1.8e-4, 1.2e-3)
"""Clean resistance of new exchangers: around the middle of what is printed for the kind, by this much of ln,
between these ends [m2K/W]. Handbooks and makers print U from 1000 to 4500 W/(m2 K) and a few beyond."""
APPROACHES_K = {"heat_pump": (0.8, 6.0), "chiller": (0.8, 5.2)}
"""Approach at the rating, small in generous machines and large in compact ones (common practice)."""
NOMINAL = 0.25
"""The name plate's nominal capacity stands around the rated one by this much of ln (common practice)."""
VISIT_TO_VISIT = {
    "water_film_w_per_m2k": 0.02,
    "condensing_film_w_per_m2k": 0.02,
    "evaporating_film_w_per_m2k": 0.02,
}
"""No machine repeats itself exactly: films move by this much of ln from visit to visit (oil, flow)."""


AIR_SHARE = (0.02, 0.10)
"""Partial pressure of air at rest over the refrigerant's at 25 degC."""


def _machine(rng: np.random.Generator, world: World) -> VirtualUnit:
    """A machine of the envelope whose surface is as good or as poor as they come."""
    machine = str(rng.choice(["heat_pump", "chiller"], p=[0.7, 0.3]))
    kinds = ("coaxial", "brazed_plate") if machine == "heat_pump" else ("shell_and_tube", "plate_and_frame")
    kind = str(rng.choice(kinds))
    usual = -np.log(KINDS[kind].usual_u_w_per_m2k)
    resistance = float(np.clip(np.exp(rng.normal(usual, RESISTANCE_SPREAD)), *RESISTANCES))
    choices = _beyond_the_priors(rng) if world.perturbed else {}
    approach = float(rng.uniform(*APPROACHES_K[machine]))
    return draw_unit(
        rng, machine=machine, kind=kind, resistance_m2k_per_w=resistance, approach_k=approach, **choices
    )


def _on_the_day(rng: np.random.Generator, unit: VirtualUnit) -> VirtualUnit:
    """The machine as it runs on one day."""
    names = ("exchanger",) if unit.evaporator is None else ("exchanger", "evaporator")
    moved = {}
    for name in names:
        part = getattr(unit, name)
        films = {
            film: getattr(part, film) * float(np.exp(spread * rng.standard_normal()))
            for film, spread in VISIT_TO_VISIT.items()
        }
        moved[name] = replace(part, **films)
    return replace(unit, **moved)


def _beyond_the_priors(rng: np.random.Generator) -> dict[str, float]:
    """Exponents, shares and zone ratios from ranges half as wide again as the inference believes in."""
    return {
        "water_share": float(rng.uniform(0.13, 0.57)),
        "water_exponent": float(rng.uniform(0.58, 0.95)),
        "condensing_exponent": float(rng.uniform(-0.5, 0.5)),
        "evaporating_exponent": float(rng.uniform(-0.2, 0.8)),
        "desuperheat_ratio": float(rng.uniform(0.1, 0.5)),
        "subcool_ratio": float(rng.uniform(0.2, 0.75)),
        "superheat_ratio": float(rng.uniform(0.07, 0.25)),
        "quality_slope": float(rng.uniform(-0.3, 0.6)),
    }


def _moved(rng: np.random.Generator, unit: VirtualUnit) -> dict[str, float]:
    """Charge or expansion device away from where the clean visits had them."""
    which = str(rng.choice(["overcharged", "undercharged", "metering_restricted", "metering_overfeeding"]))
    most = {"overcharged": 0.3, "undercharged": 0.25, "metering_restricted": 0.5, "metering_overfeeding": 0.8}
    return {which: float(rng.uniform(0.1, 1.0)) * most[which]}


def _case(rng: np.random.Generator, plan: _Plan, states: Sequence[State], world: World) -> VirtualCase:
    instruments = instrument_table()
    noise = _other_shapes(instruments) if world.perturbed else instruments
    repeating = draw_repeating_errors(noise, rng)
    facts = _facts(plan.unit, float(np.exp(NOMINAL * rng.standard_normal())))
    states = _off_the_model(rng, plan.unit.refrigerant, states)
    read = []
    for number, state in enumerate(states[: CLEAN_VISITS + 1]):
        judged = number == CLEAN_VISITS
        taken = FIRST_VISIT + timedelta(days=700 if judged else 20 * number)
        true = _reading(state, taken, "routine" if judged else "clean_reference")
        read.append(with_instrument_noise(true, noise, rng, repeating))
    offsets = _Offsets(*(float(value) for value in rng.uniform(-1.0, 1.0, 5)))
    rows = tuple(_row(rng, state, offsets) for state in states[CLEAN_VISITS + 1 :] if _runs(state))
    return VirtualCase(
        facts,
        tuple(read[:-1]),
        rows,
        read[-1],
        float(plan.faults.scale_m2k_per_w),
        plan.moved,
        states[CLEAN_VISITS],
        plan.unit,
        plan.faults,
        instruments,
    )


def _other_shapes(instruments: dict[str, InstrumentAccuracy]) -> dict[str, InstrumentAccuracy]:
    """Bell-shaped errors of the same standard uncertainty as the rectangular ones believed in."""
    same = 2 / 3**0.5
    return {
        name: replace(one, repeating=one.repeating * same, random=one.random * same, distribution="normal")
        for name, one in instruments.items()
    }


def with_static_test(case: VirtualCase, rng: np.random.Generator) -> VirtualCase:
    """The same case after a static test, with instrument noise."""
    coldest = float(rng.uniform(288.15, 300.15))
    pressure = static_pressure_pa(case.machine, coldest, case.faults)
    gauge, probe = (case.instruments[name] for name in ("static_pressure", "static_coldest"))
    read = replace(
        case.reading,
        static_pressure_pa=pressure
        * (1 + gauge.repeating * rng.uniform(-1, 1) + gauge.random * rng.uniform(-1, 1)),
        static_coldest_k=coldest + probe.repeating * rng.uniform(-1, 1) + probe.random * rng.uniform(-1, 1),
    )
    return replace(case, reading=read)


def _off_the_model(rng: np.random.Generator, name: str, states: Sequence[State]) -> list[State]:
    """The real refrigerant stands off its property model: one offset of saturation a machine."""
    fluid = refrigerant(name)
    offset = float(rng.normal(0.0, fluid.model_uncertainty_k))

    def moved(pressure: float) -> float:
        kelvin = float(fluid.dew_temperature_k(pressure))
        step = (float(fluid.dew_pressure_pa(kelvin + 0.1)) - pressure) / 0.1
        return pressure + step * offset

    return [
        replace(state, head_pa=moved(state.head_pa), suction_pa=moved(state.suction_pa)) for state in states
    ]


def _facts(unit: VirtualUnit, nominal: float) -> ExchangerFacts:
    exchanger = unit.exchanger
    plain = water("none", None)
    return ExchangerFacts(
        unit="drawn",
        refrigerant=unit.refrigerant,
        exchanger=exchanger.kind,
        area_m2=float(exchanger.area_m2),
        bore_m=float(exchanger.bore_m) if not exchanger.plates else None,
        design_flow_m3_per_s=float(exchanger.design_flow_kg_per_s) / float(plain.density_kg_per_m3(293.15)),
        design_pressure_drop_pa=float(exchanger.design_drop_pa),
        pressure_drop_exponent=float(exchanger.drop_exponent),
        antifreeze=exchanger.antifreeze,
        antifreeze_fraction=float(exchanger.antifreeze_fraction) or None,
        fouling_limit_m2k_per_w=LIMIT,
        flow_in_heating="counterflow" if exchanger.counterflow_heating else "parallel",
        capacity_w=float(exchanger.rating_flux_w_per_m2 * exchanger.area_m2) / 1.2 * nominal,
    )


def _reading(state: State, taken_at: datetime, purpose: str) -> ReadingSet:
    return ReadingSet(
        unit="drawn",
        taken_at=taken_at,
        mode=state.mode,
        purpose=purpose,
        minutes_running=20.0,
        gauge_set="A",
        entering_water_k=state.entering_water_k,
        leaving_water_k=state.leaving_water_k,
        water_flow_kg_per_s=state.water_kg_per_s,
        water_pressure_drop_pa=state.water_drop_pa,
        head_pressure_pa=state.head_pa,
        suction_pressure_pa=state.suction_pa,
        liquid_line_k=state.liquid_line_k,
        suction_line_k=state.suction_line_k,
        discharge_line_k=state.discharge_line_k,
        compressor_power_w=state.power_w,
    )


@dataclass(frozen=True)
class _Offsets:
    """Where within its printed ranges the unit stands, -1 to 1: the whole table, before the row's own."""

    head: float
    suction: float
    superheat: float
    subcooling: float
    change: float


def _row(rng: np.random.Generator, state: State, shared: _Offsets) -> TableRow:
    """A printed row: ranges as a manual prints them, in whole psig and degF, the unit anywhere within."""
    psi, atmosphere = 6894.757, 101325.0

    def around(value: float, half: float, offset: float) -> tuple[float, float]:
        shift = half * HALF * (offset + rng.uniform(-1.0, 1.0))
        return value + shift - half, value + shift + half

    def pressures(value: float, offset: float) -> tuple[float, float]:
        gauge = (value - atmosphere) / psi
        low, high = around(gauge, max(2.0, 0.03 * gauge), offset)
        return round(low) * psi + atmosphere, round(high) * psi + atmosphere

    def differences(value: float, half: float, offset: float, step: float = 1.0) -> tuple[float, float]:
        low, high = around(value * 1.8 / step, half / step, offset)
        return round(low) * step / 1.8, round(high) * step / 1.8

    head, suction = pressures(state.head_pa, shared.head), pressures(state.suction_pa, shared.suction)
    superheat = differences(state.superheat_k, 3.0, shared.superheat)
    subcooling = differences(state.subcooling_k, 3.0, shared.subcooling)
    change = differences(abs(state.leaving_water_k - state.entering_water_k), 0.7, shared.change, 0.1)
    density = float(water("none", None).density_kg_per_m3(state.entering_water_k))
    return TableRow(
        unit="drawn",
        mode=state.mode,
        entering_water_k=state.entering_water_k,
        water_flow_m3_per_s=state.water_kg_per_s / density,
        head_low_pa=head[0],
        head_high_pa=head[1],
        suction_low_pa=suction[0],
        suction_high_pa=suction[1],
        superheat_low_k=superheat[0],
        superheat_high_k=superheat[1],
        subcooling_low_k=subcooling[0],
        subcooling_high_k=subcooling[1],
        water_temperature_change_low_k=change[0],
        water_temperature_change_high_k=change[1],
        water_pressure_drop_pa=state.water_drop_pa,
    )

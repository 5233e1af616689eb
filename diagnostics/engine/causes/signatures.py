"""What each cause changes, by the virtual unit at this unit's rating and operating point."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from diagnostics.engine.causes.keeping import Shelf
from diagnostics.engine.causes.machines import may_be_plain
from diagnostics.engine.causes.names import FOULED, PAIRS
from diagnostics.engine.causes.probability import Array
from diagnostics.engine.causes.residuals import QUANTITIES, matrix_of_states
from diagnostics.engine.causes.shapes import Curve, Point, Signatures
from diagnostics.engine.records import ExchangerFacts, ReadingSet, machine_told
from diagnostics.engine.virtual_unit import (
    CAUSE_FIELDS,
    CHILLER,
    NO_FAULTS,
    Conditions,
    Faults,
    VirtualUnit,
    rated_unit,
    solve_many,
)

SEVERITIES: tuple[float, ...] = (0.6, 1.0, 1.5, 2.0, 2.5, 3.0, 3.4)
"""Severities solved: 1 just noticeable, 2 plain, 3 heavy."""
FINE: Array = np.linspace(0.6, 3.4, 29)
PAIR_SEVERITIES: tuple[float, ...] = (1.0, 2.0, 3.0)
PAIR_FINE: Array = np.linspace(1.0, 3.0, 9)
ROUND_K = 1.0
COLDEST_K, WARMEST_K = 268.15, 323.15
"""Beyond these no machine is solved: what was typed is compared by the doubts' slopes and stands out."""

UNIT_DOUBTS: dict[str, float] = {
    "capacity": 0.06,
    "films": 0.12,
    "flow": 0.05,
    "efficiency": 0.04,
    "charge": 0.025,
    "valve": 0.10,
    "coil": 0.10,
    "drop": 0.07,
}
"""Standard uncertainty (natural logarithm) of what the register does not know of a sound unit. [-]"""
FLOW_BY_CAPACITY, NO_SIZE, DROP_BY_KIND = 0.15, 0.3, 0.5
"""The same of what is not on record: design flow by capacity (2.25 to 3.5 gpm/ton), a size by one visit's
flow and heat, a design pressure drop (common practice). [-]"""
CONDENSER_WATER_K = 6.0
"""Standard uncertainty of the other water of an evaporator: 15 to 32.5 degC about a rating near 29 degC."""
VISIT_DOUBTS: tuple[str, ...] = ("entering_water", "air", "wet_bulb", "air_flow", "other_flow")
"""What differs from visit to visit, in the unit of its doubt (see `visit_doubts`)."""


def point_of(reading: ReadingSet) -> Point:
    """The reading set's operating point, rounded; what was not read is as usual (common practice)."""
    cooling = reading.mode == "cooling"
    usual, drop = (299.82, 7.5) if cooling else (293.15, 5.0)
    air = reading.entering_air_k or usual
    wet = min(reading.entering_air_wet_bulb_k or air - drop, air - 0.5)
    entering = min(max(reading.entering_water_k or (303.15 if cooling else 288.15), COLDEST_K), WARMEST_K)
    air, wet = (min(max(value, COLDEST_K), WARMEST_K) for value in (air, wet))
    return Point(reading.mode, reading.stage, _rounded(entering), _rounded(air), _rounded(wet))


def signatures(facts: ExchangerFacts, point: Point, curves: bool = True) -> Signatures:
    """Signatures of a unit at a point, cached for the unit's facts; new facts, new signatures.

    Parameters
    ----------
    facts : ExchangerFacts
        The register's row.
    point : Point
        The operating point, see `point_of`.
    curves : bool
        False for the clean unit and its doubts only.

    Returns
    -------
    Signatures
        Quantities as in `residuals.QUANTITIES`. [K or -]

    References
    ----------
    Breuker & Braun (1998), HVAC&R Research 4(4), for signatures by fault and severity (from memory).

    Examples
    --------
    >>> facts = ExchangerFacts("HP-1", "R410A", "coaxial", capacity_w=12e3)
    >>> found = signatures(facts, Point("cooling", "full", 303.0, 300.0, 292.0))
    >>> "exchanger_fouled" in {one.causes[0] for one in found.curves}
    True
    """
    return _signatures(_without_place(facts), point, curves)


_kept: list[Path] = []


def keep_signatures_in(folder: Path | None) -> None:
    """Keep signatures as files for other processes too; None keeps them in this one only."""
    _kept[:] = [] if folder is None else [folder]


def _without_place(facts: ExchangerFacts) -> ExchangerFacts:
    """Facts that matter to the machine, so that alike units of a loop share their signatures."""
    bare = replace(facts, unit="", loop=None, water_source=None, loop_low_k=None, loop_high_k=None)
    bare = replace(bare, between_ports=None, port_rise_m=None, fan_power_w=None)
    return replace(bare, machine=machine_told(facts))


@lru_cache(maxsize=512)
def _signatures(facts: ExchangerFacts, point: Point, curves: bool) -> Signatures:
    """From this process, from a file, or solved."""
    unit = _with_cutouts(rated_unit(facts), facts)
    shelf = Shelf(_kept[0], (facts, facts.machine, point, curves)) if _kept else None
    found = shelf.taken(unit, point) if shelf else None
    if found is None:
        found = _solved(unit, facts, point, curves)
        if shelf is not None:
            shelf.put(found)
    return found


def _solved(unit: VirtualUnit, facts: ExchangerFacts, point: Point, curves: bool) -> Signatures:
    cases = [(unit, _conditions(unit, point), NO_FAULTS)]
    cases += [_doubted(unit, point, name) for name in UNIT_DOUBTS if name != "drop"]
    cases += [_visited(unit, point, name) for name in VISIT_DOUBTS]
    first = len(cases)
    plans = _plans(unit) if curves else []
    cases += [(unit, _conditions(unit, point), wrong) for _, wrongs in plans for wrong in wrongs]
    states = solve_many(*(list(column) for column in zip(*cases, strict=True)))
    table = matrix_of_states(states, facts, unit, point.mode, QUANTITIES)
    moved = table[1:first] - table[0]
    drop = np.zeros(len(QUANTITIES))
    drop[QUANTITIES.index("pressure_drop")] = 1.0
    count = len(UNIT_DOUBTS) - 1
    by_unit = np.vstack([moved[:count] / STEP, drop])
    found, at = [], first
    for causes, wrongs in plans:
        part, trips = table[at : at + len(wrongs)], [s.lockout for s in states[at : at + len(wrongs)]]
        found.append(_fine(causes, part, trips))
        at += len(wrongs)
    return Signatures(
        unit,
        point,
        table[0],
        states[0].lockout,
        np.nan_to_num(by_unit).T,
        np.nan_to_num(moved[count:]).T,
        tuple(found),
    )


def _with_cutouts(unit: VirtualUnit, facts: ExchangerFacts) -> VirtualUnit:
    """The unit with the cut-outs on record in place of usual ones."""
    old = unit.cutouts
    known = replace(
        old,
        high_head_pa=facts.high_head_cutout_pa or old.high_head_pa,
        low_suction_pa=facts.low_suction_cutout_pa or old.low_suction_pa,
        freeze_k=facts.freeze_cutout_k or old.freeze_k,
    )
    return replace(unit, cutouts=known)


STEP = 0.05


def _doubted(unit: VirtualUnit, point: Point, name: str) -> tuple[VirtualUnit, Conditions, Faults]:
    """The unit with one of its doubts moved by `STEP`."""
    factor = 1.0 + STEP
    conditions = _conditions(unit, point)
    if name == "flow":
        return unit, replace(conditions, flow_ratio=factor), NO_FAULTS
    if name == "capacity":
        size = unit.compressor.displacement_m3_per_s
        return (
            replace(unit, compressor=replace(unit.compressor, displacement_m3_per_s=size * factor)),
            (conditions),
            NO_FAULTS,
        )
    if name == "efficiency":
        now = unit.compressor.isentropic_e
        return (
            replace(unit, compressor=replace(unit.compressor, isentropic_e=now * factor)),
            conditions,
            NO_FAULTS,
        )
    if name == "charge":
        charge = replace(unit.charge, total_kg=unit.charge.total_kg * factor)
        return replace(unit, charge=charge), conditions, NO_FAULTS
    if name == "valve":
        devices = {
            side: replace(getattr(unit, side), full_area_m2=getattr(unit, side).full_area_m2 * factor)
            for side in ("cooling_expansion", "heating_expansion")
        }
        return replace(unit, **devices), conditions, NO_FAULTS
    if name == "films":
        return (
            _with_films(unit, factor, heating=unit.evaporator is not None and point.mode == "heating"),
            (conditions),
            NO_FAULTS,
        )
    return _with_other_side(unit, factor, point.mode), conditions, NO_FAULTS


def _with_films(unit: VirtualUnit, factor: float, heating: bool) -> VirtualUnit:
    """The unit with all films of the exchanger that is read multiplied."""
    side = "evaporator" if heating else "exchanger"
    exchanger = getattr(unit, side)
    names = ("water_film_w_per_m2k", "condensing_film_w_per_m2k", "evaporating_film_w_per_m2k")
    better = replace(exchanger, **{name: getattr(exchanger, name) * factor for name in names})
    return replace(unit, **{side: better})


def _with_other_side(unit: VirtualUnit, factor: float, mode: str) -> VirtualUnit:
    if unit.coil is not None:
        coil = replace(
            unit.coil,
            air_side_w_per_k=unit.coil.air_side_w_per_k * factor,
            refrigerant_side_w_per_k=unit.coil.refrigerant_side_w_per_k * factor,
        )
        return replace(unit, coil=coil)
    return _with_films(unit, factor, heating=mode == "cooling")


def _visited(unit: VirtualUnit, point: Point, name: str) -> tuple[VirtualUnit, Conditions, Faults]:
    """The unit at a point moved by 1 K or a tenth; a chiller's other water moves in place of the air."""
    now = _conditions(unit, point)
    chiller = unit.machine == CHILLER
    if name == "entering_water":
        moved = replace(now, entering_water_k=now.entering_water_k + 1.0)
    elif name == "air":
        moved = (
            replace(now, other_water_k=now.other_water_k + 1.0)
            if chiller
            else replace(now, air_k=now.air_k + 1.0)
        )
    elif name == "wet_bulb":
        moved = replace(now, air_wet_bulb_k=now.air_wet_bulb_k + 0.4)
    elif name == "air_flow":
        moved = replace(now, air_flow_ratio=1.1)
    else:
        moved = replace(now, other_flow_ratio=1.1)
    return unit, moved, NO_FAULTS


def visit_doubts(unit: VirtualUnit, reading: ReadingSet, plain: bool = False) -> Array:
    """Standard uncertainty of each visit doubt in its step: 1 K, 1 K, 0.4 K, a tenth, a tenth (common
    practice); of a plain condenser nobody knows where its machine evaporates. The condenser's water of an
    evaporator that is read stands anywhere in its loop's range, chilled water within a few kelvins."""
    if unit.machine == CHILLER:
        other = CONDENSER_WATER_K if reading.mode == "heating" else 2.0
        return np.array([0.13, 8.0 if plain else other, 0.0, 0.0, 0.8])
    air = 0.5 if reading.entering_air_k is not None else 8.0 if plain else 2.0
    wet = 1.2 if reading.entering_air_wet_bulb_k is not None else 5.0
    return np.array([0.13, air, wet, 0.6, 0.0])


def unit_doubts(facts: ExchangerFacts) -> Array:
    """Standard uncertainty of each unit doubt; a plain condenser's compressor is sized for a cold room
    that no record tells of, and what the record does not say is not taken as usual."""
    wide: dict[str, float] = {}
    if facts.capacity_w is None:
        wide["capacity"] = FLOW_BY_CAPACITY
    if facts.design_flow_m3_per_s is None:
        wide["flow"] = FLOW_BY_CAPACITY
        if facts.capacity_w is None:
            wide |= {"flow": NO_SIZE, "capacity": NO_SIZE}
    if facts.design_pressure_drop_pa is None:
        wide["drop"] = DROP_BY_KIND
    if may_be_plain(facts):
        wide |= {"capacity": 0.25, "charge": 0.05, "valve": 0.25}
    return np.array([wide.get(name, value) for name, value in UNIT_DOUBTS.items()])


def visit_offsets(point: Point, reading: ReadingSet) -> Array:
    """How far the reading's point stands from the rounded one, in the steps of the visit doubts."""
    exact = np.zeros(len(VISIT_DOUBTS))
    if reading.entering_water_k is not None:
        exact[0] = reading.entering_water_k - point.entering_water_k
    if reading.entering_air_k is not None:
        exact[1] = reading.entering_air_k - point.air_k
    if reading.entering_air_wet_bulb_k is not None:
        exact[2] = (reading.entering_air_wet_bulb_k - point.air_wet_bulb_k) / 0.4
    return exact


def _conditions(unit: VirtualUnit, point: Point) -> Conditions:
    other = unit.rated_water_heating_k if point.mode == "cooling" else unit.rated_water_cooling_k
    return Conditions(
        point.mode,
        point.entering_water_k,
        air_k=point.air_k,
        air_wet_bulb_k=point.air_wet_bulb_k,
        other_water_k=other,
        stage=point.stage,
    )


def fault_values(cause: str, severity: float) -> dict[str, float]:
    """Fault fields of a cause at a severity between the levels: 0 none, 1 just noticeable, 2 plain, 3 heavy.

    Shares of what is nearly all lost stop short of everything.
    """
    found = {}
    for name, levels in CAUSE_FIELDS[cause]:
        value = float(np.interp(severity, (0.0, 1.0, 2.0, 3.0), (0.0, *levels)))
        if severity > 3.0:
            value = levels[2] + (severity - 3.0) * (levels[2] - levels[1])
        most = 1.0 if name == "hoses_crossed" else 0.97 if levels[2] < 1.0 and levels[2] > 0.01 else 1e9
        found[name] = min(value, most)
    return found


def _plans(unit: VirtualUnit) -> list[tuple[tuple[str, ...], list[Faults]]]:
    """Every cause with the faults to solve; those with one severity, or like another's, solved once."""
    plans: list[tuple[tuple[str, ...], list[Faults]]] = []
    for cause in CAUSE_FIELDS:
        if cause == "flow_control_fault" or (cause == "reversing_valve_leaking" and unit.machine == CHILLER):
            continue
        sizes = (3.0,) if cause == "water_hoses_crossed" else SEVERITIES
        plans.append(((cause,), [Faults(**fault_values(cause, size)) for size in sizes]))
    for pair in PAIRS:
        plans.append(
            (
                pair,
                [
                    Faults(**fault_values(FOULED, a), **fault_values(pair[1], b))
                    for a in PAIR_SEVERITIES
                    for b in PAIR_SEVERITIES
                ],
            )
        )
    return plans


def _fine(causes: tuple[str, ...], solved: Array, trips: list[str]) -> Curve:
    """A solved curve or sheet drawn finer by linear interpolation, with half the way to its neighbours."""
    if len(causes) == 2:
        return _fine_pair(causes, solved, trips)
    if len(solved) == 1:
        return Curve(causes, ((3.0,),), solved, np.zeros_like(solved), tuple(trips))
    at = np.array(SEVERITIES)
    means = np.stack([_interpolated(FINE, at, column) for column in solved.T], axis=1)
    steps = np.nan_to_num(0.5 * np.gradient(means, axis=0))
    nearest = np.abs(FINE[:, None] - at).argmin(axis=1)
    return Curve(causes, tuple((float(s),) for s in FINE), means, steps, tuple(trips[i] for i in nearest))


def _fine_pair(causes: tuple[str, ...], solved: Array, trips: list[str]) -> Curve:
    at, side = np.array(PAIR_SEVERITIES), len(PAIR_SEVERITIES)
    sheet = solved.reshape(side, side, -1)
    rows = np.stack([_interpolated_many(PAIR_FINE, at, sheet[:, j]) for j in range(side)], axis=1)
    fine = np.stack([_interpolated_many(PAIR_FINE, at, rows[i]) for i in range(len(PAIR_FINE))])
    steps = np.nan_to_num(0.35 * (np.gradient(fine, axis=0) + np.gradient(fine, axis=1)))
    sizes = tuple((float(a), float(b)) for a in PAIR_FINE for b in PAIR_FINE)
    nearest = [np.abs(at - a).argmin() * side + np.abs(at - b).argmin() for a, b in sizes]
    flat = fine.reshape(len(sizes), -1)
    return Curve(causes, sizes, flat, steps.reshape(flat.shape), tuple(trips[int(i)] for i in nearest))


def _interpolated_many(fine: Array, at: Array, table: Array) -> Array:
    return np.stack([_interpolated(fine, at, column) for column in table.T], axis=1)


def _interpolated(fine: Array, at: Array, column: Array) -> Array:
    """Linear; NaN beyond the last severity that runs."""
    good = np.isfinite(column)
    if good.sum() == 0:
        return np.full(len(fine), np.nan)
    result = np.interp(fine, at[good], column[good])
    result[(fine > at[good].max() + 1e-9) | (fine < at[good].min() - 1e-9)] = np.nan
    return result


def _rounded(value: float) -> float:
    return round(value / ROUND_K) * ROUND_K

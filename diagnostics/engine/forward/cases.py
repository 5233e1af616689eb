"""Whole drawn cases: a unit, its clean visits and one routine visit with a known truth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from diagnostics.engine.forward.instruments import (
    FIRST_VISIT,
    draw_repeating_errors,
    reading_of,
    with_instrument_noise,
)
from diagnostics.engine.forward.solver import solve
from diagnostics.engine.forward.truth import (
    ForwardState,
    NoOperatingPoint,
    OperatingPoint,
    UnitTruth,
    with_fouling,
)
from diagnostics.engine.forward.units import Nominal, draw_unit, facts_of, nominal_point, printed_table
from diagnostics.engine.records import ExchangerFacts, History, InstrumentAccuracy, ReadingSet


@dataclass(frozen=True, slots=True)
class Case:
    """One drawn unit: what the inference may see, and the truth [m2.K/W, K, W] beside it."""

    unit: UnitTruth
    nominal: Nominal
    facts: ExchangerFacts
    history: History
    reading: ReadingSet
    state: ForwardState
    mode: str
    fouling_resistance_m2k_per_w: float
    charge_moved: bool


def draw_case(
    rng: np.random.Generator,
    instruments: Mapping[str, InstrumentAccuracy],
    *,
    mode: str | None = None,
    refrigerant_name: str | None = None,
    kind: str | None = None,
    fouling_resistance_m2k_per_w: float | None = None,
    clean_visits: int = 2,
    charge_moved: bool = False,
    with_table: bool = False,
    area_known: bool = True,
    limit_m2k_per_w: float = 1.76e-4,
) -> Case:
    """Draw a unit, its clean visits and one routine visit; redraw what no machine could run.

    The truth is zero in a quarter of the cases and otherwise uniform to three times the limit. Half of the
    clean visits of a heat pump are in the other mode only when there are more than two of them.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    instruments : mapping of str to InstrumentAccuracy
        Accuracy by column name.
    mode, refrigerant_name, kind : str, optional
        Drawn where absent.
    fouling_resistance_m2k_per_w : float, optional
        The truth; drawn where absent. [m2.K/W]
    clean_visits : int
        Number of clean reference visits. [-]
    charge_moved : bool
        Whether superheat and subcooling moved since the clean visits.
    with_table : bool
        Whether the history holds the maker's table.
    area_known : bool
        Whether the register knows the area.
    limit_m2k_per_w : float
        The limit entered. [m2.K/W]

    Returns
    -------
    Case
        What may be seen and what is true.

    References
    ----------
    Monte Carlo trial of an inference: JCGM 101:2008 for the draws; ranges are common practice.

    Examples
    --------
    >>> case = draw_case(np.random.default_rng(1), {}, clean_visits=1)
    >>> len(case.history.readings)
    1
    """
    for _ in range(50):
        unit, nominal = draw_unit(rng, refrigerant_name=refrigerant_name, kind=kind)
        chosen = mode or str(rng.choice(["cooling", "heating"]))
        truth = fouling_resistance_m2k_per_w
        if truth is None:
            truth = 0.0 if rng.random() < 0.25 else float(rng.uniform(0.0, 3.0 * limit_m2k_per_w))
        try:
            return _visits(
                rng,
                instruments,
                unit,
                nominal,
                chosen,
                truth,
                clean_visits,
                charge_moved,
                facts_of(unit, nominal, "drawn", area_known=area_known, limit=limit_m2k_per_w),
                with_table,
            )
        except NoOperatingPoint:
            continue
    raise NoOperatingPoint("fifty draws in a row found no unit that could run as asked")


def _draw_point(rng: np.random.Generator, unit: UnitTruth, nominal: Nominal, mode: str) -> OperatingPoint:
    brine = unit.exchanger.antifreeze != "none"
    low = 288.15 if mode == "cooling" else (272.15 if brine else 281.15)
    high = 309.15 if mode == "cooling" else 297.15
    point = nominal_point(unit, nominal, mode, rng.uniform(low, high), rng.uniform(0.5, 1.2))
    return replace(
        point,
        heat_w=point.heat_w * rng.uniform(0.93, 1.07),
        superheat_k=max(1.0, point.superheat_k + rng.normal(0.0, 0.4)),
        subcooling_k=max(1.0, point.subcooling_k + rng.normal(0.0, 0.4)),
        other_saturation_k=point.other_saturation_k + rng.normal(0.0, 1.0),
    )


def _visits(
    rng: np.random.Generator,
    instruments: Mapping[str, InstrumentAccuracy],
    unit: UnitTruth,
    nominal: Nominal,
    mode: str,
    fouling: float,
    clean_visits: int,
    charge_moved: bool,
    facts: ExchangerFacts,
    with_table: bool,
) -> Case:
    repeating = draw_repeating_errors(instruments, rng)
    clean: list[ReadingSet] = []
    for number in range(clean_visits):
        other = "heating" if mode == "cooling" else "cooling"
        state = solve(unit, _draw_point(rng, unit, nominal, other if number >= 2 and number % 2 else mode))
        true = reading_of(
            state,
            unit=facts.unit,
            taken_at=FIRST_VISIT + timedelta(days=20 * number),
            purpose="clean_reference",
        )
        clean.append(with_instrument_noise(true, instruments, rng, repeating))
    point = _draw_point(rng, unit, nominal, mode)
    if charge_moved:
        point = replace(
            point,
            superheat_k=max(1.0, point.superheat_k + rng.uniform(-4.0, 6.0)),
            subcooling_k=max(0.5, point.subcooling_k + rng.uniform(-4.0, 9.0)),
        )
    scaled = with_fouling(unit, fouling)
    state = solve(scaled, point)
    true = reading_of(state, unit=facts.unit, taken_at=FIRST_VISIT + timedelta(days=700))
    table = printed_table(unit, nominal, facts.unit, modes=(mode,)) if with_table else []
    return Case(
        unit=scaled,
        nominal=nominal,
        facts=facts,
        history=History(readings=tuple(clean), tables=tuple(table)),
        reading=with_instrument_noise(true, instruments, rng, repeating),
        state=state,
        mode=mode,
        fouling_resistance_m2k_per_w=fouling,
        charge_moved=charge_moved,
    )

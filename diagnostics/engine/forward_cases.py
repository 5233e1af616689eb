"""Invented units and visits with a known truth, for round trips and for the demo's records.

How to use it::

    rng = numpy.random.default_rng(1)
    case = draw_case(rng, instruments, mode="cooling", clean_visits=2)
    case.facts, case.history, case.reading      # what the inference may see
    case.fouling_resistance_m2k_per_w           # what it must find

`instruments` maps a reading's column name (`entering_water`, `head_pressure`, ...) to its `InstrumentAccuracy`. A gauge
set's repeating errors are drawn once (`draw_repeating_errors`) and carried to every visit made with it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from diagnostics.engine.forward import (
    RATING_WATER_K,
    ExchangerTruth,
    ForwardState,
    NoOperatingPoint,
    OperatingPoint,
    UnitTruth,
    reading_of,
    solve,
    with_fouling,
)
from diagnostics.engine.records import ExchangerFacts, History, InstrumentAccuracy, ReadingSet, TableRow
from diagnostics.engine.refrigerants import refrigerant
from diagnostics.engine.waters import water

FIELDS: dict[str, str] = {
    "entering_water": "entering_water_k",
    "leaving_water": "leaving_water_k",
    "water_flow": "water_flow_kg_per_s",
    "water_pressure_drop": "water_pressure_drop_pa",
    "head_pressure": "head_pressure_pa",
    "suction_pressure": "suction_pressure_pa",
    "liquid_line": "liquid_line_k",
    "suction_line": "suction_line_k",
    "discharge_line": "discharge_line_k",
    "compressor_power": "compressor_power_w",
}

HEAT_PUMP_REFRIGERANTS = ("R410A", "R454B", "R32", "R22", "R407C", "R134a")
CHILLER_REFRIGERANTS = ("R134a", "R513A", "R1234ze(E)", "R410A")
FIRST_VISIT = datetime(2022, 5, 3, 9, 30, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Nominal:
    """How one machine behaves around its rating, apart from the exchanger.

    Loads [W] through the water-side exchanger at 303.15 K entering water while cooling and 288.15 K while heating;
    their slopes [1/K] with entering water; the other exchanger's saturation [K]; superheat and subcooling [K]
    as the maker set them.
    """

    cooling_heat_w: float
    heating_heat_w: float
    cooling_slope_per_k: float = -0.005
    heating_slope_per_k: float = 0.018
    cooling_other_k: float = 280.15
    heating_other_k: float = 316.15
    superheat_k: float = 6.0
    subcooling_k: float = 5.0


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


def nominal_point(
    unit: UnitTruth, nominal: Nominal, mode: str, entering_water_k: float, flow_fraction: float = 1.0
) -> OperatingPoint:
    """The operating point of a healthy machine at this water, its load following the water temperature.

    Parameters
    ----------
    unit : UnitTruth
        The machine.
    nominal : Nominal
        Its ratings.
    mode : str
        cooling or heating.
    entering_water_k : float
        Entering water. [K]
    flow_fraction : float
        Water flow over rating flow. [-]

    Returns
    -------
    OperatingPoint
        Ready to solve.

    References
    ----------
    Linear load: common practice in makers' capacity tables.

    Examples
    --------
    >>> unit = UnitTruth(exchanger=ExchangerTruth(refrigerant="R410A", area_m2=0.9))
    >>> nominal_point(unit, Nominal(12_500.0, 9_000.0), "cooling", 303.15).heat_w
    12500.0
    """
    cooling = mode == "cooling"
    base = nominal.cooling_heat_w if cooling else nominal.heating_heat_w
    slope = nominal.cooling_slope_per_k if cooling else nominal.heating_slope_per_k
    reference = 303.15 if cooling else 288.15
    return OperatingPoint(
        mode=mode,
        entering_water_k=entering_water_k,
        water_flow_kg_per_s=unit.exchanger.rating_flow_kg_per_s * flow_fraction,
        heat_w=base * max(0.3, 1.0 + slope * (entering_water_k - reference)),
        superheat_k=nominal.superheat_k,
        subcooling_k=nominal.subcooling_k,
        other_saturation_k=nominal.cooling_other_k if cooling else nominal.heating_other_k,
    )


def draw_repeating_errors(
    instruments: Mapping[str, InstrumentAccuracy], rng: np.random.Generator
) -> dict[str, float]:
    """One gauge set's repeating errors, each as a multiple of its stated limit.

    Parameters
    ----------
    instruments : mapping of str to InstrumentAccuracy
        Accuracy by column name.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    dict of str to float
        Multiples of the limit, by column name. [-]

    References
    ----------
    JCGM 100:2008, 4.3.7 (limits as a rectangular distribution) and 4.3.4 (as an expanded uncertainty, k = 2).

    Examples
    --------
    >>> draw_repeating_errors({}, np.random.default_rng(1))
    {}
    """
    return {name: _unit_error(accuracy, rng) for name, accuracy in instruments.items()}


def with_instrument_noise(
    reading: ReadingSet,
    instruments: Mapping[str, InstrumentAccuracy],
    rng: np.random.Generator,
    repeating_errors: Mapping[str, float],
) -> ReadingSet:
    """The reading as instruments with these accuracies would show it.

    Each value gets its gauge set's repeating error and a fresh random one. Relative accuracies are fractions of the
    true value (pressures absolute). Where one probe was moved, leaving water shares entering water's repeating error.

    Parameters
    ----------
    reading : ReadingSet
        True values.
    instruments : mapping of str to InstrumentAccuracy
        Accuracy by column name; a reading without one stays true.
    rng : numpy.random.Generator
        Source of chance.
    repeating_errors : mapping of str to float
        From `draw_repeating_errors`. [-]

    Returns
    -------
    ReadingSet
        Values as read.

    References
    ----------
    JCGM 100:2008, F.1.2: repeating parts are correlated between readings.

    Examples
    --------
    >>> set_ = ReadingSet(unit="HP-1", taken_at=FIRST_VISIT, mode="cooling", entering_water_k=300.0)
    >>> with_instrument_noise(set_, {}, np.random.default_rng(1), {}).entering_water_k
    300.0
    """
    values: dict[str, float] = {}
    for name, attribute in FIELDS.items():
        accuracy, true = instruments.get(name), getattr(reading, attribute)
        if accuracy is None or true is None:
            continue
        shared = "entering_water" if reading.probe_moved and name == "leaving_water" else name
        error = accuracy.repeating * repeating_errors.get(shared, 0.0)
        error += accuracy.random * _unit_error(accuracy, rng)
        values[attribute] = true * (1.0 + error) if accuracy.relative else true + error
    return replace(reading, **values)  # type: ignore[arg-type]


def draw_unit(
    rng: np.random.Generator, *, refrigerant_name: str | None = None, kind: str | None = None
) -> tuple[UnitTruth, Nominal]:
    """A plausible machine: its exchanger sized for its load, every exponent and ratio its own.

    The water side takes 0.2 to 0.5 of the clean resistance, the flux exponents may be of either sign and the zone
    ratios span the ranges found in practice.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    refrigerant_name : str, optional
        Drawn where absent.
    kind : str, optional
        Exchanger kind; drawn where absent.

    Returns
    -------
    tuple of UnitTruth and Nominal
        A clean machine and its ratings.

    References
    ----------
    Ranges are common practice; 3 gpm/ton in AHRI 550/590 (2011) is a 5.6 K rise.

    Examples
    --------
    >>> unit, nominal = draw_unit(np.random.default_rng(1), kind="coaxial")
    >>> unit.exchanger.kind
    'coaxial'
    """
    kind = kind or str(rng.choice(["coaxial", "brazed_plate", "shell_and_tube", "plate_and_frame"]))
    chiller = kind in ("shell_and_tube", "plate_and_frame")
    name = refrigerant_name or str(rng.choice(CHILLER_REFRIGERANTS if chiller else HEAT_PUMP_REFRIGERANTS))
    heat = float(math.exp(rng.uniform(math.log(80e3), math.log(900e3)))) if chiller else 0.0
    heat = heat or float(math.exp(rng.uniform(math.log(5e3), math.log(60e3))))
    nominal = Nominal(
        cooling_heat_w=heat,
        heating_heat_w=heat * rng.uniform(0.55, 0.8),
        cooling_slope_per_k=rng.uniform(-0.008, -0.002),
        heating_slope_per_k=rng.uniform(0.012, 0.024),
        cooling_other_k=rng.uniform(277.0, 283.0),
        heating_other_k=rng.uniform(311.0, 319.0),
        superheat_k=rng.uniform(4.0, 9.0),
        subcooling_k=rng.uniform(3.0, 8.0),
    )
    unit = UnitTruth(
        exchanger=_draw_exchanger(rng, name, kind, nominal),
        isentropic_efficiency=rng.uniform(0.58, 0.72),
        shell_loss_fraction=rng.uniform(0.02, 0.1),
        line_loss_heat_w=heat,
    )
    return unit, nominal


def facts_of(
    unit: UnitTruth, nominal: Nominal, tag: str, *, area_known: bool = True, limit: float | None = 1.76e-4
) -> ExchangerFacts:
    """What a careful register would hold about this machine.

    Parameters
    ----------
    unit : UnitTruth
        The machine.
    nominal : Nominal
        Its ratings.
    tag : str
        The unit's tag.
    area_known : bool
        Whether the register knows the area.
    limit : float, optional
        Fouling limit entered. [m2.K/W]

    Returns
    -------
    ExchangerFacts
        The record.

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    >>> unit, nominal = draw_unit(np.random.default_rng(1))
    >>> facts_of(unit, nominal, "HP-1").unit
    'HP-1'
    """
    truth = unit.exchanger
    return ExchangerFacts(
        unit=tag,
        refrigerant=truth.refrigerant,
        exchanger=truth.kind,
        area_m2=truth.area_m2 if area_known else None,
        bore_m=truth.bore_m if truth.kind in ("coaxial", "shell_and_tube") else None,
        design_flow_m3_per_s=truth.rating_flow_kg_per_s
        / float(water("none", 0.0).density_kg_per_m3(RATING_WATER_K)),
        design_pressure_drop_pa=truth.pressure_drop_pa,
        pressure_drop_exponent=truth.pressure_drop_exponent,
        antifreeze=truth.antifreeze,
        antifreeze_fraction=truth.antifreeze_fraction or None,
        fouling_limit_m2k_per_w=limit,
        flow_in_heating=truth.heating_arrangement,
        expansion="thermostatic",
        capacity_w=nominal.cooling_heat_w * 0.8,
        water_source="closed_loop",
    )


def printed_table(
    unit: UnitTruth,
    nominal: Nominal,
    tag: str,
    modes: Sequence[str] = ("cooling", "heating"),
    spread: float = 0.03,
) -> list[TableRow]:
    """The clean machine's operating table as its maker would print it: ranges around rounded values.

    Parameters
    ----------
    unit : UnitTruth
        The machine; its fouling is ignored.
    nominal : Nominal
        Its ratings.
    tag : str
        The unit's tag.
    modes : sequence of str
        Modes printed.
    spread : float
        Half width of the printed ranges of pressure. [-]

    Returns
    -------
    list of TableRow
        Rows by entering water and flow; rows the machine can't run are left out.

    References
    ----------
    Layout is common practice: ranges of pressures, superheat, subcooling and water temperature change.

    Examples
    --------
    >>> unit, nominal = draw_unit(np.random.default_rng(1), kind="coaxial")
    >>> len(printed_table(unit, nominal, "HP-1", modes=("cooling",))) > 3
    True
    """
    rows = []
    clean = with_fouling(unit, 0.0)
    waters = {"cooling": (288.15, 294.15, 300.15, 306.15), "heating": (280.15, 286.15, 292.15, 298.15)}
    for mode in modes:
        for entering in waters[mode]:
            for fraction in (0.65, 1.0):
                try:
                    state = solve(clean, nominal_point(clean, nominal, mode, entering, fraction))
                except NoOperatingPoint:
                    continue
                rows.append(_printed_row(state, tag, nominal, spread, _density(clean, entering)))
    return rows


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

    The truth is zero in a quarter of the cases and otherwise uniform to three times the limit. Half of the clean
    visits of a heat pump are in the other mode only when there are more than two of them.

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


def _unit_error(accuracy: InstrumentAccuracy, rng: np.random.Generator) -> float:
    if accuracy.distribution == "normal":
        return float(rng.normal(0.0, 0.5))
    return float(rng.uniform(-1.0, 1.0))


def _draw_exchanger(rng: np.random.Generator, name: str, kind: str, nominal: Nominal) -> ExchangerTruth:
    chiller = kind in ("shell_and_tube", "plate_and_frame")
    plates = kind in ("brazed_plate", "plate_and_frame")
    total = rng.uniform(2.2e-4, 4.0e-4) if chiller or plates else rng.uniform(3.0e-4, 6.0e-4)
    water_share = rng.uniform(0.2, 0.5)
    wall = rng.uniform(3e-6, 1.5e-5)
    film = 1.0 / (total * (1.0 - water_share) - wall)
    difference = rng.uniform(3.0, 5.0) if chiller else rng.uniform(4.5, 8.0)
    area = nominal.cooling_heat_w * total / difference
    brine = bool(rng.random() < 0.25)
    exponents = (0.65, 0.75) if plates else (0.72, 0.85)
    reversed_flow = not chiller and bool(rng.random() < 0.7)
    return ExchangerTruth(
        refrigerant=refrigerant(name).name,
        area_m2=area,
        kind=kind,
        water_film_w_per_m2k=1.0 / (total * water_share),
        rating_flow_kg_per_s=nominal.cooling_heat_w / (4180.0 * rng.uniform(4.5, 6.0)),
        water_exponent=rng.uniform(*exponents),
        wall_resistance_m2k_per_w=wall,
        condensing_film_w_per_m2k=film,
        evaporating_film_w_per_m2k=film * rng.uniform(0.8, 1.2),
        rating_flux_w_per_m2=nominal.cooling_heat_w / area,
        condensing_flux_exponent=rng.uniform(-0.25, 0.25),
        evaporating_flux_exponent=rng.uniform(0.0, 0.5),
        desuperheat_ratio=rng.uniform(0.15, 0.4),
        subcool_ratio=rng.uniform(0.3, 0.6),
        superheat_ratio=rng.uniform(0.1, 0.2),
        quality_slope=rng.uniform(-0.1, 0.4),
        heating_arrangement="parallel" if reversed_flow else "counterflow",
        antifreeze="propylene_glycol" if brine else "none",
        antifreeze_fraction=rng.uniform(0.15, 0.3) if brine else 0.0,
        pressure_drop_pa=rng.uniform(15e3, 50e3),
        pressure_drop_exponent=rng.uniform(1.7, 1.95),
        bore_m=rng.uniform(0.003, 0.005) if plates else rng.uniform(0.012, 0.022),
        scale_conductivity_w_per_mk=rng.uniform(0.9, 2.5),
    )


def _density(unit: UnitTruth, temperature_k: float) -> float:
    truth = unit.exchanger
    return float(water(truth.antifreeze, truth.antifreeze_fraction).density_kg_per_m3(temperature_k))


def _printed_row(state: ForwardState, tag: str, nominal: Nominal, spread: float, density: float) -> TableRow:
    change = abs(state.leaving_water_k - state.entering_water_k)
    return TableRow(
        unit=tag,
        mode=state.mode,
        entering_water_k=state.entering_water_k,
        water_flow_m3_per_s=state.water_flow_kg_per_s / density,
        head_low_pa=state.head_pa * (1.0 - spread),
        head_high_pa=state.head_pa * (1.0 + spread),
        suction_low_pa=state.suction_pa * (1.0 - spread),
        suction_high_pa=state.suction_pa * (1.0 + spread),
        superheat_low_k=nominal.superheat_k - 2.0,
        superheat_high_k=nominal.superheat_k + 2.0,
        subcooling_low_k=nominal.subcooling_k - 2.0,
        subcooling_high_k=nominal.subcooling_k + 2.0,
        water_temperature_change_low_k=change * 0.93,
        water_temperature_change_high_k=change * 1.07,
        water_pressure_drop_pa=state.water_pressure_drop_pa,
    )


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

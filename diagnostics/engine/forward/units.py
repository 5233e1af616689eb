"""Plausible machines, their register facts and their makers' tables."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnostics.engine.forward.solver import solve
from diagnostics.engine.forward.truth import (
    ExchangerTruth,
    ForwardState,
    NoOperatingPoint,
    OperatingPoint,
    UnitTruth,
    with_fouling,
)
from diagnostics.engine.forward.water_side import RATING_WATER_K, fluid_of
from diagnostics.engine.records import ExchangerFacts, TableRow
from diagnostics.engine.refrigerants import canonical_name
from diagnostics.engine.waters import water

HEAT_PUMP_REFRIGERANTS = ("R410A", "R454B", "R32", "R22", "R407C", "R134a")
CHILLER_REFRIGERANTS = ("R134a", "R513A", "R1234ze(E)", "R410A")


@dataclass(frozen=True, slots=True)
class Nominal:
    """How one machine behaves around its rating, apart from the exchanger.

    Loads [W] through the water-side exchanger at 303.15 K entering water while cooling and 288.15 K while
    heating; their slopes [1/K] with entering water; the other exchanger's saturation [K]; superheat and
    subcooling [K] as the maker set them.
    """

    cooling_heat_w: float
    heating_heat_w: float
    cooling_slope_per_k: float = -0.005
    heating_slope_per_k: float = 0.018
    cooling_other_k: float = 280.15
    heating_other_k: float = 316.15
    superheat_k: float = 6.0
    subcooling_k: float = 5.0


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


def draw_unit(
    rng: np.random.Generator, *, refrigerant_name: str | None = None, kind: str | None = None
) -> tuple[UnitTruth, Nominal]:
    """A plausible machine: its exchanger sized for its load, every exponent and ratio its own.

    The water side takes 0.2 to 0.5 of the clean resistance, the flux exponents may be of either sign and
    the zone ratios span the ranges found in practice.

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
                rows.append(
                    _printed_row(
                        state,
                        tag,
                        nominal,
                        spread,
                        float(fluid_of(clean.exchanger).density_kg_per_m3(entering)),
                    )
                )
    return rows


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
        refrigerant=canonical_name(name),
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

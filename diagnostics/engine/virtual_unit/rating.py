"""Size a plausible machine: from a design, from a register's row, or drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from diagnostics.engine.records import ExchangerFacts
from diagnostics.engine.virtual_unit import water_exchanger
from diagnostics.engine.virtual_unit.air_coil import AirCoil, evaporating_duty
from diagnostics.engine.virtual_unit.balance import evaluate
from diagnostics.engine.virtual_unit.batch import Batch, batch_of, stack
from diagnostics.engine.virtual_unit.charge import Charge
from diagnostics.engine.virtual_unit.compressor import Compressor, compress
from diagnostics.engine.virtual_unit.expansion import Expansion, flow_kg_per_s, opening
from diagnostics.engine.virtual_unit.faults import NO_FAULTS
from diagnostics.engine.virtual_unit.loop_water import loop_water
from diagnostics.engine.virtual_unit.properties import Array, property_table, vapour_value
from diagnostics.engine.virtual_unit.slices import condensing_slices, evaporating_slices
from diagnostics.engine.virtual_unit.solver import first_guess, newton
from diagnostics.engine.virtual_unit.unit import (
    CHILLER,
    HEAT_PUMP,
    Branch,
    Conditions,
    CutOuts,
    VirtualUnit,
)
from diagnostics.engine.virtual_unit.water_exchanger import WaterExchanger

AIR_KG_PER_J = 6.4e-5
PLATES = ("brazed_plate", "plate_and_frame")
VOLUME_PER_AREA_M = {
    "coaxial": 1.6e-3,
    "brazed_plate": 1.0e-3,
    "plate_and_frame": 1.4e-3,
    "shell_and_tube": 4e-3,
}
OPENING_PLACE, MOST_OF_ROOM = 0.65, 0.7


@dataclass(frozen=True, slots=True)
class Design:
    """What a machine is sized for; every default is common practice for its trade.

    `capacity_w` [W] is cooling capacity at the rating. Temperatures [K], differences [K], resistances
    [m2.K/W], shares and ratios [-], pressure drop [Pa], flows [kg/s]; None is worked out.
    """

    capacity_w: float
    refrigerant: str = "R410A"
    kind: str = "coaxial"
    machine: str = HEAT_PUMP
    expansion: str = "thermostatic"
    receiver: bool = False
    antifreeze: str = "none"
    antifreeze_fraction: float = 0.0
    flow_in_heating: str | None = None
    entering_water_k: float = 303.15
    water_rise_k: float = 5.5
    approach_k: float = 4.0
    evaporating_dew_k: float = 281.65
    chilled_water_k: float = 285.15
    chilled_fall_k: float = 5.0
    superheat_k: float = 6.0
    subcooling_k: float = 5.0
    resistance_m2k_per_w: float = 4e-4
    water_share: float = 0.35
    water_exponent: float = 0.8
    evaporating_over_condensing: float = 1.0
    condensing_exponent: float = -0.05
    evaporating_exponent: float = 0.25
    desuperheat_ratio: float = 0.25
    subcool_ratio: float = 0.45
    superheat_ratio: float = 0.15
    quality_slope: float = 0.2
    isentropic: float = 0.68
    volumetric: float = 0.98
    shell_loss: float = 0.05
    drop_pa: float = 30_000.0
    drop_exponent: float = 1.8
    bore_m: float = 0.016
    scale_conductivity_w_per_mk: float = 1.5
    authority: float = 1.0
    line_loss_pa: float = 0.0
    area_m2: float | None = None
    design_flow_kg_per_s: float | None = None


def rated_unit(design: Design | ExchangerFacts | None = None, **choices: object) -> VirtualUnit:
    """Size a machine that does what its design asks at the rating, in both modes.

    Parameters
    ----------
    design : Design or ExchangerFacts, optional
        The design, or a register's row (see `design_from_facts`).
    **choices
        Fields of `Design` that replace those of the design given; without one, `capacity_w` is compulsory.

    Returns
    -------
    VirtualUnit
        A machine, clean and rightly charged.

    References
    ----------
    Rating points of ISO 13256-1:1998 (water loop 30 and 20 degC) and AHRI 550/590 (12/7 degC chilled),
    from memory.

    Examples
    --------
    >>> unit = rated_unit(refrigerant="R454B", kind="brazed_plate", capacity_w=12e3)
    >>> 0.3 < unit.exchanger.area_m2 < 3.0
    True
    """
    if isinstance(design, ExchangerFacts):
        design = design_from_facts(design)
    plan = replace(design, **choices) if design else Design(**choices)  # type: ignore[arg-type]
    sizing = _Sizing(plan)
    plan = sizing.plan
    unit = sizing.unit()
    return (
        _with_charge(_with_heating_valve(unit, plan), plan)
        if plan.machine == HEAT_PUMP
        else _charged(unit, plan)
    )


def _feasible(plan: Design, bubble_k: float) -> Design:
    """Keep designed superheat and subcooling within what streams allow; a receiver leaves no subcooling."""
    room = bubble_k - plan.entering_water_k
    subcooling = 0.0 if plan.receiver else min(plan.subcooling_k, MOST_OF_ROOM * room)
    superheat = plan.superheat_k
    if plan.machine == CHILLER:
        superheat = min(superheat, MOST_OF_ROOM * (plan.chilled_water_k - plan.evaporating_dew_k))
    return replace(plan, subcooling_k=subcooling, superheat_k=superheat)


def design_from_facts(facts: ExchangerFacts) -> Design:
    """A design that agrees with what the register knows; the rest is common practice.

    Parameters
    ----------
    facts : ExchangerFacts
        The register's row.

    Returns
    -------
    Design
        Ready to size.

    References
    ----------
    3 gpm/ton, AHRI 550/590 (2011, from memory), where only the flow is known.

    Examples
    --------
    >>> design_from_facts(ExchangerFacts("CH-1", "R134a", "shell_and_tube", capacity_w=400e3)).machine
    'chiller'
    """
    chiller = facts.exchanger in ("shell_and_tube", "plate_and_frame")
    flow = facts.design_flow_m3_per_s * 998.2 if facts.design_flow_m3_per_s else None
    capacity = facts.capacity_w or (flow * 4180.0 * 5.5 * 0.8 if flow else (300e3 if chiller else 12e3))
    plates = facts.exchanger in PLATES
    return Design(
        capacity_w=capacity,
        refrigerant=facts.refrigerant,
        kind=facts.exchanger,
        machine=CHILLER if chiller else HEAT_PUMP,
        expansion=facts.expansion or ("electronic" if chiller else "thermostatic"),
        antifreeze=facts.antifreeze,
        antifreeze_fraction=facts.antifreeze_fraction or 0.0,
        flow_in_heating=facts.flow_in_heating,
        entering_water_k=302.59 if chiller else 303.15,
        approach_k=2.5 if chiller else 4.0,
        evaporating_dew_k=277.65 if chiller else 281.65,
        resistance_m2k_per_w=2.8e-4 if chiller or plates else 4e-4,
        water_exponent=0.7 if plates else 0.8,
        drop_pa=facts.design_pressure_drop_pa or 30_000.0,
        drop_exponent=facts.pressure_drop_exponent or 1.8,
        bore_m=facts.bore_m or (0.004 if plates else 0.016),
        area_m2=facts.area_m2,
        design_flow_kg_per_s=flow,
    )


class _Sizing:
    """Works a design out at its rating, one quantity after another."""

    def __init__(self, plan: Design) -> None:
        self.plan = plan
        self.table = property_table((plan.refrigerant,))
        self.fluid = loop_water(((plan.antifreeze, plan.antifreeze_fraction),))
        self.low = self.table.saturation(np.array([plan.evaporating_dew_k]))
        condensing = plan.entering_water_k + plan.water_rise_k + plan.approach_k
        self.high = self.table.saturation(np.array([self._dew_for_mean(condensing)]))
        self.plan = _feasible(plan, float(self.high.bubble_k[0]))
        self._cycle()

    def _dew_for_mean(self, mean_k: float) -> float:
        """Dew temperature [K] whose mean with bubble is the condensing temperature asked for."""
        dew = np.array([mean_k])
        for _ in range(6):
            dew = dew + (mean_k - 0.5 * (dew + self.table.saturation(dew).bubble_k))
        return float(dew[0])

    def _cycle(self) -> None:
        plan, low, high = self.plan, self.low, self.high
        unit_size = Compressor(
            1.0, volumetric_a=plan.volumetric, isentropic_e=plan.isentropic, shell_loss=plan.shell_loss
        )
        superheat = np.array([plan.superheat_k])
        done = compress(unit_size, low, superheat, high, high.pressure_pa)
        liquid_k = high.bubble_k - plan.subcooling_k
        self.h_liquid, self.rho_liquid = self.table.liquid(liquid_k)
        h_outlet = vapour_value(low.h_vapour, low.enthalpy_terms, superheat)
        self.flow = plan.capacity_w / (h_outlet - self.h_liquid)
        self.compressor = replace(unit_size, displacement_m3_per_s=float((self.flow / done.flow_kg_per_s)[0]))
        self.heat = self.flow * (done.h_discharge - self.h_liquid)
        self.way_down = condensing_slices(
            high,
            done.discharge_superheat_k,
            done.h_discharge,
            np.array([plan.subcooling_k]),
            self.h_liquid,
            np.array([plan.quality_slope]),
        )
        self.way_up = evaporating_slices(low, self.h_liquid, superheat, h_outlet, np.array([0.0]))

    def unit(self) -> VirtualUnit:
        plan = self.plan
        chiller = plan.machine == CHILLER
        return VirtualUnit(
            machine=plan.machine,
            refrigerant=plan.refrigerant,
            exchanger=self._condenser(),
            compressor=self.compressor,
            cooling_expansion=self._expansion(),
            heating_expansion=self._expansion(),
            charge=Charge(1.0, 2e-5 + 6e-9 * plan.capacity_w),
            coil=None if chiller else self._coil(),
            evaporator=self._evaporator() if chiller else None,
            branch=Branch(authority=plan.authority),
            cutouts=self._cutouts(),
            line_loss_pa=plan.line_loss_pa,
            rated_superheat_k=plan.superheat_k,
            rated_subcooling_k=plan.subcooling_k,
            rated_dew_cooling_k=(plan.evaporating_dew_k, float(self.high.dew_k[0])),
            rated_dew_heating_k=(plan.evaporating_dew_k - 1.0, float(self.high.dew_k[0])),
            rated_water_cooling_k=plan.entering_water_k,
            rated_water_heating_k=plan.chilled_water_k if chiller else 293.15,
        )

    def _exchanger(
        self, heat: float, flow: float, drop: float, resistance: float, volume: float
    ) -> WaterExchanger:
        plan = self.plan
        heating = plan.flow_in_heating or ("parallel" if plan.machine == HEAT_PUMP else "counterflow")
        condensing = 1.0 / (resistance * (1.0 - plan.water_share) - 8e-6)
        return WaterExchanger(
            kind=plan.kind,
            area_m2=1.0,
            design_flow_kg_per_s=flow,
            rating_flux_w_per_m2=1.0,
            rating_refrigerant_kg_per_s=float(self.flow[0]),
            refrigerant_volume_m3=volume,
            water_film_w_per_m2k=1.0 / (resistance * plan.water_share),
            water_exponent=plan.water_exponent,
            condensing_film_w_per_m2k=condensing,
            evaporating_film_w_per_m2k=condensing * plan.evaporating_over_condensing,
            condensing_exponent=plan.condensing_exponent,
            evaporating_exponent=plan.evaporating_exponent,
            desuperheat_ratio=plan.desuperheat_ratio,
            subcool_ratio=plan.subcool_ratio,
            superheat_ratio=plan.superheat_ratio,
            quality_slope=plan.quality_slope,
            counterflow_heating=float(heating == "counterflow"),
            antifreeze=plan.antifreeze,
            antifreeze_fraction=plan.antifreeze_fraction,
            design_drop_pa=drop,
            drop_exponent=plan.drop_exponent,
            bore_m=plan.bore_m,
            plates=float(plan.kind in PLATES),
            scale_conductivity_w_per_mk=plan.scale_conductivity_w_per_mk,
        )

    def _condenser(self) -> WaterExchanger:
        plan = self.plan
        rise = float(np.exp(self.fluid.logs(np.array([plan.entering_water_k]))[1][0])) * plan.water_rise_k
        flow = plan.design_flow_kg_per_s or float(self.heat[0]) / rise
        resistance = plan.resistance_m2k_per_w
        area = plan.area_m2 or float(self.heat[0]) * resistance / 8.0
        for _ in range(12):
            volume = area * VOLUME_PER_AREA_M[plan.kind]
            exchanger = replace(
                self._exchanger(float(self.heat[0]), flow, plan.drop_pa, resistance, volume),
                area_m2=area,
                rating_flux_w_per_m2=float(self.heat[0]) / area,
            )
            needed = self._needed(exchanger, cooling=True, entering=plan.entering_water_k)
            if plan.area_m2:
                resistance *= area / needed
            else:
                area = needed
        return exchanger

    def _evaporator(self) -> WaterExchanger:
        plan = self.plan
        fall = float(np.exp(self.fluid.logs(np.array([plan.chilled_water_k]))[1][0])) * plan.chilled_fall_k
        flow, area = plan.capacity_w / fall, plan.capacity_w * plan.resistance_m2k_per_w / 4.0
        for _ in range(12):
            volume = area * VOLUME_PER_AREA_M[plan.kind]
            exchanger = replace(
                self._exchanger(plan.capacity_w, flow, plan.drop_pa, plan.resistance_m2k_per_w, volume),
                area_m2=area,
                rating_flux_w_per_m2=plan.capacity_w / area,
            )
            area = self._needed(exchanger, cooling=False, entering=plan.chilled_water_k)
        return exchanger

    def _needed(self, exchanger: WaterExchanger, cooling: bool, entering: float) -> float:
        stacked = batch_of_one(exchanger)
        duty = water_exchanger.duty(
            stacked,
            self.fluid,
            self.way_down if cooling else self.way_up,
            cooling=cooling,
            refrigerant_kg_per_s=self.flow,
            entering_k=np.array([entering]),
            water_kg_per_s=np.array([exchanger.design_flow_kg_per_s]),
            fouling_m2k_per_w=np.zeros(1),
            counterflow=np.array(
                [exchanger.counterflow_cooling if cooling else exchanger.counterflow_heating]
            ),
        )
        return float(duty.areas_m2.sum())

    def _coil(self) -> AirCoil:
        """A coil whose shares add up to one at the rating: bisection on its size."""
        plan = self.plan
        air = plan.capacity_w * AIR_KG_PER_J
        small, large = np.log(air * 1006.0 * 0.2), np.log(air * 1006.0 * 60.0)
        for _ in range(50):
            middle = 0.5 * (small + large)
            coil = AirCoil(air, float(np.exp(middle)), float(2.0 * np.exp(middle)), 1e-3)
            stacked = batch_of_one(coil)
            duty = evaporating_duty(
                stacked, self.way_up, self.flow, np.array([300.15]), np.array([292.15]), np.array([air])
            )
            small, large = (middle, large) if duty.shares.sum() > 1.0 else (small, middle)
        return coil

    def _expansion(self) -> Expansion:
        return expansion_for(
            self.plan,
            float(self.flow[0]),
            float(self.high.pressure_pa[0]),
            float(self.low.pressure_pa[0]),
            float(self.rho_liquid[0]),
            self.plan.subcooling_k,
        )

    def _cutouts(self) -> CutOuts:
        high_k = min(338.15, float(self.table.high_k[0]) - 3.0)
        brine = self.plan.antifreeze != "none"
        low_k = 248.15 if brine else 255.15
        freezing = float(self.fluid.freezing_k[0])
        return CutOuts(
            high_head_pa=float(self.table.bubble_pressure_pa(np.array([high_k]))[0]),
            low_suction_pa=float(self.table.saturation(np.array([low_k])).pressure_pa[0]),
            freeze_k=max(freezing + 2.0, 263.15) if brine else 275.65,
        )


def expansion_for(
    plan: Design, flow: float, head: float, suction: float, rho_liquid: float, subcooling: float
) -> Expansion:
    """An expansion device that passes a flow at the rated superheat.

    Parameters
    ----------
    plan : Design
        The design.
    flow : float
        Refrigerant flow. [kg/s]
    head, suction : float
        Pressures. [Pa]
    rho_liquid : float
        Density before it. [kg/m3]
    subcooling : float
        Subcooling before it. [K]

    Returns
    -------
    Expansion
        The device.

    References
    ----------
    Common practice: two thirds open at the rating.

    Examples
    --------
    >>> expansion_for(Design(10e3, expansion="fixed"), 0.06, 2.4e6, 0.9e6, 1000.0, 5.0).fixed
    1.0
    """
    spans = {"thermostatic": 5.0, "electronic": 1.5, "fixed": 5.0}
    span, fixed = spans[plan.expansion], float(plan.expansion == "fixed")
    device = Expansion(1.0, plan.superheat_k - OPENING_PLACE * span, span, fixed)
    through = flow_kg_per_s(1.0, head, suction, rho_liquid, 1.0, 0.0, subcooling, fixed)
    return replace(device, full_area_m2=float(flow / (through * opening(device, plan.superheat_k))))


def batch_of_one(record: Any) -> Any:
    """A record with arrays of one entry in place of floats.

    Parameters
    ----------
    record : dataclass
        Any of the machine's parts.

    Returns
    -------
    dataclass
        The same, stacked.

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    >>> batch_of_one(Charge(2.0, 1e-4)).total_kg.tolist()
    [2.0]
    """
    return stack([record])


def _rated_batch(unit: VirtualUnit, plan: Design, mode: str) -> tuple[Batch, Array]:
    """The unit at its rating with superheat and subcooling held as designed, solved."""
    cooling = mode == "cooling"
    conditions = Conditions(
        mode,
        plan.entering_water_k if cooling else 293.15,
        air_k=300.15 if cooling else 293.15,
        air_wet_bulb_k=292.15 if cooling else 288.15,
        other_water_k=plan.chilled_water_k,
    )
    batch = batch_of([unit], [conditions], [NO_FAULTS], plan.superheat_k, plan.subcooling_k)
    return batch, newton(batch, first_guess(batch))[0]


def _with_heating_valve(unit: VirtualUnit, plan: Design) -> VirtualUnit:
    batch, unknowns = _rated_batch(unit, plan, "heating")
    found = evaluate(batch, unknowns)
    cycle = found.cycle
    device = expansion_for(
        plan,
        float(cycle.refrigerant_kg_per_s[0]),
        float(cycle.head_pa[0]),
        float(cycle.suction_pa[0]),
        float(cycle.rho_liquid_line[0]),
        plan.subcooling_k,
    )
    dews = (float(unknowns[0, 0]), float(unknowns[0, 1]))
    return replace(unit, heating_expansion=device, rated_dew_heating_k=dews)


def _with_charge(unit: VirtualUnit, plan: Design) -> VirtualUnit:
    """Choose the coil's volume so that one charge gives the designed subcooling in both modes, then
    charge.
    """
    assert unit.coil is not None
    base = []
    for mode in ("cooling", "heating"):
        held = []
        for volume in (1e-3, 2e-3):
            trial = replace(unit, coil=replace(unit.coil, refrigerant_volume_m3=volume))
            batch, unknowns = _rated_batch(trial, plan, mode)
            held.append(float(evaluate(batch, unknowns).charge_kg[0]))
        base.append((held[0], (held[1] - held[0]) / 1e-3))
    (cool, cool_slope), (heat, heat_slope) = base
    volume = 1e-3 + (cool - heat) / (heat_slope - cool_slope)
    size = unit.exchanger.refrigerant_volume_m3
    volume = float(np.clip(volume, 0.4 * size, 4.0 * size))
    return _charged(replace(unit, coil=replace(unit.coil, refrigerant_volume_m3=volume)), plan)


def _charged(unit: VirtualUnit, plan: Design) -> VirtualUnit:
    batch, unknowns = _rated_batch(unit, plan, "cooling")
    held = float(evaluate(batch, unknowns).charge_kg[0])
    charge = replace(unit.charge, total_kg=held)
    if plan.receiver:
        _, rho = batch.table.liquid(np.array([310.0]))
        volume = 0.35 * held / float(rho[0])
        gas = float(batch.table.saturation(unknowns[:, 1]).rho_vapour[0])
        charge = replace(
            charge, receiver_volume_m3=volume, total_kg=held + volume * 0.5 * (float(rho[0]) + gas)
        )
    return replace(unit, charge=charge)

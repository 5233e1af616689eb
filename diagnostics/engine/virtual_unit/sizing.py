"""Works a design out at its rating: compressor, exchangers, coil, expansion device and cut-outs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from diagnostics.engine.virtual_unit import water_exchanger
from diagnostics.engine.virtual_unit.air_coil import AirCoil, evaporating_duty
from diagnostics.engine.virtual_unit.batch import stack
from diagnostics.engine.virtual_unit.charge import Charge
from diagnostics.engine.virtual_unit.compressor import Compressor, compress
from diagnostics.engine.virtual_unit.design import PLATES, Design
from diagnostics.engine.virtual_unit.expansion import Expansion, flow_kg_per_s, opening
from diagnostics.engine.virtual_unit.loop_water import loop_water
from diagnostics.engine.virtual_unit.properties import property_table
from diagnostics.engine.virtual_unit.slices import condensing_slices, evaporating_slices
from diagnostics.engine.virtual_unit.unit import (
    CHILLER,
    HEAT_PUMP,
    Branch,
    CutOuts,
    VirtualUnit,
)
from diagnostics.engine.virtual_unit.vapour import vapour_value
from diagnostics.engine.virtual_unit.water_exchanger import WaterExchanger

AIR_KG_PER_J = 6.4e-5
VOLUME_PER_AREA_M = {
    "coaxial": 1.6e-3,
    "brazed_plate": 1.0e-3,
    "plate_and_frame": 1.4e-3,
    "shell_and_tube": 4e-3,
}
OPENING_PLACE, MOST_OF_ROOM = 0.65, 0.7
RISES_K, RESISTANCES_M2K_PER_W = (2.5, 12.0), (8e-5, 2.5e-3)


class Sizing:
    """Works a design out at its rating, one quantity after another."""

    def __init__(self, plan: Design) -> None:
        self.plan = plan = _with_streams(plan)
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
                resistance = float(np.clip(resistance * area / needed, *RESISTANCES_M2K_PER_W))
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


def _with_streams(plan: Design) -> Design:
    """The water's rise that a stated design flow means, and an evaporation that leaves room for superheat.

    A chiller's vapour meets its water entering in counterflow and leaving in parallel flow.
    """
    if plan.design_flow_kg_per_s is not None:
        rise = 1.2 * plan.capacity_w / (plan.design_flow_kg_per_s * 4180.0)
        plan = replace(plan, water_rise_k=float(np.clip(rise, *RISES_K)))
    if plan.machine != CHILLER:
        return plan
    meets = plan.chilled_water_k - (plan.chilled_fall_k if plan.flow_in_heating == "parallel" else 0.0)
    return replace(
        plan, evaporating_dew_k=min(plan.evaporating_dew_k, meets - plan.superheat_k / MOST_OF_ROOM)
    )


def _feasible(plan: Design, bubble_k: float) -> Design:
    """Keep designed subcooling within what the water allows; a receiver leaves none."""
    room = bubble_k - plan.entering_water_k
    subcooling = 0.0 if plan.receiver else min(plan.subcooling_k, MOST_OF_ROOM * room)
    return replace(plan, subcooling_k=subcooling)


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

"""The machine, the conditions it runs in and the state it settles at: frozen records, SI."""

from __future__ import annotations

from dataclasses import dataclass

from diagnostics.engine.virtual_unit.air_coil import AirCoil
from diagnostics.engine.virtual_unit.charge import Charge
from diagnostics.engine.virtual_unit.compressor import Compressor
from diagnostics.engine.virtual_unit.expansion import Expansion
from diagnostics.engine.virtual_unit.vapour import Number
from diagnostics.engine.virtual_unit.water_exchanger import WaterExchanger

HEAT_PUMP, CHILLER = "heat_pump", "chiller"
MACHINES = (HEAT_PUMP, CHILLER)


@dataclass(frozen=True, slots=True)
class Branch:
    """The water branch of the exchanger that is read.

    `coil_share` [-] of the branch's head is the clean coil's; `authority` [-] is the head at hand over
    the head needed, 1 for a hand-set valve and about 1.6 for an automatic flow cartridge;
    `strainer_share` [-] is the clean strainer's share of what lies outside the coil.
    """

    coil_share: Number = 0.4
    authority: Number = 1.0
    strainer_share: Number = 0.15


@dataclass(frozen=True, slots=True)
class CutOuts:
    """Where the machine's own protection trips: head and suction [Pa] absolute, leaving water [K]."""

    high_head_pa: Number = 1e9
    low_suction_pa: Number = 0.0
    freeze_k: Number = 0.0


@dataclass(frozen=True, slots=True)
class VirtualUnit:
    """One machine of one refrigerant circuit.

    A heat pump has `exchanger` (water) and `coil` (air), which change places with the mode. A
    water-cooled chiller has `exchanger` as its condenser and `evaporator`. `line_loss_pa` [Pa] lies
    between the exchanger and its gauge at the rated refrigerant flow. `rated_superheat_k`,
    `rated_subcooling_k` [K] and the saturation temperatures [K] of both modes are those of the sizing and
    start the solution.
    """

    machine: str
    refrigerant: str
    exchanger: WaterExchanger
    compressor: Compressor
    cooling_expansion: Expansion
    heating_expansion: Expansion
    charge: Charge
    coil: AirCoil | None = None
    evaporator: WaterExchanger | None = None
    branch: Branch = Branch()
    cutouts: CutOuts = CutOuts()
    line_loss_pa: Number = 0.0
    rated_superheat_k: Number = 6.0
    rated_subcooling_k: Number = 5.0
    rated_dew_cooling_k: Number = (280.15, 313.15)
    rated_dew_heating_k: Number = (280.15, 316.15)
    rated_water_cooling_k: Number = 303.15
    rated_water_heating_k: Number = 293.15
    volts_v: Number = 400.0
    phases: Number = 3.0


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the machine meets. `mode` tells which exchanger is read: a chiller's condenser is cooling.

    `entering_water_k` [K] and `flow_ratio` [-] (over design flow, with coil and strainer clean) are of
    the exchanger read. A heat pump's `air_k`, `air_wet_bulb_k` [K] and `air_flow_ratio` [-] are of its
    coil; a chiller's `other_water_k` [K] and `other_flow_ratio` [-] of its other exchanger. `stage` is
    full or low.
    """

    mode: str
    entering_water_k: Number
    flow_ratio: Number = 1.0
    air_k: Number = 299.82
    air_wet_bulb_k: Number = 292.15
    air_flow_ratio: Number = 1.0
    other_water_k: Number = 285.15
    other_flow_ratio: Number = 1.0
    stage: str = "full"


@dataclass(frozen=True, slots=True)
class State:
    """What the machine settles at. Pressures [Pa] absolute, temperatures [K], flows [kg/s], heat and
    power [W].

    `converged` tells whether the equations are met at the conditions asked. `beyond` is empty or names
    what the machine trips on before it gets there, head or suction: the state is then the last on the way
    that could run, within a tenth of that cut-out or past it. `lockout` names the cut-out that the state
    would trip, in the words of the records, or none. What the machine does not have (air, a second water
    circuit) is None.
    """

    mode: str
    converged: bool
    beyond: str
    lockout: str
    evaporating_dew_k: float
    condensing_dew_k: float
    condensing_bubble_k: float
    suction_pa: float
    head_pa: float
    superheat_k: float
    subcooling_k: float
    suction_line_k: float
    discharge_line_k: float
    liquid_line_k: float
    refrigerant_kg_per_s: float
    entering_water_k: float
    leaving_water_k: float
    water_kg_per_s: float
    water_drop_pa: float
    heat_w: float
    condenser_heat_w: float
    evaporator_heat_w: float
    power_w: float
    amps_a: float
    power_factor: float
    entering_air_k: float | None
    air_wet_bulb_k: float | None
    leaving_air_k: float | None
    other_leaving_water_k: float | None
    air_pa: float
    charge_kg: float
    residual: float

"""The refrigerant-to-water exchanger: the area that its slices ask for, against the area it has."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine.virtual_unit.loop_water import LoopWater, water_film
from diagnostics.engine.virtual_unit.slices import Slices
from diagnostics.engine.virtual_unit.vapour import Array, Number

FLOOR_K, CROSSING_K, MOST_CROSSING = 1e-12, 0.05, 60.0


@dataclass(frozen=True, slots=True)
class WaterExchanger:
    """One refrigerant-to-water exchanger; films are told on the water-side area.

    `area_m2` [m2]; `water_film_w_per_m2k` [W/(m2.K)] on water at 20 degC at `design_flow_kg_per_s`
    [kg/s], to the power `water_exponent` [-] of flow; `wall_m2k_per_w` [m2.K/W]; two-phase films
    [W/(m2.K)] at `rating_flux_w_per_m2` [W/m2] to their exponents [-] of local flux; single-phase films
    as ratios [-] of the two-phase film at `rating_refrigerant_kg_per_s` [kg/s], to the power 0.8 of
    refrigerant flow; `quality_slope` [-] tilts the two-phase film. `counterflow_cooling` and
    `counterflow_heating` are 1 or 0. `refrigerant_volume_m3` [m3] holds charge. `design_drop_pa` [Pa] on
    water at 20 degC with `drop_exponent` [-]; `bore_m` [m], `plates` 1 or 0;
    `scale_conductivity_w_per_mk` [W/(m.K)].
    """

    kind: str
    area_m2: Number
    design_flow_kg_per_s: Number
    rating_flux_w_per_m2: Number
    rating_refrigerant_kg_per_s: Number
    refrigerant_volume_m3: Number
    water_film_w_per_m2k: Number = 5500.0
    water_exponent: Number = 0.8
    wall_m2k_per_w: Number = 8e-6
    condensing_film_w_per_m2k: Number = 4000.0
    evaporating_film_w_per_m2k: Number = 3800.0
    condensing_exponent: Number = -0.05
    evaporating_exponent: Number = 0.25
    desuperheat_ratio: Number = 0.25
    subcool_ratio: Number = 0.45
    superheat_ratio: Number = 0.15
    quality_slope: Number = 0.2
    counterflow_cooling: Number = 1.0
    counterflow_heating: Number = 0.0
    antifreeze: str = "none"
    antifreeze_fraction: Number = 0.0
    design_drop_pa: Number = 30_000.0
    drop_exponent: Number = 1.8
    bore_m: Number = 0.016
    plates: Number = 0.0
    scale_conductivity_w_per_mk: Number = 1.5


@dataclass(frozen=True, slots=True)
class WaterDuty:
    """Area needed by slice [m2], heat [W], leaving water [K]."""

    areas_m2: Array
    heat_w: Number
    leaving_k: Number


def mean_difference(first: Number, last: Number) -> Number:
    """Logarithmic mean of two temperature differences, finite for any pair.

    Parameters
    ----------
    first, last : array
        Differences at the two ends; what is not above zero counts as 1e-12 K. [K]

    Returns
    -------
    array
        Mean difference. [K]

    References
    ----------
    Incropera & DeWitt, ch. 11, eq. 11.15 (log mean temperature difference).

    Examples
    --------
    >>> round(float(mean_difference(np.array(40.0), np.array(20.0))), 3)
    28.854
    """
    a, b = np.maximum(first, FLOOR_K), np.maximum(last, FLOOR_K)
    ratio = np.log(a / b)
    near = np.abs(ratio) < 1e-4
    return np.where(near, 0.5 * (a + b), (a - b) / np.where(near, 1.0, ratio))


def crossing_factor(first: Number, last: Number) -> Number:
    """Factor on the surface asked for where the streams would have to cross.

    It grows by e for every 0.05 K of crossing, so that no solution lies there and a solver is led back.

    Parameters
    ----------
    first, last : array
        Differences at the two ends. [K]

    Returns
    -------
    array
        1 where both are positive. [-]

    References
    ----------
    Second law; the steepness is this engine's own.

    Examples
    --------
    >>> float(crossing_factor(np.array(2.0), np.array(0.1)))
    1.0
    """
    crossed = np.minimum(np.minimum(first, last), 0.0)
    return np.exp(np.minimum(-crossed / CROSSING_K, MOST_CROSSING))


def duty(
    exchanger: WaterExchanger,
    fluid: LoopWater,
    slices: Slices,
    *,
    cooling: bool,
    refrigerant_kg_per_s: Number,
    entering_k: Number,
    water_kg_per_s: Number,
    fouling_m2k_per_w: Number,
    counterflow: Number,
    film_factor: Number = 1.0,
    water_factor: Number = 1.0,
) -> WaterDuty:
    """Area that each slice needs to pass its heat to or from the water.

    Parameters
    ----------
    exchanger : WaterExchanger
        The exchanger, one a machine.
    fluid : LoopWater
        Its water.
    slices : Slices
        The refrigerant's way.
    cooling : bool
        Whether the refrigerant condenses.
    refrigerant_kg_per_s, water_kg_per_s : array
        Flows. [kg/s]
    entering_k : array
        Entering water. [K]
    fouling_m2k_per_w : array
        Fouling resistance on the water side. [m2.K/W]
    counterflow : array
        1 counterflow, 0 parallel. [-]
    film_factor, water_factor : array
        What air in the refrigerant leaves of the two-phase film, and air in the water of the water film. [-]

    Returns
    -------
    WaterDuty
        Areas [m2], heat [W], leaving water [K].

    References
    ----------
    Q = U A LMTD slice by slice (Incropera & DeWitt, ch. 11); two-phase film to a power of local flux.

    Examples
    --------
    See the tests, which compare it with effectiveness and NTU.
    """
    sign = 1.0 if cooling else -1.0
    heats = np.maximum(slices.heat, 0.0) * refrigerant_kg_per_s[:, None]
    heat = heats.sum(axis=1)
    rate, leaving = _water_rate(fluid, entering_k, water_kg_per_s, sign * heat)
    before, after = _water_temperatures(heats, sign / rate, entering_k, leaving, counterflow)
    ends_k = sign * (slices.t_start - before), sign * (slices.t_end - after)
    mean, crossed = mean_difference(*ends_k), crossing_factor(*ends_k)
    flow_ratio = water_kg_per_s / exchanger.design_flow_kg_per_s
    ends = [
        water_film(fluid, exchanger.water_film_w_per_m2k, exchanger.water_exponent, flow_ratio, at)
        * water_factor
        for at in (entering_k, leaving)
    ]
    along = (
        np.abs(0.5 * (before + after) - entering_k[:, None])
        / np.maximum(np.abs(leaving - entering_k), 1e-9)[:, None]
    )
    local_film = ends[0][:, None] + (ends[1] - ends[0])[:, None] * along
    rest = 1.0 / local_film + (exchanger.wall_m2k_per_w + fouling_m2k_per_w)[:, None]
    conductance = _conductance(exchanger, slices, cooling, refrigerant_kg_per_s, mean, rest, film_factor)
    return WaterDuty(crossed * heats / (conductance * mean), heat, leaving)


def _water_rate(fluid: LoopWater, entering: Array, flow: Array, heat: Array) -> tuple[Array, Array]:
    """Capacity rate [W/K] with the specific heat at the mean temperature, and leaving water [K]."""
    flow = np.maximum(flow, 1e-6)
    leaving = entering
    rate = flow
    for _ in range(2):
        rate = flow * fluid.specific_heat_j_per_kg_k(0.5 * (entering + leaving))
        leaving = entering + heat / rate
    return rate, leaving


def _water_temperatures(
    heats: Array, sign_over_rate: Array, entering: Array, leaving: Array, counterflow: Array
) -> tuple[Array, Array]:
    """Water temperature [K] at the refrigerant's start and end of each slice."""
    steps = heats * sign_over_rate[:, None]
    passed = np.cumsum(steps, axis=1)
    against, along = leaving[:, None] - passed, entering[:, None] + passed
    after = np.where(counterflow[:, None] > 0.5, against, along)
    before = np.where(counterflow[:, None] > 0.5, against + steps, along - steps)
    return before, after


def _conductance(
    exchanger: WaterExchanger,
    slices: Slices,
    cooling: bool,
    refrigerant: Array,
    mean: Array,
    rest: Array,
    film_factor: Number,
) -> Array:
    """Overall conductance [W/(m2.K)] of each slice, the two-phase film following its own flux."""
    film = exchanger.condensing_film_w_per_m2k if cooling else exchanger.evaporating_film_w_per_m2k
    power = exchanger.condensing_exponent if cooling else exchanger.evaporating_exponent
    gas = exchanger.desuperheat_ratio if cooling else exchanger.superheat_ratio
    flow = np.maximum(refrigerant / exchanger.rating_refrigerant_kg_per_s, 1e-3) ** 0.8
    ratios = np.stack([np.ones_like(flow) * film_factor, gas * flow, exchanger.subcool_ratio * flow], axis=1)
    base = film[:, None] * ratios[:, slices.phase] * slices.shape
    exponent = power[:, None] * slices.two_phase
    per_flux = mean / exchanger.rating_flux_w_per_m2[:, None]
    conductance = 1.0 / (1.0 / base + rest)
    for _ in range(4):
        conductance = 1.0 / (1.0 / (base * (conductance * per_flux) ** exponent) + rest)
    return np.asarray(conductance)

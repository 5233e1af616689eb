"""Draw machines, conditions and faults over the whole stated envelope.

The envelope: fourteen refrigerants where their pressures suit the machine, every exchanger kind, the
three expansion devices, with and without receiver and antifreeze; entering water 10 to 38 degC cooling
and -1 (with antifreeze) to 30 degC heating, 50 to 120 % flow, air 18 to 32 degC over the coil cooling and
15 to 26 degC heating, full and, but for orifices, low stage; every fault of `faults` up to a fifth beyond
its heavy level, one or two at a time.
"""

from __future__ import annotations

import numpy as np

from diagnostics.engine.virtual_unit.design import Design
from diagnostics.engine.virtual_unit.faults import CAUSE_FIELDS, NO_FAULTS, Faults
from diagnostics.engine.virtual_unit.rating import rated_unit
from diagnostics.engine.virtual_unit.unit import CHILLER, HEAT_PUMP, Conditions, VirtualUnit

HEAT_PUMP_REFRIGERANTS = (
    "R410A",
    "R454B",
    "R32",
    "R22",
    "R407C",
    "R134a",
    "R404A",
    "R507A",
    "R448A",
    "R449A",
)
CHILLER_REFRIGERANTS = (
    "R134a",
    "R513A",
    "R1234ze(E)",
    "R1233zd(E)",
    "R123",
    "R410A",
    "R407C",
    "R454B",
    "R32",
)
EXPANSIONS = ("thermostatic", "electronic", "fixed")
BEYOND_HEAVY = 1.2


def draw_unit(
    rng: np.random.Generator, *, machine: str | None = None, kind: str | None = None, **choices: object
) -> VirtualUnit:
    """A machine of the envelope, sized for its own drawn design.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    machine : str, optional
        heat_pump or chiller; drawn where absent.
    kind : str, optional
        Exchanger kind; drawn where absent.
    **choices
        Fields of `rating.Design` that are given, not drawn.

    Returns
    -------
    VirtualUnit
        Clean and rightly charged.

    References
    ----------
    Ranges: common practice; zone ratios, exponents and water share as the inference's priors state them.

    Examples
    --------
    >>> draw_unit(np.random.default_rng(1), machine="chiller").machine
    'chiller'
    """
    machine = machine or (CHILLER if rng.random() < 0.35 else HEAT_PUMP)
    plan = _draw_design(rng, machine, kind)
    return rated_unit(plan, **choices)


def draw_conditions(rng: np.random.Generator, unit: VirtualUnit, mode: str | None = None) -> Conditions:
    """Conditions of the envelope.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    unit : VirtualUnit
        The machine.
    mode : str, optional
        Drawn where absent.

    Returns
    -------
    Conditions
        What the machine meets.

    References
    ----------
    Ranges: common practice.

    Examples
    --------
    >>> unit = draw_unit(np.random.default_rng(1))
    >>> draw_conditions(np.random.default_rng(2), unit, "cooling").mode
    'cooling'
    """
    mode = mode or str(rng.choice(["cooling", "heating"]))
    brine = unit.exchanger.antifreeze != "none"
    if unit.machine == CHILLER:
        water = rng.uniform(288.15, 308.15) if mode == "cooling" else rng.uniform(280.15, 291.15)
    elif mode == "cooling":
        water = rng.uniform(283.15, 311.15)
    else:
        water = rng.uniform(272.15 if brine else 281.15, 303.15)
    air = rng.uniform(291.15, 305.15) if mode == "cooling" else rng.uniform(288.15, 299.15)
    other = rng.uniform(280.15, 291.15) if mode == "cooling" else rng.uniform(288.15, 308.15)
    return Conditions(
        mode=mode,
        entering_water_k=float(water),
        flow_ratio=float(rng.uniform(0.5, 1.2)),
        air_k=float(air),
        air_wet_bulb_k=float(air - rng.uniform(3.0, 11.0)),
        air_flow_ratio=float(rng.uniform(0.8, 1.1)),
        other_water_k=float(other),
        other_flow_ratio=float(rng.uniform(0.7, 1.15)),
        stage="low" if rng.random() < 0.25 and unit.cooling_expansion.fixed < 0.5 else "full",
    )


def draw_faults(rng: np.random.Generator, unit: VirtualUnit, most: int = 2) -> Faults:
    """None to `most` faults, each uniform to a fifth beyond its heavy level.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    unit : VirtualUnit
        The machine: a chiller has no reversing valve.
    most : int
        Most causes at once. [-]

    Returns
    -------
    Faults
        What is wrong.

    References
    ----------
    Ranges: common practice.

    Examples
    --------
    >>> unit = draw_unit(np.random.default_rng(1))
    >>> draw_faults(np.random.default_rng(1), unit, 0) == NO_FAULTS
    True
    """
    count = int(rng.integers(0, most + 1))
    values: dict[str, float] = {}
    causes = [c for c in CAUSE_FIELDS if unit.machine == HEAT_PUMP or c != "reversing_valve_leaking"]
    for cause in rng.choice(causes, size=count, replace=False):
        size = float(rng.uniform(0.0, BEYOND_HEAVY))
        for name, levels in CAUSE_FIELDS[str(cause)]:
            crossed = name == "hoses_crossed"
            values[name] = 1.0 if crossed else min(size * levels[2], 0.95 if levels[2] < 1.0 else 1e9)
    return Faults(**values) if values else NO_FAULTS


def _draw_design(rng: np.random.Generator, machine: str, kind: str | None) -> Design:
    chiller = machine == CHILLER
    kinds = ("shell_and_tube", "plate_and_frame", "brazed_plate") if chiller else ("coaxial", "brazed_plate")
    kind = kind or str(rng.choice(kinds))
    plates = kind in ("brazed_plate", "plate_and_frame")
    brine = not chiller and bool(rng.random() < 0.35)
    low, high = (60e3, 900e3) if chiller else (5e3, 60e3)
    resistances = (2.2e-4, 3.8e-4) if chiller or plates else (3e-4, 5.5e-4)
    return Design(
        capacity_w=float(np.exp(rng.uniform(np.log(low), np.log(high)))),
        refrigerant=str(rng.choice(CHILLER_REFRIGERANTS if chiller else HEAT_PUMP_REFRIGERANTS)),
        kind=kind,
        machine=machine,
        expansion=str(
            rng.choice(EXPANSIONS[:2] if chiller else EXPANSIONS, p=None if chiller else (0.6, 0.2, 0.2))
        ),
        receiver=bool(rng.random() < 0.15),
        antifreeze="propylene_glycol" if brine else "none",
        antifreeze_fraction=round(float(rng.uniform(0.15, 0.35)), 2) if brine else 0.0,
        flow_in_heating="parallel" if not chiller and rng.random() < 0.7 else "counterflow",
        entering_water_k=302.59 if chiller else 303.15,
        water_rise_k=float(rng.uniform(4.5, 6.0)),
        approach_k=float(rng.uniform(1.5, 3.5) if chiller else rng.uniform(2.5, 5.5)),
        evaporating_dew_k=float(rng.uniform(276.6, 278.2) if chiller else rng.uniform(279.2, 282.7)),
        superheat_k=float(rng.uniform(4.0, 8.0)),
        subcooling_k=float(rng.uniform(3.5, 8.0)),
        resistance_m2k_per_w=float(rng.uniform(*resistances)),
        water_share=float(rng.uniform(0.2, 0.5)),
        water_exponent=float(rng.uniform(0.65, 0.75) if plates else rng.uniform(0.72, 0.85)),
        evaporating_over_condensing=float(rng.uniform(0.8, 1.2)),
        condensing_exponent=float(rng.uniform(-0.25, 0.25)),
        evaporating_exponent=float(rng.uniform(0.0, 0.5)),
        desuperheat_ratio=float(rng.uniform(0.15, 0.4)),
        subcool_ratio=float(rng.uniform(0.3, 0.6)),
        superheat_ratio=float(rng.uniform(0.1, 0.2)),
        quality_slope=float(rng.uniform(-0.1, 0.4)),
        isentropic=float(rng.uniform(0.6, 0.74)),
        shell_loss=float(rng.uniform(0.02, 0.1)),
        drop_pa=float(rng.uniform(15e3, 50e3)),
        drop_exponent=float(rng.uniform(1.7, 1.95)),
        bore_m=float(rng.uniform(0.003, 0.005) if plates else rng.uniform(0.012, 0.022)),
        scale_conductivity_w_per_mk=float(rng.uniform(0.9, 2.5)),
        authority=1.6 if rng.random() < 0.25 else 1.0,
        line_loss_pa=float(rng.uniform(0.0, 8e3)),
    )

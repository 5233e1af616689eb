"""What findings say about each cause: probabilities of what was found, by cause and severity (common
practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from diagnostics.engine.causes.machines import is_evaporator
from diagnostics.engine.causes.names import BAD_READING, FLOW_FROM_OUTSIDE, FOULED
from diagnostics.engine.causes.priors import MUD_SHARE, USUAL_MUD_SHARE
from diagnostics.engine.causes.signatures import fault_values
from diagnostics.engine.records import ExchangerFacts, InstrumentAccuracy, ReadingSet
from diagnostics.engine.refrigerants import refrigerant
from diagnostics.engine.uncertainty import standard_uncertainty

OUTCOMES: Mapping[str, tuple[str, ...]] = {
    "open_strainer": ("clean", "dirty", "blocked"),
    "back_flush": ("flow_restored", "no_change"),
    "look_at_flow_control": ("wrong", "right"),
    "ask_the_loop": ("short", "enough"),
    "vent_water": ("air", "none"),
    "trace_hoses": ("crossed", "right"),
    "static_test": ("above_saturation", "at_saturation"),
    "look_at_air_side": ("wrong", "right"),
    "weigh_charge": ("too_much", "too_little", "right"),
    "feel_reversing_valve": ("leaks", "right"),
    "feel_drier": ("restricted", "overfeeds", "right"),
    "pump_compressor": ("weak", "right"),
    "check_cutouts": ("drifted", "right"),
    "read_again": ("different", "the_same"),
    "read_data_plate": ("different", "the_same"),
}
"""Outcomes of each check."""

_TELLS: Mapping[str, tuple[tuple[str, tuple[float, ...]], ...]] = {
    "look_at_flow_control": (("flow_control_fault", (0.85, 0.15)),),
    "ask_the_loop": (("water_flow_low", (0.6, 0.4)),),
    "vent_water": (("air_in_water", (0.85, 0.15)),),
    "trace_hoses": (("water_hoses_crossed", (0.97, 0.03)),),
    "static_test": (("non_condensables", (0.9, 0.1)),),
    "look_at_air_side": (("air_side_fault", (0.85, 0.15)),),
    "weigh_charge": (("overcharged", (0.94, 0.01, 0.05)), ("undercharged", (0.01, 0.94, 0.05))),
    "feel_reversing_valve": (("reversing_valve_leaking", (0.8, 0.2)),),
    "feel_drier": (("metering_restricted", (0.75, 0.02, 0.23)), ("metering_overfeeding", (0.02, 0.6, 0.38))),
    "pump_compressor": (("compressor_weak", (0.75, 0.25)),),
    "check_cutouts": (("safety_control_fault", (0.9, 0.1)),),
    "read_again": (("bad_reading", (0.9, 0.1)),),
    "read_data_plate": (("bad_record", (0.9, 0.1)),),
}
TELLS_OF: Mapping[str, str] = {
    "open_strainer": "strainer_blocked",
    "back_flush": FOULED,
    **{check: told[0][0] for check, told in _TELLS.items() if len(told) == 1},
}
"""The one cause that a check is made for, where it is made for one."""
_USUALLY: Mapping[str, tuple[float, ...]] = {
    "look_at_flow_control": (0.05, 0.95),
    "ask_the_loop": (0.07, 0.93),
    "vent_water": (0.06, 0.94),
    "trace_hoses": (0.005, 0.995),
    "static_test": (0.03, 0.97),
    "look_at_air_side": (0.08, 0.92),
    "weigh_charge": (0.03, 0.03, 0.94),
    "feel_reversing_valve": (0.04, 0.96),
    "feel_drier": (0.05, 0.05, 0.9),
    "pump_compressor": (0.05, 0.95),
    "check_cutouts": (0.03, 0.97),
    "read_again": (0.05, 0.95),
    "read_data_plate": (0.02, 0.98),
}


@dataclass(frozen=True, slots=True)
class Findings:
    """Outcomes of checks that the reading set has no column for, by check name (`OUTCOMES`); what the last
    descale brought out ("nothing", "deposit" or None) and what it changed ("nothing", "better" or None)."""

    checks: Mapping[str, str] | None = None
    descale_brought: str | None = None
    descale_changed: str | None = None

    @property
    def in_vain(self) -> bool:
        """A descale brought nothing out or changed nothing: scale was probably not the cause."""
        return "nothing" in (self.descale_brought, self.descale_changed)


DESCALE_FAILS = 0.12
"""How often acid brings nothing out of a fouled exchanger, or changes nothing: mud, slime, a spent bath."""
NOTHING_THERE = 0.9
"""How often it brings nothing out, or changes nothing, where another cause is at work."""


def chances(
    check: str, causes: tuple[str, ...], facts: ExchangerFacts, severity: float = 2.0
) -> tuple[float, ...]:
    """Probability of each outcome of a check where these causes are at work."""
    if check == "open_strainer":
        return _strainer(causes, severity)
    if check == "back_flush":
        restored = _restored(causes, facts)
        return restored, 1.0 - restored
    for cause, outcome in _TELLS[check]:
        if cause in causes:
            return outcome
    return _USUALLY[check]


def _strainer(causes: tuple[str, ...], severity: float) -> tuple[float, ...]:
    if "strainer_blocked" in causes:
        return (0.07, 0.75, 0.18) if severity < 1.7 else (0.03, 0.17, 0.8)
    return 0.85, 0.13, 0.02


def _restored(causes: tuple[str, ...], facts: ExchangerFacts) -> float:
    if FOULED in causes:
        return MUD_SHARE.get(facts.water_source or "", USUAL_MUD_SHARE)
    if "air_in_water" in causes:
        return 0.3
    return 0.08 if any(one in FLOW_FROM_OUTSIDE for one in causes) else 0.03


def known(reading: ReadingSet, findings: Findings) -> dict[str, str]:
    """Outcomes already known, by check."""
    found = dict(findings.checks or {})
    if reading.strainer is not None:
        found["open_strainer"] = reading.strainer
    if reading.back_flush is not None:
        found["back_flush"] = reading.back_flush
    if reading.static_pressure_pa is not None and reading.static_coldest_k is not None:
        found["static_test"] = "measured"
    return found


def log_findings(
    facts: ExchangerFacts, reading: ReadingSet, findings: Findings, causes: tuple[str, ...], severity: float
) -> float:
    """Logarithm of the probability of all findings where these causes are at work; static test and lockouts
    are told apart."""
    total = 0.0
    for check, outcome in known(reading, findings).items():
        if outcome == "not_fitted":
            total += np.log(1e-3 if "strainer_blocked" in causes else 0.1)
        elif outcome in OUTCOMES[check]:
            total += np.log(chances(check, causes, facts, severity)[OUTCOMES[check].index(outcome)])
    nothing = DESCALE_FAILS if FOULED in causes else NOTHING_THERE
    for told in (findings.descale_brought, findings.descale_changed):
        if told is not None:
            total += np.log(nothing if told == "nothing" else 1.0 - nothing)
    return float(total)


def log_static(
    facts: ExchangerFacts,
    reading: ReadingSet,
    instruments: Mapping[str, InstrumentAccuracy],
    causes: tuple[str, ...],
    severity: float,
) -> float:
    """Logarithm of the density of the static pressure above saturation, in its own standard uncertainty."""
    if reading.static_pressure_pa is None or reading.static_coldest_k is None:
        return 0.0
    excess, doubt, rest = static_excess(facts, reading, instruments)
    share = fault_values("non_condensables", severity)["air_share"] if "non_condensables" in causes else 0.0
    return float(-0.5 * ((excess - share * rest) / doubt) ** 2)


SETTLING_K = 0.25
"""How far a machine at rest stands off its coldest place (one standard deviation, common practice)."""


def static_excess(
    facts: ExchangerFacts, reading: ReadingSet, instruments: Mapping[str, InstrumentAccuracy]
) -> tuple[float, float, float]:
    """Static pressure above bubble at the coldest place [Pa], its standard uncertainty [Pa], saturation at
    25 degC [Pa]."""
    fluid = refrigerant(facts.refrigerant)
    coldest, pressure = reading.static_coldest_k or 0.0, reading.static_pressure_pa or 0.0
    settled = float(fluid.bubble_pressure_pa(coldest))
    slope = float(fluid.bubble_pressure_pa(coldest + 0.5) - fluid.bubble_pressure_pa(coldest - 0.5))
    gauge, probe = instruments["static_pressure"], instruments["static_coldest"]
    by_gauge = standard_uncertainty(float(np.hypot(gauge.repeating, gauge.random))) * pressure
    kelvin = standard_uncertainty(float(np.hypot(probe.repeating, probe.random)))
    by_model = standard_uncertainty(fluid.model_uncertainty_k)
    doubt = float(np.hypot(by_gauge, slope * np.sqrt(kelvin**2 + SETTLING_K**2 + by_model**2)))
    return pressure - settled, doubt, float(fluid.bubble_pressure_pa(298.15))


_HINTS: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("cooling", "high_head"): (
        FOULED,
        *FLOW_FROM_OUTSIDE,
        "non_condensables",
        "overcharged",
        "loop_water_warm",
        "water_hoses_crossed",
    ),
    ("heating", "high_head"): ("air_side_fault", "overcharged", "non_condensables"),
    ("cooling", "low_suction"): ("undercharged", "metering_restricted", "air_side_fault"),
    ("heating", "low_suction"): (
        FOULED,
        *FLOW_FROM_OUTSIDE,
        "undercharged",
        "metering_restricted",
        "loop_water_cold",
    ),
    ("heating", "low_water_temperature"): (FOULED, *FLOW_FROM_OUTSIDE, "loop_water_cold"),
    ("cooling", "water_flow"): FLOW_FROM_OUTSIDE,
    ("heating", "water_flow"): FLOW_FROM_OUTSIDE,
    ("cooling", "low_air_coil"): ("air_side_fault", "undercharged", "metering_restricted"),
}
SAFETIES = ("high_head", "low_suction", "low_water_temperature", "water_flow")


def log_lockout(reading: ReadingSet, causes: tuple[str, ...], trip: str) -> float:
    """Logarithm of the probability of the lockout shown, where the machine would trip on `trip` or none."""
    shown = reading.fault_lockout
    if shown is None:
        return 0.0
    if "safety_control_fault" in causes:
        return float(np.log(0.12 if shown == "none" else 0.2 if shown in SAFETIES else 0.02))
    if shown == "none":
        return float(np.log(0.9 if trip == "none" else 0.25))
    if shown == trip:
        return float(np.log(0.65))
    hinted = any(one in causes for one in _HINTS.get((reading.mode, shown), ()))
    return float(np.log(0.12 if hinted else 0.012))


USUAL_RANGES_K: Mapping[str, tuple[float, float]] = {
    "cooling_tower": (288.15, 305.65),
    "closed_loop": (288.15, 305.65),
    "ground_loop": (270.15, 305.65),
    "well": (280.15, 294.15),
    "pond": (275.15, 303.15),
    "city_water": (278.15, 298.15),
}
"""Usual range of entering water where the site's own is not on record (common practice)."""
EDGE_K, BEYOND_K = 0.8, 3.0


def usual_range_k(facts: ExchangerFacts, mode: str) -> tuple[float, float] | None:
    """The loop's usual range of entering water [K], of the record or of its kind of water; a chiller's
    evaporator stands in the building's own water, of which the kind of water tells nothing."""
    kind = "" if is_evaporator(facts, mode) else facts.water_source or ""
    low, high = USUAL_RANGES_K.get(kind, (None, None))
    low, high = facts.loop_low_k or low, facts.loop_high_k or high
    return None if low is None or high is None or high <= low else (low, high)


def log_entering(facts: ExchangerFacts, reading: ReadingSet, causes: tuple[str, ...]) -> float:
    """Logarithm of the density [1/K] of the entering water: within its usual range, or beyond where the
    loop is
    warm or cold."""
    usual = usual_range_k(facts, reading.mode)
    if usual is None or reading.entering_water_k is None:
        return float(np.log(0.05)) if {"loop_water_warm", "loop_water_cold"} & set(causes) else 0.0
    low, high = usual
    at, wide = reading.entering_water_k, 1.0 / (high - low)
    if "loop_water_warm" in causes:
        return _beyond(at - high)
    if "loop_water_cold" in causes:
        return _beyond(low - at)
    out = max(at - high, low - at, 0.0)
    blunder = 0.05 if BAD_READING in causes else 1e-4
    return float(np.log(wide * (np.exp(-0.5 * (out / EDGE_K) ** 2) + blunder)))


def _beyond(past_k: float) -> float:
    """Exponential beyond the range's end, with a soft edge before it."""
    if past_k >= 0.0:
        return float(np.log(1.0 / BEYOND_K) - past_k / BEYOND_K / 2.0)
    return float(np.log(1.0 / BEYOND_K) - 0.5 * (past_k / EDGE_K) ** 2)

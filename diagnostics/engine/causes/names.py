"""The causes by name, in plain words, with the remedies that fit them, and the checks with their effort and
cautions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

FOULED, NOTHING_WRONG = "exchanger_fouled", "nothing_wrong"
BAD_READING, BAD_RECORD, OTHER_FAULT = "bad_reading", "bad_record", "other_fault"

CAUSES: Mapping[str, str] = MappingProxyType(
    {
        "water_flow_low": "too little water reaches the unit",
        "strainer_blocked": "the strainer before the unit is blocked",
        "flow_control_fault": "the automatic flow cartridge, motorised or regulating valve is at fault",
        "air_in_water": "air stands in the water of this unit",
        "water_hoses_crossed": "the water hoses are crossed",
        "exchanger_fouled": "the water side of the exchanger is fouled",
        "loop_water_warm": "the loop's water is warmer than usual",
        "loop_water_cold": "the loop's water is colder than usual",
        "overcharged": "there is too much refrigerant",
        "undercharged": "there is too little refrigerant",
        "non_condensables": "air or another gas that does not condense is in the refrigerant",
        "metering_restricted": "the expansion device or the filter-drier is restricted",
        "metering_overfeeding": "the expansion device feeds too much",
        "air_side_fault": "the other side is at fault: air filter, fan, air coil, or a chiller's other water",
        "reversing_valve_leaking": "the reversing valve leaks from head to suction",
        "compressor_weak": "the compressor pumps less than it should",
        "safety_control_fault": "a safety switch has drifted or is set for another water",
        "bad_reading": "one of the readings is wrong",
        "bad_record": "the record is wrong: refrigerant or design flow",
        "nothing_wrong": "nothing is wrong",
        "other_fault": "something else is wrong",
    }
)
"""Every cause, in plain words."""

FLOW_FROM_OUTSIDE: tuple[str, ...] = (
    "water_flow_low",
    "strainer_blocked",
    "flow_control_fault",
    "air_in_water",
)
"""Causes that take water from the exchanger and lie outside it."""

PAIRS: tuple[tuple[str, str], ...] = (
    (FOULED, "water_flow_low"),
    (FOULED, "non_condensables"),
    (FOULED, "overcharged"),
)
"""The commonest two at once."""

REMEDIES: Mapping[str, str] = MappingProxyType(
    {
        "water_flow_low": "ask whoever balanced the system; the balancing valve is noted, not moved",
        "strainer_blocked": "clean the strainer and read again",
        "flow_control_fault": "clean or replace the cartridge or the valve's drive",
        "air_in_water": "vent the branch and find where air comes in",
        "water_hoses_crossed": "change the hoses over",
        "exchanger_fouled": (
            "back-flush for mud; brush plates or tubes that open; a biodispersant or an alkaline cleaner "
            "for slime; acid for carbonate; a new exchanger where none of these pays"
        ),
        "loop_water_warm": "look at the tower, the loop's exchanger and its controls",
        "loop_water_cold": "look at the boiler, the ground or the loop's controls",
        "overcharged": "a certified person recovers refrigerant to the weighed charge",
        "undercharged": "a certified person finds and mends the leak, then weighs the charge in",
        "non_condensables": "a certified person recovers, evacuates and weighs in new refrigerant",
        "metering_restricted": "a certified person replaces drier or valve",
        "metering_overfeeding": "look at the bulb and its clamp; then a certified person sets or replaces it",
        "air_side_fault": "clean filter and coil, put fan or belt right",
        "reversing_valve_leaking": "tap or cycle the valve; then a certified person replaces it",
        "compressor_weak": "weigh repair against a new unit",
        "safety_control_fault": "set or replace the switch; never bridge it",
        "bad_reading": "read that value again with another instrument",
        "bad_record": "read the data plate and put the record right",
        "nothing_wrong": "leave it running and keep these readings",
        "other_fault": "look the unit over as its manual says",
    }
)
"""What is done about each cause."""

CONFIRMED_BY: Mapping[str, str] = MappingProxyType(
    {
        "non_condensables": "static_test",
        "overcharged": "static_test",
        "undercharged": "feel_drier",
        "metering_restricted": "feel_drier",
        "metering_overfeeding": "feel_drier",
        "reversing_valve_leaking": "feel_reversing_valve",
        "compressor_weak": "pump_compressor",
    }
)
"""The cheap check that comes before the refrigerant circuit is opened, or anything replaced."""

LOCK_OUT = "Lock out, tag out and prove dead before opening."
ISOLATE = "Shut both isolating valves, relieve the pressure; the machine stays off while they are shut."
HOT = "Discharge line and compressor are hot."
CERTIFIED = "Refrigerant work by certified people only."
LIVE = "Live parts: a qualified person with the right protection."


@dataclass(frozen=True, slots=True)
class Check:
    """One check: what to do, about how long [min], how intrusive (1 look, 2 open water, 3 open refrigerant),
    and what to mind."""

    name: str
    words: str
    minutes: float
    intrusiveness: int
    cautions: tuple[str, ...] = ()

    @property
    def effort(self) -> float:
        """Minutes weighted by intrusiveness. [min]"""
        return self.minutes * (0.5 + 0.5 * self.intrusiveness)


CHECKS: Mapping[str, Check] = MappingProxyType(
    {
        one.name: one
        for one in (
            Check("open_strainer", "open and look at the strainer", 10, 2, (LOCK_OUT, ISOLATE)),
            Check(
                "back_flush", "back-flush the exchanger and see what it brings", 25, 2, (LOCK_OUT, ISOLATE)
            ),
            Check(
                "look_at_flow_control",
                "look at the flow cartridge, the motorised valve and the hoses for a kink",
                10,
                2,
                (LOCK_OUT, ISOLATE),
            ),
            Check("ask_the_loop", "ask whether other units of the loop are short of water or head", 10, 1),
            Check("vent_water", "vent the branch's high point", 8, 1, ("Water may be hot or treated.",)),
            Check("trace_hoses", "trace the water hoses from the valves to the ports", 5, 1),
            Check(
                "static_test",
                "stop for 30 minutes and hold the static pressure against the coldest surface",
                35,
                1,
                (LOCK_OUT, CERTIFIED),
            ),
            Check("look_at_air_side", "look at filter, fan and air coil", 8, 1, (LOCK_OUT,)),
            Check(
                "weigh_charge",
                "recover and weigh the charge",
                90,
                3,
                (LOCK_OUT, CERTIFIED, "Gloves and glasses."),
            ),
            Check("feel_reversing_valve", "measure both lines at the reversing valve", 10, 1, (HOT,)),
            Check("feel_drier", "measure across the filter-drier and look at the bulb", 10, 1, (HOT,)),
            Check(
                "pump_compressor",
                "compare amps and pressures with the compressor's chart",
                20,
                1,
                (LIVE, HOT),
            ),
            Check("check_cutouts", "check the cut-out's setting and its sensor's place", 15, 1, (LIVE,)),
            Check("read_again", "read again with a second thermometer and zeroed gauges", 10, 1, (HOT,)),
            Check("read_data_plate", "read refrigerant and flow from the data plate", 5, 1),
        )
    }
)
"""Every check that may be proposed."""

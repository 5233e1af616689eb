"""A power that was read with the fan on it: what the compressor alone takes, and what that leaves open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from diagnostics.engine import per_cent
from diagnostics.engine.balance import less_fan
from diagnostics.engine.bench import power_of
from diagnostics.engine.records import MACHINES_WITHOUT_A_FAN, ExchangerFacts, ReadingSet, Warning
from diagnostics.engine.unknowns import Key

FAN_SHARE = (0.05, 0.15)
"""Share of a water-to-air unit's power that its fan takes (common practice, from memory)."""
FAN_POWER_LIMIT = 0.15
"""Limit of error of a fan's power on record, as a share of it: filters and ducts differ (common practice)."""
KEY: Key = ("fan",)


@dataclass(frozen=True, slots=True)
class Compressor:
    """Power of the compressor alone [W], and the standard uncertainty as ln that the fan leaves in it."""

    power_w: float
    spread: float = 0.0


def compressor_alone(facts: ExchangerFacts, reading: ReadingSet, power_w: float) -> Compressor | None:
    """The compressor's share of a power read in this set; None where the fan leaves it nothing."""
    if not reading.power_includes_fan:
        return Compressor(power_w)
    low, high = _limits(facts, power_w)
    return Compressor(*less_fan(power_w, low, high)) if high < power_w else None


def compressor_power(facts: ExchangerFacts, reading: ReadingSet) -> Compressor | None:
    """The compressor's power as read, or by volts, amps and power factor, without the fan."""
    power = power_of(reading)
    return None if power is None or power <= 0 else compressor_alone(facts, reading, power)


def doubted(facts: ExchangerFacts) -> bool:
    """A machine that has no fan on record, by its kind or by an entry."""
    return facts.machine in MACHINES_WITHOUT_A_FAN and facts.fan_power_w is None


def machine_told(facts: ExchangerFacts, *readings: ReadingSet) -> str | None:
    """The machine on record where it moves what is taken off for a fan, and so belongs in a digest."""
    with_fan = any(one.power_includes_fan for one in readings)
    return facts.machine if with_fan and doubted(facts) else None


def _limits(facts: ExchangerFacts, power_w: float) -> tuple[float, float]:
    """Between which powers the fan's lies [W]; from none at all where the machine should have no fan."""
    fan = facts.fan_power_w
    if fan is not None:
        return fan * (1 - FAN_POWER_LIMIT), fan * (1 + FAN_POWER_LIMIT)
    low, high = FAN_SHARE
    return (0.0 if doubted(facts) else low) * power_w, high * power_w


def said(facts: ExchangerFacts, reading: ReadingSet) -> Iterator[Warning]:
    """That the power includes the fan, and what was taken off for it."""
    power = power_of(reading)
    if not reading.power_includes_fan or power is None or power <= 0:
        return
    alone = compressor_alone(facts, reading, power)
    if alone is None:
        yield Warning(
            "fan_power_leaves_nothing",
            f"the power read, {power / 1000:.3g} kW, is said to include the fan, but fan_power on record is "
            f"{(facts.fan_power_w or 0.0) / 1000:.3g} kW: right would be well below the power read; it is "
            "not used",
        )
        return
    low, high = _limits(facts, power)
    told = f"{per_cent.share(low / power)} to {per_cent.share(high / power)} of it"
    if facts.fan_power_w is not None:
        told = f"{facts.fan_power_w / 1000:.3g} kW as on record"
    yield Warning(
        "power_includes_fan",
        f"the power read, {power / 1000:.3g} kW, includes the fan: {told} is taken off, and about "
        f"{alone.power_w / 1000:.3g} kW counts as the compressor's, less surely",
    )
    if doubted(facts):
        yield Warning(
            "fan_on_a_machine_without_one",
            f"a {(facts.machine or '').replace('_', ' ')} has no fan, yet the power is said to include one: "
            "check what the meter was on (a pump?), or enter fan_power",
        )

"""What the gates before any number found, and how they say it."""

from __future__ import annotations

from dataclasses import dataclass, field

from diagnostics.engine import per_cent
from diagnostics.engine.air import AirState
from diagnostics.engine.bench import Bench
from diagnostics.engine.records import Warning

CELSIUS = 273.15


@dataclass(slots=True)
class Gate:
    """What the gates found: `withheld` stops the number, `undecided` stops the verdict, `warnings` say
    why. `takes_heat` names a coil that was probably on, `trips_too_early` tells of a lockout before the least
    minutes, `valve_leaks` that a leaking reversing valve, and no reading, explains an open heat balance."""

    warnings: list[Warning] = field(default_factory=list)
    withheld: bool = False
    undecided: bool = False
    suspect: str | None = None
    air: AirState = "not_tested"
    takes_heat: str | None = None
    trips_too_early: bool = False
    valve_leaks: bool = False

    def stop(self, code: str, text: str, suspect: str | None = None) -> None:
        """Withhold the number for this reason; `suspect` is the column to read again."""
        self.warnings.append(Warning(code, text))
        self.withheld = True
        self.suspect = self.suspect or suspect

    def hold(self, code: str, text: str) -> None:
        """Let the number stand but not a verdict."""
        self.warnings.append(Warning(code, text))
        self.undecided = True

    def note(self, code: str, text: str) -> None:
        """Say it, no more."""
        self.warnings.append(Warning(code, text))


LARGEST_PLAIN_KPA = 1e5


def kilopascal(pressure_pa: float) -> str:
    """Pressure in words; of absurd ones only the size."""
    told = pressure_pa / 1000.0
    return f"{told:.0f} kPa" if abs(told) < LARGEST_PLAIN_KPA else f"{told:.1e} kPa"


def celsius(kelvin: float) -> str:
    """Temperature in words."""
    return f"{kelvin - CELSIUS:.1f} degC"


def fluid_words(bench: Bench) -> str:
    """What is in the water, in words."""
    facts = bench.facts
    if facts.antifreeze != "none" and facts.antifreeze_fraction is None:
        return f"{facts.antifreeze.replace('_', ' ')} of unknown fraction, if it were plain water,"
    if facts.antifreeze == "none" or not facts.antifreeze_fraction:
        return "no antifreeze"
    return f"{per_cent.share(facts.antifreeze_fraction)} {facts.antifreeze.replace('_', ' ')}"

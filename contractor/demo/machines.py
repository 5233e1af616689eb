"""What each machine of the scenario really is: drawn from the seed, the same every time."""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from contractor.demo.scenario import SEED, ExchangerStory, Scenario
from diagnostics.engine.records import WATER_SOURCES
from diagnostics.engine.virtual_unit import CHILLER, HEAT_PUMP, VirtualUnit, rated_unit
from diagnostics.engine.virtual_unit.water_exchanger import WaterExchanger

HANDOVER = date(2023, 10, 2)
INDUCTION_YEARS = 0.1
SPREAD_OF_GROWTH = 0.45
DAYS_A_YEAR = 365.25
COOLING_OF_HEAT = 0.8


def chance(*parts: str) -> np.random.Generator:
    """A source of chance of its own for every name, whatever is drawn elsewhere."""
    return np.random.default_rng([SEED, *(zlib.crc32(part.encode()) for part in parts)])


def of_model(model: dict[str, str]) -> VirtualUnit:
    """The machine as its maker meant it, on plain water; a chiller by its condenser's row."""
    rng = chance("model", model["model"])
    return rated_unit(
        refrigerant=model["refrigerant"],
        kind=model["kind"],
        machine=CHILLER if model["unit_kind"] == "water_cooled_chiller" else HEAT_PUMP,
        expansion=model["expansion"],
        capacity_w=COOLING_OF_HEAT * 1000.0 * float(model["heat_kw"]),
        approach_k=float(rng.uniform(3.0, 4.5)),
        water_share=float(rng.uniform(0.3, 0.4)),
        isentropic=float(rng.uniform(0.64, 0.7)),
        drop_pa=float(rng.uniform(25e3, 40e3)),
    )


@dataclass(frozen=True, slots=True)
class Machine:
    """One exchanger of the scenario and the truth about it; growth in [m2.K/W] a year."""

    story: ExchangerStory
    unit: VirtualUnit
    growth_m2k_per_w_a_year: float
    flow_fraction: float
    scenario: Scenario

    @property
    def surface(self) -> WaterExchanger:
        """The exchanger that this story reads."""
        evaporator = self.unit.evaporator if self.story.name == "evaporator" else None
        return evaporator or self.unit.exchanger

    def fouling_m2k_per_w(self, when: date) -> float:
        """The true fouling resistance on a day, after that day's descale if there was one."""
        level, since = 0.0, HANDOVER
        for descale in self.scenario.descales.get(self.story.key, []):
            if descale.on > when:
                break
            level = descale.residual_fraction * self._grown(level, since, descale.on)
            since = descale.on
        return self._grown(level, since, when)

    def _grown(self, level: float, since: date, when: date) -> float:
        years = (when - since).days / DAYS_A_YEAR - INDUCTION_YEARS
        return level + self.growth_m2k_per_w_a_year * max(years, 0.0)


def machine_of(story: ExchangerStory, scenario: Scenario) -> Machine:
    """A machine of its model, a few per cent off it as every built one is, filled with its site's water."""
    unit = of_model(scenario.models[story.unit["model"]][0])
    rng = chance("machine", story.tag)
    site = story.site
    assert site.water_source in WATER_SOURCES
    films = rng.uniform(0.95, 1.05, size=3)
    exchanger = replace(
        unit.exchanger,
        water_film_w_per_m2k=unit.exchanger.water_film_w_per_m2k * films[0],
        condensing_film_w_per_m2k=unit.exchanger.condensing_film_w_per_m2k * films[1],
        evaporating_film_w_per_m2k=unit.exchanger.evaporating_film_w_per_m2k * films[2],
        antifreeze=site.antifreeze,
        antifreeze_fraction=site.antifreeze_fraction,
    )
    rng = chance("machine", story.key)
    growth = site.growth_m2k_per_w_a_year * float(np.exp(SPREAD_OF_GROWTH * np.clip(rng.normal(), -1.5, 1.5)))
    if story.name == "evaporator":
        growth *= 0.1  # the chilled water runs in a closed circuit of its own
    return Machine(
        story=story,
        unit=replace(unit, exchanger=exchanger),
        growth_m2k_per_w_a_year=growth * scenario.story_of(story).growth_factor,
        flow_fraction=float(rng.uniform(0.88, 1.04)),
        scenario=scenario,
    )

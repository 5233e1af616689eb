"""What each machine of the scenario really is: drawn from the seed, the same every time."""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from contractor.demo.scenario import SEED, ExchangerStory, Scenario
from diagnostics.engine.forward import Nominal, UnitTruth, draw_unit
from diagnostics.engine.records import WATER_SOURCES

HANDOVER = date(2023, 10, 2)
INDUCTION_YEARS = 0.1
SPREAD_OF_GROWTH = 0.45
DAYS_A_YEAR = 365.25


def chance(*parts: str) -> np.random.Generator:
    """A source of chance of its own for every name, whatever is drawn elsewhere."""
    return np.random.default_rng([SEED, *(zlib.crc32(part.encode()) for part in parts)])


def scaled(unit: UnitTruth, nominal: Nominal, cooling_heat_w: float) -> tuple[UnitTruth, Nominal]:
    """The same machine in another size: areas, flows and loads in proportion, films unchanged."""
    ratio = cooling_heat_w / nominal.cooling_heat_w
    exchanger = replace(
        unit.exchanger,
        area_m2=unit.exchanger.area_m2 * ratio,
        rating_flow_kg_per_s=unit.exchanger.rating_flow_kg_per_s * ratio,
    )
    return (
        replace(unit, exchanger=exchanger, line_loss_heat_w=cooling_heat_w),
        replace(nominal, cooling_heat_w=cooling_heat_w, heating_heat_w=nominal.heating_heat_w * ratio),
    )


def of_model(model: dict[str, str]) -> tuple[UnitTruth, Nominal]:
    """The machine as its maker meant it, on plain water."""
    rng = chance("model", model["model"], model["exchanger"])
    unit, nominal = draw_unit(rng, refrigerant_name=model["refrigerant"], kind=model["kind"])
    unit, nominal = scaled(unit, nominal, 1000.0 * float(model["heat_kw"]))
    plain = replace(unit.exchanger, antifreeze="none", antifreeze_fraction=0.0)
    if model["modes"] == "heating":
        # a chiller's evaporator carries its rated heat; a heat pump's heating load is smaller
        nominal = replace(nominal, heating_heat_w=nominal.cooling_heat_w, heating_slope_per_k=0.02)
        plain = replace(plain, heating_arrangement="counterflow")
    return replace(unit, exchanger=plain), nominal


@dataclass(frozen=True, slots=True)
class Machine:
    """One exchanger of the scenario and the truth about it; growth in [m2.K/W] a year."""

    story: ExchangerStory
    unit: UnitTruth
    nominal: Nominal
    growth_m2k_per_w_a_year: float
    flow_fraction: float
    scenario: Scenario

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
    unit, nominal = of_model(story.model)
    rng = chance("machine", story.key)
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
    growth = site.growth_m2k_per_w_a_year * float(np.exp(SPREAD_OF_GROWTH * np.clip(rng.normal(), -1.5, 1.5)))
    if story.name == "evaporator":
        growth *= 0.1  # the chilled water runs in a closed circuit of its own
    return Machine(
        story=story,
        unit=replace(unit, exchanger=exchanger),
        nominal=nominal,
        growth_m2k_per_w_a_year=growth * scenario.story_of(story).growth_factor,
        flow_fraction=float(rng.uniform(0.88, 1.04)),
        scenario=scenario,
    )

"""The invented people, customers, sites, machines and what befell them, as fixtures/scenario/ tells it."""

from __future__ import annotations

import csv
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path

SEED = 20231002
NAMESPACE = uuid.uuid5(uuid.NAMESPACE_DNS, "northmoor.example")


def id_of(*parts: str) -> uuid.UUID:
    """The same name gives the same key every time."""
    return uuid.uuid5(NAMESPACE, "/".join(parts))


def number(text: str) -> float | None:
    return float(text) if text else None


def day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


@dataclass(frozen=True, slots=True)
class SiteStory:
    key: str
    row: dict[str, str]

    @property
    def name(self) -> str:
        return self.row["name"]

    @property
    def water_source(self) -> str:
        return self.row["water_source"]

    @property
    def antifreeze(self) -> str:
        return self.row["antifreeze"]

    @property
    def antifreeze_fraction(self) -> float:
        return float(self.row["antifreeze_fraction"] or 0)

    @property
    def growth_m2k_per_w_a_year(self) -> float:
        return float(self.row["growth_m2k_per_w_a_year"])

    @property
    def us_units(self) -> bool:
        return self.row["units_typed"] == "us"

    @property
    def flow_by(self) -> str:
        return self.row["flow_by"]

    @property
    def power_read(self) -> bool:
        return self.row["power_read"] == "yes"

    def water_k(self, season: str) -> float:
        return float(self.row[f"{season}_water_c"]) + 273.15


@dataclass(frozen=True, slots=True)
class ExchangerStory:
    """One exchanger: its unit's tag, its model's row, and the modes of its clean reference."""

    tag: str
    name: str
    site: SiteStory
    unit: dict[str, str]
    model: dict[str, str]

    @property
    def key(self) -> str:
        return f"{self.tag}/{self.name}"

    @property
    def modes(self) -> tuple[str, ...]:
        return ("cooling", "heating") if self.model["modes"] == "both" else (self.model["modes"],)

    @property
    def clean_reference_modes(self) -> tuple[str, ...]:
        asked = self.unit["clean_reference"]
        if asked == "both":
            return self.modes
        return tuple(mode for mode in self.modes if mode == asked)


@dataclass(frozen=True, slots=True)
class Story:
    """Something that befell an exchanger between two days, and the truth of it in words."""

    kind: str
    starts: date
    ends: date
    flow_fraction: float
    growth_factor: float
    truth: str

    def holds_on(self, when: date) -> bool:
        return self.starts <= when <= self.ends


NOTHING = Story("", date.min, date.min, 1.0, 1.0, "")


@dataclass(frozen=True, slots=True)
class DescaleStory:
    on: date
    residual_fraction: float
    why: str


class Scenario:
    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def rows(self, name: str) -> list[dict[str, str]]:
        with (self.folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    @property
    def first_customer(self) -> str:
        return self.rows("customers")[0]["name"]

    @cached_property
    def sites(self) -> dict[str, SiteStory]:
        return {row["key"]: SiteStory(row["key"], row) for row in self.rows("sites")}

    @cached_property
    def models(self) -> dict[str, list[dict[str, str]]]:
        """Rows by model: one a refrigerant-to-water exchanger of it."""
        found: dict[str, list[dict[str, str]]] = {}
        for row in self.rows("models"):
            found.setdefault(row["model"], []).append(row)
        return found

    @cached_property
    def exchangers(self) -> list[ExchangerStory]:
        return list(self._exchangers())

    def _exchangers(self) -> Iterator[ExchangerStory]:
        for unit in self.rows("units"):
            for model in self.models[unit["model"]]:
                yield ExchangerStory(unit["tag"], model["exchanger"], self.sites[unit["site"]], unit, model)

    @cached_property
    def stories(self) -> dict[str, Story]:
        return {
            f"{row['tag']}/{row['exchanger']}": Story(
                kind=row["story"],
                starts=day(row["from"]) or date.min,
                ends=day(row["until"]) or date.max,
                flow_fraction=number(row["flow_fraction"]) or 1.0,
                growth_factor=number(row["growth_factor"]) or 1.0,
                truth=row["truth"],
            )
            for row in self.rows("stories")
        }

    def story_of(self, exchanger: ExchangerStory) -> Story:
        return self.stories.get(exchanger.key, NOTHING)

    @cached_property
    def descales(self) -> dict[str, list[DescaleStory]]:
        found: dict[str, list[DescaleStory]] = {}
        for row in self.rows("descales"):
            descale = DescaleStory(date.fromisoformat(row["on"]), float(row["residual_fraction"]), row["why"])
            found.setdefault(f"{row['tag']}/{row['exchanger']}", []).append(descale)
        return found

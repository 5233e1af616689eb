"""Reads docker-compose.yml as a container engine would: what is run by hand is what stands in the file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).resolve().parent.parent.parent
FILE = ROOT / "docker-compose.yml"
VARIABLE = re.compile(r"\$(?:\$|\{(?P<name>[A-Z_]+)(?::(?P<how>[-?])(?P<rest>[^}]*))?\})")


class NotGiven(Exception):
    """A variable without a default."""


@dataclass(frozen=True)
class Service:
    name: str
    command: list[str]
    environment: dict[str, str]
    healthcheck: list[str]
    depends_on: list[str]
    volumes: list[str]
    restart: str
    image: str


def filled_in(text: str, variables: Mapping[str, str]) -> str:
    def one(found: re.Match[str]) -> str:
        name, how, rest = found.group("name", "how", "rest")
        if name is None:
            return "$"
        if variables.get(name):
            return variables[name]
        if how == "-":
            return str(rest)
        raise NotGiven(f"{name}: {rest or 'no default'}")

    return VARIABLE.sub(one, text)


def everywhere(value: Any, variables: Mapping[str, str]) -> Any:
    if isinstance(value, str):
        return filled_in(value, variables)
    if isinstance(value, list):
        return [everywhere(part, variables) for part in value]
    if isinstance(value, dict):
        return {key: everywhere(part, variables) for key, part in value.items()}
    return value


def read(variables: Mapping[str, str]) -> dict[str, Service]:
    content = everywhere(yaml.safe_load(FILE.read_text()), variables)
    return {name: service_of(name, found) for name, found in content["services"].items()}


def service_of(name: str, found: dict[str, Any]) -> Service:
    return Service(
        name=name,
        command=[str(word) for word in found["command"]],
        environment={key: str(value) for key, value in found.get("environment", {}).items()},
        healthcheck=found.get("healthcheck", {}).get("test", []),
        depends_on=list(found.get("depends_on", {})),
        volumes=found.get("volumes", []),
        restart=found["restart"],
        image=found["image"],
    )


def variables_asked_for() -> set[str]:
    """Those that have no default: what whoever starts it must give."""
    return {found["name"] for found in VARIABLE.finditer(FILE.read_text()) if found["how"] == "?"}

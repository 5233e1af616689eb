"""The floors hold, and no package escapes them. `lint-imports` reads the same contracts."""

from __future__ import annotations

import tomllib
from pathlib import Path

from importlinter import configuration
from importlinter.application.use_cases import SUCCESS, lint_imports

from tests.tree import ROOT, kept_files

CONTRACTS = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]
[FLOORS] = [contract["layers"] for contract in CONTRACTS if contract["type"] == "layers"]
ON_A_FLOOR = {name.strip(" ()") for floor in FLOORS for name in floor.replace("|", ":").split(":")}


def modules_of(folder: str) -> set[str]:
    """Names of what lies directly in a package's folder."""
    inside = [path.relative_to(folder) for path in kept_files() if path.is_relative_to(folder)]
    parts = {Path(path.parts[0]) for path in inside if path.parts[0] != "__init__.py"}
    return {part.stem for part in parts if part.suffix in ("", ".py")}


def test_imports_keep_to_the_floors() -> None:
    configuration.configure()
    assert lint_imports(config_filename=str(ROOT / "pyproject.toml"), cache_dir=None) == SUCCESS


def test_every_room_of_the_contractor_stands_on_a_floor() -> None:
    assert {f"contractor.{name}" for name in modules_of("contractor")} == {
        name for name in ON_A_FLOOR if name.startswith("contractor.")
    }


def test_every_part_of_diagnostics_but_the_engine_stands_on_a_floor() -> None:
    assert {f"diagnostics.{name}" for name in modules_of("diagnostics")} - {"diagnostics.engine"} == {
        name for name in ON_A_FLOOR if name.startswith("diagnostics.")
    }


def test_the_engine_is_kept_from_everything_else() -> None:
    [engine] = [contract for contract in CONTRACTS if contract["type"] == "forbidden"]
    assert engine["source_modules"] == ["diagnostics.engine"]
    others = {f"diagnostics.{name}" for name in modules_of("diagnostics") if name != "engine"}
    inside = others - {"diagnostics.migrations", "diagnostics.apps"}
    assert {"contractor", "reporting", "django", "celery", "rest_framework", *inside} <= set(
        engine["forbidden_modules"]
    )

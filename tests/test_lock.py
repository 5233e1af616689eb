"""requirements.lock: exact versions with hashes, no addresses, enough for all of pyproject.toml."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import version

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

from tests.tree import ROOT

LOCK = (ROOT / "requirements.lock").read_text()
DIVIDER = "# For the tests only"
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
SERVICE = [Requirement(text) for text in PROJECT["dependencies"]]
TESTS = [Requirement(text) for text in PROJECT["optional-dependencies"]["test"]]
ENTRY = re.compile(r"^([A-Za-z0-9._-]+)(?:\[[\w,-]+\])?==(\S+)(.*?)(?=^\S|\Z)", re.MULTILINE | re.DOTALL)


def locked(text: str) -> dict[str, Version]:
    return {canonicalize_name(name): Version(number) for name, number, _ in ENTRY.findall(text)}


def needed_here(asked: Requirement) -> bool:
    return asked.marker is None or asked.marker.evaluate()


def test_every_line_is_a_version_or_one_of_its_hashes() -> None:
    line = re.compile(r"#.*|[\w.-]+==[\w.+!]+( ; [^;]*)? \\|    --hash=sha256:[0-9a-f]{64}(?: \\)?|")
    assert [one for one in LOCK.splitlines() if not line.fullmatch(one)] == []


def test_every_version_has_a_hash() -> None:
    entries = ENTRY.findall(LOCK)
    assert len(entries) == len(re.findall(r"^[\w.-]+==", LOCK, re.MULTILINE))
    assert [name for name, _, rest in entries if "--hash=sha256:" not in rest] == []


def test_no_package_is_locked_twice() -> None:
    names = [canonicalize_name(name) for name, _, _ in ENTRY.findall(LOCK)]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("asked", SERVICE, ids=str)
def test_what_the_service_needs_is_locked_in_the_first_part(asked: Requirement) -> None:
    assert LOCK.count(DIVIDER) == 1
    assert locked(LOCK.partition(DIVIDER)[0])[canonicalize_name(asked.name)] in asked.specifier


@pytest.mark.parametrize("asked", TESTS, ids=str)
def test_what_the_tests_need_is_locked(asked: Requirement) -> None:
    assert locked(LOCK)[canonicalize_name(asked.name)] in asked.specifier


@pytest.mark.parametrize("asked", [one for one in [*SERVICE, *TESTS] if needed_here(one)], ids=str)
def test_what_runs_here_is_what_is_locked(asked: Requirement) -> None:
    assert Version(version(asked.name)) == locked(LOCK)[canonicalize_name(asked.name)]

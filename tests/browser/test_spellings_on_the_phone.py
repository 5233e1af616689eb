"""The phone takes the spellings of units that files and API take, and means the same by them."""

from __future__ import annotations

import json
import shutil
import subprocess
from typing import Any

import pytest
from django.conf import settings

from diagnostics.engine.quantities import STANDARD_ATMOSPHERE_PA, to_si
from diagnostics.engine.spellings import ALSO

pytestmark = pytest.mark.needs_browser
UNITS = settings.BASE_DIR / "contractor" / "web" / "static" / "web" / "crew" / "units.js"
RUNNER = settings.BASE_DIR / "tests" / "web" / "spellings_on_the_phone.mjs"


@pytest.fixture(scope="module")
def phone() -> dict[str, Any]:
    node = shutil.which("node")
    assert node, "node is missing: install Debian's package nodejs"
    done = subprocess.run([node, str(RUNNER), str(UNITS)], capture_output=True, text=True, check=True)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_both_tables_are_one(phone: dict[str, Any]) -> None:
    ours = {spelling: unit for spelling, unit in ALSO.items() if unit in phone["units"]}
    assert phone["also"] == ours


def test_every_spelling_means_the_same_on_both_sides(phone: dict[str, Any]) -> None:
    assert len(phone["si"]) > 30
    for told, value in phone["si"].items():
        kind, unit = told.split("|")
        expected = to_si(10.0, unit, kind, barometric_pa=STANDARD_ATMOSPHERE_PA)
        assert value == pytest.approx(expected, rel=1e-6), told

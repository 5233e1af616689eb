"""Signatures kept as files, so that another process, or the next day, need not solve them again."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from diagnostics.engine.causes.shapes import Curve, Point, Signatures
from diagnostics.engine.virtual_unit import VirtualUnit

MOST_FILES, DROPPED = 4000, 1000
ENDING = ".npz"
UNREADABLE = (OSError, ValueError, KeyError, EOFError)


@cache
def model_digest() -> str:
    """Digest of the code that signatures follow from: changed code, new signatures."""
    engine = Path(__file__).parent.parent
    files = [Path(__file__).with_name("signatures.py"), Path(__file__).with_name("residuals.py")]
    for folder in ("virtual_unit", "refrigerants"):
        files += sorted((engine / folder).glob("*.py"))
    whole = hashlib.sha256()
    for file in files:
        whole.update(file.read_bytes())
    return whole.hexdigest()


class Shelf:
    """The place of one unit's signatures at one point, named by a digest of all they rest on."""

    def __init__(self, folder: Path, rests_on: object) -> None:
        name = hashlib.sha256(repr((model_digest(), rests_on)).encode()).hexdigest()
        self.folder, self.file = folder, folder / f"{name}{ENDING}"

    def taken(self, unit: VirtualUnit, point: Point) -> Signatures | None:
        """What is kept there; None where nothing is, or nothing readable."""
        try:
            with np.load(self.file, allow_pickle=False) as kept:
                parts = {name: kept[name] for name in kept.files}
            return _signatures(parts, unit, point)
        except UNREADABLE:
            return None

    def put(self, found: Signatures) -> None:
        """Keep them. A folder that cannot be written to costs time, nothing else."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            drop_oldest(self.folder)
            handle, name = tempfile.mkstemp(dir=self.folder, suffix=".part")
            with os.fdopen(handle, "wb") as file:
                np.savez(file, allow_pickle=False, **_parts(found))
            Path(name).replace(self.file)
        except OSError:
            return


def drop_oldest(folder: Path, most: int = MOST_FILES, dropped: int = DROPPED) -> None:
    """Where too many are kept, those that were made first go."""
    files = list(folder.glob(f"*{ENDING}"))
    if len(files) < most:
        return
    for file in sorted(files, key=lambda one: one.stat().st_mtime)[:dropped]:
        file.unlink(missing_ok=True)


def _parts(found: Signatures) -> dict[str, Any]:
    words = {
        "trip": found.clean_trip,
        "curves": [[one.causes, one.severities, one.trips] for one in found.curves],
    }
    parts = {
        "words": np.array(json.dumps(words)),
        "clean": found.clean,
        "unit": found.unit_sensitivity,
        "visit": found.visit_sensitivity,
    }
    for place, curve in enumerate(found.curves):
        parts |= {f"means{place}": curve.means, f"steps{place}": curve.steps}
    return parts


def _signatures(parts: dict[str, np.ndarray], unit: VirtualUnit, point: Point) -> Signatures:
    words = json.loads(str(parts["words"]))
    curves = tuple(
        Curve(
            tuple(causes),
            tuple(tuple(size) for size in sizes),
            parts[f"means{place}"],
            parts[f"steps{place}"],
            tuple(trips),
        )
        for place, (causes, sizes, trips) in enumerate(words["curves"])
    )
    return Signatures(unit, point, parts["clean"], words["trip"], parts["unit"], parts["visit"], curves)

"""A confusion matrix drawn as SVG, its shares written in the cells so that colour is not needed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

CELL, LEFT, TOP = 30, 200, 170


def confusion_svg(pairs: Sequence[tuple[str, str]], names: Sequence[str]) -> str:
    """Rows are what was true, columns what came first; numbers are per cent of the row."""
    columns = [*names, "other_fault"]
    counts, rows = Counter(pairs), Counter(true for true, _ in pairs)
    shown = [name for name in names if rows[name]]
    width, height = LEFT + CELL * len(columns) + 60, TOP + CELL * len(shown) + 10
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}" font-family="sans-serif" font-size="11">',
        "<title>True cause (rows) against the cause ranked first (columns), per cent of the row</title>",
        f'<rect width="{width}" height="{height}" fill="white"/>',
    ]
    for place, name in enumerate(columns):
        x = LEFT + CELL * place + CELL / 2 + 4
        parts.append(
            f'<text transform="translate({x},{TOP - 6}) rotate(-60)">{name.replace("_", " ")}</text>'
        )
    for line, true in enumerate(shown):
        y = TOP + CELL * line
        parts.append(f'<text x="{LEFT - 8}" y="{y + 19}" text-anchor="end">{true.replace("_", " ")}</text>')
        parts += [
            _cell(LEFT + CELL * at, y, counts[true, name] / rows[true]) for at, name in enumerate(columns)
        ]
    return "\n".join([*parts, "</svg>"]) + "\n"


def _cell(x: float, y: float, share: float) -> str:
    grey = round(255 - 205 * share)
    box = (
        f'<rect x="{x}" y="{y}" width="{CELL}" height="{CELL}" fill="rgb({grey},{grey},255)" stroke="#bbb"/>'
    )
    if share < 0.005:
        return box
    ink = "white" if share > 0.6 else "black"
    at = f'x="{x + CELL / 2}" y="{y + 19}" text-anchor="middle" fill="{ink}"'
    return f"{box}<text {at}>{100 * share:.0f}</text>"

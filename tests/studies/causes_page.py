"""Puts what the studies of causes kept on the documentation's page, and the confusion matrix beside it.

    python -m tests.studies.causes_page FULL.jsonl PERTURBED.jsonl SURVEY.txt [--engine VERSION]

FULL and PERTURBED are what `tests.studies.causes --out` kept without and with `--perturbed`; SURVEY is what
`tests.studies.causes_survey` printed.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path

from diagnostics.engine.version import ENGINE_VERSION
from tests.studies.causes import (
    VISITS,
    Outcome,
    calibration_error,
    calibration_floor,
    chemical_figures,
    marked,
    share,
    told_in,
)
from tests.studies.causes_cases import INJECTED
from tests.studies.causes_figure import confusion_svg
from tests.studies.page import PAGE, write_section

FIGURE = PAGE.with_name("causes-confusion.svg")
AIMS = {
    ("full", "first"): "at least 0.85",
    ("full", "in two"): "at least 0.95",
    ("quick", "first"): "at least 0.70",
    ("quick", "in two"): "at least 0.88",
}
LOSS = "loses less than 0.10"


def rows_of(outcomes: Sequence[Outcome], perturbed: bool) -> Iterator[tuple[str, float, int, str]]:
    """Name, figure, number of cases, aim."""
    kind = ", perturbed" if perturbed else ""
    for visit in VISITS:
        mine = [one for one in outcomes if one.visit == visit]
        faulty = [one for one in mine if one.cause != "nothing_wrong"]
        sound = [one for one in mine if one.cause == "nothing_wrong"]
        slight = [one for one in faulty if one.level == "just_noticeable"]
        plain = marked(mine)
        what = f"{visit} visit{kind}"
        for name, figure in (("first", "right"), ("in two", "in_two")):
            aim = LOSS if perturbed else AIMS[visit, name]
            yield f"{what}: plain and heavy, {name}", share(plain, figure), len(plain), aim
        yield f"{what}: the same, low flow from outside as one", share(plain, "in_group"), len(plain), ""
        yield f"{what}: just noticeable, first", share(slight, "right"), len(slight), "reported"
        yield f"{what}: just noticeable, in two", share(slight, "in_two"), len(slight), "reported"
        yield f"{what}: nothing wrong, first", share(sound, "right"), len(sound), "at least 0.90"
        wrong, withheld = chemical_figures(mine)
        clean = [one for one in mine if one.cause != "exchanger_fouled"]
        fouled = [one for one in plain if one.cause == "exchanger_fouled"]
        yield f"{what}: chemical work proposed on clean exchangers", wrong, len(clean), "at most 0.02"
        yield f"{what}: withheld from plainly or heavily fouled", withheld, len(fouled), "at most 0.20"
        error, floor = calibration_error(mine), calibration_floor(mine)
        aim = f"below 0.05; chance alone {floor:.3f}"
        yield f"{what}: expected calibration error", error, len(mine), aim


def page(full: Sequence[Outcome], perturbed: Sequence[Outcome], survey: str, engine: str) -> str:
    lines = [
        f"{datetime.now(UTC):%Y-%m-%d}, engine {engine}: {len(full) // 2} cases of seed 1, "
        f"{len(perturbed) // 2} perturbed ones of seed 2.",
        "",
        "| | share | of | aim |",
        "|---|---|---|---|",
    ]
    for outcomes, moved in ((full, False), (perturbed, True)):
        lines += [f"| {n} | {v:.3f} | {c} | {a} |" for n, v, c, a in rows_of(outcomes, moved)]
    lines += ["", f"![What was true against what came first, full visit]({FIGURE.name})", ""]
    return "\n".join([*lines, "Surveys of loops:", "", *(f"    {line}" for line in survey.splitlines())])


def main() -> None:
    """Write page and figure."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    for name in ("full", "perturbed", "survey"):
        parser.add_argument(name, type=Path)
    parser.add_argument("--engine", default=ENGINE_VERSION, help="version that the cases were run with")
    asked = parser.parse_args()
    full, perturbed = told_in(asked.full), told_in(asked.perturbed)
    write_section("causes", page(full, perturbed, asked.survey.read_text(), asked.engine))
    shown = marked([one for one in full if one.visit == "full"])
    FIGURE.write_text(confusion_svg([(one.cause, one.first) for one in shown], INJECTED))


if __name__ == "__main__":
    main()

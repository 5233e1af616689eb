"""What refuses a plan. Refused, not warned about: each with its words and where it is put right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from contractor.descales.planning.bath import most_solution_m3, solution_of, strength_of
from contractor.descales.planning.circulation import circulation_refuses
from contractor.descales.planning.facts import PlanFacts
from contractor.register.api.base import described
from diagnostics.engine import per_cent
from diagnostics.engine.descaling.choice import RIGHT_TOOL
from diagnostics.engine.descaling.cleaners import CleanerSheet, fitness
from diagnostics.engine.descaling.gates import Gate, exchanger_gates, water_gates
from diagnostics.engine.descaling.rig import tank_needed_m3

FLUSHED_AWAY = ("treatment_other",)
"""Asked gates that flushing until a strip shows none answers as well."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """A code for programs, words for people."""

    code: str
    words: str

    def as_json(self) -> dict[str, str]:
        return {"code": self.code, "words": self.words}


def refusals(facts: PlanFacts) -> list[Refusal]:
    """Everything that stands against a plan, all at once; empty where nothing does."""
    return [*_of_consent(facts), *_of_crew(facts), *_of_water(facts), *_of_sheet(facts), *_of_metals(facts),
            *_of_place(facts), *_of_deposit(facts), *_of_solution(facts)]  # fmt: skip


def _of_consent(facts: PlanFacts) -> Iterator[Refusal]:
    if not facts.consented:
        yield Refusal("no_consent", "The customer's yes is not on record; the office records it first.")


def _of_crew(facts: PlanFacts) -> Iterator[Refusal]:
    if facts.visit.unfit:
        yield Refusal("crew_not_fit", f"The visit's crew does not do chemical work. {facts.visit.unfit}")


def gates_of(facts: PlanFacts) -> list[Gate]:
    """What the water and the coil ask before any acid: refused, asked, or flushed away first."""
    sheet = facts.cleaner.sheet
    about = exchanger_gates(
        heats_drinking_water=facts.heats_drinking_water, black_slime=facts.black_slime, unknown_parts=()
    )
    return [*water_gates(facts.treatments or None, sheet.acids if sheet else ()), *about]


def _of_water(facts: PlanFacts) -> Iterator[Refusal]:
    for gate in gates_of(facts):
        if gate.weight != "flush_first" and gate.code not in FLUSHED_AWAY:
            yield Refusal(gate.code, gate.words)


def _of_sheet(facts: PlanFacts) -> Iterator[Refusal]:
    state = facts.cleaner
    if state.retired:
        yield Refusal("cleaner_retired", "This cleaner is retired.")
    if state.missing:
        lacks = ", ".join(described(name).partition(" [")[0] for name in state.missing)
        yield Refusal("sheet_incomplete", f"The cleaner's sheet lacks {lacks}.")
    if state.lapsed_papers:
        lapsed = " and ".join(state.lapsed_papers)
        yield Refusal(
            "sheet_lapsed", f"Lapsed: {lapsed}. The office gets the one in force from the supplier."
        )
    day = facts.asked.starts_at.astimezone(facts.zone).date() if facts.asked.starts_at else facts.today
    expired = [lot for lot, expires, _ in state.lots if expires is not None and expires < day]
    if state.lots and len(expired) == len(state.lots):
        yield Refusal("lots_lapsed", f"Every lot of this cleaner in stock has lapsed by {day}.")


def _of_metals(facts: PlanFacts) -> Iterator[Refusal]:
    for part in facts.wetted.unknown:
        words = f"{part.replace('_', ' ').capitalize()}: metal or seal is not known; no acid goes on it."
        yield Refusal("unknown_material", words)
    sheet = facts.cleaner.sheet
    if sheet is None or not facts.wetted.materials:
        return
    for row in fitness(sheet, facts.wetted.materials).against:
        code = "only_inhibited" if row.state == "only_inhibited" else "forbidden_material"
        material = row.material.replace("_", " ")
        yield Refusal(code, f"{row.acid} acid on {material}: {row.reason} ({row.source}).")


def _of_place(facts: PlanFacts) -> Iterator[Refusal]:
    asked = facts.asked
    if asked.in_a_pit and not asked.confined_space_permit:
        yield Refusal("confined_space", "A pit or vault is a confined space: its permit is named first.")
    for name in ("low_side_rating", "relief_setting"):
        if getattr(facts, f"{name}_pa_gauge") is None:
            words = f"The unit's {name.replace('_', ' ')} is not known: it caps the solution's temperature."
            yield Refusal(f"{name}_not_known", words)
    if _in_quiet_hours(facts) and not facts.quiet_agreed:
        yield Refusal(
            "quiet_hours", "The pump would run in the site's quiet hours; the customer agrees first."
        )


def _of_deposit(facts: PlanFacts) -> Iterator[Refusal]:
    """What the crew named, having looked, goes before what water and history make likely."""
    named, likely = RIGHT_TOOL.get(facts.asked.deposit), facts.expected.wrong_tool
    if named:
        yield Refusal("acid_is_the_wrong_tool", f"Acid is the wrong tool. {named}")
    elif likely and not facts.asked.deposit:
        yield Refusal(
            "acid_is_the_wrong_tool",
            f"Acid is likely the wrong tool ({per_cent.chance(facts.expected.by_acid)} that it dissolves "
            f"this). {likely} If a flake fizzes in a drop of acid, name the deposit and ask again.",
        )


def _of_solution(facts: PlanFacts) -> Iterator[Refusal]:
    if facts.content_m3 is None:
        yield Refusal(
            "content_not_known", "What the exchanger holds is not known: content, or bore and length."
        )
    rig = facts.rig
    lacks = [name for name in ("tank_m3", "hose_length_m", "hose_bore_m") if getattr(rig, name) is None]
    if lacks:
        yield Refusal("rig_incomplete", "The rig's tank volume, hose length and hose bore are not all known.")
    solution = solution_of(facts)
    if (
        solution is not None
        and rig.tank_m3 is not None
        and tank_needed_m3(solution) > rig.tank_m3 * (1 + 1e-9)
    ):
        yield Refusal(
            "tank_too_small",
            f"The tank holds {rig.tank_m3 * 1000:.0f} L; drain-back and a third for foam take "
            f"{tank_needed_m3(solution) * 1e3:.0f} L. It is good for {most_solution_m3(facts) * 1e3:.0f} L.",
        )
    if facts.cleaner.sheet is not None:
        yield from _of_strength(facts, facts.cleaner.sheet)
    yield from (Refusal(code, words) for code, words in circulation_refuses(facts))


def _of_strength(facts: PlanFacts, sheet: CleanerSheet) -> Iterator[Refusal]:
    low, _, high = sheet.strengths
    if not low <= strength_of(facts, sheet) <= high:
        yield Refusal(
            "strength_off_the_label",
            f"{per_cent.share(strength_of(facts, sheet), 1)} is off the label; expected "
            f"{per_cent.share(low, 1)} to {per_cent.share(high, 1)}.",
        )


def _in_quiet_hours(facts: PlanFacts) -> bool:
    """Whether any quarter hour of the work falls into the quiet hours, across midnight too."""
    starts, sheet = facts.asked.starts_at, facts.cleaner.sheet
    if facts.quiet is None or starts is None:
        return False
    length = timedelta(seconds=(sheet.longest_time_s if sheet else 4 * 3600.0) + 3600.0)
    moments = int(length / timedelta(minutes=15)) + 1
    return any(_quiet_at(facts, starts + timedelta(minutes=15 * n)) for n in range(moments))


def _quiet_at(facts: PlanFacts, moment: datetime) -> bool:
    assert facts.quiet is not None
    begins, ends = facts.quiet
    clock = moment.astimezone(facts.zone).time()
    return begins <= clock < ends if begins <= ends else clock >= begins or clock < ends

"""The job sheet of a descale: what to do first, the dose, when it must be out, every step with its box."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, Table

from reporting.documents import amounts, parts, words
from reporting.documents.cautions import cautions
from reporting.documents.drawn import Box, qr_code
from reporting.documents.frame import Imprint, build, text_width_of
from reporting.documents.job_facts import JobSheet, Step
from reporting.documents.palette import PALETTE
from reporting.documents.row_table import RowTable

STOPS = (
    "Copper strip above the sheet's figure, or blue deepening from one look to the next: stop.",
    "Level falling: a leak, stop. Level rising: pump off, shut the hose valves, re-seat the leaking valve, "
    "spare container, then drain.",
    "Bubbles or oil while no acid is being used: refrigerant may be leaking. Stop, ventilate, call a "
    "certified person.",
    "Brown or sharp fumes, a smell of rotten eggs, or the gas alarm: pump off, leave, ventilate.",
)
INTO_WATER = (
    "Acid into water, never the reverse. Wait for foam and heat to settle between portions. Never a second "
    "cleaner into the same bath."
)
ENOUGH = {
    "one_batch": "One batch is enough.",
    "one_or_more": "One batch may be enough; have a second ready.",
    "more_than_one": "One batch is not enough: a fresh one when the strength is spent.",
    "titration_decides": "How many batches it takes is not known: titration decides.",
}
ROOMS = {
    "natural_ventilation": "natural ventilation does",
    "fan_and_meter": "a fan and a carbon dioxide meter",
    "forced_ventilation_or_no_work": "no work without forced ventilation",
    "not_known_fan_and_meter": "the room's volume is not known: a fan and a carbon dioxide meter",
}
PUMPS = {
    "small_transfer_pump": "a small transfer pump of about a quarter horsepower serves",
    "larger_pump": "a larger pump is needed, about one horsepower",
    "neither": "neither a small nor a one-horsepower pump serves: wider hoses or fewer units at a time",
}


def title_of(sheet: JobSheet) -> str:
    when = f", {words.day(sheet.starts_at)}" if sheet.starts_at else ""
    return f"Job sheet: descale of {sheet.place.unit}{when}"


def render(sheet: JobSheet, paper: str = "a4") -> bytes:
    width = text_width_of(paper)
    imprint = Imprint(
        contractor=sheet.place.contractor,
        title=title_of(sheet),
        subject=_first(sheet),
        foot=f"{sheet.place.customer} · {sheet.place.site} · plan {sheet.plan[:12]}",
    )
    return build(story(sheet, width), paper, imprint)


def story(sheet: JobSheet, width: float) -> list[Flowable]:
    return [
        *_top(sheet, width),
        *_help(sheet, width),
        *_dose(sheet, width),
        *_stop(sheet, width),
        *_clock(sheet, width),
        *_steps(sheet, width),
        *_after(sheet, width),
        *_kit(sheet, width),
        *_cautions(sheet, width),
    ]


def _first(sheet: JobSheet) -> str:
    return f"No acid before every check is passed. Then {_in_labels_terms(sheet)} into the running water."


def _in_labels_terms(sheet: JobSheet) -> str:
    dose = sheet.dose
    amount = amounts.litres(dose.product_m3) if dose.product_m3 else amounts.kilograms(dose.product_kg)
    return f"{amount} of {sheet.chemical.name} in {len(dose.portions_kg)} portions"


def _top(sheet: JobSheet, width: float) -> list[Flowable]:
    place, code = sheet.place, 92.0
    out = amounts.lasting(sheet.limits.batch_time)
    told = [
        f"{place.site}, unit {place.unit}{', ' + place.place if place.place else ''}. "
        f"{amounts.acid_names(sheet.chemical.acids).capitalize()}, "
        f"{amounts.per_cent(sheet.dose.strength)} by mass, "
        f"no warmer than {amounts.temperature(sheet.limits.cap_k)}.",
        f"Every batch is out {out} after the first acid, whatever the log says.",
    ]
    if sheet.limits.against:
        told.append("Not to the drain as planned: " + "; ".join(sheet.limits.against) + ".")
    message = parts.message(
        "Before any acid", _first(sheet), parts.text(told[0], "verdict"), told[1:], width - code - 14
    )
    right: list[Flowable] = [
        qr_code(sheet.address_of_job, code),
        parts.text("Scan: this job on the phone, its checks, clocks and log.", "small"),
    ]
    look = [("VALIGN", (0, 0), (-1, -1), "TOP"), *_bare()]
    table = Table([[message, right]], colWidths=[width - code, code], style=parts.looking(look))
    return [parts.Bookmark("Before any acid"), table]


def _bare() -> list[tuple[object, ...]]:
    sides = ("LEFTPADDING", "RIGHTPADDING", "TOPPADDING", "BOTTOMPADDING")
    return [(side, (0, 0), (-1, -1), 0) for side in sides]


def _help(sheet: JobSheet, width: float) -> list[Flowable]:
    place, chemical = sheet.place, sheet.chemical
    rows = [
        ("Emergency number", sheet.emergency_phone or "____________________"),
        ("Supplier's number", chemical.supplier_phone or "see the safety data sheet"),
        ("Site address", ", ".join(filter(None, [place.site, place.address]))),
        ("Eyewash at", sheet.eyewash or "____________________"),
    ]
    told: list[Flowable] = [parts.pairs(rows, width), parts.gap(4)]
    told.append(parts.text(chemical.first_aid or FIRST_AID, lead="First aid."))
    if sheet.safety_notes:
        told += [parts.gap(3), parts.text(words.sentence(sheet.safety_notes), lead="This site.")]
    if chemical.missing_papers:
        lack = words.listed([words.plain_name(name) for name in chemical.missing_papers])
        told += [
            parts.gap(3),
            parts.text(f"Not on file: {lack}. Have them in hand before acid.", lead="Papers."),
        ]
    return parts.section("If someone is hurt", *told, kept=len(told))


FIRST_AID = (
    "Eyes and skin: 15 minutes of running water, then a doctor. Breathed in: fresh air. Swallowed: rinse the "
    "mouth, no vomiting. Take the safety data sheet along."
)


def _dose(sheet: JobSheet, width: float) -> list[Flowable]:
    dose = sheet.dose
    product = amounts.kilograms(dose.product_kg)
    if dose.product_m3:
        product = f"{amounts.litres(dose.product_m3)}, which is {product}"
    each = f"{len(dose.portions_kg)} of {amounts.kilograms(dose.portions_kg[0])}" if dose.portions_kg else "–"
    rows: list[tuple[str, str]] = [
        ("Water first", amounts.litres(dose.water_m3)),
        (f"Then {sheet.chemical.name}", product),
        ("In portions", each),
        ("Makes", f"{amounts.litres(dose.solution_m3)} at {amounts.per_cent(dose.strength)} by mass"),
        ("Batches", _batches(sheet)),
        ("Deposit expected", amounts.mass_range(sheet.deposit_kg) if sheet.deposit_kg else "not known"),
        ("Fresh bath looks", sheet.chemical.fresh_colour or "as its sheet says"),
    ]
    told: list[Flowable] = [parts.table(("One batch", ""), rows, (3, 7), width)]
    told += [parts.gap(4), parts.text(INTO_WATER, "small")]
    return parts.section("The dose", *told, kept=len(told))


def _batches(sheet: JobSheet) -> str:
    told = ENOUGH.get(sheet.dose.enough, "")
    if sheet.dose.batches is None:
        return told or ENOUGH["titration_decides"]
    fewest, likely, most = sheet.dose.batches
    span = f"{likely} likely" + (f", {fewest} to {most} possible" if fewest != most else "")
    return f"{span}. {told}".strip()


def _clock(sheet: JobSheet, width: float) -> list[Flowable]:
    """Stop times in print: of batches that are mixed, else over the visit; and a line to write on."""
    time = sheet.limits.batch_time
    if sheet.mixed:
        rows = [
            (f"Batch {n}", amounts.clock(start), amounts.clock(out), "")
            for n, (start, out) in enumerate(sheet.mixed, 1)
        ]
    else:
        rows = [
            (f"If it goes in at {amounts.clock(at)}", amounts.clock(at), amounts.clock(at + time), "")
            for at in _ladder(sheet.starts_at)
        ]
    rows += [("Batch ___ as mixed", "____ : ____", "____ : ____", "")]
    told: list[Flowable] = [
        parts.table(("", "First acid", "Out by", "Out at"), rows, (4, 2, 2, 2), width),
        parts.gap(4),
        parts.text(
            f"Looks at {_looks(sheet)} minutes, then every ten. Titrate at ten, then every 20 to 30.", "small"
        ),
    ]
    return parts.section(f"Stop times: {amounts.lasting(time)} after the first acid", *told, kept=len(told))


def _looks(sheet: JobSheet) -> str:
    return words.listed([str(m) for m in sheet.looks_min[:4] or (0, 3, 6, 10)])


def _ladder(start: datetime | None) -> list[datetime]:
    if start is None:
        return []
    half = timedelta(minutes=30)
    first = start.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)
    return [first + n * half for n in range(6)]


def _stop(sheet: JobSheet, width: float) -> list[Flowable]:
    chemical = sheet.chemical
    told = list(STOPS)
    if chemical.copper_limit_mg_per_l:
        figures = f"Copper {words.number(chemical.copper_limit_mg_per_l, 3)} mg/L"
        if chemical.iron_limit_mg_per_l:
            figures += f", iron {words.number(chemical.iron_limit_mg_per_l, 3)} mg/L"
        told[0] = f"{told[0]} The sheet's figures: {words.inside(figures)}."
    cap = f"Warmer than {amounts.temperature(sheet.limits.cap_k)} ({_because(sheet)}): stop."
    heading = "Stop means: drain and rinse now"
    return parts.section(heading, parts.numbered([*told, cap], width, "body", "–"))


def _because(sheet: JobSheet) -> str:
    return {
        "label": "the label's limit",
        "low_side_rating": "shut-in refrigerant against the data plate's low side",
        "relief_setting": "shut-in refrigerant against its relief device",
    }.get(sheet.limits.cap_because, words.plain_name(sheet.limits.cap_because))


STAGES = {"before acid": "Checks before acid, in this order", "acid": "Acid", "end": "End and putting back"}


def _steps(sheet: JobSheet, width: float) -> list[Flowable]:
    shown: list[Flowable] = []
    number = 0
    for stage in dict.fromkeys(step.stage for step in sheet.steps):
        mine = [step for step in sheet.steps if step.stage == stage]
        table = _ticked(mine, number, width)
        number += len(mine)
        shown += parts.section(STAGES.get(stage, stage.capitalize()), table)
    if sheet.treatments:
        names = words.listed([words.plain_name(name) for name in sheet.treatments])
        said = f"The water is treated: {names}. Flush until a test strip shows none; catch the flush water."
        shown += [parts.gap(3), parts.text(said, "small")]
    if sheet.balancing_valve:
        shown.append(parts.text(f"Balancing valve on record at: {sheet.balancing_valve}.", "small"))
    return shown


def _ticked(steps: Sequence[Step], before: int, width: float) -> Table:
    cells: list[list[Any]] = [["", "", "", parts.text("Reading, time, who", "head")]]
    for n, step in enumerate(steps, before + 1):
        said = words.sentence(step.words)
        more = " Never left open." if step.always and step.stage == "end" else ""
        cells.append([Box(), parts.text(f"{n}", "cell-muted"), parts.text(said + more, "cell"), ""])
    look = [
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 8),
        ("TOPPADDING", (0, 0), (-1, -1), 4),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
        ("LINEBELOW", (0, 0), (-1, -1), 0.5, HexColor(PALETTE["rule"])),
    ]
    return RowTable(cells, colWidths=[18, 22, width - 190, 150], style=parts.looking(look), repeatRows=1)


def _after(sheet: JobSheet, width: float) -> list[Flowable]:
    rows = [row for row in (
        ("Neutralise the bath", _neutralise(sheet)),
        ("Through the coil", _through_coil(sheet)),
        ("Rinses", _rinses(sheet)),
        ("Waste", f"about {amounts.litres(sheet.waste_m3)}" if sheet.waste_m3 else ""),
        ("It may go to", _route(sheet)),
        ("The site's limits", "; ".join(f"{name} {value}" for name, value in sheet.limits.discharge)),
        ("Carbon dioxide", _gas(sheet)),
        ("Pump", _pump(sheet)),
        ("Noise", _noise(sheet)),
    ) if row[1]]  # fmt: skip
    return parts.section("Quantities besides", parts.table(("", ""), rows, (3, 7), width))


def _agent(sheet: JobSheet) -> str:
    return words.plain_name(sheet.neutraliser) if sheet.neutraliser else "neutraliser"


def _neutralise(sheet: JobSheet) -> str:
    mass = sheet.neutralise_bath_kg
    if mass is None:
        return ""
    most = f", {amounts.kilograms(mass.high)} if it is still fresh" if mass.high > mass.value else ""
    return f"{amounts.kilograms(mass.value)} of {_agent(sheet)}{most}; in portions, it foams"


def _through_coil(sheet: JobSheet) -> str:
    mass = sheet.neutralise_surface_kg
    return f"{amounts.kilograms(mass)} of {_agent(sheet)}, from a second, clean tank" if mass else ""


def _rinses(sheet: JobSheet) -> str:
    if sheet.rinses is None or sheet.rinse_m3 is None:
        return ""
    return (
        f"{sheet.rinses} of {amounts.litres(sheet.rinse_m3)} at least, the first one caught; the last five "
        "to ten minutes and until pH and conductivity are the supply's"
    )


def _route(sheet: JobSheet) -> str:
    limits = sheet.limits
    if not limits.route:
        return "nowhere yet: hold it, and ask the authority"
    permit = f", {limits.permit}" if limits.permit else ", no permit on file"
    return f"{words.plain_name(limits.route)}{permit}; never to storm drain, ground, well or septic tank"


def _gas(sheet: JobSheet) -> str:
    if sheet.gas_m3 is None:
        return ROOMS.get(sheet.room, "")
    share = f", {amounts.per_cent(sheet.gas_share)} of the room's air" if sheet.gas_share is not None else ""
    return (
        f"up to {words.number(sheet.gas_m3 * 1000, 2)} L a batch{share}: {ROOMS.get(sheet.room, sheet.room)}"
    )


def _pump(sheet: JobSheet) -> str:
    told = [PUMPS.get(sheet.pump, "")]
    if sheet.flow_wanted_m3_per_s:
        told.append(f"wanted {amounts.flow(sheet.flow_wanted_m3_per_s)}")
    if sheet.flow_reached_m3_per_s:
        told.append(f"this rig reaches {amounts.flow(sheet.flow_reached_m3_per_s)}")
    return "; ".join(filter(None, told))


def _noise(sheet: JobSheet) -> str:
    told = [f"{sheet.sound_level_db:.0f} dB(A) at 1 m" if sheet.sound_level_db else "", sheet.quiet_hours]
    return "; ".join(filter(None, told))


_LISTED: list[Any] = [
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 2.5),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
]


def _kit(sheet: JobSheet, width: float) -> list[Flowable]:
    if not sheet.kit:
        return []
    half = (len(sheet.kit) + 1) // 2
    columns = [
        Table(
            [[Box(), parts.text(words.sentence(item).rstrip("."), "cell")] for item in column] or [["", ""]],
            colWidths=[18, width / 2 - 26],
            style=parts.looking(_LISTED),
        )
        for column in (sheet.kit[:half], sheet.kit[half:])
    ]  # fmt: skip
    both = Table([columns], colWidths=[width / 2] * 2,
                 style=parts.looking([("VALIGN", (0, 0), (-1, -1), "TOP"), *_bare()]))  # fmt: skip
    return parts.section("In the van", both)


def _cautions(sheet: JobSheet, width: float) -> list[Flowable]:
    told = cautions(
        chemical=True,
        refrigerant=sheet.place.refrigerant,
        antifreeze=sheet.place.antifreeze,
        water_source=sheet.place.water_source,
        emergency_phone=sheet.emergency_phone,
    )
    told += _of_this_acid(sheet)
    return parts.section("Cautions", parts.numbered(told, width, "cell", "–"))


def _of_this_acid(sheet: JobSheet) -> list[str]:
    told = []
    if "sulfamic" in sheet.chemical.acids and "nitrite" in sheet.treatments:
        told.append("Sulfamic acid gasses violently on nitrite: no drop before the test strip shows none.")
    if sheet.chemical.disposal:
        told.append(words.sentence(sheet.chemical.disposal))
    return told

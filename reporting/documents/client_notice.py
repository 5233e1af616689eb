"""The notice before a descale: when, how long without cooling, with what, what will be heard."""

from __future__ import annotations

from reportlab.platypus import Flowable

from reporting.documents import parts, words
from reporting.documents.frame import Imprint, build, text_width_of
from reporting.documents.job_facts import ClientNotice

WHAT_HAPPENS = (
    "The unit is stopped and locked, and its water side is shut off from the building's loop.",
    "A cleaning solution is pumped through its heat exchanger from a tank beside it, then drained, and the "
    "exchanger is rinsed with clean water.",
    "The water is put back, the unit is tested for leaks and started, and its readings are taken again.",
)
WHAT_TO_DO = (
    "Keep the plant room and the way to it free, and keep everyone but our crew out while the work goes on.",
    "Leave the machine, its valves and our locks alone; the locks are there for someone's safety.",
    "If anything smells sharp or of rotten eggs, leave the room and call us or the emergency number.",
)


def title_of(of: ClientNotice) -> str:
    return f"Notice of work: unit {of.place.unit}, {words.day(of.starts_at)}"


def render(of: ClientNotice, paper: str = "a4") -> bytes:
    width = text_width_of(paper)
    number = f" · no. {of.number[:12]}" if of.number else ""
    imprint = Imprint(
        contractor=of.place.contractor,
        title=title_of(of),
        subject=_headline(of),
        foot=f"{of.place.customer} · {of.place.site}{number}",
    )
    return build(story(of, width), paper, imprint)


def _headline(of: ClientNotice) -> str:
    hours = words.fixed(of.hours_without_cooling, 0 if of.hours_without_cooling >= 3 else 1)
    return f"{words.moment_words(of.starts_at)}: about {hours} hours without this unit."


def story(of: ClientNotice, width: float) -> list[Flowable]:
    place = of.place
    where = ", ".join(filter(None, [place.unit, place.place, place.site]))
    first = parts.text(f"We descale the heat exchanger of unit {where}.", "verdict")
    told = [f"What you will hear: {of.noise.rstrip('.')}." if of.noise else "",
            f"Also standing still: {of.others_affected.rstrip('.')}."
            if of.others_affected else "No other unit stands still for it."]  # fmt: skip
    return [
        parts.Bookmark("Notice"),
        parts.message("Notice of work", _headline(of), first, [one for one in told if one], width),
        *parts.section("What happens", parts.numbered(list(WHAT_HAPPENS), width)),
        *_chemical(of, width),
        *parts.section("What we ask of you", parts.numbered(list(WHAT_TO_DO), width)),
        *_numbers(of, width),
    ]


def _chemical(of: ClientNotice, width: float) -> list[Flowable]:
    dated = f", dated {of.safety_sheet_on}" if of.safety_sheet_on else ""
    rows = [
        ("Cleaner", of.chemical),
        ("Its safety data sheet", f"goes along with this notice{dated}" if of.safety_sheet_on
         else "we bring it along, and send it when asked"),
        ("Our crew wears", words.listed(list(of.protection))),
        ("Where it goes", of.disposal),
        ("First aid", of.first_aid),
    ]  # fmt: skip
    return parts.section("With what", parts.table(("", ""), [row for row in rows if row[1]], (3, 9), width))


def _numbers(of: ClientNotice, width: float) -> list[Flowable]:
    rows = [
        ("Customer", of.place.customer),
        ("Address", of.place.address),
        ("Sent to", of.sent_to),
        ("Questions", of.contact or of.place.contractor),
        ("Emergency", of.emergency_phone),
    ]
    return parts.section("Who to ask", parts.pairs([row for row in rows if row[1]], width))

"""The visit report: what to do next and why, then everything it rests on."""

from __future__ import annotations

from reportlab.platypus import Flowable, KeepTogether

from diagnostics.engine.records import Interval
from reporting.documents import causes, parts, verdicts, words
from reporting.documents.cautions import cautions, opens_the_water_side, speaks_of_chemical_work
from reporting.documents.facts import VisitReport
from reporting.documents.figures import limit_figure, verdict_mark
from reporting.documents.frame import Imprint, build, text_width_of
from reporting.documents.hand import hand
from reporting.documents.over_time import over_time, same_visit
from reporting.documents.results import fouling_exponent, result_rows, scaled, uses_us_units
from reporting.documents.type import NO_LETTERS_NOTE, lacks_letters


def title_of(report: VisitReport) -> str:
    """With its exchanger where it has a name: a unit may have several, each with a report of its own."""
    unit = " ".join(filter(None, (report.unit, report.exchanger)))
    return f"Visit report: unit {unit}, {words.day(report.taken_at)}"


def render(report: VisitReport, paper: str = "a4") -> bytes:
    width = text_width_of(paper)
    digest = report.answer.inputs_digest[:12]
    imprint = Imprint(
        contractor=report.contractor,
        title=title_of(report),
        subject=causes.step(report.ranking) if report.ranking else verdicts.said(report.answer.do_next),
        foot=f"{report.customer} · {report.site} · record {digest}"
        if digest
        else f"{report.customer} · {report.site}",
    )
    return build(story(report, width), paper, imprint)


def story(report: VisitReport, width: float) -> list[Flowable]:
    return [
        *_top(report, width),
        *causes.next_check(report.ranking, width),
        *_deciding(report, width),
        *_loop(report),
        *_who_and_where(report, width),
        *_readings(report, width),
        *_results(report, width),
        *_stands_on(report, width),
        *_warnings(report, width),
        *_computed(report, width),
        *same_visit(report, width),
        *over_time(report, width),
        *_cautions(report, width),
    ]


def identity(report: VisitReport) -> str:
    """Whose machine it is and where, in one line of the first page."""
    r = report
    return " · ".join(t for t in (r.customer, r.site, together(f"unit {r.unit}", r.place), r.exchanger,
                                  words.plain_name(r.exchanger_kind)) if t)  # fmt: skip


def _top(report: VisitReport, width: float) -> list[Flowable]:
    answer, kind = report.answer, verdicts.kind_of(report.answer)
    inner = width - 34
    verdict = parts.beside(
        verdict_mark(kind),
        [parts.text(verdicts.verdict_sentence(answer), "verdict", lead=f"{verdicts.HEADINGS[kind]}.")],
        inner,
    )
    told = report.ranking
    top = parts.message(
        "What to do next",
        causes.step(told) if told else verdicts.said(answer.do_next),
        verdict,
        [t for t in (*_two_chances(report), *verdicts.why_sentences(answer), _in_short(report)) if t],
        width,
        causes.lead_row(told) if told else None,
    )
    shown: list[Flowable] = [parts.Bookmark("What to do next"), top]
    shown += [parts.gap(8), parts.text(identity(report), "small"), *causes.what_is_wrong(told, width)]
    if verdicts.has_fouling(answer):
        shown += [parts.gap(16), parts.key_figures(_cards(report), width)]
    fouling, limit = verdicts.rf_of(answer), answer.limit
    if fouling is not None:
        exponent = fouling_exponent(report)
        same = limit is not None and limit.unit == fouling[1]
        drawn = limit_figure(
            "Fouling resistance",
            scaled(fouling[0], exponent),
            limit.value / 10.0**exponent if limit is not None and same else None,
            fouling[1],
            exponent,
            width,
        )
        because = verdicts.set_by(answer) if limit is not None and same else ""
        caption = f"{drawn.words} What set it: {because}." if because else drawn.words
        shown.append(KeepTogether([parts.gap(12), *parts.figure(drawn, caption)]))
    return shown


def _two_chances(report: VisitReport) -> list[str]:
    told = causes.two_chances(report.ranking, report.answer)
    return [told] if told else []


def _in_short(report: VisitReport) -> str:
    return verdicts.deciding_in_short(report.answer, {line.column for line in report.readings})


def _cards(report: VisitReport) -> list[tuple[str, str, str]]:
    answer = report.answer
    cards = [
        _card("Excess approach", answer.excess_approach_k, *hand().difference()),
        _card("Cleanliness", answer.cleanliness, "%", 100.0),
    ]
    fouling = verdicts.rf_of(answer)
    if fouling is not None:
        exponent = fouling_exponent(report)
        middle, ends = words.interval_parts(fouling[0], "", 10.0**-exponent)
        value = f"{middle}{words.HARD}{words.times_ten(exponent)}".rstrip(words.HARD)
        cards.append(("Fouling resistance", value, f"{words.pretty_unit(fouling[1])}, 95 % interval {ends}"))
    over = answer.probability_over_limit
    if over is not None:
        cards.append(("Fouled beyond limit", words.short_percent(over), "probability that it is"))
    return cards


def _card(name: str, value: Interval | None, unit: str, scale: float) -> tuple[str, str, str]:
    if value is None:
        return name, "–", "not known from these readings"
    middle, ends = words.interval_parts(value, unit, scale)
    return name, middle, f"95 % interval {ends}"


def _deciding(report: VisitReport, width: float) -> list[Flowable]:
    told = verdicts.deciding_sentences(report.answer, {line.column for line in report.readings})
    return parts.section("What would decide it", *[parts.text(s) for s in told]) if told else []


def _loop(report: VisitReport) -> list[Flowable]:
    """What the newest survey of the loop says; nothing where there was none."""
    if report.loop is None:
        return []
    return parts.section("The loop as a whole", *[parts.text(s) for s in report.loop.sentences()])


def _stands_on(report: VisitReport, width: float) -> list[Flowable]:
    answer = report.answer
    told = [
        verdicts.reference_sentence(answer),
        verdicts.buying_sentence(answer),
        verdicts.telling_sentence(answer),
        verdicts.limit_sentence(answer),
    ]
    sentences = parts.numbered([t for t in told if t], width, "body", "–")
    return parts.section("What the number stands on", sentences)


def _who_and_where(report: VisitReport, width: float) -> list[Flowable]:
    r, name = report, words.plain_name
    visit_day = words.day(r.visit_day) if r.visit_day else ""
    running = f"{r.mode}, {name(r.stage)} stage, {words.PURPOSES.get(r.purpose, r.purpose)}"
    rows = [
        ("Customer", r.customer),
        ("Site", r.site),
        ("Address", r.address),
        ("Unit", together(r.unit, r.place)),
        ("Machine", together(name(r.unit_kind), r.model, r.serial and f"no. {r.serial}")),
        ("Exchanger", together(r.exchanger, name(r.exchanger_kind), name(r.metal))),
        ("Refrigerant", r.refrigerant),
        ("Water", together(name(r.water_source), r.water)),
        ("Visit", together(visit_day, name(r.visit_reason))),
        ("Crew", words.listed(list(r.crew))),
        ("Read by", r.taken_by),
        ("Read on", words.moment_words(r.taken_at)),
        ("Running in", running),
        ("Instruments", r.gauge_set),
    ]
    return parts.section("Who, where and when", parts.pairs([row for row in rows if row[1]], width))


def together(*texts: str) -> str:
    return ", ".join(text for text in texts if text)


def _readings(report: VisitReport, width: float) -> list[Flowable]:
    shown = _around_the_readings(report)
    if report.readings:
        rows = [
            (
                words.reading_name(line.column),
                f"{line.typed_value} {words.unit_name(line.typed_unit)}".strip(),
                line.si,
            )
            for line in report.readings
        ]
        shown.append(parts.table(("Reading", "As read", "In SI"), rows, (4, 3, 3), width))
    else:
        shown.append(parts.text("No readings came with this report."))
    if report.not_read:
        names = words.listed([words.inside(words.reading_name(c)) for c in report.not_read])
        shown += [parts.gap(4), parts.text(f"Not read: {names}.", "small")]
    return parts.section("Readings", *shown)


def _around_the_readings(report: VisitReport) -> list[Flowable]:
    """What was looked at, noted and corrected: it stands before the table, which may go over the page."""
    told = [
        ("Looked at.", "; ".join(f"{name}: {state}" for name, state in report.looked_at)),
        (f"Note by {report.taken_by}.", report.note),
        ("These readings correct earlier ones.", report.correction_reason),
    ]
    shown: list[Flowable] = []
    for lead, said in told:
        if said:
            shown += [parts.text(words.sentence(said), lead=lead), parts.gap(5)]
    return shown


def _results(report: VisitReport, width: float) -> list[Flowable]:
    us = uses_us_units(report)
    known, unknown = result_rows(report)
    rows = [row if us else row[:3] for row in known]
    head = ("Result", "Value", "95 % interval, or source", "US units")
    shares = (3.0, 3.2, 4.2, 2.8)
    shown: list[Flowable] = []
    if rows:
        shown.append(parts.table(head[: 4 if us else 3], rows, shares[: 4 if us else 3], width))
    if unknown:
        told = f"Not known from these readings: {words.listed([words.inside(name) for name in unknown])}."
        shown += [parts.gap(4), parts.text(told, "small")]
    return parts.section("Results", *shown)


def _warnings(report: VisitReport, width: float) -> list[Flowable]:
    told = [verdicts.said(w.text) for w in report.answer.warnings if w.code != verdicts.WHY_UNDECIDED]
    if not told:
        return parts.section(
            "Warnings", parts.text("None: the readings agree with each other as far as they can be compared.")
        )
    return parts.section("Warnings", parts.numbered(told, width))


def _cautions(report: VisitReport, width: float) -> list[Flowable]:
    answer = report.answer
    told = report.ranking
    spoken = [
        told.do_next if told else answer.do_next,
        *verdicts.why_sentences(answer),
        *(w.text for w in answer.warnings),
    ]
    today = (report.visit_day or report.taken_at).date()
    now = [each.what for each in report.done if each.at.date() >= today]
    proposed = told is not None and told.proposes_chemical_work
    chemical = proposed or speaks_of_chemical_work([*spoken, *now])
    sentences = cautions(
        chemical=chemical,
        chemical_may_follow=answer.verdict == "fouled" or causes.fouled_leads(told),
        water_side=chemical or opens_the_water_side(spoken),
        chemical_was=speaks_of_chemical_work(each.what for each in report.done),
        refrigerant=report.refrigerant,
        antifreeze=report.antifreeze,
        water_source=report.water_source,
        emergency_phone=report.emergency_phone,
    )
    return parts.section("Before any work", parts.numbered(sentences, width, "cell", "–"))


def _computed(report: VisitReport, width: float) -> list[Flowable]:
    answer = report.answer
    told = verdicts.has_fouling(answer)
    title = "How the number was computed" if told else "How the number would be computed"
    shown: list[Flowable] = [parts.numbered(verdicts.method_sentences(answer), width, "small")]
    engine, digest = answer.engine_version or "not stated", answer.inputs_digest or "not stated"
    version = f"Engine {engine}; digest of the inputs {digest}."
    shown += [parts.gap(4), parts.text(version, "small")]
    if any(lacks_letters(t) for t in _names(report)):
        shown.append(parts.text(NO_LETTERS_NOTE, "small"))
    return parts.section(title, *shown, kept=len(shown))


def _names(report: VisitReport) -> list[str]:
    """Every text that people typed."""
    r = report
    of_the_register = [r.contractor, r.customer, r.site, r.address, r.unit, r.place, r.model, r.serial]
    of_the_visit = [r.exchanger, r.taken_by, *r.crew, r.note, r.gauge_set, r.correction_reason]
    of_the_answer = [r.answer.do_next, *(w.text for w in r.answer.warnings)]
    typed = [line.typed_value + line.typed_unit for line in r.readings]
    return [*of_the_register, *of_the_visit, *of_the_answer, *typed]

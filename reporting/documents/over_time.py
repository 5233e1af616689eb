"""What earlier readings of the exchanger told, as a chart and a table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reportlab.platypus import Flowable

from diagnostics.engine.records import Interval
from reporting.documents import parts, verdicts, words
from reporting.documents.facts import EarlierResult, VisitReport
from reporting.documents.figures import Figure, HistoryMark, HistoryPoint, history_figure
from reporting.documents.hand import hand
from reporting.documents.results import fouling_exponent, scaled, scaled_by

MOST_DRAWN = 24
MOST_LISTED = 12
CAPTION = "Each value stands with its 95 % interval; the table tells the rest."
CAPTION_NOW = f"{CAPTION} The filled mark is this report's."
HEAD = ("Read on", "Readings", "Excess approach")
SHARES = (2.2, 3.2, 3.2, 3.4, 2.6)


def over_time(report: VisitReport, width: float) -> list[Flowable]:
    if not report.earlier:
        return []
    drawn = chart(report, width)
    caption = CAPTION if not verdicts.has_fouling(report.answer) else CAPTION_NOW
    shown: list[Flowable] = [*parts.figure(drawn, caption), parts.gap(8)] if drawn else []
    listed = sorted(report.earlier, key=lambda e: e.taken_at, reverse=True)
    shown.append(results_table(listed[:MOST_LISTED], report, width))
    if len(listed) > MOST_LISTED:
        told = f"{len(listed) - MOST_LISTED} earlier results are not listed."
        shown += [parts.gap(3), parts.text(told, "small")]
    return parts.section("Over time", *shown, kept=3 if drawn else 1)


def same_visit(report: VisitReport, width: float) -> list[Flowable]:
    if not report.same_visit:
        return []
    return parts.section("Other readings of this visit", results_table(report.same_visit, report, width))


def fouling_unit(report: VisitReport) -> str:
    fouling = verdicts.rf_of(report.answer)
    if fouling is not None:
        return fouling[1]
    return report.answer.limit.unit if report.answer.limit else "m2K/W"


def results_table(results: Sequence[EarlierResult], report: VisitReport, width: float) -> Flowable:
    exponent, unit = fouling_exponent(report), fouling_unit(report)
    measured = words.counted_in(unit, exponent)
    head = (*HEAD, f"Fouling resistance, {measured}", "Verdict; beyond the limit")
    return parts.table(head, [_row(e, unit, exponent) for e in results], SHARES, width)


def _row(e: EarlierResult, unit: str, exponent: int) -> tuple[str, ...]:
    fouling = e.fouling(unit)
    over = (
        f", {words.short_percent(e.probability_over_limit)}" if e.probability_over_limit is not None else ""
    )
    return (
        words.short_day(e.taken_at),
        f"{e.mode}, {words.PURPOSES.get(e.purpose, e.purpose)}",
        "{} ({})".format(*words.difference(e.excess_approach_k)) if e.excess_approach_k else "–",
        words.interval(fouling, "", 10.0**-exponent) if fouling else "–",
        f"{e.verdict}{over}",
    )


def chart(report: VisitReport, width: float) -> Figure | None:
    """Fouling resistance over time, or excess approach where no reading gave one."""
    unit, exponent = fouling_unit(report), fouling_exponent(report)
    now = verdicts.rf_of(report.answer)
    past = [(e, f) for e in report.earlier if (f := e.fouling(unit))]
    marks = [HistoryMark(d.at, words.EVENTS.get(d.what, words.plain_name(d.what))) for d in report.done]
    if past and (now or not report.answer.excess_approach_k):
        limit = report.answer.limit
        line = limit.value / 10.0**exponent if limit is not None and limit.unit == unit else None
        points = _points(report, [(e, scaled(f, exponent)) for e, f in past])
        if now:
            points.append(_this(report, scaled(now[0], exponent)))
        return history_figure("Fouling resistance", points, line, unit, exponent, marks, width)
    known = [(e, e.excess_approach_k) for e in report.earlier if e.excess_approach_k]
    if not known or not report.answer.excess_approach_k:
        return None
    unit, factor = hand().difference()
    own: Any = report.answer.more.get("excess_at_limit_k")
    limits = {**{e.taken_at: e.excess_at_limit_k for e in report.earlier}, report.taken_at: own}
    points = [HistoryPoint(p.at, scaled_by(p.value, factor), p.mode, p.this_one, _times(limits[p.at], factor))
              for p in (*_points(report, known), _this(report, report.answer.excess_approach_k))]  # fmt: skip
    return history_figure("Excess approach", points, None, unit, 0, marks, width)


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _points(report: VisitReport, past: Sequence[tuple[EarlierResult, Interval]]) -> list[HistoryPoint]:
    points = [HistoryPoint(e.taken_at, value, e.mode) for e, value in past]
    return sorted(points, key=lambda p: p.at)[-MOST_DRAWN:]


def _this(report: VisitReport, value: Interval) -> HistoryPoint:
    return HistoryPoint(report.taken_at, value, report.answer.mode, this_one=True)

"""Tags and filters of the pages: quantities in the reader's units, words for states, moments at a site."""

from __future__ import annotations

import re
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import template

from contractor.accounts.models import DecimalMark, Units
from contractor.web import quantities, sentences
from diagnostics.engine import per_cent
from reporting.documents.words import short_percent

register = template.Library()


@register.simple_tag(takes_context=True)
def quantity(context: Any, value: float | None, kind: str, elevation_m: float | None = None) -> str:
    """{% quantity reading.entering_water_k "temperature" %}"""
    person = getattr(context.get("request"), "user", None)
    units = getattr(person, "units", Units.INCH_POUND)
    mark = getattr(person, "decimal_mark", DecimalMark.POINT)
    return quantities.in_words(value, kind, units, elevation_m, mark)


@register.simple_tag(takes_context=True)
def said(context: Any, sentence: str | None) -> str:
    """{% said answer.do_next %}: the engine's sentence in the reader's units, with their decimal mark."""
    return sentences.said_to(getattr(context.get("request"), "user", None), sentence)


@register.simple_tag(takes_context=True)
def reason(context: Any, sentence: str) -> str:
    """{% reason cause.reasons.0 %}: what speaks for a cause or against it."""
    return sentences.reason_to(getattr(context.get("request"), "user", None), sentence)


@register.filter
def cause_name(cause: str) -> str:
    return sentences.cause_name(cause)


@register.filter
def spaced(word: Any) -> str:
    """called_off -> called off"""
    return str(word or "").replace("_", " ")


@register.filter
def percent(share: float | None) -> str:
    """0.93 -> 93 %; never 0 or 100, which no reading can tell."""
    if share is None:
        return ""
    return per_cent.chance(share)


def mark_of(context: Any) -> str:
    return getattr(getattr(context.get("request"), "user", None), "decimal_mark", DecimalMark.POINT)


@register.simple_tag(takes_context=True)
def number(context: Any, value: float | Decimal | None) -> str:
    """{% number discharge.ph %}: a bare number with the reader's decimal mark; an empty one is a dash."""
    if value is None:
        return "–"
    return quantities.written(str(value) if isinstance(value, Decimal) else f"{value:.6g}", mark_of(context))


@register.simple_tag(takes_context=True)
def share(context: Any, value: float | None) -> str:
    """{% share plan.strength %}: 0.05 -> 5.0 %"""
    return "–" if value is None else quantities.written(f"{100 * value:.1f} %", mark_of(context))


HEADED = re.compile(r"^(Next|Not acid|Not acid yet): ")


@register.filter
def headed(sentence: str | None) -> str:
    """A sentence under a heading that says its first word already: 'Next: look at it.' -> 'Look at it.'"""
    plain = HEADED.sub("", str(sentence or ""))
    return plain[:1].upper() + plain[1:]


class OnTheWall(datetime):
    """Django's filters turn every moment into the page's own zone unless it says that it is not to be."""

    convert_to_local_time = False


@register.filter
def at_site(moment: datetime | None, site: Any) -> datetime | None:
    """The moment by the clock on the site's wall: {{ visit.window_start|at_site:visit.site|date:"H:i" }}"""
    if moment is None:
        return None
    there = moment.astimezone(ZoneInfo(getattr(site, "time_zone", "") or "UTC"))
    return OnTheWall.combine(there.date(), there.timetz()).replace(fold=there.fold)


@register.filter
def ends(visit: Any) -> str:
    """When a visit's window ends by the clock on the site's wall, with the day where it is another one."""
    first, last = (at_site(each, visit.site) for each in (visit.window_start, visit.window_end))
    assert first is not None and last is not None
    return f"{last:%H:%M}" if first.date() == last.date() else f"{last:%a %-d %b, %H:%M}"


@register.inclusion_tag("web/parts/status.html")
def status(kind: str, words: str) -> dict[str, str]:
    """A state as sign, colour and words. kind: good, watch, act, unknown."""
    return {"kind": kind, "words": words}


@register.simple_tag
def probability(value: float | None) -> str:
    """A probability as people say it; never 0 or 100 %, for it never is."""
    return "" if value is None else short_percent(value)


BROWSERS = (("Edg", "Edge"), ("Firefox", "Firefox"), ("Chrome", "Chrome"), ("Safari", "Safari"))
SYSTEMS = (("Android", "Android"), ("iPhone", "iPhone"), ("iPad", "iPad"), ("Windows", "Windows"),
           ("Mac OS", "Mac"), ("Linux", "Linux"))  # fmt: skip


@register.simple_tag
def lasting(seconds: float) -> str:
    """Hours and minutes."""
    hours, minutes = divmod(round(seconds / 60), 60)
    return " ".join(
        filter(None, [f"{hours} h" if hours else "", f"{minutes} min" if minutes or not hours else ""])
    )


@register.filter
def browser(device: str) -> str:
    """'Firefox on Android', from what a browser says of itself; else that, shortened."""
    kind = next((name for mark, name in BROWSERS if mark in device), "")
    system = next((name for mark, name in SYSTEMS if mark in device), "")
    return " on ".join(filter(None, [kind, system])) or device[:60] or "not named"

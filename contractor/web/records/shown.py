"""A record's values as people read them: in their units, by the site's clock, linked to what they name."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.db.models import Model
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.register.models import Instrument
from contractor.register.typed import Quantity
from contractor.web import quantities
from contractor.web.records import limits, lists
from contractor.web.records.curve import lines_of
from contractor.web.records.forms import NOT_ASKED
from contractor.web.records.kinds import KINDS, Kind
from contractor.web.records.words import label_of, unit_of

EMPTY = "–"


def link_to(row: Any) -> str:
    for kind in KINDS.values():
        if isinstance(row, kind.model):
            return reverse(f"web:{kind.slug}-show", args=[row.pk])
    return ""


def in_words(value: Any, person: Person, quantity: Quantity | None = None) -> str:
    if value is None or value == "":
        return EMPTY
    if quantity is not None:
        kind = "gauge_pressure" if quantity.gauge else quantities.kind_of(quantity)
        return quantities.in_words(value, kind, person.units, mark=person.decimal_mark)
    if value and isinstance(value, list) and isinstance(value[0], list):
        return "\n".join(lines_of(value, person.units, person.decimal_mark))
    if isinstance(value, list | dict):
        return lists.in_words(value) or EMPTY
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime):
        return f"{timezone.localtime(value):%-d %b %Y, %H:%M}"
    if isinstance(value, dt.date):
        return f"{value:%-d %b %Y}"
    if isinstance(value, dt.time):
        return f"{value:%H:%M}"
    if isinstance(value, float):
        return quantities.written(f"{value:g}", person.decimal_mark)
    return str(value)


def cell(row: Any, path: str, kind: Kind, person: Person) -> dict[str, str]:
    value = row
    for step in path.split("."):
        value = getattr(value, step, None)
    field = next((f for f in kind.model._meta.fields if f.name == path), None)
    if field is not None and field.choices:
        value = getattr(row, f"get_{path}_display")()
    quantity = next((each for each in kind.quantities if each.column == path), None)
    if isinstance(row, Instrument) and path in ("repeating", "random"):
        return {"words": limits.in_words(row, getattr(row, path), person), "link": ""}
    link = link_to(value) if isinstance(value, Model) else ""
    return {"words": in_words(value, person, quantity), "link": link}


def heading(kind: Kind, row: Any) -> str:
    """'Unit QH-01'; what is named with its kind already says it once, a person needs none."""
    name, word = str(row), kind.one.split()[-1]
    return (
        name if word in (*name.lower().split(), "person") else f"{kind.one[:1].upper()}{kind.one[1:]} {name}"
    )


def table(kind: Kind, rows: Iterable[Any], person: Any, besides: str = "") -> dict[str, Any]:
    """Headings and cells of a list; the first cell leads to the row."""
    columns = [(heading, path) for heading, path in kind.columns if path != besides]
    lines = []
    for row in rows:
        cells = [{**cell(row, path, kind, person), "name": heading} for heading, path in columns]
        lines.append({"link": link_to(row), "cells": cells})
    return {"headings": [heading for heading, _ in columns], "lines": lines}


def facts(kind: Kind, row: Any, room: Any, person: Any) -> list[tuple[str, list[dict[str, str]]]]:
    """What is known of a row, in the sections of its form; what is not known is left out."""
    by_column = {each.column: each for each in kind.quantities}
    found: dict[str, dict[str, str]] = {}
    for name, field in room.get_serializer(row).fields.items():
        if name in NOT_ASKED | kind.left_out or name == kind.ended or "." in (field.source or ""):
            continue
        quantity = by_column.get(name)
        value: Any = getattr(row, name, None)
        if hasattr(value, "all"):
            shown = {"words": ", ".join(str(each) for each in value.all()) or "all", "link": ""}
        else:
            shown = cell(row, name, kind, person)
        if shown["words"] != EMPTY:
            unit = "" if quantity else unit_of(name)
            key = quantity.name if quantity else name
            found[key] = {
                "name": label_of(key),
                "words": f"{shown['words']} {unit}".strip(),
                "link": shown["link"],
            }
    named = {name for _, names in kind.sections for name in names}
    loose = [fact for key, fact in found.items() if key not in named]
    sections = [("", loose)] if loose else []
    sections += [(legend, [found[n] for n in names if n in found]) for legend, names in kind.sections]
    return [(legend, section) for legend, section in sections if section]


def trail(kind: Kind, row: Any) -> list[dict[str, str]]:
    """From the list down to this row, over what it belongs to."""
    above: list[dict[str, str]] = []
    current, its = row, kind
    while its.parents and (parent := getattr(current, its.parents[0], None)) is not None:
        above.insert(0, {"words": str(parent), "link": link_to(parent)})
        its = next(each for each in KINDS.values() if isinstance(parent, each.model))
        current = parent
    return [{"words": its.many, "link": reverse(f"web:{its.slug}-list")}, *above]

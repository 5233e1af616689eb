"""Signatures drawn or typed on the phone, and the last move."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Descale, SignOff
from contractor.descales.services.rules import (
    CERTIFIED,
    Told,
    decide,
    held,
    invalid,
    keep,
    refuse_unless_crew,
    refuse_unless_office,
)
from contractor.descales.services.waste import baths_unaccounted
from contractor.http.problems import Problem
from contractor.workqueue.services import queue

MOST_STROKES, MOST_POINTS = 200, 8_000


@transaction.atomic
def sign(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Told:
    """Keep a signature: strokes of points in shares of width and height; or a name typed and confirmed."""
    row = held(descale)
    refuse_unless_crew(by, row)
    if not fields.get("typed"):
        _refuse_scrawl(fields.get("strokes"))
    elif fields.get("strokes"):
        raise invalid("/typed", "A signature is drawn or typed, not both; leave the strokes empty.")
    signature, new = keep(by, row, SignOff(**fields), (), {}, now)
    return Told(signature, (), new)


@transaction.atomic
def certify(by: Person, descale: Descale) -> Descale:
    """Signed by the customer, and every bath let out or held: a worker prepares the certificate."""
    refuse_unless_office(by)
    row = held(descale)
    if row.state == "certified":
        return row
    lacks = not_yet_certifiable(row)
    if lacks and row.state == "proved":
        raise Problem(
            "descale-state", lacks[0], state=row.state, errors=[{"detail": words} for words in lacks]
        )
    decide(row, "certified")
    queue(CERTIFIED, str(row.pk), asked_by=by)
    return row


def not_yet_certifiable(descale: Descale) -> list[str]:
    """What a certificate still lacks."""
    found = []
    if not SignOff.objects.filter(descale=descale, signs_as="customer").exists():
        found.append("The customer has not signed.")
    if left := baths_unaccounted(descale):
        found.append(f"{left} of the baths: nobody told whether let out or held.")
    return found


def _refuse_scrawl(strokes: Any) -> None:
    expected = "strokes of points such as [[[0.1, 0.5], [0.2, 0.4]]], each coordinate from 0 to 1"
    if not isinstance(strokes, list) or not 0 < len(strokes) <= MOST_STROKES:
        raise invalid("/strokes", f"Not a drawn signature; expected {expected}.")
    points = [point for stroke in strokes if isinstance(stroke, list) for point in stroke]
    if not 1 < len(points) <= MOST_POINTS or not all(map(_is_point, points)):
        raise invalid(
            "/strokes", f"Not a drawn signature; expected {expected}, {MOST_POINTS} points at most."
        )


def _is_point(point: Any) -> bool:
    return (
        isinstance(point, list)
        and len(point) == 2
        and all(isinstance(one, int | float) and not isinstance(one, bool) for one in point)
        and all(math.isfinite(one) and 0 <= one <= 1 for one in point)
    )

"""What a descale tells the ranking of causes: what it brought out, and what it changed."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from rest_framework.exceptions import PermissionDenied

from contractor.accounts.models import Person
from contractor.descales.models import Descale, Look
from contractor.visits.models import Reading
from diagnostics.ranking.services import tell_descale


def tell_causes(by: Person | None, descale: Descale, changed: str, at: datetime) -> bool:
    """A finding on the descale's visit, which has the causes ranked again; none where there is no visit, or
    `by` is not of its crew: what was recorded stands without it."""
    if by is None or descale.visit is None:
        return False
    try:
        with transaction.atomic():
            tell_descale(
                by, descale.visit, descale.exchanger, brought=what_came_out(descale), changed=changed,
                found_at=at, note=f"descale {descale.pk}",
            )  # fmt: skip
    except PermissionDenied:
        return False
    return True


def what_came_out(descale: Descale) -> str:
    """Solids, colour or nothing, as the looks tell."""
    looks = Look.objects.filter(descale=descale)
    if looks.filter(solids__in=("few", "many")).exists() or looks.filter(bubbles="many").exists():
        return "solids"
    return "colour" if looks.exclude(colour__in=("", "clear", "as_fresh")).exists() else "nothing"


def where_it_is_ranked(descale: Descale) -> str:
    """Address of the ranking of the readings before; "" where there are none."""
    readings = Reading.objects.standing().filter(exchanger=descale.exchanger_id).order_by("-taken_at")
    before = readings.filter(purpose="before_descale").first() or readings.first()
    return "" if before is None else f"/api/v1/readings/{before.pk}/ranking/"

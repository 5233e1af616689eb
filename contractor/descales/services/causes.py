"""While acid is in: nothing dissolves, told to the ranking of causes, and where that ranking stands."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import Case, QuerySet, When
from rest_framework.exceptions import PermissionDenied

from contractor.accounts.models import Person
from contractor.descales.models import Descale
from contractor.visits.models import Reading
from diagnostics.services import tell_descale


def tell_nothing_dissolves(by: Person, descale: Descale, at: datetime) -> bool:
    """A finding on the descale's visit; none where there is no visit, or `by` is not of its crew: what was
    recorded stands without it."""
    if descale.visit is None:
        return False
    try:
        with transaction.atomic():
            note = f"descale {descale.pk}: nothing dissolves"
            tell_descale(by, descale.visit, descale.exchanger, brought="nothing", found_at=at, note=note)
    except PermissionDenied:
        return False
    return True


def readings_ranked(descale: Descale) -> QuerySet[Reading]:
    """The readings whose ranking bears on this descale, first those before, else the last there are."""
    before = Case(When(purpose="before_descale", then=0), default=1)
    return Reading.objects.standing().filter(exchanger=descale.exchanger_id).order_by(before, "-taken_at")


def where_it_is_ranked(descale: Descale) -> str:
    """Address of that ranking; "" where there are no readings."""
    before = readings_ranked(descale).first()
    return "" if before is None else f"/api/v1/readings/{before.pk}/ranking/"

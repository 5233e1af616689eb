"""What visits do when the register below says that something changes."""

from __future__ import annotations

from typing import Any

from django.dispatch import receiver

from contractor.http.problems import Problem
from contractor.register.models import Site
from contractor.register.signals import about_to_retire, elevation_changed
from contractor.visits.models import Visit
from contractor.visits.services import follow_elevation


@receiver(elevation_changed)
def pressures_follow(sender: object, site: Site, **more: Any) -> None:
    follow_elevation(site)


@receiver(about_to_retire, sender=Site)
def refuse_with_open_visits(sender: object, row: Site, **more: Any) -> None:
    count = Visit.objects.open().filter(site=row).count()
    if count:
        visits = "a visit is" if count == 1 else f"{count} visits are"
        raise Problem("conflict", f"At {row} {visits} still open; finish or call off first.")

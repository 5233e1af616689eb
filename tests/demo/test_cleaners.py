"""The demo's crew can descale: every generic sheet is complete and in stock, and the rig's pump is known."""

import datetime as dt

import pytest

from contractor.demo.loading import Loader
from contractor.register.models import Cleaner, CleanerLot, Rig
from contractor.register.sheets import missing_fields, pump_of


@pytest.mark.django_db
def test_the_crew_has_every_generic_cleaner_in_stock_and_a_rig() -> None:
    Loader.load_cleaners(Loader.__new__(Loader))
    cleaners = list(Cleaner.objects.all())
    assert len(cleaners) == 5 and not any(missing_fields(one) for one in cleaners)
    assert CleanerLot.objects.usable_on(dt.date(2027, 1, 1)).count() == 5
    assert pump_of(Rig.objects.get()) is not None

"""What titration tells of the deposit dissolved, by hand calculation."""

from __future__ import annotations

import pytest

from contractor.descales import services
from contractor.descales.models import Batch, Look
from tests.descales import world
from tests.descales.world import Job

pytestmark = pytest.mark.django_db
# CaCO3 + 2 H3NSO3 -> Ca(H2NSO3)2 + CO2 + H2O; molar masses of the handbooks
AN_ACID = 100.09 / (2 * 97.09)


def titrated(job: Job, minutes: float, strength: float, drops: float) -> None:
    world.look(job, minutes)
    newest = Look.objects.filter(descale=job.descale).latest("at")
    Look.objects.filter(pk=newest.pk).update(strength=strength, drops=drops)


def mixed() -> Job:
    """40 kg of solution at 5 %."""
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    Batch.objects.filter(descale=job.descale).update(product_kg=2.0, water_m3=0.038, strength=0.05)
    return job


def test_the_acid_used_up_tells_the_carbonate_dissolved_with_the_doubt_of_a_drop_and_of_the_mixing() -> None:
    job = mixed()
    titrated(job, 10, 0.04, 8)
    titrated(job, 40, 0.02, 4)
    told = services.dissolved_by_titration(job.descale)
    assert told is not None and (told.titrated, told.batches) == (1, 1)
    assert told.mass_kg.value == pytest.approx(40.0 * 0.03 * AN_ACID, rel=1e-3)
    # limits of 5 % of 0.05 and of one drop of 0.005, rectangular: 1.96/sqrt(3) of the root of their squares
    half = 1.96 / 3**0.5 * (0.0025**2 + 0.005**2) ** 0.5 * 40.0 * AN_ACID
    assert told.mass_kg.high - told.mass_kg.value == pytest.approx(half, rel=1e-3)


def test_a_bath_that_kept_its_strength_has_dissolved_nothing() -> None:
    job = mixed()
    titrated(job, 10, 0.052, 10)
    told = services.dissolved_by_titration(job.descale)
    assert told is not None and (told.mass_kg.value, told.mass_kg.low) == (0.0, 0.0)


def test_a_batch_without_titration_tells_nothing_and_is_counted_as_such() -> None:
    job = mixed()
    assert services.dissolved_by_titration(job.descale) is None
    titrated(job, 20, 0.02, 4)
    world.mix(job, 120.0)
    told = services.dissolved_by_titration(job.descale)
    assert told is not None and (told.titrated, told.batches) == (1, 2)
    assert told.mass_kg.value == pytest.approx(40.0 * 0.03 * AN_ACID, rel=1e-3)

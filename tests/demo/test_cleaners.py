"""The demo's crew can descale: every generic sheet is complete and in stock, and the rig's pump is known."""

import datetime as dt
import shutil
import subprocess
from pathlib import Path

import pytest
from django.utils import timezone

from contractor.accounts.models import Certificate, Role
from contractor.demo import descaling
from contractor.demo.cleaner_papers import WARNING
from contractor.demo.loading import Loader
from contractor.descales import services
from contractor.descales.models import Descale
from contractor.register.models import Cleaner, CleanerLot, Rig
from contractor.register.sheets import lapsed_papers, missing_fields, missing_papers, pump_of
from diagnostics.models import Assessment
from tests import make
from tests.descales import world


@pytest.mark.django_db
def test_the_crew_has_every_generic_cleaner_in_stock_and_a_rig() -> None:
    Loader.load_cleaners(Loader.__new__(Loader))
    cleaners = list(Cleaner.objects.all())
    assert len(cleaners) == 5 and not any(missing_fields(one) for one in cleaners)
    assert CleanerLot.objects.usable_on(dt.date(2027, 1, 1)).count() == 5
    assert pump_of(Rig.objects.get()) is not None


@pytest.mark.django_db
def test_every_cleaner_has_papers_that_say_on_their_face_that_they_are_invented(tmp_path: Path) -> None:
    Loader.load_cleaners(Loader.__new__(Loader))
    now = timezone.now()
    descaling.keep_papers(now)
    reader = shutil.which("pdftotext")
    for cleaner in Cleaner.objects.all():
        assert missing_papers(cleaner) == () and lapsed_papers(cleaner, now.date()) == ()
        for paper in (cleaner.label, cleaner.safety_sheet):
            with paper.open("rb") as kept:
                content = kept.read()
            assert content.startswith(b"%PDF-")
            if reader:
                (tmp_path / "paper.pdf").write_bytes(content)
                said = subprocess.run([reader, tmp_path / "paper.pdf", "-"], capture_output=True, text=True)
                assert said.stdout.casefold().count(WARNING.casefold()) >= 3
    names = set(Cleaner.objects.values_list("label", flat=True))
    descaling.keep_papers(now)
    assert set(Cleaner.objects.values_list("label", flat=True)) == names


@pytest.mark.django_db
def test_one_descale_is_agreed_planned_and_announced_and_only_its_checks_keep_the_dose_screen_shut() -> None:
    Loader.load_cleaners(Loader.__new__(Loader))
    for _ in range(2):
        make.person(Role.TECHNICIAN)
    office = make.person(Role.OFFICE)
    exchanger = world.exchanger(metal="cupronickel")
    reading = make.reading(make.visit(exchanger.unit.site, []), exchanger, office)
    Assessment.objects.create(
        reading=reading, engine_version="1", inputs_digest="0" * 64,
        verdict="fouled", probability_over_limit=0.97, do_next="Descale it.", result={},
    )  # fmt: skip
    said: list[str] = []
    for _ in range(2):
        descaling.prepare(timezone.now(), said.append)
    [descale] = Descale.objects.all()
    assert descale.state == "noticed" and len(said) == 1
    assert descale.visit is not None and descale.visit.chemical_work and descale.visit.rigs.count() == 1
    assert Certificate.objects.filter(kind="chemical_work").count() == 2
    shut = services.may_dose(descale, timezone.now())
    plan = services.current_plan(descale)
    assert plan is not None
    assert {one.code for one in shut.reasons} == set(services.checking.kinds_needed(plan))

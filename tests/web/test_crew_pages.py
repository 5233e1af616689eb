"""The crew's pages cost the same however much there is, and bring along what the day needs."""

from __future__ import annotations

import datetime as dt
import json
import os
import re
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.descales.models import Descale
from contractor.register.models import Unit, UnitEvent
from contractor.visits.models import Finding
from contractor.web.technician import selectors, worker
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db
TEMPLATES = Path(selectors.__file__).parent.parent / "templates" / "web" / "technician"


def signed_in(cast: Cast) -> Client:
    client = Client()
    client.force_login(cast.assigned)
    return client


def queries(client: Client, path: str) -> int:
    client.get(path)
    with CaptureQueriesContext(
        connection,
    ) as caught:
        assert client.get(path).status_code == 200
    return len(caught)


def grow(cast: Cast) -> None:
    """More of everything."""
    for n in range(6):
        unit = make.unit(cast.site, tag=f"MORE-{n}")
        Descale.objects.create(exchanger=make.exchanger(unit), because="fouled", recommended_by=cast.assigned)
        make.visit(cast.site, [cast.assigned], window_start=timezone.now() + dt.timedelta(days=n))
        make.exchanger(cast.unit, name=f"circuit {n}")
        make.reading(cast.visit, cast.exchanger, cast.assigned)
        Finding.objects.create(
            visit=cast.visit, unit=cast.unit, found_by=cast.assigned, kind="note", note="x"
        )


def test_every_page_asks_the_database_as_often_however_much_there_is(cast: Cast) -> None:
    client = signed_in(cast)
    descale = Descale.objects.create(exchanger=cast.exchanger, because="fouled", recommended_by=cast.assigned)
    paths = [
        "/crew/", f"/crew/visits/{cast.visit.pk}/", f"/crew/visits/{cast.visit.pk}/survey/",
        f"/crew/units/{cast.unit.pk}/", f"/crew/exchangers/{cast.exchanger.pk}/reading/",
        f"/crew/descales/{descale.pk}/", "/crew/unsent/", "/crew/tag/",
    ]  # fmt: skip
    few = {path: queries(client, path) for path in paths}
    grow(cast)
    many = {path: queries(client, path) for path in paths}
    assert many == few
    assert max(few.values()) <= 30, few


def test_the_day_brings_along_every_page_of_its_visits(cast: Cast) -> None:
    descale = Descale.objects.create(exchanger=cast.exchanger, because="fouled", recommended_by=cast.assigned)
    far = make.site()
    make.visit(far, [cast.assigned], window_start=timezone.now() + dt.timedelta(days=9))
    later = make.unit(far)
    brought = selectors.rounds(cast.assigned, timezone.now()).bring
    for path in (f"/crew/visits/{cast.visit.pk}/", f"/crew/visits/{cast.visit.pk}/survey/",
                 f"/crew/units/{cast.unit.pk}/", f"/crew/exchangers/{cast.exchanger.pk}/reading/",
                 f"/crew/descales/{descale.pk}/", "/crew/unsent/", "/crew/tag/"):  # fmt: skip
        assert path in brought
    assert f"/crew/units/{later.pk}/" not in brought, "a visit in nine days is not of today"
    client = signed_in(cast)
    assert all(client.get(path).status_code == 200 for path in brought)


def test_only_ones_own_open_visits_at_the_site_are_offered_for_what_a_visit_refused(cast: Cast) -> None:
    """Of a unit as of its exchanger; none for one who has no visit there, nor of what is over."""
    make.visit(cast.site, [cast.assigned], state="done", window_start=timezone.now() - dt.timedelta(days=9))
    make.visit(make.site(cast.site.customer, name="Elsewhere"), [cast.assigned])
    client, other = signed_in(cast), Client()
    other.force_login(cast.other)
    for pk in (cast.unit.pk, cast.exchanger.pk):
        [offered] = client.get(f"/crew/open-at/{pk}/").json()["visits"]
        assert offered["visit"] == str(cast.visit.pk) and cast.site.name in offered["words"]
        assert other.get(f"/crew/open-at/{pk}/").json() == {"visits": []}


def test_who_says_whose_pages_these_are_and_gives_a_token_that_posts(cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.assigned)
    said: dict[str, Any] = client.get("/crew/who/").json()
    assert said["person"] == str(cast.assigned.pk)
    path = f"/api/v1/visits/{cast.visit.pk}/start/"
    keyed = {"Idempotency-Key": "made-on-the-phone"}
    assert client.post(path, {}, "application/json", headers=keyed).status_code == 403
    sent = client.post(path, {}, "application/json", headers={**keyed, "X-CSRFToken": said["csrf"]})
    assert sent.status_code == 200


def test_a_page_says_whose_it_is_so_that_no_other_is_shown_it(cast: Cast) -> None:
    answer = signed_in(cast).get("/crew/")
    assert answer["Waterside-Person"] == str(cast.assigned.pk)
    assert answer["Cache-Control"] == "private, no-store"


def test_the_service_worker_is_short_and_names_what_is_there(cast: Cast) -> None:
    answer = Client().get("/worker.js")
    text = answer.content.decode()
    assert answer["Content-Type"].startswith("text/javascript")
    assert len(text.splitlines()) < 150
    assert worker.version() in text
    assert all(f"/static/{name}" in text for name in worker.shell_files())


def test_a_technician_learns_from_a_strange_tag_only_what_may_hurt(cast: Cast) -> None:
    site = make.site(name="Elsewhere", safety_notes="Stair without a rail.", access_notes="key under the mat")
    unit = make.unit(site, tag="EL-1")
    answer = signed_in(cast).get("/t/el-1/")
    text = answer.content.decode()
    assert "Stair without a rail." in text and "Elsewhere" in text
    assert "key under the mat" not in text and str(site.customer) not in text and str(unit.pk) not in text


def test_no_form_of_the_crew_sends_itself_before_its_script_is_there() -> None:
    """A plain form would load the page anew, without what was typed and without its visit."""
    found = {}
    for path in sorted(TEMPLATES.glob("*.html")):
        for form in re.findall(r"<form [^>]*>", path.read_text()):
            found[f"{path.name}: {form}"] = 'method="dialog"' in form
    assert len(found) > 15 and all(found.values()), [form for form, inert in found.items() if not inert]


def test_the_pages_can_be_put_on_the_home_screen(cast: Cast) -> None:
    """Where a browser clears what pages keep after a week, it doesn't on the home screen."""
    client = signed_in(cast)
    [address] = re.findall(r'<link rel="manifest" href="([^"]+)">', client.get("/crew/").content.decode())
    name = address.removeprefix("/static/")
    said = json.loads(Path(str(finders.find(name))).read_text())
    assert client.get(said["start_url"]).status_code == 200 and said["display"] == "standalone"
    [icon] = said["icons"]
    assert finders.find(os.path.normpath(Path(name).parent / icon["src"])), "the icon is there"
    assert name in worker.shell_files()


def test_a_visit_names_the_pages_of_its_units_to_bring_along(cast: Cast) -> None:
    page = signed_in(cast).get(f"/crew/visits/{cast.visit.pk}/").content.decode()
    named = json.loads(re.findall(r'<script id="bring" type="application/json">(.*?)</script>', page)[0])
    assert f"/crew/units/{cast.unit.pk}/" in named
    assert f"/crew/exchangers/{cast.exchanger.pk}/reading/" in named


def test_a_units_story_tells_before_it_is_touched_what_may_hurt_and_when_it_was_cleaned(cast: Cast) -> None:
    Unit.objects.filter(pk=cast.unit.pk).update(safety_notes="Fan starts by itself.")
    cleaned = timezone.now() - dt.timedelta(days=400)
    UnitEvent.objects.create(unit=cast.unit, what="descaled", at=cleaned, note="Citric, two batches")
    page = signed_in(cast).get(f"/crew/units/{cast.unit.pk}/").content.decode()
    last = re.findall(r"<dt>Last cleaning</dt><dd>(.*?)</dd>", page)
    at_site = cleaned.astimezone(cast.site.zone)
    assert last == [f"{at_site.day} {at_site:%B %Y}: Citric, two batches"]
    assert "Fan starts by itself." in page and "Set position not on record" in page
    assert page.index("Fan starts by itself.") < page.index("Last cleaning")


@pytest.mark.parametrize(("units", "unit"), [("inch_pound", "°F"), ("si", "K")])
def test_the_answer_at_the_unit_is_told_in_the_units_of_who_stands_there(
    cast: Cast, units: str, unit: str
) -> None:
    from diagnostics.ranking.services import rank_reading
    from diagnostics.services import assess_reading
    from tests.diagnostics import world

    exchanger = world.know(make.exchanger(make.unit(cast.site)))
    visit = make.visit(exchanger.unit.site, [cast.assigned])
    world.clean_visits(visit, exchanger, cast.assigned)
    reading = world.reading(visit, exchanger, cast.assigned, day=700, fouling_m2k_per_w=world.HEAVY)
    client = signed_in(cast)
    assert client.get(f"/crew/readings/{reading.pk}/told/").json() == {"assessment": None, "ranking": None}
    assess_reading(reading.pk)
    rank_reading(reading.pk)
    Person.objects.filter(pk=cast.assigned.pk).update(units=units)
    told = client.get(f"/crew/readings/{reading.pk}/told/").json()
    assert f"\N{NO-BREAK SPACE}{unit} (95 %" in told["assessment"]["excess"]
    assert told["assessment"]["likely"].endswith("% likely beyond the limit")
    assessed, ranked = told["assessment"], told["ranking"]
    words = " / ".join(
        [assessed["do_next"], assessed["excess"], *assessed["warnings"], ranked["do_next"], *ranked["causes"]]
    )
    others = {"°F": r"\d K\b|°C|kPa|degC", "K": r"°F|psi|degF"}[unit]
    assert not re.search(others, words), words
    assert not re.search(r"[a-z]_[a-z]|\+-|\bfor: |m2K", words), words
    likeliest = r"The water side of the exchanger is fouled: over 99\s%\. Speaks for it: "
    assert re.match(likeliest, ranked["causes"][0])
    assert ranked["why_not_chemical"].startswith("A back-flush is quicker"), "the heading says the rest"

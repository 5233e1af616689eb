"""What the office is told beside the bare facts: what to ask about, and what a piece of work is about."""

from __future__ import annotations

import pytest

from tests import make
from tests.cast import Cast
from tests.web.test_office_pages import signed_in, words_of

pytestmark = pytest.mark.django_db


def test_a_value_that_cannot_be_is_asked_about_on_the_readings_page(cast: Cast) -> None:
    """300 in bar where psi was meant is kept as typed, and told at once, before any result."""
    client = signed_in(cast.office)
    reading = make.reading(cast.visit, cast.exchanger, cast.assigned)
    path = f"/office/readings/{reading.pk}/"
    assert "To be asked about" not in words_of(client.get(path))
    sent = {"entering_water": "85", "entering_water_unit": "degF", "head_pressure": "300",
            "head_pressure_unit": "bar_gauge", "taken_at": reading.taken_at.strftime("%Y-%m-%dT%H:%M"),
            "purpose": "routine", "stage": "full", "reason": "misread"}  # fmt: skip
    answer = client.post(f"{path}correct/", sent)
    assert answer.status_code == 302
    text = words_of(client.get(answer.url))
    assert "To be asked about" in text and "300 bar" in text


def test_work_names_what_it_is_about_and_leads_there(cast: Cast) -> None:
    reading = make.reading(cast.visit, cast.exchanger, cast.assigned)
    about = {"visit_report": (cast.exchanger.pk, "exchangers"), "assess": (reading.pk, "readings"),
             "survey": (cast.visit.pk, "visits"), "noop": ("nothing of ours", "")}  # fmt: skip
    for kind, (subject, _) in about.items():
        make.work_item(kind=kind, subject=str(subject), state="failed", problem={"title": "It failed"})
    text = words_of(signed_in(cast.office).get("/office/work/"))
    for subject, page in about.values():
        assert page == "" or f'href="/office/{page}/{subject}/"' in text, page
    assert text.count(f">{cast.exchanger}</a>") == 2  # of the report and of the reading

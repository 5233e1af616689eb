"""The office's form of a cleaner's sheet: it may forbid more than the table of metals and acids, not less."""

from __future__ import annotations

from html import unescape

import pytest
from django.test import Client

from contractor.register import sheets
from contractor.register.models import Cleaner
from diagnostics.engine.descaling.acids import ACIDS
from diagnostics.engine.descaling.metals import MATERIALS, compatibility
from tests.cast import Cast

pytestmark = pytest.mark.django_db
COLUMN = {
    "allowed": "metals_allowed",
    "only_inhibited": "metals_only_inhibited",
    "forbidden": "metals_forbidden",
}
MILD_TO_STRICT = list(COLUMN)


@pytest.mark.parametrize("acid", ACIDS)
def test_the_form_takes_no_sheet_that_allows_more_than_the_table(cast: Cast, acid: str) -> None:
    """Every material with this acid, each of the three lists: those that the table forbids are told one by
    one, and only without them the sheet is kept."""
    client = Client()
    client.force_login(cast.office)
    for state, column in COLUMN.items():
        strictest = MILD_TO_STRICT.index(state)
        milder = [one for one in MATERIALS
                  if MILD_TO_STRICT.index(compatibility(one, acid).state) > strictest]  # fmt: skip
        sent = {"name": f"{acid} {state}", "acids": f"{acid} 1"}
        every = client.post("/office/cleaners/new/", {**sent, column: list(MATERIALS)})
        said = unescape(every.content.decode())
        assert (every.status_code == 302) is (not milder), (acid, column)
        for one in milder:
            row = compatibility(one, acid)
            words = f"{acid} acid on {one.replace('_', ' ')}: {row.reason} ({row.source})"
            assert words in said, (acid, column, one)
        if milder:
            fitting = [one for one in MATERIALS if one not in milder]
            assert client.post("/office/cleaners/new/", {**sent, column: fitting}).status_code == 302
        kept = Cleaner.objects.get(name=sent["name"])
        assert [one["acid"] for one in kept.acids] == [acid]
        assert set(getattr(kept, column)) == set(MATERIALS) - set(milder)


def test_the_page_of_a_draft_names_every_field_that_it_lacks(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.office)
    answer = client.post("/office/cleaners/new/", {"name": "Drum"})
    draft = Cleaner.objects.get()
    text = unescape(client.get(answer["Location"]).content.decode())
    assert "A draft: nobody plans with it yet" in text
    for name in sheets.missing_fields(draft):
        words = name.removesuffix("_mg_per_l").removesuffix("_k").removesuffix("_s").replace("_", " ")
        assert words in text.casefold(), name

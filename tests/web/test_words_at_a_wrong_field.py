"""Errors say what to do: no field of any form answers in a program's words."""

from __future__ import annotations

import html
import re
from typing import Any

import pytest
from django.test import Client

from contractor.web.forms.account import MeForm
from contractor.web.records.kinds import KINDS
from tests.cast import Cast

pytestmark = pytest.mark.django_db
# Django's and the API's own
PROGRAMS = ("This field", "Enter a valid", "Select a valid", "A valid ", "Ensure this value",
            "Null char", "not one of the available")  # fmt: skip
GONE = "11111111-1111-4111-8111-111111111111"  # chosen from a page that is older than its record's end
KEPT_TOO = {"date": "2027-03-31", "time": "09:30", "datetime-local": "2027-03-31T09:30"}


def controls(text: str) -> list[tuple[str, str, str, list[str]]]:
    """name, kind, value, choices of each control of the page's form."""
    form = text[text.index('<form method="post" class="sheet"') :]
    found = []
    for tag in re.finditer(r"<(input|select|textarea)\b([^>]*)>", form):
        given = dict(re.findall(r'([\w-]+)="([^"]*)"', tag[2]))
        choices = []
        if tag[1] == "select":
            inside = form[tag.end() : form.index("</select>", tag.end())]
            choices = [value for value in re.findall(r'<option value="([^"]*)"', inside) if value]
        kind = "select" if tag[1] == "select" else given.get("type", "")
        if "name" in given:
            found.append((given["name"], kind, html.unescape(given.get("value", "")), choices))
    return found


def typed(kind: str, value: str, choices: list[str], how: str) -> str | None:
    if kind == "hidden":
        return value
    if how == "empty" or kind in ("checkbox", "radio"):
        return None
    if how == "words for numbers":
        return choices[0] if choices else KEPT_TOO.get(kind, "twelve")
    return GONE if kind == "select" else "31/31/2027" if kind in KEPT_TOO else "abc" * 120 + "\0"


@pytest.mark.parametrize("how", ["empty", "words for numbers", "nonsense"])
@pytest.mark.parametrize("slug", [*KINDS, "visits", "descales"])
def test_no_form_answers_in_a_programs_words(cast: Cast, slug: str, how: str) -> None:
    client = Client(raise_request_exception=False)
    client.force_login(cast.owner)
    path = f"/office/{slug}/new/"
    fields = controls(client.get(path).content.decode())
    sent: dict[str, Any] = {name: typed(kind, value, choices, how) for name, kind, value, choices in fields}
    answer = client.post(path, {name: value for name, value in sent.items() if value is not None})
    assert answer.status_code in (302, 400, 409)
    told = " ".join(re.findall(r'<ul class="errorlist.*?</ul>', answer.content.decode(), re.S))
    assert (answer.status_code == 302) == (told == "")
    assert [words for words in PROGRAMS if words in html.unescape(told)] == []


def test_how_much_too_long_is_told_so_that_it_can_be_cut(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.office)
    text = client.post("/office/customers/new/", {"name": "x" * 130}).content.decode()
    assert "Too long by 10 characters; 120 at most." in text


def test_words_that_a_field_was_given_stay() -> None:
    form = MeForm({"name": ""})
    assert form.errors["name"] == ["Fill this in."]
    form.fields["name"].error_messages["required"] = "Say who you are."
    assert MeForm({"name": ""}).fields["name"].error_messages["required"] == "Fill this in."


@pytest.mark.parametrize(
    ("slug", "name"), [("people", "role"), ("exchangers", "kind"), ("certificates", "kind")]
)
def test_what_must_be_chosen_is_not_chosen_by_standing_first_in_a_list(
    cast: Cast, slug: str, name: str
) -> None:
    client = Client()
    client.force_login(cast.owner)
    page = client.get(f"/office/{slug}/new/").content.decode()
    inside = page[page.index(f'<select name="{name}"') :]
    first = re.search(r'<option value="([^"]*)"[^>]*>([^<]*)', inside)
    assert first is not None and first.groups() == ("", "choose")
    refused = client.post(f"/office/{slug}/new/", {name: ""})
    assert refused.status_code == 400
    assert "Choose" in refused.content.decode()


def test_all_that_is_wrong_is_told_at_one_press(cast: Cast) -> None:
    """What is missing, a size that is no number, a plain number: form, service and API each find theirs."""
    client = Client()
    client.force_login(cast.owner)
    sent = {"area": "abc", "area_unit": "ft**2", "pressure_drop_exponent": "steep"}
    page = client.post("/office/exchangers/new/", sent).content.decode()
    told = {name: words for words, name in re.findall(
        r'<ul class="errorlist"[^>]*>(.*?)</ul>.*?name="(\w+)"', page, re.S)}  # fmt: skip
    assert "Choose" in told["kind"]
    assert "not a number" in told["area"]
    assert "Not a number" in told["pressure_drop_exponent"]

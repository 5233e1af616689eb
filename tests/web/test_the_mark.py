"""What a browser asks for beside each page: a mark that is there, beside the owner's rows too."""

from __future__ import annotations

from django.contrib.staticfiles import finders
from django.test import Client


def test_the_mark_of_a_page_without_one_leads_to_a_file() -> None:
    answer = Client().get("/favicon.ico")
    assert answer.status_code == 302
    assert answer["Location"].endswith("/web/mark.svg") and finders.find("web/mark.svg")

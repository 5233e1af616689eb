"""Every page that the addresses know is in the list that the browser goes through (tests/browser)."""

from __future__ import annotations

import re
import uuid

from django.urls import Resolver404, ResolverMatch, get_resolver, resolve

from contractor.web.rows import site
from tests.browser.shown import every_page
from tests.web.test_who_sees_which_page import pages

NO_PAGES = {
    "crew/who/": "JSON, for the phone's script",
    "crew/open-at/<uuid:pk>/": "JSON, for the phone's script",
    "crew/readings/<uuid:pk>/told/": "JSON, for the phone's script",
    "crew/sites/<uuid:pk>/tags/": "a PDF",
    "favicon.ico": "leads to the mark",
    "worker.js": "the service worker's script",
}
# of the admin site, whose pages are the same for every table: what is no page of its own
NO_ROWS = {
    "login": "leads to our own", "logout": "no page of ours leads there", "autocomplete": "JSON",
    "jsi18n": "a script", "view_on_site": "leads elsewhere", "password_change": "leads to our own",
    "password_change_done": "leads to our own", "delete": "refused as add is",
}  # fmt: skip


def matches() -> list[ResolverMatch]:
    found = []
    for page in every_page():
        path = re.sub(r"\{[\w.-]+\}", str(uuid.UUID(int=0)), page.path)
        try:
            found.append(resolve(re.split(r"[?#]", path)[0]))
        except Resolver404:
            assert page.status == 404, page
    return found


def test_every_page_of_ours_is_in_the_browsers_list() -> None:
    there = {route for method, route in pages(get_resolver()) if method == "GET"}
    shown = {match.route for match in matches()}
    assert there - shown - set(NO_PAGES) == set(), "add a row to tests/browser/*_pages.py for each of these"
    assert set(NO_PAGES) <= there and not set(NO_PAGES) & shown, "these are pages by now, or are no more"


def test_each_kind_of_page_of_the_rows_as_they_are_is_in_the_browsers_list() -> None:
    kinds = {kind_of(entry.name) for entry in site.get_urls() if getattr(entry, "name", None)}
    for model, view in site._registry.items():
        kinds |= {kind_of(entry.name) for entry in view.get_urls() if entry.name}
        assert model._meta.app_label
    shown = {kind_of(match.url_name) for match in matches() if match.app_name == "admin" and match.url_name}
    assert kinds - shown - set(NO_ROWS) == set(), "add a row to tests/browser/owner_rows_pages.py"


def kind_of(name: str) -> str:
    """`register_unit_changelist` is a changelist."""
    for model in site._registry:
        name = name.removeprefix(f"{model._meta.app_label}_{model._meta.model_name}_")
    return name


def test_no_page_is_listed_twice() -> None:
    names = [page.name for page in every_page()]
    assert len(names) == len(set(names))

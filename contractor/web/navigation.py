"""Where each role goes: the links of the header, and the first page after signing in."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

HOME = {"owner": "office", "office": "office", "technician": "crew", "client": "client"}
OFFICE = (
    ("office", "To do"),
    ("visits", "Visits"),
    ("units-list", "Units"),
    ("customers-list", "Customers"),
    ("documents", "Documents"),
    ("register", "Register"),
    ("search", "Search"),
)
LINKS: dict[str, tuple[tuple[str, str], ...]] = {
    "owner": OFFICE,
    "office": OFFICE,
    "technician": (("crew", "Visits"),),
    "client": (("client", "Your sites"),),
}


def home_of(role: str) -> str:
    return reverse(f"web:{HOME[role]}")


def links_for(role: str, path: str) -> list[dict[str, Any]]:
    found = [{"address": reverse(f"web:{name}"), "words": words} for name, words in LINKS.get(role, ())]
    best = max(
        (each["address"] for each in found if path.startswith(str(each["address"]))), key=len, default=""
    )
    return [{**each, "here": each["address"] == best} for each in found]


def around(request: HttpRequest) -> dict[str, Any]:
    """Context processor: what the frame of every page needs."""
    role = getattr(getattr(request, "user", None), "role", "")
    links = links_for(role, request.path) if role else []
    return {"contractor_name": settings.CONTRACTOR_NAME, "navigation": links, "role": role}

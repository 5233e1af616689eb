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
    ("descales", "Descales"),
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
    best = best_of([str(each["address"]) for each in found], path, home_of(role))
    return [{**each, "here": each["address"] == best} for each in found]


def best_of(addresses: list[str], path: str, home: str) -> str:
    """The link that a page stands under: the longest that leads to it, else the register for a record."""
    inner = [address for address in addresses if path.startswith(address) and address != home]
    if inner:
        return max(inner, key=len)
    register = reverse("web:register")
    if path != home and path.startswith(home) and register in addresses:
        return register
    return home if path.startswith(home) else ""


def around(request: HttpRequest) -> dict[str, Any]:
    """Context processor: what the frame of every page needs."""
    role = getattr(getattr(request, "user", None), "role", "")
    links = links_for(role, request.path) if role else []
    return {"contractor_name": settings.CONTRACTOR_NAME, "navigation": links, "role": role}

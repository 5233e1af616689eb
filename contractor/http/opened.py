"""Refusals by the API: a program gets problem details; whoever follows a page's link gets a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponseBase

from contractor.http import errors, problems


def handler(exc: Exception, context: Mapping[str, Any]) -> HttpResponseBase | None:
    """REST_FRAMEWORK['EXCEPTION_HANDLER']."""
    response, request = problems.handler(exc, context), context.get("request")
    if response is None or request is None or not opened_by_a_person(request):
        return response
    if response.status_code == 401:
        return redirect_to_login(request.get_full_path())
    return errors.page(request._request, response.status_code, str(response.data.get("detail", "")))


def opened_by_a_person(request: HttpRequest) -> bool:
    """A browser that goes to an address names HTML first; scripts and programs ask for anything, or JSON."""
    return request.method == "GET" and request.headers.get("Accept", "").startswith("text/html")

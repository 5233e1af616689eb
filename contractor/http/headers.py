"""Security headers on every answer, of pages, API and files alike, also when something fails.

SECURE_CSP and SECURE_CSP_REPORT_ONLY have the names and the shape of Django 6, so that its own middleware can
take over one day. A view loosens the policy for its own answer by setting `response.csp = {...}`.
"""

from collections.abc import Callable, Mapping, Sequence

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase

Policy = Mapping[str, Sequence[str]]


def csp_text(policy: Policy) -> str:
    return "; ".join(f"{name} {' '.join(sources)}".strip() for name, sources in policy.items())


def permissions_text(policy: Mapping[str, str]) -> str:
    return ", ".join(f"{name}={who}" for name, who in policy.items())


class HeadersMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response
        self.csp = csp_text(settings.SECURE_CSP)
        self.report_only = csp_text(getattr(settings, "SECURE_CSP_REPORT_ONLY", {}))
        self.permissions = permissions_text(settings.PERMISSIONS_POLICY)

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        own: Policy | None = getattr(response, "csp", None)
        response.headers.setdefault("Content-Security-Policy", csp_text(own) if own else self.csp)
        if self.report_only:
            response.headers.setdefault("Content-Security-Policy-Report-Only", self.report_only)
        response.headers.setdefault("Permissions-Policy", self.permissions)
        response.headers.setdefault("X-Content-Type-Options", "nosniff")
        response.headers.setdefault("Referrer-Policy", settings.SECURE_REFERRER_POLICY)
        if request.path.startswith("/api/"):
            response.headers.setdefault("Cache-Control", "private, no-cache")
        return response

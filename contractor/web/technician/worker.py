"""The service worker's script, with its files and a version made of their content; and who is signed in."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.templatetags.static import static
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views import View

from contractor.http.permissions import CREW
from contractor.web.page import Page

STATIC = Path(__file__).parent.parent / "static"
SHELL = ("web/waterside.css", "web/mark.svg")
FOLDERS = ("web/crew", "web/saturation")


def shell_files() -> list[str]:
    found = [
        str(path.relative_to(STATIC)) for folder in FOLDERS for path in sorted((STATIC / folder).iterdir())
    ]
    return [*SHELL, *found]


@lru_cache(maxsize=1)
def version() -> str:
    digest = hashlib.sha256()
    for name in shell_files():
        path: Any = finders.find(name)
        digest.update(name.encode() + Path(path).read_bytes())
    return digest.hexdigest()[:16]


@method_decorator(login_not_required, name="dispatch")
class Worker(View):
    """Nothing personal is in it; the browser asks for it anew at every visit."""

    http_method_names = ["get", "head", "options"]

    def get(self, request: HttpRequest) -> HttpResponse:
        files = [static(name) for name in shell_files()]
        context = {"version": version(), "files": files, "login": settings.LOGIN_URL}
        answer = render(request, "web/technician/worker.js", context, content_type="text/javascript")
        answer["Cache-Control"] = "no-cache"
        return answer


class Who(Page):
    """Who is signed in now, a fresh token for the posts that wait on the phone, and what time it is."""

    may = CREW

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        now = timezone.now().isoformat()
        return JsonResponse({"person": str(self.person.pk), "csrf": get_token(request), "now": now})

"""The owner's view of every table, to read: what is changed is changed by the pages, with their rules."""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.contrib import admin
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.http import urlencode

# tables whose content is a secret, or is the framework's own
NOT_SHOWN = {"sessions.session", "accounts.pagesession", "contenttypes.contenttype", "auth.permission"}
SECRET = ("password", "digest", "key", "fingerprint", "claim", "session_key")


class OwnersSite(admin.AdminSite):
    site_header = site_title = "Waterside: rows as they are"
    index_title = "Tables, to read"
    site_url = "/"

    def has_permission(self, request: HttpRequest) -> bool:
        return bool(request.user.is_active and getattr(request.user, "is_owner", False))

    def login(self, request: HttpRequest, extra_context: Any = None) -> HttpResponse:
        """Signing in is the pages' own, which slows down guessing; who is no owner is refused."""
        if request.user.is_authenticated:
            raise PermissionDenied
        asked = request.GET.get("next", reverse("admin:index"))
        return HttpResponseRedirect(f"{reverse('web:sign-in')}?{urlencode({'next': asked})}")

    def password_change(self, request: HttpRequest, extra_context: Any = None) -> Any:
        """The pages' own does more: it ends the other sign-ins."""
        return HttpResponseRedirect(reverse("web:password"))


class ToRead(admin.ModelAdmin):  # type: ignore[type-arg]
    """Nothing is added, changed or deleted here."""

    show_full_result_count = False
    list_per_page = 50

    def get_exclude(self, request: HttpRequest, obj: Any = None) -> list[str]:
        return [f.name for f in self.model._meta.fields if f.name in SECRET]

    def has_add_permission(self, request: HttpRequest, *args: Any) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return bool(getattr(request.user, "is_owner", False))


site = OwnersSite(name="admin")


def show_every_table() -> None:
    for model in apps.get_models():
        ours = not model.__module__.startswith("django.")
        if ours and model._meta.label_lower not in NOT_SHOWN and not site.is_registered(model):
            site.register(model, ToRead)

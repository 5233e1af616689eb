"""What every page shares: who may open it, who is acting, and refusals told in words where they belong."""

from __future__ import annotations

import re
import uuid
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import render
from django.views import View
from rest_framework import exceptions

from contractor.accounts.models import Person
from contractor.http.permissions import NOBODY
from contractor.http.problems import Problem, as_problem
from contractor.trail.actor import acting_as
from contractor.trail.tracked import Stale
from contractor.web import held, once
from contractor.web.forms.words import FROM_THE_API

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
REFUSALS = (Problem, exceptions.APIException, Stale, IntegrityError)


class Page(View):
    """One address. Declare `may` (roles; what is not declared is nobody's) and `template`; fill `context()`.

    A write runs in one transaction in the name of who is signed in. A refusal by a service (`Problem`) that
    nothing else answers becomes a page with its words and its status.
    """

    may: ClassVar[frozenset[str]] = NOBODY
    template: ClassVar[str] = ""

    @property
    def person(self) -> Person:
        return cast(Person, self.request.user)

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if self.person.role not in self.may:
            raise PermissionDenied
        try:
            response = self.answer(request, *args, **kwargs)
        except exceptions.PermissionDenied as exc:
            raise PermissionDenied(str(exc.detail)) from exc
        except REFUSALS as exc:
            response = self.refused(exc)
        response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    def answer(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.method in SAFE:
            return super().dispatch(request, *args, **kwargs)
        with acting_as(self.person.pk, self.person.email), transaction.atomic():
            return super().dispatch(request, *args, **kwargs)

    def refused(self, exc: Exception) -> HttpResponse:
        status, words, _ = told(exc)
        said = {"status": status, "role": self.person.role, **words}
        return render(self.request, "problem.html", said, status=status)

    def context(self) -> dict[str, Any]:
        return {}

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        return self.shown(**self.context())

    def shown(self, status: int = 200, **context: Any) -> HttpResponse:
        return render(self.request, self.template, {"page": self, **context}, status=status)


class FormPage(Page):
    """A form and what becomes of it. Declare `form_class`; `carry_out(form)` calls a service and says where
    to go next. A refusal comes back at the field that its pointer names; what was typed while the sign-in ran
    out comes back too (`held`); what is sent twice is carried out once (`once`).
    """

    form_class: ClassVar[type[BaseForm]]
    template: ClassVar[str] = "web/form.html"
    title: ClassVar[str] = ""
    intro: ClassVar[str] = ""
    send_label: ClassVar[str] = "Save"
    done: ClassVar[str] = "Saved."
    holds_typing: ClassVar[bool] = True

    def form(self, data: Any = None, files: Any = None) -> BaseForm:
        return self.form_class(data, files, initial=self.initial(), **self.form_options())

    def initial(self) -> dict[str, Any]:
        return {}

    def form_options(self) -> dict[str, Any]:
        return {}

    def carry_out(self, form: Any) -> str:
        """Returns the address to go to."""
        raise NotImplementedError

    def tell_more(self, form: Any) -> None:
        """Puts what a service would refuse beside what the form refused, so that all is told at one press."""

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        typed = held.give_back(request)
        if typed is None:
            return self.with_form(self.form())
        cast(Any, request).POST = typed
        return self.with_form(self.form(typed))

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        form = self.form(request.POST, request.FILES)
        if not form.is_valid():
            self.tell_more(form)
            return self.with_form(form, 400)
        try:
            with transaction.atomic():
                address = once.carry_out(request, lambda: self.carry_out(form))
        except exceptions.PermissionDenied:
            raise
        except REFUSALS as exc:
            status, _, errors = told(exc)
            put_errors(form, errors)
            return self.with_form(form, status, anew=status == 409)
        if self.done:
            messages.success(request, self.done)
        return HttpResponseRedirect(address)

    def with_form(self, form: BaseForm, status: int = 200, *, anew: bool = False) -> HttpResponse:
        key = "" if anew else once.key_of(self.request)
        cast(Any, form).sent_with = {once.KEY: key or str(uuid.uuid4()), held.SEAL: held.seal(self.person)}
        said = {"title": self.title, "intro": self.intro, "send_label": self.send_label}
        return self.shown(status, **{**said, **self.context(), "form": form})


class Deed(Page):
    """A button: POST only. `carry_out()` calls a service; a refusal is told on the page one goes back to."""

    is_deed: ClassVar[bool] = True

    done: ClassVar[str] = ""
    http_method_names = ["post", "options"]

    def carry_out(self) -> str:
        raise NotImplementedError

    def back(self) -> str:
        """Where to go when the deed is refused."""
        return "/"

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        try:
            with transaction.atomic():
                address = self.carry_out()
        except exceptions.PermissionDenied:
            raise
        except REFUSALS as exc:
            messages.error(request, str(told(exc)[1]["detail"]))
            return HttpResponseRedirect(self.back())
        if self.done:
            messages.success(request, self.done)
        return HttpResponseRedirect(address)


def told(exc: Exception) -> tuple[int, dict[str, Any], list[Mapping[str, Any]]]:
    """Status, title and detail, and errors with pointers, of a refusal."""
    said = as_problem(exc)
    if said is None:
        raise exc
    status, body, _ = said
    words = {"title": body["title"], "detail": body["detail"]}
    return status, words, list(cast(list[Mapping[str, Any]], body.get("errors") or [words]))


def put_errors(form: BaseForm, errors: Sequence[Mapping[str, Any]]) -> None:
    """Each error at the field that its pointer names."""
    for error in errors:
        detail = str(error["detail"])
        form.add_error(field_of(form, error), FROM_THE_API.get(detail) or in_words_of(form, detail))


def field_of(form: BaseForm, error: Mapping[str, Any]) -> str | None:
    """'#/as_typed/capacity/value' is the field capacity."""
    steps = str(error.get("pointer", "")).lstrip("#/").split("/")
    columns, pointers = getattr(form, "by_column", {}), getattr(form, "pointers", {})
    steps = [str(pointers.get(step) or getattr(columns.get(step), "name", step)) for step in steps]
    return next((step for step in steps if step in form.fields), None)


def put_further(form: BaseForm, errors: Sequence[Mapping[str, Any]]) -> None:
    """Those of fields that nothing was said of yet; the whole is judged once its fields are right."""
    not_now = {None, *form.errors}
    put_errors(form, [error for error in errors if field_of(form, error) not in not_now])


def in_words_of(form: BaseForm, detail: str) -> str:
    """Programs are told a field's name; who fills in a form knows it by its label."""
    for name, field in form.fields.items():
        if "_" in name and field.label:
            detail = re.sub(rf"\b{name}\b", f"“{field.label}”", detail)
    return detail

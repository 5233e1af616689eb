"""Lists, pages and forms of every record the office keeps. What is done is done by the API's own services."""

from __future__ import annotations

import datetime as dt
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django.core.files.base import File
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from contractor.http.permissions import OFFICE
from contractor.http.problems import Problem
from contractor.register import services
from contractor.trail.models import Change
from contractor.web.finding import matching, words_in
from contractor.web.page import REFUSALS, Deed, FormPage, Page, put_further, told
from contractor.web.records import shown
from contractor.web.records.forms import RecordForm, initial_of, pk_of
from contractor.web.records.kinds import KINDS, PLAIN, Kind
from contractor.web.stale import Versioned

PER_PAGE = 50
BELOW = 100


def address_of(kind: Kind, row: Any, what: str = "show") -> str:
    return reverse(f"web:{kind.slug}-{what}", args=[row.pk])


class OfKind:
    """What the views of a record share; the kind is set in the address table."""

    may: ClassVar[frozenset[str]] = OFFICE
    kind: Kind = KINDS["customers"]
    request: HttpRequest
    kwargs: dict[str, Any]

    def answer(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        with timezone.override(self.zone()):
            return super().answer(request, *args, **kwargs)  # type: ignore[misc, no-any-return]

    def zone(self) -> ZoneInfo:
        """Moments are typed and shown by the clock of the site that they are about."""
        row = self.row() if "pk" in self.kwargs else self.parent()
        site = getattr(getattr(row, "unit", row), "site", None)
        return ZoneInfo(getattr(site, "time_zone", None) or "UTC")

    def rows(self) -> QuerySet[Any]:
        rows: QuerySet[Any] = self.kind.model.objects.seen_by(self.request.user)
        return rows.select_related(*self.kind.related) if self.kind.related else rows

    def row(self) -> Any:
        if not hasattr(self, "_row"):
            self._row = get_object_or_404(self.rows(), pk=self.kwargs["pk"])
        return self._row

    def parent(self) -> Any:
        """The row that a new one belongs to, where the address names it."""
        for name in self.kind.parents:
            if pk := pk_of(self.request.GET.get(name)):
                model = self.kind.model._meta.get_field(name).related_model
                return get_object_or_404(model.objects.seen_by(self.request.user), pk=pk)
        return None

    def room(self, action: str) -> Any:
        """The API's view of this record, for its serializer and its services."""
        view = self.kind.viewset()
        view.request, view.action, view.format_kwarg, view.kwargs = self.request, action, None, {}
        return view

    def may_write(self) -> bool:
        return self.request.user.role in self.kind.may_write  # type: ignore[union-attr]


class List(OfKind, Page):
    template = "web/records/list.html"

    def context(self) -> dict[str, Any]:
        asked, words = words_in(self.request.GET.get("q", ""))
        retired = self.request.GET.get("retired") == "yes"
        rows = self.found(words, retired)
        page = Paginator(rows, PER_PAGE).get_page(self.request.GET.get("page"))
        return {
            "title": self.kind.many, "kind": self.kind, "asked": asked, "retired": retired, "rows": page,
            "table": shown.table(self.kind, page, self.request.user), "may_write": self.may_write(),
            "new": reverse(f"web:{self.kind.slug}-new"),
        }  # fmt: skip

    def found(self, words: list[str], retired: bool) -> QuerySet[Any]:
        rows = self.rows().order_by(*(self.kind.ordering or self.kind.model._meta.ordering))
        if self.kind.ended:
            rows = rows.filter(**{f"{self.kind.ended}__isnull": not retired})
        return matching(rows, self.kind.find, words) if words and self.kind.find else rows


class Show(OfKind, Page):
    def shown(self, status: int = 200, **context: Any) -> HttpResponse:
        return render(self.request, self.kind.page, {"page": self, **context}, status=status)

    def context(self) -> dict[str, Any]:
        row, kind = self.row(), self.kind
        return {
            "title": shown.heading(kind, row), "kind": kind, "row": row,
            "ended": getattr(row, kind.ended) if kind.ended else None,
            "sections": shown.facts(kind, row, self.room("retrieve"), self.request.user),
            "below": [self.part(slug, name) for slug, name in kind.below], "may_write": self.may_write(),
            "alone": kind.page == PLAIN and not kind.below,
            "trail": shown.trail(kind, row),
            "changes": Change.objects.filter(table=kind.model._meta.label_lower, row_id=str(row.pk))[:10],
            **(kind.more(row, self.request.user) if kind.more else {}),
        }  # fmt: skip

    def part(self, slug: str, name: str) -> dict[str, Any]:
        kind = KINDS[slug]
        rows = kind.model.objects.filter(**{name: self.row()}).select_related(*kind.related)
        if kind.ended:
            rows = rows.filter(**{f"{kind.ended}__isnull": True})
        new = f"{reverse(f'web:{slug}-new')}?{name}={self.row().pk}"
        return {
            "kind": kind,
            "table": shown.table(kind, rows[:BELOW], self.request.user, besides=name),
            "new": new,
        }


class Write(OfKind, FormPage):
    template = "web/records/form.html"
    given: ClassVar[dict[str, Any]] = {}

    def form(self, data: Any = None, files: Any = None) -> RecordForm:
        return self.kind.form(data, files, initial=self.initial(), **self.form_options())

    def form_options(self) -> dict[str, Any]:
        kind = self.kind
        return {
            "serializer": self.serializer(), "quantities": kind.quantities, "units": self.person.units,
            "mark": self.person.decimal_mark,
            "sections": kind.sections, "left_out": kind.left_out,
        }  # fmt: skip

    def serializer(self, **given: Any) -> Any:
        raise NotImplementedError

    def checked(self, form: RecordForm, **given: Any) -> Any:
        data = form.changed() if "partial" in given else form.sent()
        serializer = self.serializer(data=data, **given)
        serializer.is_valid(raise_exception=True)
        return serializer

    def tell_more(self, form: RecordForm) -> None:
        try:
            self.checked(form, **self.given)
        except REFUSALS as refusal:
            put_further(form, told(refusal)[2])


class New(Write):
    def serializer(self, **given: Any) -> Any:
        return self.room("create").get_serializer(**given)

    def initial(self) -> dict[str, Any]:
        defaults = initial_of(self.kind.model(), self.serializer(), ()) if not self.kind.left_out else {}
        begun = self.kind.begins(self.parent()) if self.kind.begins else {}
        given = {name: pk_of(self.request.GET.get(name)) for name in self.kind.parents}
        return {**defaults, **begun, **given}

    def context(self) -> dict[str, Any]:
        parent = self.parent()
        back = reverse(f"web:{self.kind.slug}-list")
        return {"title": f"New {self.kind.one}", "kind": self.kind, "back": back, "parent": parent}

    def carry_out(self, form: RecordForm) -> str:
        row = self.room("create").perform_create(self.checked(form))
        return address_of(self.kind, row)


class Edit(Versioned, Write):
    template = "web/records/form.html"
    given: ClassVar[dict[str, Any]] = {"partial": True}

    def serializer(self, **given: Any) -> Any:
        return self.room("partial_update").get_serializer(self.row(), **given)

    def initial(self) -> dict[str, Any]:
        return initial_of(self.row(), self.serializer(), self.kind.quantities, self.person.units)

    def context(self) -> dict[str, Any]:
        row = self.row()
        return {"title": f"Change {row}", "kind": self.kind, "back": address_of(self.kind, row), "row": row,
                "version": self.version_of(row)}  # fmt: skip

    def carry_out(self, form: RecordForm) -> str:
        self.refuse_stale(self.row())
        row = self.room("partial_update").perform_update(self.checked(form, **self.given))
        return address_of(self.kind, row)


class End(OfKind, Deed):
    """Retire, withdraw or take back."""

    def back(self) -> str:
        return address_of(self.kind, self.row())

    def carry_out(self) -> str:
        view, now = self.room("retire"), timezone.now()
        if self.kind.slug == "events":
            end_event(self.row(), now, self.person)
        else:
            view.retire_row(self.row(), now)
        return self.back()


class BringBack(OfKind, Deed):
    def back(self) -> str:
        return address_of(self.kind, self.row())

    def carry_out(self) -> str:
        if not self.kind.bring_back:
            raise Http404
        self.room("bring_back").bring_back_row(self.row())
        return self.back()


def end_event(row: Any, now: dt.datetime, person: Any) -> None:
    services.take_back_unit_event(row, now, person)


class KeepAcceptance(OfKind, Deed):
    """What the works wrote that lets a site's drain take acid water, as a file."""

    done = "The acceptance is on file."

    def back(self) -> str:
        return address_of(self.kind, self.row())

    def carry_out(self) -> str:
        services.keep_acceptance(self.row(), file_of(self.request))
        return self.back()


def file_of(request: HttpRequest) -> File[bytes]:
    upload = request.FILES.get("file")
    if upload is None:
        raise Problem("invalid", "Choose the file.")
    return upload


class KeepPaper(OfKind, Deed):
    """The label or the safety data sheet of a cleaner, as a file."""

    done = "The paper is on file."

    def back(self) -> str:
        return address_of(self.kind, self.row())

    def carry_out(self) -> str:
        upload, paper = self.request.FILES.get("file"), self.request.POST.get("paper", "")
        if paper not in ("label", "safety_sheet") or upload is None:
            raise Problem("invalid", "Choose which paper it is, and its file.")
        services.keep_paper(self.row(), paper, upload)  # type: ignore[arg-type]
        return self.back()

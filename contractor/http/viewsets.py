"""The base of every room's views: who sees what, who may do what, ETag; on the frame of every request."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django.db.models import Model, QuerySet
from django.shortcuts import get_object_or_404
from rest_framework import mixins, status, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.http.etags import check_if_match, etag_of, not_changed
from contractor.http.frame import Framed, Handler
from contractor.http.parameters import refuse_unknown_parameters
from contractor.http.permissions import RoleRules


class RoomView(Framed):
    """A plain view for addresses that are not rows of a table."""


class RoomViewSet(Framed, viewsets.GenericViewSet[Any]):
    """Declare `model` (its manager has `seen_by(person)`) or override `scope()`, `serializer_class` and
    `may`.

    may            action -> roles; what is missing is denied
    related        select_related for lists and details; `prefetch` likewise
    """

    model: ClassVar[Any]
    may: ClassVar[Mapping[str, frozenset[str]]] = {}
    if_match_actions: ClassVar[frozenset[str]] = frozenset({"update", "partial_update", "destroy"})
    related: ClassVar[tuple[str, ...]] = ()
    prefetch: ClassVar[tuple[Any, ...]] = ()
    permission_classes = (RoleRules,)
    lookup_value_converter = "uuid"

    # --- rows
    def scope(self) -> QuerySet[Any]:
        """The rows this person may see; the only place a view starts from."""
        return self.model.objects.seen_by(self.request.user)  # type: ignore[no-any-return]

    def get_queryset(self) -> QuerySet[Any]:
        if getattr(self, "swagger_fake_view", False):
            return self.model.objects.none()  # type: ignore[no-any-return]
        rows = self.scope()
        if self.related:
            rows = rows.select_related(*self.related)
        if self.prefetch:
            rows = rows.prefetch_related(*self.prefetch)
        return rows

    def get_object_or_404(self) -> Any:
        keyword = self.lookup_url_kwarg or self.lookup_field
        return get_object_or_404(self.get_queryset(), **{self.lookup_field: self.kwargs[keyword]})

    def get_object(self) -> Any:
        """The row, with If-Match checked.

        Between here and its save nobody can change it unseen: see Tracked.
        """
        row = self.get_object_or_404()
        self.check_object_permissions(self.request, row)
        if self.action in self.if_match_actions:
            check_if_match(self.request, row)
        return row

    def carry_out(self, request: Request, handler: Handler, *args: Any, **kwargs: Any) -> Response:
        if self.action == "list":
            refuse_unknown_parameters(self, request)
        return super().carry_out(request, handler, *args, **kwargs)

    # --- answers
    def answer(self, row: Model, *, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
        """A row as the action's serializer shows it, with its ETag."""
        data = self.get_serializer(row).data
        response = Response(data, status=status, headers=dict(headers or {}))
        if tag := etag_of(row):
            response["ETag"] = tag
        return response

    def address_of(self, row: Model) -> str:
        """Path of a row of this viewset (Location of a creation)."""
        return self.request.path.rstrip("/") + f"/{row.pk}/"


class Listing(mixins.ListModelMixin):
    pass


class Retrieving:
    def retrieve(self: Any, request: Request, *args: Any, **kwargs: Any) -> Response:
        row = self.get_object()
        if not_changed(request, row):
            return Response(status=status.HTTP_304_NOT_MODIFIED, headers={"ETag": etag_of(row) or ""})
        response: Response = self.answer(row)
        return response


class Creating:
    def create(self: Any, request: Request, *args: Any, **kwargs: Any) -> Response:
        serializer = self.get_serializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        row = self.perform_create(serializer)
        response: Response = self.answer(row, status=201, headers={"Location": self.address_of(row)})
        return response

    def perform_create(self, serializer: Any) -> Any:
        """Override to call the room's service; returns the row."""
        return serializer.save()


class Changing:
    def partial_update(self: Any, request: Request, *args: Any, **kwargs: Any) -> Response:
        row = self.get_object()
        serializer = self.get_serializer(row, data=request.data, partial=True)
        serializer.is_valid(raise_exception=True)
        response: Response = self.answer(self.perform_update(serializer))
        return response

    def perform_update(self, serializer: Any) -> Any:
        """Override to call the room's service; returns the row."""
        return serializer.save()


class ReadOnlyRoomViewSet(Retrieving, Listing, RoomViewSet):
    """List and retrieve."""


class FullRoomViewSet(Changing, Creating, Retrieving, Listing, RoomViewSet):
    """List, retrieve, create, change by PATCH. Nothing is deleted; retiring is an action of the room."""

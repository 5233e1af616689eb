"""Documents over the API: asked for, read, downloaded; released or withdrawn by the office."""

from __future__ import annotations

from typing import Any, cast

import django_filters
from django.db.models import QuerySet
from django.http import HttpResponse
from django.utils import timezone
from django.utils.http import content_disposition_header
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.routers import BaseRouter

from contractor.accounts.models import Person
from contractor.descales.models import Descale
from contractor.http.permissions import CREW, EVERYONE, OFFICE
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.http.serializers import KnownChoiceField, RoomModelSerializer, RoomSerializer
from contractor.http.viewsets import ReadOnlyRoomViewSet, RoomViewSet
from contractor.register.api.base import SeenField
from contractor.register.models import Exchanger
from contractor.workqueue.api import WorkItemSerializer, accepted
from diagnostics.models import Assessment
from reporting import files, job_papers, services
from reporting.models import DESCALE_KINDS, KINDS, PAPERS, STATES, Document

PDF = "application/pdf"
declare("file-missing", 503, "The file cannot be given out",
        "It is gone from the disk or no longer what was kept; the office can prepare it again.")  # fmt: skip


class DocumentSerializer(RoomModelSerializer):
    site = serializers.UUIDField(source="site_id", read_only=True, help_text="id of the site")
    exchanger = serializers.UUIDField(
        source="exchanger_id", read_only=True, allow_null=True, help_text="id of the exchanger"
    )
    visit = serializers.UUIDField(
        source="visit_id", read_only=True, allow_null=True, help_text="id of the visit"
    )
    assessment = serializers.IntegerField(
        source="assessment_id", read_only=True, allow_null=True, help_text="the assessment it rests on"
    )
    descale = serializers.UUIDField(
        source="descale_id", read_only=True, allow_null=True, help_text="id of the descale"
    )
    outdated = serializers.SerializerMethodField(
        help_text="its readings were corrected or assessed again since; prepare a new one"
    )
    file = serializers.SerializerMethodField(help_text="address of the PDF")
    released_by = serializers.UUIDField(
        source="released_by_id", read_only=True, allow_null=True, help_text="id of who released it"
    )
    withdrawn_by = serializers.UUIDField(
        source="withdrawn_by_id", read_only=True, allow_null=True, help_text="id of who withdrew it"
    )

    class Meta:
        model = Document
        fields = [
            "id", "kind", "title", "state", "paper", "site", "exchanger", "visit", "assessment", "descale",
            "outdated",
            "file", "sha256", "prepared_at", "released_at", "released_by", "withdrawn_at", "withdrawn_by",
            "withdrawn_because",
        ]  # fmt: skip
        read_only_fields = fields
        extra_kwargs = {
            name: {"help_text": words}
            for name, words in {
                "id": "id of the document",
                "kind": "the kind of document",
                "title": "what it says on its first page",
                "state": "prepared, released or withdrawn",
                "paper": "a4 or letter",
                "sha256": "digest of the file",
                "prepared_at": "when a worker wrote it",
                "released_at": "when the office released it",
                "withdrawn_at": "when the office withdrew it",
                "withdrawn_because": "why it was withdrawn",
            }.items()
        }

    def get_outdated(self, row: Document) -> bool:
        return services.is_outdated(row)

    def get_file(self, row: Document) -> str:
        return f"/api/v1/documents/{row.pk}/file/"


class StandingAssessmentField(SeenField):
    def get_queryset(self) -> QuerySet[Any]:
        return super().get_queryset().current()  # type: ignore[attr-defined, no-any-return]


class DocumentRequestSerializer(RoomSerializer):
    """One of the two says what the report is about."""

    kind = KnownChoiceField(choices=KINDS, default="visit_report", help_text="the kind of document")
    exchanger = SeenField(
        queryset=Exchanger.objects.all(), required=False, help_text="report its latest assessment"
    )
    assessment = StandingAssessmentField(
        queryset=Assessment.objects.all(), required=False, help_text="report this assessment"
    )
    descale = SeenField(
        queryset=Descale.objects.all(), required=False, help_text="for a job sheet, certificate or notice"
    )
    paper = KnownChoiceField(choices=PAPERS, default="a4", help_text="a4 or letter")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["kind"] in DESCALE_KINDS:
            if set(attrs) != {"kind", "descale", "paper"}:
                raise serializers.ValidationError({"descale": "Give the descale, and nothing else."})
            return attrs
        if "descale" in attrs:
            raise serializers.ValidationError({"descale": f"Only for {', '.join(DESCALE_KINDS)}."})
        if ("exchanger" in attrs) == ("assessment" in attrs):
            raise serializers.ValidationError({"exchanger": "Give exchanger or assessment, one of the two."})
        return attrs


class WithdrawalSerializer(RoomSerializer):
    because = serializers.CharField(max_length=300, help_text="why it is withdrawn")


class DocumentFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    kind = django_filters.ChoiceFilter(choices=[(k, k) for k in KINDS], help_text="the kind of document")
    state = django_filters.ChoiceFilter(
        choices=[(s, s) for s in STATES], help_text="prepared, released or withdrawn"
    )
    customer = django_filters.UUIDFilter("site__customer", help_text="id of the customer")
    site = django_filters.UUIDFilter("site", help_text="id of the site")
    exchanger = django_filters.UUIDFilter("exchanger", help_text="id of the exchanger")
    visit = django_filters.UUIDFilter("visit", help_text="id of the visit")
    descale = django_filters.UUIDFilter("descale", help_text="id of the descale")
    assessment = django_filters.NumberFilter("assessment", help_text="number of the assessment")

    class Meta:
        model = Document
        fields: list[str] = []


class PdfRenderer(BaseRenderer):
    """Lets a reader ask for application/pdf; the view answers with the file itself."""

    media_type = PDF
    format = "pdf"
    charset = None

    def render(self, data: Any, accepted_media_type: Any = None, renderer_context: Any = None) -> Any:
        return JSONRenderer().render(data)


class DocumentViewSet(ReadOnlyRoomViewSet):
    """Reports as PDF, prepared by a worker, released or withdrawn by the office."""

    model = Document
    serializer_class = DocumentSerializer
    filterset_class = DocumentFilters
    ordering_fields = ("prepared_at", "released_at")
    related = ("assessment__reading", "ranking", "descale")
    key_required = frozenset({"create"})
    if_match_actions = RoomViewSet.if_match_actions | {"release", "withdraw"}
    takes_nothing = frozenset({"release"})
    may = {
        "list": EVERYONE,
        "retrieve": EVERYONE,
        "create": CREW,
        "release": OFFICE,
        "withdraw": OFFICE,
        "file": EVERYONE,
    }

    @extend_schema(request=DocumentRequestSerializer, responses={202: WorkItemSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Ask for a document to be prepared. Answers with the work item to follow."""
        asked = DocumentRequestSerializer(data=request.data, context=self.get_serializer_context())
        asked.is_valid(raise_exception=True)
        if descale := asked.validated_data.get("descale"):
            wanted, me = asked.validated_data, cast(Person, request.user)
            return accepted(job_papers.request_paper(wanted["kind"], descale, wanted["paper"], me))
        about = asked.validated_data.get("assessment") or asked.validated_data["exchanger"]
        if isinstance(about, Exchanger) and services.latest_assessment_of(about.pk) is None:
            raise Problem("nothing-assessed")
        me = cast(Person, request.user)
        return accepted(services.request_visit_report(str(about.pk), asked.validated_data["paper"], me))

    @extend_schema(request=None, responses=DocumentSerializer)
    @action(detail=True, methods=["post"])
    def release(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Let the client see it."""
        document = services.release(self.get_object(), cast(Person, request.user), timezone.now())
        return self.answer(document)

    @extend_schema(request=WithdrawalSerializer, responses=DocumentSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Take it back, saying why. Row and file stay for the record."""
        document = self.get_object()
        sent = WithdrawalSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        me = cast(Person, request.user)
        return self.answer(services.withdraw(document, me, sent.validated_data["because"], timezone.now()))

    @extend_schema(responses={(200, PDF): OpenApiTypes.BINARY})
    @action(detail=True, methods=["get"], renderer_classes=[PdfRenderer, JSONRenderer])
    def file(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        """The PDF itself."""
        document = self.get_object()
        tag = f'"{document.sha256}"'
        headers = {"ETag": tag, "Cache-Control": "private, no-cache", "X-Content-Type-Options": "nosniff"}
        if tag in request.headers.get("If-None-Match", ""):
            return HttpResponse(status=304, headers=headers)
        content = files.read_checked(document.file.name, document.sha256)
        if content is None:
            raise Problem("file-missing")
        disposition = content_disposition_header(True, services.file_name_of(document)) or "attachment"
        headers |= {"Content-Disposition": disposition, "Content-Security-Policy": "sandbox"}
        return HttpResponse(content, content_type=PDF, headers=headers)


def register(router: BaseRouter) -> None:
    router.register("documents", DocumentViewSet, basename="document")

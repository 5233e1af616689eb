from __future__ import annotations

import dataclasses
import uuid
from collections.abc import Callable
from typing import Any

import django_filters
from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.decorators import action
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.descales import services
from contractor.descales.api import answers, asking, telling
from contractor.descales.api.whole import record_of
from contractor.descales.models import Batch, Descale, Look
from contractor.descales.planning import Asked
from contractor.descales.selectors import now_of
from contractor.descales.services.rules import WITH_SITE, Told
from contractor.http.permissions import CREW, OFFICE
from contractor.http.problems import Problem
from contractor.http.viewsets import FullRoomViewSet
from contractor.register.api.base import person_of
from contractor.register.models import Rig
from contractor.visits.api.visits import ReasonSerializer
from contractor.workqueue.api import WorkItemSerializer, accepted

Service = Callable[..., Told]
CHECKED, MIXED, PORTIONED = map(
    telling.answer_to, (telling.CheckSerializer, telling.BatchSerializer, telling.PortionSerializer)
)
LOOKED, STEPPED, LET_OUT = map(
    telling.answer_to, (telling.LookSerializer, telling.EndStepSerializer, telling.DischargeSerializer)
)
HELD, SIGNED, NEUTRALISED = map(
    telling.answer_to,
    (telling.HeldWasteSerializer, telling.SignOffSerializer, telling.NeutralisingSerializer),
)


class DescaleFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    unit = django_filters.UUIDFilter("exchanger__unit", help_text="id of the unit")
    site = django_filters.UUIDFilter("exchanger__unit__site", help_text="id of the site")
    customer = django_filters.UUIDFilter("exchanger__unit__site__customer", help_text="id of the customer")
    open = django_filters.BooleanFilter(method="by_open", help_text="true: not over yet; false: over")

    class Meta:
        model = Descale
        fields = {"exchanger": ["exact"], "state": ["exact"], "visit": ["exact"]}

    def by_open(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        return rows.open() if value else rows.exclude(pk__in=Descale.objects.open().values("pk"))  # type: ignore[attr-defined]


class DescaleViewSet(FullRoomViewSet):
    """A descale from recommendation to certificate. What happened is never refused; a plan may be."""

    model = Descale
    serializer_class = answers.DescaleSerializer
    filterset_class = DescaleFilters
    ordering_fields = ("created_at", "changed_at")
    related = WITH_SITE
    key_required = frozenset({
        "checks", "batches", "batch_out", "portions", "looks", "look_photo", "end_steps", "neutralising",
        "let_out", "hold", "sign_offs", "acid_is_in", "could_not_do",
    })  # fmt: skip
    if_match_actions = frozenset({"update", "partial_update", "call_off"})
    takes_nothing = frozenset({"certify"})
    may = {
        **dict.fromkeys(
            ("list", "retrieve", "create", "partial_update", "cleaners", "deposit", "plan", "now", "record",
             "checks", "batches", "batch_out", "portions", "looks", "look_photo", "end_steps", "neutralising",
             "let_out", "hold", "sign_offs", "acid_is_in", "proof", "could_not_do"),
            CREW,
        ),
        **dict.fromkeys(("price", "consent", "notice", "call_off", "certify"), OFFICE),
    }  # fmt: skip

    # --- decisions
    def perform_create(self, serializer: Any) -> Descale:
        given = dict(serializer.validated_data)
        return services.recommend(
            person_of(self.request), given.pop("exchanger"), given.pop("because"),
            descale_id=given.pop("id", None), fields=given,
        )  # fmt: skip

    def perform_update(self, serializer: Any) -> Descale:
        return services.change_descale(
            person_of(self.request), serializer.instance, serializer.validated_data
        )

    @extend_schema(request=answers.PriceSerializer, responses={201: answers.PriceSerializer})
    @action(detail=True, methods=["post"])
    def price(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Name a price; a later one takes the place of an earlier."""
        descale, sent = self.sent(request, answers.PriceSerializer)
        row = services.state_price(person_of(request), descale, sent.validated_data, timezone.now())
        return self.shown(answers.PriceSerializer(row).data, 201)

    @extend_schema(request=answers.ConsentSerializer, responses={201: answers.ConsentSerializer})
    @action(detail=True, methods=["post"])
    def consent(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Record the customer's yes, before chemicals go out."""
        descale, sent = self.sent(request, answers.ConsentSerializer)
        row = services.record_consent(person_of(request), descale, sent.validated_data)
        return self.shown(answers.ConsentSerializer(row).data, 201)

    @extend_schema(request=answers.NoticeSerializer, responses={201: answers.NoticeGivenSerializer})
    @action(detail=True, methods=["post"])
    def notice(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Tell the client; they read it under descale-notices."""
        descale, sent = self.sent(request, answers.NoticeSerializer)
        row = services.give_notice(person_of(request), descale, sent.validated_data, timezone.now())
        return self.shown(answers.NoticeGivenSerializer(row).data, 201)

    @extend_schema(
        parameters=[OpenApiParameter("rig", OpenApiTypes.UUID, required=True, description="id of the rig")],
        responses=answers.ChoiceSerializer(many=True), filters=False,
    )  # fmt: skip
    @action(detail=True, methods=["get"], pagination_class=None)
    def cleaners(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Which cleaners fit, mild before strong, and why the others are refused."""
        descale, person = self.get_object(), person_of(request)
        rig = Rig.objects.seen_by(person).filter(pk=uuid_of(request.query_params.get("rig"))).first()
        if rig is None:
            raise Problem("invalid", "There is no such rig; expected the id of one in the parameter `rig`.")
        found = services.choose_cleaner(person, descale, rig, Asked(), timezone.now())
        return Response(answers.ChoiceSerializer(found, many=True).data)

    @extend_schema(responses=answers.ExpectedSerializer, filters=False)
    @action(detail=True, methods=["get"])
    def deposit(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """What the deposit likely is, on what grounds, and what is right where acid is the wrong tool."""
        found = services.deposit_expected(person_of(request), self.get_object())
        return Response(answers.ExpectedSerializer(found).data)

    @extend_schema(request=asking.PlanRequestSerializer, responses={202: WorkItemSerializer})
    @action(detail=True, methods=["post"])
    def plan(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Ask for a plan. 409 with every reason where it is unsafe; else it is queued."""
        descale, sent = self.sent(request, asking.PlanRequestSerializer)
        given = sent.validated_data
        return accepted(
            services.request_plan(
                person_of(request), descale, given["cleaner"], given["rig"], sent.asked(), timezone.now()
            )
        )

    @extend_schema(request=ReasonSerializer, responses=answers.DescaleSerializer)
    @action(detail=True, methods=["post"], url_path="call-off")
    def call_off(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """It will not be done. Needs If-Match."""
        descale, sent = self.sent(request, ReasonSerializer)
        row = services.call_off(person_of(request), descale, sent.validated_data["reason"], timezone.now())
        return self.answer(row)

    @extend_schema(request=asking.CouldNotSerializer, responses={201: answers.DescaleSerializer})
    @action(detail=True, methods=["post"], url_path="could-not-do")
    def could_not_do(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Why it could not be done. The answer is the recommendation that stands in its place."""
        descale, sent = self.sent(request, asking.CouldNotSerializer)
        given = sent.validated_data
        row = services.could_not_do(
            person_of(request), descale, given["why"], given.get("words", ""), timezone.now()
        )
        return self.answer(row, status=201, headers={"Location": f"/api/v1/descales/{row.pk}/"})

    @extend_schema(request=None, responses=answers.DescaleSerializer)
    @action(detail=True, methods=["post"])
    def certify(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """The certificate is out: signed, and every bath let out or held."""
        return self.answer(services.certify(person_of(request), self.get_object()))

    # --- what happened
    @extend_schema(request=telling.CheckSerializer, responses={200: CHECKED, 201: CHECKED})
    @action(detail=True, methods=["post"])
    def checks(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep a check before acid. `do_now` lists what still keeps the dose screen shut."""
        return self.tell(request, telling.CheckSerializer, services.record_check)

    @extend_schema(request=telling.BatchSerializer, responses={200: MIXED, 201: MIXED})
    @action(detail=True, methods=["post"])
    def batches(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep a bath as it was mixed; its clock starts. Kept whatever was checked before."""
        return self.tell(request, telling.BatchSerializer, services.mix_batch)

    @extend_schema(request=asking.BatchOutSerializer, responses=telling.BatchSerializer)
    @action(detail=True, methods=["post"], url_path="batch-out")
    def batch_out(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """A bath was drained for a fresh one: its clock stops."""
        descale, sent = self.sent(request, asking.BatchOutSerializer)
        given = sent.validated_data
        batch = Batch.objects.filter(pk=given["batch"], descale=descale).first()
        if batch is None:
            raise NotFound("This descale has no such batch.")
        row = services.batch_is_out(person_of(request), descale, batch, given.get("at") or timezone.now())
        return self.shown(telling.BatchSerializer(row).data, 200)

    @extend_schema(request=telling.PortionSerializer, responses={200: PORTIONED, 201: PORTIONED})
    @action(detail=True, methods=["post"])
    def portions(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep a portion of the dose."""
        return self.tell(request, telling.PortionSerializer, services.add_portion)

    @extend_schema(request=telling.LookSerializer, responses={200: LOOKED, 201: LOOKED})
    @action(detail=True, methods=["post"])
    def looks(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep a look at the tank. `do_now`: go on, fresh batch, reverse, finished or stop, with reasons."""
        return self.tell(request, telling.LookSerializer, services.add_look)

    @extend_schema(request=asking.LookPhotoSerializer, responses=telling.LookSerializer)
    @action(detail=True, methods=["post"], url_path="look-photo")
    def look_photo(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Name the photo of a look that is on record: the look goes first and waits for no photo."""
        descale, sent = self.sent(request, asking.LookPhotoSerializer)
        look = Look.objects.filter(pk=sent.validated_data["look"], descale=descale).first()
        if look is None:
            raise NotFound("This descale has no such look.")
        row = services.photo_of_look(person_of(request), descale, look, sent.validated_data["photo"])
        return self.shown(telling.LookSerializer(row, context=self.get_serializer_context()).data, 200)

    @extend_schema(request=telling.EndStepSerializer, responses={200: STEPPED, 201: STEPPED})
    @action(detail=True, methods=["post"], url_path="end-steps")
    def end_steps(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep a step of the end. `do_now` lists what still lacks before the unit is back in service."""
        return self.tell(request, telling.EndStepSerializer, services.record_end_step)

    @extend_schema(request=telling.NeutralisingSerializer, responses={200: NEUTRALISED, 201: NEUTRALISED})
    @action(detail=True, methods=["post"])
    def neutralising(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep a portion of neutraliser into a parked bath, with the pH after it."""
        return self.tell(request, telling.NeutralisingSerializer, services.add_neutraliser)

    @extend_schema(request=telling.DischargeSerializer, responses={200: LET_OUT, 201: LET_OUT})
    @action(detail=True, methods=["post"], url_path="discharges")
    def let_out(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep what was let out. Outside the limits it is kept as an exceedance."""
        return self.tell(request, telling.DischargeSerializer, services.record_discharge)

    @extend_schema(request=telling.HeldWasteSerializer, responses={200: HELD, 201: HELD})
    @action(detail=True, methods=["post"], url_path="held-waste")
    def hold(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep where a bath is held, and who answers for it."""
        return self.tell(request, telling.HeldWasteSerializer, services.hold_waste)

    @extend_schema(request=telling.SignOffSerializer, responses={200: SIGNED, 201: SIGNED})
    @action(detail=True, methods=["post"], url_path="sign-offs")
    def sign_offs(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep a signature drawn on the phone, or a name typed and confirmed in its place."""
        return self.tell(request, telling.SignOffSerializer, services.sign)

    @extend_schema(request=asking.AcidIsInSerializer, responses={200: MIXED, 201: MIXED})
    @action(detail=False, methods=["post"], url_path="acid-is-in")
    def acid_is_in(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Acid is in already, whatever was checked: opens the log, starts the clock, tells the office."""
        sent = asking.AcidIsInSerializer(data=request.data, context=self.get_serializer_context())
        sent.is_valid(raise_exception=True)
        given = sent.validated_data
        descale, told = services.acid_is_in(
            person_of(request), given["exchanger"], given["descale"], given["batch"], timezone.now()
        )
        return self.told(descale, told, telling.BatchSerializer)

    @extend_schema(request=asking.ProofRequestSerializer, responses={202: WorkItemSerializer})
    @action(detail=True, methods=["post"])
    def proof(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Have the readings after judged with those before; queued."""
        descale, sent = self.sent(request, asking.ProofRequestSerializer)
        return accepted(services.request_proof(person_of(request), descale, **sent.validated_data))

    # --- what is so
    @extend_schema(responses=answers.NowSerializer)
    @action(detail=True, methods=["get"])
    def now(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Everything the phone beside the tank asks: dose screen, verdict, clocks, what lacks."""
        moment = timezone.now()
        found = now_of(person_of(request), self.get_object(), moment)
        return Response(answers.NowSerializer(found, context={"now": moment}).data)

    @extend_schema(responses=OpenApiTypes.OBJECT)
    @action(detail=True, methods=["get"])
    def record(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Everything on record of this descale, each kind in the order of its own clocks."""
        return Response(record_of(self.get_object(), self.get_serializer_context()))

    # --- shared
    def sent(self, request: Request, kind: type[Any]) -> tuple[Descale, Any]:
        descale = self.get_object()
        sent = kind(data=request.data, context=self.get_serializer_context())
        sent.is_valid(raise_exception=True)
        return descale, sent

    def tell(self, request: Request, kind: type[Any], service: Service) -> Response:
        descale, sent = self.sent(request, kind)
        told = service(person_of(request), descale, sent.validated_data, timezone.now())
        return self.told(descale, told, kind)

    def told(self, descale: Descale, told: Told, kind: type[Any]) -> Response:
        state = Descale.objects.filter(pk=descale.pk).values_list("state", flat=True).get()
        shown = {
            "record": kind(told.row, context=self.get_serializer_context()).data,
            "state": state,
            "do_now": [dataclasses.asdict(one) for one in told.do_now],
            "descale": str(descale.pk),
        }
        return self.shown(shown, 201 if told.new else 200)

    def shown(self, data: Any, status: int) -> Response:
        return Response(data, status=status)


def uuid_of(text: str | None) -> uuid.UUID:
    """The id in a parameter; one that nothing has where it is none."""
    try:
        return uuid.UUID(text or "")
    except ValueError:
        return uuid.UUID(int=0)

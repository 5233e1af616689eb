from __future__ import annotations

from datetime import datetime
from typing import Any

import django_filters
from django.http import FileResponse
from django.urls import reverse
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.accounts.models import Person
from contractor.http.permissions import EVERYONE, OFFICE
from contractor.register import services
from contractor.register.api.base import (
    ALWAYS_READ,
    AsTypedField,
    ClientField,
    RecordSerializer,
    RecordViewSet,
    RetirableFilters,
    SeenField,
)
from contractor.register.api.papers import (
    PAPER_ANSWERS,
    PAPER_RENDERERS,
    PAPER_SENT,
    TakesPapers,
    as_file,
    sent_file,
)
from contractor.register.models import ClientAccess, Customer, Site, WaterTest
from contractor.register.models.customers import CONCENTRATIONS
from contractor.register.quantities import SITE, WATER_TEST


class CustomerSerializer(RecordSerializer):
    hidden_from_clients = frozenset({"code", "notes"})

    class Meta:
        model = Customer
        fields = ["id", "name", "code", "contact_name", "phone", "email", "notes", "retired_at", *ALWAYS_READ]


class CustomerFilters(RetirableFilters):
    class Meta:
        model = Customer
        fields = {"name": ["exact", "icontains"], "code": ["exact"]}


class CustomerViewSet(RecordViewSet):
    model = Customer
    serializer_class = CustomerSerializer
    filterset_class = CustomerFilters
    ordering_fields = ("name", "code", "created_at")

    def perform_create(self, serializer: Any) -> Customer:
        return services.add_customer(serializer.validated_data)

    def perform_update(self, serializer: Any) -> Customer:
        return services.change_customer(serializer.instance, serializer.validated_data)

    def retire_row(self, row: Customer, now: datetime) -> Customer:
        return services.retire_customer(row, now)

    def bring_back_row(self, row: Customer) -> Customer:
        return services.bring_back_customer(row)


class SiteSerializer(RecordSerializer):
    as_typed = AsTypedField(SITE)
    fixed = frozenset({"customer"})
    hidden_from_clients = frozenset({"notes"})
    discharge_acceptance = serializers.SerializerMethodField(
        help_text="address of the works' own document as a file; null: none, so nothing goes out below pH 5"
    )

    class Meta:
        model = Site
        fields = [
            "id", "customer", "name", "address", "time_zone", "elevation_m", "access_from", "access_until",
            "quiet_from", "quiet_until", "access_notes", "safety_notes", "emergency_phone", "water_source",
            "antifreeze", "antifreeze_fraction", "loop_low_k", "loop_high_k", "drain", "discharge_ph_low",
            "discharge_ph_high", "discharge_copper_mg_per_l", "discharge_iron_mg_per_l",
            "discharge_zinc_mg_per_l", "discharge_solids_mg_per_l", "discharge_highest_k", "discharge_route",
            "discharge_permit", "discharge_acid_document", "discharge_acceptance", "eyewash_place", "notes",
            "as_typed", "retired_at", *ALWAYS_READ,
        ]  # fmt: skip

    @extend_schema_field({"type": ["string", "null"], "format": "uri-reference"})
    def get_discharge_acceptance(self, site: Site) -> str | None:
        return reverse("site-acceptance", args=[site.pk]) if site.discharge_acceptance else None


class SiteFilters(RetirableFilters):
    class Meta:
        model = Site
        fields = {"customer": ["exact"], "name": ["exact", "icontains"], "water_source": ["exact"]}


class SiteViewSet(TakesPapers, RecordViewSet):
    model = Site
    may = {**RecordViewSet.may, "acceptance": EVERYONE, "put_acceptance": OFFICE}
    serializer_class = SiteSerializer
    filterset_class = SiteFilters
    ordering_fields = ("name", "customer__name", "created_at")

    def perform_create(self, serializer: Any) -> Site:
        return services.add_site(serializer.validated_data)

    def perform_update(self, serializer: Any) -> Site:
        return services.change_site(serializer.instance, serializer.validated_data, self.person)

    def retire_row(self, row: Site, now: datetime) -> Site:
        return services.retire_site(row, now)

    def bring_back_row(self, row: Site) -> Site:
        return services.bring_back_site(row)

    @extend_schema(responses=PAPER_ANSWERS, request=None)
    @action(detail=True, methods=["get"], renderer_classes=PAPER_RENDERERS)
    def acceptance(self, request: Request, *args: Any, **kwargs: Any) -> FileResponse:
        """What the works wrote that lets it take water below pH 5, as a file to keep."""
        return as_file(self.get_object().discharge_acceptance, "acceptance")

    @extend_schema(request=PAPER_SENT, responses={201: SiteSerializer})
    @acceptance.mapping.post
    def put_acceptance(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep that document, as a multipart form with the part `file`, in place of an older one."""
        site = services.keep_acceptance(self.get_object(), sent_file(request))
        location = reverse("site-acceptance", args=[site.pk])
        return self.answer(site, status=201, headers={"Location": location})


class WaterTestSerializer(RecordSerializer):
    as_typed = AsTypedField(WATER_TEST)
    fixed = frozenset({"site"})

    class Meta:
        model = WaterTest
        fields = ["id", "site", "taken_at", "temperature_k", "ph", *CONCENTRATIONS, "treatment", "treatments",
                  "black_slime", "as_typed",
                  "retired_at", *ALWAYS_READ]  # fmt: skip


class WaterTestFilters(RetirableFilters):
    taken_from = django_filters.IsoDateTimeFilter(
        "taken_at", "gte", help_text="taken at this moment or later"
    )
    taken_until = django_filters.IsoDateTimeFilter(
        "taken_at", "lte", help_text="taken at this moment or earlier"
    )
    customer = django_filters.UUIDFilter("site__customer", help_text="id of the customer")

    class Meta:
        model = WaterTest
        fields = {"site": ["exact"]}


class WaterTestViewSet(RecordViewSet):
    model = WaterTest
    serializer_class = WaterTestSerializer
    filterset_class = WaterTestFilters
    ordering_fields = ("taken_at", "created_at")

    def perform_create(self, serializer: Any) -> WaterTest:
        return services.add_water_test(serializer.validated_data)

    def perform_update(self, serializer: Any) -> WaterTest:
        return services.change_water_test(serializer.instance, serializer.validated_data)

    def retire_row(self, row: WaterTest, now: datetime) -> WaterTest:
        return services.retire_water_test(row, now)

    def bring_back_row(self, row: WaterTest) -> WaterTest:
        return services.bring_back_water_test(row)


class ClientAccessSerializer(RecordSerializer):
    person = ClientField(queryset=Person.objects.all(), help_text="id of the client who signs in")
    person_name = serializers.CharField(source="person.name", read_only=True, help_text="their name")
    person_email = serializers.CharField(
        source="person.email", read_only=True, help_text="the address they sign in with"
    )
    sites = SeenField(
        queryset=Site.objects.all(),
        many=True,
        required=False,
        help_text="ids of the only sites seen; none listed: all of the customer's",
    )
    fixed = frozenset({"person"})

    class Meta:
        model = ClientAccess
        fields = ["id", "person", "person_name", "person_email", "customer", "sites", "retired_at",
                  *ALWAYS_READ]  # fmt: skip

    def validate_sites(self, value: Any) -> Any:
        if value is None:
            raise serializers.ValidationError("Expected a list of sites, which may be empty.")
        return value


class ClientAccessFilters(RetirableFilters):
    class Meta:
        model = ClientAccess
        fields = {"person": ["exact"], "customer": ["exact"]}


class ClientAccessViewSet(RecordViewSet):
    """Which customer a client's sign-in sees. Given by the office; retired means withdrawn."""

    model = ClientAccess
    serializer_class = ClientAccessSerializer
    filterset_class = ClientAccessFilters
    ordering_fields = ("created_at",)
    related = ("person",)
    prefetch = ("sites",)

    def perform_create(self, serializer: Any) -> ClientAccess:
        fields = dict(serializer.validated_data)
        return self.fresh(services.give_client_access(fields, fields.pop("sites", ())))

    def perform_update(self, serializer: Any) -> ClientAccess:
        fields = dict(serializer.validated_data)
        sites = fields.pop("sites", None)
        return self.fresh(services.change_client_access(serializer.instance, fields, sites))

    def retire_row(self, row: ClientAccess, now: datetime) -> ClientAccess:
        return services.withdraw_client_access(row, now)

    def bring_back_row(self, row: ClientAccess) -> ClientAccess:
        return services.give_back_client_access(row)

    def fresh(self, access: ClientAccess) -> ClientAccess:
        return ClientAccess.objects.prefetch_related("sites").get(pk=access.pk)

from __future__ import annotations

import zoneinfo

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models.functions import Lower

from contractor.accounts.models import Person, Role
from contractor.register.models.base import (
    Retirable,
    between,
    both_or_neither,
    in_order,
    known,
    not_blank,
    si,
    typed,
    word,
)
from contractor.register.models.lists import checked_words
from contractor.register.querysets import (
    ClientAccessQuerySet,
    CustomerQuerySet,
    SiteQuerySet,
    WaterTestQuerySet,
)
from contractor.trail.tracked import Tracked
from diagnostics.engine import records
from diagnostics.engine.descaling.discharge import NEVER
from diagnostics.engine.descaling.discharge import ROUTES as ALL_ROUTES

ROUTES = tuple(route for route in ALL_ROUTES if route not in NEVER)


class Customer(Retirable):
    name = models.CharField(max_length=120)
    code = models.CharField(
        max_length=40, blank=True, help_text="the contractor's own number for the customer"
    )
    contact_name = models.CharField(max_length=120, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    notes = models.TextField(blank=True, help_text="the contractor's own; clients do not see them")

    objects = CustomerQuerySet.as_manager()

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                name="customer_name_once",
                violation_error_message="There is already a customer of this name.",
            ),
            not_blank("name", "customer_has_name", "The customer's name"),
        ]

    def __str__(self) -> str:
        return self.name


class Site(Retirable):
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="sites")
    name = models.CharField(max_length=120)
    address = models.CharField(max_length=300, blank=True)
    time_zone = models.CharField(max_length=60, default="UTC", help_text="such as Europe/London")
    elevation_m = si("above sea level; gauge pressures become absolute by it")
    access_from = models.TimeField(null=True, blank=True, help_text="local time the crew is let in")
    access_until = models.TimeField(null=True, blank=True)
    quiet_from = models.TimeField(null=True, blank=True, help_text="local time no pump may run")
    quiet_until = models.TimeField(null=True, blank=True)
    access_notes = models.TextField(blank=True)
    safety_notes = models.TextField(blank=True)
    emergency_phone = models.CharField(max_length=40, blank=True)
    water_source = word(records.WATER_SOURCES, blank=True, max_length=20)
    antifreeze = word(records.ANTIFREEZES, default="none", max_length=20)
    antifreeze_fraction = models.FloatField(
        null=True, blank=True, help_text="0 to 1; by volume for glycols, by mass for alcohols"
    )
    loop_low_k = si("usual lowest entering water")
    loop_high_k = si("usual highest entering water")
    drain = models.CharField(max_length=200, blank=True, help_text="where waste water goes and who allows it")
    discharge_ph_low = models.FloatField(null=True, blank=True)
    discharge_ph_high = models.FloatField(null=True, blank=True)
    discharge_copper_mg_per_l = models.FloatField(null=True, blank=True)
    discharge_iron_mg_per_l = models.FloatField(null=True, blank=True)
    discharge_zinc_mg_per_l = models.FloatField(null=True, blank=True)
    discharge_solids_mg_per_l = models.FloatField(null=True, blank=True)
    discharge_highest_k = si("hottest that the authority takes")
    discharge_route = word(
        ROUTES, blank=True, max_length=20, help_text="where spent baths of this site may go"
    )
    discharge_permit = models.CharField(
        max_length=120, blank=True, help_text="permit or letter, with its date"
    )
    discharge_acid_document = models.CharField(
        max_length=120, blank=True, help_text="the works' own document that lets it take water below pH 5"
    )
    discharge_acceptance = models.FileField(
        upload_to="acceptances/", blank=True, editable=False,
        help_text="that document as a file: without it nothing goes out below pH 5",
    )  # fmt: skip
    eyewash_place = models.CharField(max_length=120, blank=True)
    notes = models.TextField(blank=True, help_text="the contractor's own; clients do not see them")
    as_typed = typed()

    objects = SiteQuerySet.as_manager()

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.UniqueConstraint(
                "customer",
                Lower("name"),
                name="site_name_once_a_customer",
                violation_error_message="This customer already has a site of this name.",
            ),
            not_blank("name", "site_has_name", "The site's name"),
            known("water_source", records.WATER_SOURCES, "site_water_source_known", blank=True),
            known("antifreeze", records.ANTIFREEZES, "site_antifreeze_known"),
            between("antifreeze_fraction", 0, 1, "site_antifreeze_fraction_0_to_1"),
            in_order("loop_low_k", "loop_high_k", "site_loop_low_below_high"),
            between("loop_low_k", 200, 400, "site_loop_low_is_a_water_temperature"),
            between("loop_high_k", 200, 400, "site_loop_high_is_a_water_temperature"),
            between("elevation_m", -500, 6000, "site_elevation_on_earth"),
            both_or_neither("access_from", "access_until", "site_access_hours_whole"),
            both_or_neither("quiet_from", "quiet_until", "site_quiet_hours_whole"),
            between("discharge_ph_low", 0, 14, "site_discharge_ph_low_on_scale"),
            between("discharge_ph_high", 0, 14, "site_discharge_ph_high_on_scale"),
            in_order("discharge_ph_low", "discharge_ph_high", "site_discharge_ph_low_below_high"),
            between("discharge_copper_mg_per_l", 0, 1e6, "site_discharge_copper_not_negative"),
            between("discharge_iron_mg_per_l", 0, 1e6, "site_discharge_iron_not_negative"),
            between("discharge_zinc_mg_per_l", 0, 1e6, "site_discharge_zinc_not_negative"),
            between("discharge_solids_mg_per_l", 0, 1e6, "site_discharge_solids_not_negative"),
            between("discharge_highest_k", 273.15, 373.15, "site_discharge_highest_of_water"),
            known("discharge_route", ROUTES, "site_discharge_route_known", blank=True),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        if self.time_zone not in zoneinfo.available_timezones():
            raise ValidationError(
                {"time_zone": f"{self.time_zone!r} is not a time zone; expected one such as Europe/London."}
            )

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.time_zone)

    @property
    def emergency_number(self) -> str:
        """The site's own, else the general one that the firm set; "" where neither is known."""
        return self.emergency_phone.strip() or settings.EMERGENCY_PHONE.strip()


class ClientAccess(Retirable):
    """A client's sign-in sees one customer, optionally only some of its sites."""

    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="client_access")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="client_accesses")
    sites = models.ManyToManyField(Site, through="ClientSite", blank=True, related_name="client_accesses")

    objects = ClientAccessQuerySet.as_manager()

    class Meta:
        ordering = ["created_at", "id"]

    def __str__(self) -> str:
        return f"{self.person} for {self.customer}"

    def clean(self) -> None:
        if self.person_id and self.person.role != Role.CLIENT:
            raise ValidationError(
                {"person": f"{self.person} signs in as {self.person.role}; expected a client."}
            )


class ClientSite(Tracked):
    """One of the sites that a client's access is limited to."""

    access = models.ForeignKey(ClientAccess, on_delete=models.PROTECT, related_name="site_places")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["access", "id"]
        constraints = [models.UniqueConstraint("access", "site", name="clientsite_once_an_access")]

    def __str__(self) -> str:
        return f"{self.access}: {self.site}"


TREATMENTS = (
    "none",
    "nitrite",
    "sulphite",
    "chlorine",
    "bromine",
    "molybdate",
    "phosphonate",
    "azole",
    "other",
)
CONCENTRATIONS = (
    "dissolved_solids_mg_per_l",
    "calcium_hardness_mg_per_l_as_caco3",
    "alkalinity_mg_per_l_as_caco3",
    "chloride_mg_per_l",
    "sulphate_mg_per_l",
    "silica_mg_per_l",
    "iron_mg_per_l",
)


class WaterTest(Retirable):
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="water_tests")
    taken_at = models.DateTimeField()
    temperature_k = si()
    ph = models.FloatField(null=True, blank=True)
    dissolved_solids_mg_per_l = models.FloatField(null=True, blank=True)
    calcium_hardness_mg_per_l_as_caco3 = models.FloatField(null=True, blank=True)
    alkalinity_mg_per_l_as_caco3 = models.FloatField(null=True, blank=True)
    chloride_mg_per_l = models.FloatField(null=True, blank=True)
    sulphate_mg_per_l = models.FloatField(null=True, blank=True)
    silica_mg_per_l = models.FloatField(null=True, blank=True)
    iron_mg_per_l = models.FloatField(null=True, blank=True)
    treatment = models.CharField(
        max_length=200, blank=True, help_text="inhibitor, biocide, scavenger in the water"
    )
    treatments = models.JSONField(
        default=list, blank=True, help_text=f"those found or told: {', '.join(TREATMENTS)}; empty: not asked"
    )
    black_slime = models.BooleanField(
        null=True, blank=True, help_text="sulphide: acid on it gives hydrogen sulphide"
    )
    as_typed = typed()

    objects = WaterTestQuerySet.as_manager()

    class Meta:
        ordering = ["-taken_at", "id"]
        constraints = [
            between("ph", 0, 14, "watertest_ph_on_scale"),
            between("temperature_k", 200, 400, "watertest_temperature_of_water"),
            *(between(column, 0, 1e6, f"watertest_{column[:24]}_not_negative") for column in CONCENTRATIONS),
        ]

    def __str__(self) -> str:
        return f"{self.site} {self.taken_at:%Y-%m-%d}"

    def clean(self) -> None:
        if fault := checked_words(self.treatments, TREATMENTS):
            raise ValidationError({"treatments": fault})

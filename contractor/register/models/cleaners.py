"""Cleaners: label and safety data sheet as data and as files, what is in stock, and the rig it runs in."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models.functions import Lower

from contractor.register.models.base import (
    Retirable,
    between,
    in_order,
    known,
    not_blank,
    positive,
    si,
    typed,
    word,
)
from contractor.register.models.lists import checked_acids, checked_curve, checked_parts, checked_words
from contractor.register.querysets import CleanerLotQuerySet, CrewOnlyQuerySet
from diagnostics.engine.descaling.metals import MATERIALS
from diagnostics.engine.descaling.neutralising import AGENTS

FORMS = ("liquid", "powder")
RIG_PARTS = ("tank", "pump", "hoses", "hose_ends", "fittings")
METAL_LISTS = ("metals_allowed", "metals_only_inhibited", "metals_forbidden")


def _words() -> models.JSONField[Any, Any]:
    return models.JSONField(default=list, blank=True)


class Cleaner(Retirable):
    """A sheet as data. A draft may lack anything but its name; nobody plans with a draft."""

    name = models.CharField(max_length=80)
    acids = models.JSONField(
        default=list, blank=True, help_text='[{"acid": "citric", "share": 1, "pka": [3.13, 4.76, 6.4]}]'
    )
    form = word(FORMS, blank=True, max_length=10)
    product_strength = models.FloatField(
        null=True, blank=True, help_text="acid in the product, by mass, 0 to 1"
    )
    product_density_kg_per_m3 = si("of the product as sold; left out for powders")
    strength_low = models.FloatField(null=True, blank=True, help_text="acid in the bath, by mass, 0 to 1")
    strength_usual = models.FloatField(null=True, blank=True, help_text="as the label recommends")
    strength_high = models.FloatField(null=True, blank=True)
    renew_below_share = models.FloatField(
        null=True, blank=True, help_text="strength left over strength at the start at which it is spent"
    )
    renewal_ph = models.FloatField(null=True, blank=True, help_text="weak acids: pH at which it is spent")
    strength_per_drop = models.FloatField(
        null=True, blank=True, help_text="titration: acid by mass in the bath that one drop stands for"
    )
    inhibited = models.BooleanField(null=True, blank=True)
    inhibitor = models.CharField(max_length=120, blank=True)
    highest_temperature_k = si("the label's")
    longest_time_s = si("the label's, a bath")
    metals_allowed = _words()
    metals_only_inhibited = _words()
    metals_forbidden = _words()
    fresh_colour = models.CharField(max_length=80, blank=True, help_text="of the fresh bath")
    dye = models.CharField(max_length=80, blank=True, help_text="and what it tells when it turns")
    copper_limit_mg_per_l = models.FloatField(null=True, blank=True, help_text="in the bath; above it: stop")
    iron_limit_mg_per_l = models.FloatField(null=True, blank=True, help_text="in the bath")
    protection = models.JSONField(default=list, blank=True, help_text="protective equipment, a line each")
    first_aid = models.TextField(blank=True)
    emergency_phone = models.CharField(max_length=40, blank=True, help_text="the supplier's, as on the sheet")
    neutralisers = _words()
    neutralise_surface = models.BooleanField(
        null=True, blank=True, help_text="bicarbonate or soda ash through the coil after the bath"
    )
    disposal = models.TextField(blank=True)
    storage = models.TextField(blank=True)
    label = models.FileField(upload_to="cleaners/", blank=True, editable=False)
    label_on = models.DateField(null=True, blank=True, help_text="date of the label")
    safety_sheet = models.FileField(upload_to="cleaners/", blank=True, editable=False)
    safety_sheet_on = models.DateField(null=True, blank=True, help_text="date of the safety data sheet")
    sources = models.JSONField(default=dict, blank=True, help_text="who says each property, by its name")
    notes = models.TextField(blank=True)
    as_typed = typed()

    objects = CrewOnlyQuerySet["Cleaner"].as_manager()

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                name="cleaner_name_once",
                violation_error_message="There is already a cleaner of this name.",
            ),
            not_blank("name", "cleaner_has_name", "The cleaner's name"),
            known("form", FORMS, "cleaner_form_known", blank=True),
            *(
                between(column, 0, 1, f"cleaner_{column}_a_share")
                for column in (
                    "product_strength", "strength_low", "strength_usual", "strength_high",
                    "renew_below_share", "strength_per_drop",
                )
            ),
            in_order("strength_low", "strength_usual", "cleaner_strength_low_below_usual"),
            in_order("strength_usual", "strength_high", "cleaner_strength_usual_below_high"),
            in_order("strength_high", "product_strength", "cleaner_bath_weaker_than_product"),
            between("renewal_ph", 1, 7, "cleaner_renewal_ph_acid"),
            between("highest_temperature_k", 273.15, 373.15, "cleaner_highest_temperature_of_water"),
            between("product_density_kg_per_m3", 500, 3000, "cleaner_density_of_a_liquid"),
            positive(
                ["longest_time_s", "copper_limit_mg_per_l", "iron_limit_mg_per_l", "strength_low",
                 "product_strength"],
                "cleaner_sizes_positive",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        faults = {"acids": checked_acids(self.acids), "protection": checked_words(self.protection, None)}
        for name in METAL_LISTS:
            faults[name] = checked_words(getattr(self, name), MATERIALS)
        faults["neutralisers"] = checked_words(self.neutralisers, tuple(AGENTS))
        if not isinstance(self.sources, dict) or not all(isinstance(v, str) for v in self.sources.values()):
            faults["sources"] = 'expected an object such as {"storage": "from memory"}.'
        if found := {name: fault for name, fault in faults.items() if fault}:
            raise ValidationError(found)


class CleanerLot(Retirable):
    """What is in stock. Taking more than the count says is kept: the count was wrong, not what was poured."""

    cleaner = models.ForeignKey(Cleaner, on_delete=models.PROTECT, related_name="lots")
    lot = models.CharField(max_length=60, help_text="the maker's lot number, as printed")
    received_on = models.DateField(null=True, blank=True)
    expires_on = models.DateField(null=True, blank=True)
    quantity_kg = si("of product left")
    place = models.CharField(max_length=120, blank=True, help_text="where it stands")
    as_typed = typed()

    objects = CleanerLotQuerySet.as_manager()

    class Meta:
        ordering = ["expires_on", "id"]
        constraints = [
            models.UniqueConstraint(
                "cleaner",
                Lower("lot"),
                name="cleanerlot_once_a_cleaner",
                violation_error_message="This lot of the cleaner is already in stock.",
            ),
            not_blank("lot", "cleanerlot_has_number", "The lot's number"),
        ]

    def __str__(self) -> str:
        return f"{self.cleaner} lot {self.lot}"


class Rig(Retirable):
    """Tank, pump and hoses that circulate a bath."""

    name = models.CharField(max_length=80)
    tank_volume_m3 = si("up to the brim")
    spare_tank_volume_m3 = si("clean second tank: neutraliser, rinse, parked bath")
    pump_power_w = si("of the motor")
    pump_curve = models.JSONField(
        default=list, blank=True, help_text="[[flow in m3/s, head in m], ...], flow rising, head not rising"
    )
    hose_length_m = si("both hoses together")
    hose_bore_m = si()
    sound_level_db = models.FloatField(null=True, blank=True, help_text="dB(A) at 1 m, told to the customer")
    return_filter = models.BooleanField(null=True, blank=True)
    wetted_materials = models.JSONField(
        default=dict, blank=True, help_text=f"material by part: {', '.join(RIG_PARTS)}"
    )
    notes = models.TextField(blank=True)
    as_typed = typed()

    objects = CrewOnlyQuerySet["Rig"].as_manager()

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                name="rig_name_once",
                violation_error_message="There is already a rig of this name.",
            ),
            not_blank("name", "rig_has_name", "The rig's name"),
            positive(
                ["tank_volume_m3", "spare_tank_volume_m3", "pump_power_w", "hose_length_m", "hose_bore_m"],
                "rig_sizes_positive",
            ),
            between("sound_level_db", 0, 150, "rig_sound_level_of_a_pump"),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        faults = {
            "pump_curve": checked_curve(self.pump_curve),
            "wetted_materials": checked_parts(self.wetted_materials, RIG_PARTS),
        }
        if found := {name: fault for name, fault in faults.items() if fault}:
            raise ValidationError(found)

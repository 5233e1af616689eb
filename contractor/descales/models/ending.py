from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from contractor.descales.models.base import Happening
from contractor.descales.models.deciding import Descale
from contractor.descales.models.running import Batch
from contractor.descales.querysets import (
    DischargeQuerySet,
    HeldWasteQuerySet,
    OfDescaleQuerySet,
)
from contractor.descales.words import END_STEPS, NEVER_WAIVED, ROUTES, STEP_OUTCOMES, WATERS
from contractor.register.models import known, si, typed, word
from contractor.trail.tracked import Tracked
from contractor.visits.models import Reading
from contractor.workqueue.models import WorkItem
from diagnostics.engine.descaling.neutralising import AGENTS

SIGNERS = ("customer", "technician")


class EndStep(Happening):
    """A step of the end, with its reading. The latest of a kind by its own clock counts."""

    kind = word(tuple(END_STEPS), max_length=24)
    outcome = word(STEP_OUTCOMES, max_length=12)
    told = models.CharField(max_length=300, blank=True, help_text="who leaves it open and why; a position")
    duration_s = si()
    ph = models.FloatField(null=True, blank=True)
    supply_ph = models.FloatField(null=True, blank=True)
    conductivity_s_per_m = si()
    supply_conductivity_s_per_m = si()
    pressure_before_pa_gauge = si()
    pressure_after_pa_gauge = si()
    static_pressure_pa = si("standing pressure of the refrigerant, absolute")
    antifreeze_fraction = models.FloatField(null=True, blank=True, help_text="as measured, 0 to 1")
    freeze_setting_k = si("freeze cut-out as set now")
    flow_m3_per_s = si()
    strainer_state = models.CharField(max_length=12, blank=True)
    as_typed = typed()

    objects = OfDescaleQuerySet["EndStep"].as_manager()

    class Meta(Happening.Meta):
        constraints = [
            known("kind", tuple(END_STEPS), "endstep_kind_known"),
            known("outcome", STEP_OUTCOMES, "endstep_outcome_known"),
            models.CheckConstraint(
                condition=~Q(outcome="left_open") | ~Q(kind__in=NEVER_WAIVED) & ~Q(told=""),
                name="endstep_left_open_only_by_name_where_it_may",
                violation_error_message="Some steps are never left open; others by name and why.",
            ),
        ]
        indexes = [models.Index(fields=["descale", "kind", "at"], name="endstep_of_descale")]


class Waste(Happening):
    """Water of a descale that leaves the tank."""

    water = word(WATERS, max_length=20)
    batch = models.ForeignKey(Batch, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    volume_m3 = si()
    ph = models.FloatField(null=True, blank=True)
    as_typed = typed()

    class Meta(Happening.Meta):
        abstract = True


class HeldWaste(Waste):
    """A bath that is kept: where, whose, since when."""

    where = models.CharField(max_length=200)
    whose = models.CharField(max_length=120, help_text="who answers for it")
    collected_at = models.DateTimeField(null=True, blank=True, editable=False)
    collected_by = models.CharField(max_length=200, blank=True, editable=False)

    objects = HeldWasteQuerySet.as_manager()

    class Meta(Happening.Meta):
        verbose_name_plural = "held waste"
        constraints = [
            known("water", WATERS, "heldwaste_water_known"),
            models.CheckConstraint(
                condition=Q(collected_at__isnull=True) | ~Q(collected_by=""),
                name="heldwaste_collected_by_someone",
            ),
        ]
        indexes = [
            models.Index(fields=["at"], condition=Q(collected_at__isnull=True), name="heldwaste_still_there")
        ]


class NeutralisingPortion(Happening):
    """A portion of neutraliser into a parked bath, and the pH after it was stirred in."""

    batch = models.ForeignKey(Batch, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    held = models.ForeignKey(HeldWaste, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    agent = word(tuple(AGENTS), max_length=24)
    agent_kg = si("of the dry agent")
    ph_after = models.FloatField(null=True, blank=True)
    as_typed = typed()

    objects = OfDescaleQuerySet["NeutralisingPortion"].as_manager()

    class Meta(Happening.Meta):
        constraints = [known("agent", tuple(AGENTS), "neutralising_agent_known")]


class Discharge(Waste):
    """What was let out, and where. Outside the limits it is kept as an exceedance."""

    held = models.ForeignKey(
        HeldWaste, null=True, blank=True, on_delete=models.PROTECT, related_name="discharges"
    )
    route = word(ROUTES, max_length=16)
    permit_reference = models.CharField(max_length=120, blank=True)
    temperature_k = si()
    copper_mg_per_l = si()
    iron_mg_per_l = si()
    zinc_mg_per_l = si()
    solids_mg_per_l = si("total suspended solids")
    acid_document = models.CharField(
        max_length=120, blank=True, help_text="the works' own document that lets it take water below pH 5"
    )
    acceptance = models.FileField(
        upload_to="acceptances/", blank=True, editable=False,
        help_text="what works or authority wrote for this discharge, as a file",
    )  # fmt: skip
    acceptance_until = models.DateField(
        null=True, blank=True, help_text="the last day on which it holds; empty: not stated"
    )
    acceptance_read_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, editable=False, on_delete=models.PROTECT,
        related_name="+", help_text="who attached it, having read it",
    )  # fmt: skip
    neutraliser = models.CharField(max_length=40, blank=True)
    neutraliser_kg = si()
    limits = models.JSONField(default=dict, editable=False, help_text="the site's limits as they were")
    exceedances = models.JSONField(default=list, editable=False, help_text="what stood against it, in words")

    objects = DischargeQuerySet.as_manager()

    class Meta(Happening.Meta):
        constraints = [
            known("water", WATERS, "discharge_water_known"),
            known("route", ROUTES, "discharge_route_known"),
        ]


class SignOff(Happening):
    """A signature drawn on the phone: strokes of points from 0 to 1 across and down.

    Who cannot or will not draw types the name and confirms that it stands for the signature; that is kept as
    typed and shown so, on the certificate too.
    """

    signs_as = word(SIGNERS, max_length=12)
    name = models.CharField(max_length=120)
    strokes = models.JSONField(
        default=list, blank=True, help_text="[[[x, y], ...], ...] in shares of width and height"
    )
    typed = models.BooleanField(
        default=False, help_text="the name was typed and confirmed in place of a drawn signature"
    )

    objects = OfDescaleQuerySet["SignOff"].as_manager()

    class Meta(Happening.Meta):
        constraints = [
            known("signs_as", SIGNERS, "signoff_as_known"),
            models.CheckConstraint(condition=~Q(name=""), name="signoff_by_someone"),
            models.CheckConstraint(
                condition=Q(typed=True, strokes=[]) | (Q(typed=False) & ~Q(strokes=[])),
                name="signoff_drawn_or_typed",
            ),
        ]


class Verification(Tracked):
    """Readings after set against those before. Written once; a newer one takes its place."""

    descale = models.ForeignKey(Descale, on_delete=models.PROTECT, related_name="verifications")
    before = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="+")
    after = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="+")
    work_item = models.ForeignKey(
        WorkItem, null=True, blank=True, on_delete=models.SET_NULL, related_name="verifications"
    )
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField()
    engine_version = models.CharField(max_length=20)
    inputs_digest = models.CharField(max_length=64)
    superseded_at = models.DateTimeField(null=True, blank=True)
    removed_k_per_w = si()
    removed_low_k_per_w = si()
    removed_high_k_per_w = si()
    left_k_per_w = si()
    left_low_k_per_w = si()
    left_high_k_per_w = si()
    probability_improved = models.FloatField(null=True, blank=True)
    probability_below_limit = models.FloatField(null=True, blank=True)
    lockout_cleared = models.BooleanField(null=True, blank=True)
    reference = models.CharField(
        max_length=20,
        blank=True,
        help_text="clean_reference, best_since or none: what the set after is good for",
    )
    result = models.JSONField(default=dict, blank=True, help_text="everything else, SI")

    objects = OfDescaleQuerySet["Verification"].as_manager()

    class Meta:
        ordering = ["-made_at", "id"]
        constraints = [
            models.UniqueConstraint(
                "descale", condition=Q(superseded_at__isnull=True), name="verification_one_current"
            ),
        ]

    def __str__(self) -> str:
        return f"proof of {self.descale}"

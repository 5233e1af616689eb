from __future__ import annotations

from django.db import models
from django.db.models import Q

from contractor.descales.models.base import Happening
from contractor.descales.querysets import OfDescaleQuerySet
from contractor.descales.words import AMOUNTS, CHECK_OUTCOMES, CHECKS, COLOURS, FUMES
from contractor.register.models import Cleaner, CleanerLot, known, si, typed, word
from contractor.visits.models import Finding


class Check(Happening):
    """A check before acid, with its reading. The latest of a kind by its own clock counts."""

    kind = word(tuple(CHECKS), max_length=20)
    outcome = word(CHECK_OUTCOMES, max_length=12)
    told = models.CharField(max_length=300, blank=True, help_text="position, name or place that it asks")
    duration_s = si("how long it was held or run")
    pressure_before_pa_gauge = si()
    pressure_after_pa_gauge = si()
    flow_m3_per_s = si()
    strip_mg_per_l = si("what the treatment's test strip shows; 0 is none")
    volume_m3 = si("what was drained or caught")
    gas_share = models.FloatField(null=True, blank=True, help_text="carbon dioxide by the meter, 0 to 1")
    vent_at_both_tops = models.BooleanField(
        null=True, blank=True, help_text="as the hoses stand: the vent at the top of both paths"
    )
    emergency_phone = models.CharField(
        max_length=40, blank=True, help_text="whom to ring, where the register knows nobody"
    )
    as_typed = typed()

    objects = OfDescaleQuerySet["Check"].as_manager()

    class Meta(Happening.Meta):
        constraints = [
            known("kind", tuple(CHECKS), "check_kind_known"),
            known("outcome", CHECK_OUTCOMES, "check_outcome_known"),
        ]
        indexes = [models.Index(fields=["descale", "kind", "at"], name="check_of_descale")]


class Batch(Happening):
    """A bath as it was mixed; `at` is when acid first went into water, and orders the batches.

    `out_by` is the time on the wall's clock by which it must be out.
    """

    cleaner = models.ForeignKey(
        Cleaner, null=True, blank=True, on_delete=models.PROTECT, related_name="batches",
        help_text="empty where nobody can tell",
    )  # fmt: skip
    lot = models.ForeignKey(
        CleanerLot, null=True, blank=True, on_delete=models.PROTECT, related_name="batches"
    )
    moved_from = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="moved_to",
        help_text="the same bath, out of another unit",
    )  # fmt: skip
    product_kg = si("product put in, by mass")
    product_m3 = si("product put in, by volume")
    water_m3 = si("water it went into")
    strength = models.FloatField(null=True, blank=True, help_text="acid by mass, from what was put in")
    out_by = models.DateTimeField(editable=False)
    out_at = models.DateTimeField(null=True, blank=True, help_text="when it was drained")
    as_typed = typed()

    objects = OfDescaleQuerySet["Batch"].as_manager()

    class Meta(Happening.Meta):
        verbose_name_plural = "batches"
        indexes = [models.Index(fields=["out_by"], condition=Q(out_at__isnull=True), name="batch_clock_runs")]


class Portion(Happening):
    """Part of a dose, into running water. It belongs to the batch mixed last before it."""

    product_kg = si()
    product_m3 = si()
    as_typed = typed()

    objects = OfDescaleQuerySet["Portion"].as_manager()

    class Meta(Happening.Meta):
        pass


class Look(Happening):
    """One look at the tank, as read; what was not read is empty. It is of the batch mixed last before it."""

    ph = models.FloatField(null=True, blank=True)
    temperature_k = si("solution")
    level_m = si("in the tank")
    flow_m3_per_s = si()
    conductivity_s_per_m = si()
    drops = models.FloatField(null=True, blank=True, help_text="titrant until the colour turns, count")
    strength = models.FloatField(
        null=True, blank=True, editable=False, help_text="acid by mass: drops times the sheet's factor"
    )
    copper_mg_per_l = si()
    iron_mg_per_l = si()
    colour = word(COLOURS, blank=True, max_length=12)
    bubbles = word(AMOUNTS, blank=True, max_length=6)
    solids = word(AMOUNTS, blank=True, max_length=6)
    oil = models.BooleanField(null=True, blank=True)
    leak = models.BooleanField(null=True, blank=True)
    fumes = word(FUMES, blank=True, max_length=12)
    gas_alarm = models.BooleanField(null=True, blank=True)
    reversed_now = models.BooleanField(default=False, help_text="flow was reversed after this look")
    photo = models.ForeignKey(
        Finding, null=True, blank=True, on_delete=models.PROTECT, related_name="looks",
        help_text="the finding that carries the photo",
    )  # fmt: skip
    as_typed = typed()

    objects = OfDescaleQuerySet["Look"].as_manager()

    class Meta(Happening.Meta):
        constraints = [
            known("colour", COLOURS, "look_colour_known", blank=True),
            known("bubbles", AMOUNTS, "look_bubbles_known", blank=True),
            known("solids", AMOUNTS, "look_solids_known", blank=True),
            known("fumes", FUMES, "look_fumes_known", blank=True),
        ]
        indexes = [models.Index(fields=["descale", "at"], name="look_of_descale")]

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from contractor.register.models import Exchanger, GaugeSet, Retirable, Rig, Site, Unit, known, si, word, words
from contractor.trail.tracked import Tracked
from contractor.visits.finding_words import BRINGS, BROUGHT, FINDING_KINDS, FINDING_VALUES
from contractor.visits.querysets import (
    CrewPlaceQuerySet,
    FindingQuerySet,
    ReadingQuerySet,
    RigPlaceQuerySet,
    VisitQuerySet,
)
from diagnostics.engine import records

VISIT_REASONS = ("routine", "survey", "fault", "descale", "handover")
VISIT_STATES = ("booked", "under_way", "done", "called_off")


class Visit(Tracked):
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="visits")
    reason = word(VISIT_REASONS, default="routine", max_length=12)
    window_start = models.DateTimeField()
    window_end = models.DateTimeField()
    crew = models.ManyToManyField(
        settings.AUTH_USER_MODEL, through="CrewPlace", related_name="visits", blank=True
    )
    rigs = models.ManyToManyField(Rig, through="RigPlace", related_name="visits", blank=True)
    urgent = models.BooleanField(default=False)
    chemical_work = models.BooleanField(
        default=False,
        help_text="acid or another cleaner goes in: wants a second person and a certificate that holds",
    )
    noisy = models.BooleanField(default=False, help_text="pumps or tools that the site's quiet hours forbid")
    quiet_hours_agreed_with = models.CharField(
        max_length=120, blank=True, help_text="who of the customer agreed to noise inside the quiet hours"
    )
    state = word(VISIT_STATES, default="booked", max_length=12)
    opened_by_tag = models.CharField(
        max_length=40, blank=True, help_text="the tag a technician typed to open this urgent visit"
    )
    outside_hours_agreed_with = models.CharField(
        max_length=120, blank=True, help_text="who agreed to a window outside the site's access hours"
    )
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    called_off_at = models.DateTimeField(null=True, blank=True)
    called_off_because = models.CharField(max_length=300, blank=True)
    notes = models.TextField(blank=True, help_text="for the crew; clients do not see them")

    objects = VisitQuerySet.as_manager()

    class Meta:
        ordering = ["-window_start", "id"]
        constraints = [
            known("reason", VISIT_REASONS, "visit_reason_known"),
            known("state", VISIT_STATES, "visit_state_known"),
            models.CheckConstraint(
                condition=Q(window_start__lt=F("window_end")),
                name="visit_window_in_order",
                violation_error_message="The window must end after it starts.",
            ),
            models.CheckConstraint(
                condition=~Q(state="called_off") | Q(called_off_at__isnull=False) & ~Q(called_off_because=""),
                name="visit_called_off_says_why",
                violation_error_message="A visit that is called off says when and why.",
            ),
            models.CheckConstraint(
                condition=Q(opened_by_tag="") | Q(urgent=True), name="visit_opened_by_tag_is_urgent"
            ),
        ]
        indexes = [models.Index(fields=["state", "window_start"], name="visit_by_state_and_start")]

    def __str__(self) -> str:
        return f"{self.site} {self.window_start:%Y-%m-%d}"


class CrewPlace(Tracked):
    """A person's place in a visit's crew, and the time for which it keeps them from any other.

    Empty times keep from nothing: a visit that is over or called off, or an urgent call-out, which may come
    at any moment. The database refuses two places that hold one person at once (migration 0002).
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="crew_places")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="crew_places")
    holds_from = models.DateTimeField(null=True, blank=True)
    holds_until = models.DateTimeField(null=True, blank=True)

    objects = CrewPlaceQuerySet.as_manager()

    class Meta:
        ordering = ["visit", "id"]
        constraints = [
            models.UniqueConstraint("visit", "person", name="crewplace_person_once_a_visit"),
            models.CheckConstraint(
                condition=Q(holds_from__isnull=True, holds_until__isnull=True)
                | Q(holds_from__isnull=False, holds_until__isnull=False, holds_from__lt=F("holds_until")),
                name="crewplace_hold_in_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} at {self.visit}"


class RigPlace(Tracked):
    """A rig, with its tank and pump, on a visit; it is nowhere else for as long as the visit holds."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="rig_places")
    rig = models.ForeignKey(Rig, on_delete=models.PROTECT, related_name="rig_places")

    objects = RigPlaceQuerySet.as_manager()

    class Meta:
        ordering = ["visit", "id"]
        constraints = [models.UniqueConstraint("visit", "rig", name="rigplace_rig_once_a_visit")]

    def __str__(self) -> str:
        return f"{self.rig} at {self.visit}"


class Reading(Tracked):
    """One set of readings of one exchanger in one mode, as read. A correction supersedes it.

    Pressures are absolute. `as_typed` maps a reading's name to {"value": text, "unit": text}.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="readings")
    exchanger = models.ForeignKey(Exchanger, on_delete=models.PROTECT, related_name="readings")
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="readings")
    taken_at = models.DateTimeField()
    received_at = models.DateTimeField(default=timezone.now, editable=False)
    mode = word(records.MODES, max_length=8)
    purpose = word(records.PURPOSES, default="routine", max_length=16)
    stage = models.CharField(max_length=20, default="full")
    minutes_running = models.FloatField(null=True, blank=True)
    gauge_set = models.ForeignKey(
        GaugeSet, null=True, blank=True, on_delete=models.PROTECT, related_name="readings"
    )
    probe_moved = models.BooleanField(default=False)
    entering_water_k = si()
    leaving_water_k = si()
    water_flow_m3_per_s = si()
    water_flow_kg_per_s = si()
    water_pressure_drop_pa = si()
    balancing_valve_pressure_drop_pa = si()
    head_pressure_pa = si()
    suction_pressure_pa = si()
    liquid_line_k = si()
    suction_line_k = si()
    discharge_line_k = si()
    compressor_power_w = si()
    amps_a = si()
    volts_v = si()
    phases = models.PositiveSmallIntegerField(null=True, blank=True)
    power_factor = si()
    drop_read_by = word(
        records.DROP_READ_BY,
        blank=True,
        max_length=20,
        help_text="how the pressure drop was read: a gauge at each port sees their difference in level, a "
        "differential gauge with its hoses full of water does not",
    )
    power_includes_fan = models.BooleanField(
        null=True,
        blank=True,
        help_text="true where power, or volts and amps, were read with the unit's fan on them",
    )
    entering_air_k = si()
    entering_air_wet_bulb_k = si()
    leaving_air_k = si()
    static_pressure_pa = si()
    static_coldest_k = si()
    strainer = word(records.STRAINER_STATES, blank=True, max_length=12)
    back_flush = word(records.BACK_FLUSH_RESULTS, blank=True, max_length=16)
    fault_lockout = word(records.FAULT_LOCKOUTS, blank=True, max_length=24)
    note = models.TextField(blank=True)
    as_typed = models.JSONField(default=dict, blank=True)
    stands_as_clean = models.BooleanField(
        default=False,
        editable=False,
        help_text="read after a descale that left nothing as far as anyone can tell: a clean reference",
    )
    supersedes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="superseded_by"
    )
    superseded_at = models.DateTimeField(
        null=True,
        blank=True,
        editable=False,
        help_text="corrected, moved or set aside since; it no longer counts",
    )
    correction_reason = models.CharField(max_length=300, blank=True)
    set_aside_because = models.CharField(
        max_length=300, blank=True, help_text="taken out without another in its place"
    )

    objects = ReadingQuerySet.as_manager()

    class Meta:
        ordering = ["-taken_at", "id"]
        constraints = [
            known("mode", records.MODES, "reading_mode_known"),
            known("purpose", records.PURPOSES, "reading_purpose_known"),
            known("strainer", records.STRAINER_STATES, "reading_strainer_known", blank=True),
            known("drop_read_by", records.DROP_READ_BY, "reading_drop_read_by_known", blank=True),
            known("back_flush", records.BACK_FLUSH_RESULTS, "reading_back_flush_known", blank=True),
            known("fault_lockout", records.FAULT_LOCKOUTS, "reading_fault_lockout_known", blank=True),
            models.CheckConstraint(
                condition=Q(supersedes__isnull=True) | ~Q(correction_reason=""),
                name="reading_correction_has_reason",
                violation_error_message="A correction says why.",
            ),
            models.CheckConstraint(
                condition=Q(supersedes__isnull=True) | ~Q(supersedes=F("id")),
                name="reading_does_not_supersede_itself",
            ),
            models.CheckConstraint(
                condition=Q(set_aside_because="") | Q(superseded_at__isnull=False),
                name="reading_set_aside_no_longer_counts",
            ),
            models.CheckConstraint(
                condition=Q(water_flow_m3_per_s__isnull=True) | Q(water_flow_kg_per_s__isnull=True),
                name="reading_one_water_flow",
            ),
        ]
        indexes = [
            models.Index(fields=["exchanger", "taken_at"], name="reading_of_exchanger"),
            models.Index(fields=["-taken_at", "id"], name="reading_latest_first"),
        ]

    def __str__(self) -> str:
        return f"{self.exchanger} {self.taken_at:%Y-%m-%d %H:%M}"


class ShownToClients(Tracked):
    """Until which moment an exchanger's readings, and what they tell, stand behind a released report.

    Kept by whoever releases and withdraws reports; without a row clients see none.
    """

    exchanger = models.OneToOneField(Exchanger, on_delete=models.PROTECT, related_name="shown_to_clients")
    until = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "shown to clients"

    def __str__(self) -> str:
        return f"{self.exchanger} until {self.until}"


FINDING_KIND_CHOICES = words(FINDING_KINDS)


class Finding(Retirable):
    """What was found at a unit, or done to it and what that brought. Pressures are absolute."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="findings")
    unit = models.ForeignKey(Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="findings")
    exchanger = models.ForeignKey(
        Exchanger,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="findings",
        help_text="where the unit has several: the one it is about; all of the unit when left out",
    )
    found_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="findings")
    found_at = models.DateTimeField(default=timezone.now)
    kind = word(FINDING_KINDS, max_length=16)
    value = models.CharField(
        max_length=40,
        blank=True,
        help_text="what was found, in the words of its kind; nothing for a photo or a note",
    )
    brought = word(
        BROUGHT, blank=True, max_length=8, help_text="what a cleaning, a back-flush or a descale brought out"
    )
    static_pressure_pa = si()
    static_coldest_k = si()
    cutout_pressure_pa = si()
    freeze_cutout_k = si()
    as_typed = models.JSONField(default=dict, blank=True)
    mode = word(records.MODES, blank=True, max_length=8)
    note = models.TextField(blank=True)
    photo = models.ImageField(upload_to="findings/%Y/%m/", blank=True, editable=False)

    objects = FindingQuerySet.as_manager()

    class Meta:
        ordering = ["-found_at", "id"]
        indexes = [models.Index(fields=["unit", "found_at"], name="finding_of_unit")]
        constraints = [
            known("kind", FINDING_KINDS, "finding_kind_known"),
            known("mode", records.MODES, "finding_mode_known", blank=True),
            known("brought", BROUGHT, "finding_brought_known", blank=True),
            models.CheckConstraint(
                condition=Q(brought="") | Q(kind__in=sorted(BRINGS)),
                name="finding_brought_by_a_cleaning",
                violation_error_message=f"Only {', '.join(sorted(BRINGS))} bring something out.",
            ),
            *(
                models.CheckConstraint(
                    condition=~Q(kind=kind) | Q(value__in=values),
                    name=f"finding_{kind}_value_known",
                    violation_error_message=f"{kind.replace('_', '-')} is one of {', '.join(values)}.",
                )
                for kind, values in FINDING_VALUES.items()
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit} {self.kind}"

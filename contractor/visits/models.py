from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from contractor.register.models import Exchanger, GaugeSet, Site, Unit, known, words
from contractor.trail.tracked import Tracked
from diagnostics.engine import records

VISIT_REASONS = ("routine", "survey", "fault", "descale", "handover")
VISIT_STATES = ("booked", "under_way", "done", "called_off")


class Visit(Tracked):
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="visits")
    reason = models.CharField(max_length=12, choices=words(VISIT_REASONS), default="routine")
    window_start = models.DateTimeField()
    window_end = models.DateTimeField()
    crew = models.ManyToManyField(settings.AUTH_USER_MODEL, related_name="visits", blank=True)
    urgent = models.BooleanField(default=False)
    state = models.CharField(max_length=12, choices=words(VISIT_STATES), default="booked")
    opened_by_tag = models.CharField(
        max_length=40, blank=True, help_text="the tag a technician typed to open this urgent visit"
    )
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["-window_start", "id"]
        constraints = [
            known("reason", VISIT_REASONS, "visit_reason_known"),
            known("state", VISIT_STATES, "visit_state_known"),
            models.CheckConstraint(
                condition=Q(window_start__lte=F("window_end")), name="visit_window_in_order"
            ),
        ]
        indexes = [models.Index(fields=["state", "window_start"], name="visit_by_state_and_start")]

    def __str__(self) -> str:
        return f"{self.site} {self.window_start:%Y-%m-%d}"


def si() -> models.FloatField:
    return models.FloatField(null=True, blank=True)


class Reading(Tracked):
    """One set of readings of one exchanger in one mode, as read. A correction supersedes it, never overwrites it.

    Pressures are absolute. `as_typed` maps a reading's name to {"value": text, "unit": text}.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="readings")
    exchanger = models.ForeignKey(Exchanger, on_delete=models.PROTECT, related_name="readings")
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="readings")
    taken_at = models.DateTimeField()
    received_at = models.DateTimeField(default=timezone.now)
    mode = models.CharField(max_length=8, choices=words(records.MODES))
    purpose = models.CharField(max_length=16, choices=words(records.PURPOSES), default="routine")
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
    entering_air_k = si()
    entering_air_wet_bulb_k = si()
    leaving_air_k = si()
    static_pressure_pa = si()
    static_coldest_k = si()
    strainer = models.CharField(max_length=12, choices=words(records.STRAINER_STATES), blank=True)
    back_flush = models.CharField(max_length=16, choices=words(records.BACK_FLUSH_RESULTS), blank=True)
    fault_lockout = models.CharField(max_length=24, choices=words(records.FAULT_LOCKOUTS), blank=True)
    note = models.TextField(blank=True)
    as_typed = models.JSONField(default=dict)
    supersedes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="superseded_by"
    )
    superseded_at = models.DateTimeField(null=True, blank=True)
    correction_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-taken_at", "id"]
        constraints = [
            known("mode", records.MODES, "reading_mode_known"),
            known("purpose", records.PURPOSES, "reading_purpose_known"),
            known("strainer", records.STRAINER_STATES, "reading_strainer_known", blank=True),
            known("back_flush", records.BACK_FLUSH_RESULTS, "reading_back_flush_known", blank=True),
            known("fault_lockout", records.FAULT_LOCKOUTS, "reading_fault_lockout_known", blank=True),
            models.CheckConstraint(
                condition=Q(supersedes__isnull=True) | ~Q(correction_reason=""),
                name="reading_correction_has_reason",
            ),
        ]
        indexes = [models.Index(fields=["exchanger", "taken_at"], name="reading_of_exchanger")]

    def __str__(self) -> str:
        return f"{self.exchanger} {self.taken_at:%Y-%m-%d %H:%M}"


FINDING_KINDS = ("strainer", "back_flush", "lockout", "photo", "could_not_do", "note")


class Finding(Tracked):
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="findings")
    unit = models.ForeignKey(Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="findings")
    found_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="findings")
    found_at = models.DateTimeField(default=timezone.now)
    kind = models.CharField(max_length=16, choices=words(FINDING_KINDS))
    value = models.CharField(max_length=40, blank=True)
    mode = models.CharField(max_length=8, choices=words(records.MODES), blank=True)
    note = models.TextField(blank=True)
    photo = models.ImageField(upload_to="findings/%Y/%m/", blank=True)

    class Meta:
        ordering = ["-found_at", "id"]
        constraints = [known("kind", FINDING_KINDS, "finding_kind_known")]

    def __str__(self) -> str:
        return f"{self.visit} {self.kind}"

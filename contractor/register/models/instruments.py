from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from contractor.register.models.base import Retirable, in_order, known, not_blank, words
from contractor.register.querysets import CrewOnlyQuerySet, GaugeSetQuerySet

READINGS_BY_INSTRUMENT = (
    "entering_water",
    "leaving_water",
    "water_flow",
    "water_pressure_drop",
    "balancing_valve_pressure_drop",
    "head_pressure",
    "suction_pressure",
    "liquid_line",
    "suction_line",
    "discharge_line",
    "compressor_power",
    "amps",
    "volts",
    "power_factor",
    "entering_air",
    "entering_air_wet_bulb",
    "leaving_air",
    "static_pressure",
    "static_coldest",
)


# how long a calibration holds where the certificate says nothing else; common practice of the trade
CALIBRATION_HOLDS_MONTHS = {
    **dict.fromkeys(READINGS_BY_INSTRUMENT, 12),
    "water_flow": 24,
    **dict.fromkeys(("compressor_power", "amps", "volts", "power_factor"), 24),
}


class GaugeSet(Retirable):
    """The gauges and thermometers a technician carries; their repeating errors go along to every visit."""

    name = models.CharField(max_length=80)
    holder = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="gauge_sets"
    )

    objects = GaugeSetQuerySet.as_manager()

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                name="gaugeset_name_once",
                violation_error_message="There is already a gauge set of this name.",
            ),
            not_blank("name", "gaugeset_has_name", "The gauge set's name"),
        ]

    def __str__(self) -> str:
        return self.name


class Instrument(Retirable):
    gauge_set = models.ForeignKey(GaugeSet, on_delete=models.PROTECT, related_name="instruments")
    reading = models.CharField(
        max_length=40,
        choices=words(READINGS_BY_INSTRUMENT),
        help_text="the reading it takes, such as entering_water",
        error_messages={
            "invalid_choice": "%(value)r is not a reading; expected one of "
            + ", ".join(READINGS_BY_INSTRUMENT)
            + "."
        },
    )
    repeating = models.FloatField(help_text="limit of the part that stays the same from visit to visit")
    random = models.FloatField(help_text="limit of the part that is new at every reading")
    relative = models.BooleanField(
        help_text="True: fractions of the reading; False: in the reading's SI unit"
    )
    serial = models.CharField(max_length=80, blank=True)
    calibrated_on = models.DateField(null=True, blank=True)
    calibration_due_on = models.DateField(
        null=True,
        blank=True,
        help_text="as the certificate says; left out, 12 months after the calibration, 24 for flow and power",
    )

    objects = CrewOnlyQuerySet["Instrument"].as_manager()

    class Meta:
        ordering = ["gauge_set", "reading", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(repeating__gte=0, random__gte=0),
                name="instrument_accuracy_not_negative",
                violation_error_message="Accuracy limits are zero or more.",
            ),
            known("reading", READINGS_BY_INSTRUMENT, "instrument_reading_known"),
            in_order("calibrated_on", "calibration_due_on", "instrument_calibration_in_order"),
            models.UniqueConstraint(
                fields=["gauge_set", "reading"],
                condition=Q(retired_at__isnull=True),
                name="instrument_reading_once_a_gauge_set",
                violation_error_message="This gauge set already has an instrument for this reading.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.gauge_set}, {self.get_reading_display()}"

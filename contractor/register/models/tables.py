from __future__ import annotations

from django.db import models
from django.db.models.functions import Lower

from contractor.register.models.base import Retirable, in_order, known, not_blank, si, typed, word
from contractor.register.querysets import OfTableQuerySet, OperatingTableQuerySet
from diagnostics.engine import records

RANGES = (
    ("head_low_pa_gauge", "head_high_pa_gauge", "operatingtablerow_head_in_order"),
    ("suction_low_pa_gauge", "suction_high_pa_gauge", "operatingtablerow_suction_in_order"),
    ("superheat_low_k", "superheat_high_k", "operatingtablerow_superheat_in_order"),
    ("subcooling_low_k", "subcooling_high_k", "operatingtablerow_subcooling_in_order"),
    ("water_temperature_change_low_k", "water_temperature_change_high_k", "operatingtablerow_water_in_order"),
)


class OperatingTable(Retirable):
    """The maker's printed operating data of one model, typed once and used by every unit of the model."""

    name = models.CharField(max_length=120)
    rating_includes_fouling = models.BooleanField(null=True, blank=True)
    notes = models.TextField(blank=True)

    objects = OperatingTableQuerySet.as_manager()

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                name="operatingtable_name_once",
                violation_error_message="There is already an operating table of this name.",
            ),
            not_blank("name", "operatingtable_has_name", "The table's name"),
        ]

    def __str__(self) -> str:
        return self.name


class OperatingTableRow(Retirable):
    """One printed row: what the clean unit shows at one entering water and flow. Pressures are gauge."""

    table = models.ForeignKey(OperatingTable, on_delete=models.PROTECT, related_name="rows")
    mode = word(records.MODES, max_length=8)
    stage = models.CharField(max_length=20, default="full")
    entering_water_k = si()
    water_flow_m3_per_s = si()
    head_low_pa_gauge = si()
    head_high_pa_gauge = si()
    suction_low_pa_gauge = si()
    suction_high_pa_gauge = si()
    superheat_low_k = si()
    superheat_high_k = si()
    subcooling_low_k = si()
    subcooling_high_k = si()
    water_temperature_change_low_k = si()
    water_temperature_change_high_k = si()
    water_pressure_drop_pa = si()
    as_typed = typed()

    objects = OfTableQuerySet["OperatingTableRow"].as_manager()

    class Meta:
        ordering = ["table", "mode", "stage", "entering_water_k", "water_flow_m3_per_s", "id"]
        constraints = [
            known("mode", records.MODES, "operatingtablerow_mode_known"),
            *(in_order(low, high, name) for low, high, name in RANGES),
        ]

    def __str__(self) -> str:
        return f"{self.table} {self.mode}"

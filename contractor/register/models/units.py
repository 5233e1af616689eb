from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from contractor.register.models.base import (
    Retirable,
    between,
    known,
    not_blank,
    positive,
    si,
    typed,
    word,
    words,
)
from contractor.register.models.customers import Site
from contractor.register.models.lists import checked_parts
from contractor.register.models.tables import OperatingTable
from contractor.register.querysets import ExchangerQuerySet, UnitEventQuerySet, UnitQuerySet
from contractor.trail.tracked import Tracked
from diagnostics.engine import records
from diagnostics.engine.descaling.metals import METALS

UNIT_KINDS = records.MACHINES
UNIT_KIND_CHOICES = words(UNIT_KINDS)
EXCHANGER_KIND_CHOICES = words(records.EXCHANGER_KINDS)
EXCHANGER_MODES = ("both", "cooling", "heating")
WETTED_PARTS = (
    "joints",
    "valve_bodies",
    "strainer",
    "flow_switch",
    "water_regulating_valve",
    "motorised_valve",
    "fittings",
    "hose_ports",
    "gaskets",
)


def canonical_refrigerant(name: str) -> str:
    """R-410A, r410a and R410A are one. Raises UnknownName with the list of those known."""
    from diagnostics.engine.refrigerants import (
        canonical_name,
    )  # loads the property library: not before needed

    return canonical_name(name)


class Unit(Retirable):
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="units")
    tag = models.CharField(max_length=40, help_text="the code on the unit's tag, once in the whole register")
    place = models.CharField(max_length=120, blank=True)
    model = models.CharField(max_length=80, blank=True)
    serial = models.CharField(max_length=80, blank=True)
    kind = word(UNIT_KINDS, default="water_to_air_heat_pump")
    refrigerant = models.CharField(max_length=20)
    capacity_w = si("nominal cooling capacity")
    stages = models.PositiveSmallIntegerField(default=1)
    expansion = word(records.EXPANSION_DEVICES, blank=True, max_length=20)
    receiver = models.BooleanField(null=True, blank=True)
    head_pressure_valve = models.BooleanField(null=True, blank=True)
    hot_gas_reheat = models.BooleanField(null=True, blank=True)
    desuperheater_coil = models.BooleanField(null=True, blank=True)
    vapour_injection = models.BooleanField(null=True, blank=True)
    fan_power_w = si("of the unit's own fan, taken off where the power was read with the fan on the meter")
    high_head_cutout_pa_gauge = si()
    low_suction_cutout_pa_gauge = si()
    freeze_cutout_k = si()
    low_side_rating_pa_gauge = si("data plate's low-side pressure")
    relief_setting_pa_gauge = si("relief valve or rupture disc")
    loop = models.CharField(max_length=60, blank=True)
    room_volume_m3 = si("of the room it stands in: carbon dioxide of a descale gathers there")
    operating_table = models.ForeignKey(
        OperatingTable, null=True, blank=True, on_delete=models.PROTECT, related_name="units"
    )
    safety_notes = models.TextField(blank=True)
    notes = models.TextField(blank=True, help_text="the contractor's own; clients do not see them")
    as_typed = typed()

    objects = UnitQuerySet.as_manager()

    class Meta:
        ordering = ["tag", "id"]
        constraints = [
            models.UniqueConstraint(
                Lower("tag"),
                name="unit_tag_once",
                violation_error_message="This tag is already on another unit of the register.",
            ),
            not_blank("tag", "unit_has_tag", "The code on the unit's tag"),
            known("kind", UNIT_KINDS, "unit_kind_known"),
            known("expansion", records.EXPANSION_DEVICES, "unit_expansion_known", blank=True),
            positive(["capacity_w", "room_volume_m3"], "unit_capacity_positive"),
            positive(["fan_power_w"], "unit_fan_power_positive"),
            between("stages", 1, 20, "unit_has_a_stage"),
            between("freeze_cutout_k", 200, 400, "unit_freeze_cutout_is_a_temperature"),
            positive(
                ["high_head_cutout_pa_gauge", "low_side_rating_pa_gauge", "relief_setting_pa_gauge"],
                "unit_pressures_positive",
            ),
            between("low_suction_cutout_pa_gauge", -101_325, 1e7, "unit_low_suction_above_vacuum"),
        ]

    def __str__(self) -> str:
        return self.tag

    def clean(self) -> None:
        try:
            self.refrigerant = canonical_refrigerant(self.refrigerant)
        except ValueError as error:
            raise ValidationError({"refrigerant": f"{error}."}) from error


class UnitEvent(Tracked):
    """Charge, compressor, expansion device or exchanger changed: voids the clean references taken before."""

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="events")
    at = models.DateTimeField()
    what = word(records.EVENT_KINDS, max_length=24)
    note = models.TextField(blank=True)
    taken_back_at = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="entered by mistake; kept, without effect"
    )

    objects = UnitEventQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "id"]
        constraints = [known("what", records.EVENT_KINDS, "unitevent_what_known")]

    def __str__(self) -> str:
        return f"{self.unit}, {self.get_what_display()}"


class Exchanger(Retirable):
    """One refrigerant circuit and water side. Area is often unknown: answers are then in K and per cent."""

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="exchangers")
    name = models.CharField(
        max_length=60, default="1", help_text="circuit number, condenser, evaporator, ..."
    )
    kind = word(records.EXCHANGER_KINDS, max_length=20)
    modes = word(
        EXCHANGER_MODES,
        max_length=8,
        default="both",
        help_text="a chiller's condenser reads as cooling, its evaporator as heating",
    )
    metal = word(METALS, blank=True)
    area_m2 = si("wetted water-side area")
    bore_m = si()
    length_m = si()
    count = models.PositiveIntegerField(null=True, blank=True, help_text="parallel tubes, or plate channels")
    flow_in_heating = word(records.FLOW_ARRANGEMENTS, blank=True, max_length=12)
    design_flow_m3_per_s = si()
    design_pressure_drop_pa = si("on water at 20 degC")
    pressure_drop_exponent = models.FloatField(null=True, blank=True)
    water_content_m3 = si()
    water_rating_pa_gauge = si()
    fouling_limit_m2k_per_w = si()
    rating_includes_fouling = models.BooleanField(null=True, blank=True)
    isolation_valves = models.BooleanField(null=True, blank=True)
    hose_connections = models.CharField(max_length=120, blank=True)
    wetted_materials = models.JSONField(
        default=dict,
        blank=True,
        help_text=f"material by part: {', '.join(WETTED_PARTS)}; not_fitted where there is none",
    )
    heats_drinking_water = models.BooleanField(null=True, blank=True, help_text="such a coil is not cleaned")
    strainer_on_inlet = models.BooleanField(null=True, blank=True)
    balancing_valve_position = models.CharField(
        max_length=60, blank=True, help_text="as set by whoever balanced the system; noted, never moved"
    )
    balancing_valve_kv_m3_per_h = si(
        "its flow coefficient at that position: m3/h of water at 1 bar (0.865 Cv)"
    )
    between_ports = word(
        records.BETWEEN_PORTS,
        blank=True,
        max_length=20,
        help_text="what lies between the two pressure ports beside the exchanger: its share of the pressure "
        "drop is taken off",
    )
    port_rise_m = si(
        "leaving pressure port above the entering one, negative below; it counts where a gauge was read at "
        "each port, and not on a differential gauge with its hoses full of water"
    )
    notes = models.TextField(blank=True, help_text="the contractor's own; clients do not see them")
    as_typed = typed()

    objects = ExchangerQuerySet.as_manager()

    class Meta:
        ordering = ["unit", "name", "id"]
        constraints = [
            models.UniqueConstraint(
                "unit",
                Lower("name"),
                name="exchanger_name_once_a_unit",
                violation_error_message="This unit already has an exchanger of this name.",
            ),
            not_blank("name", "exchanger_has_name", "The exchanger's name"),
            known("kind", records.EXCHANGER_KINDS, "exchanger_kind_known"),
            known("modes", EXCHANGER_MODES, "exchanger_modes_known"),
            known("metal", METALS, "exchanger_metal_known", blank=True),
            models.CheckConstraint(
                condition=Q(flow_in_heating__in=["", *records.FLOW_ARRANGEMENTS]),
                name="exchanger_flow_in_heating_known",
            ),
            known("between_ports", records.BETWEEN_PORTS, "exchanger_between_ports_known", blank=True),
            between("port_rise_m", -10, 10, "exchanger_port_rise_is_a_height"),
            positive(
                ["area_m2", "bore_m", "length_m", "count", "design_flow_m3_per_s", "design_pressure_drop_pa",
                 "pressure_drop_exponent", "water_content_m3", "water_rating_pa_gauge",
                 "fouling_limit_m2k_per_w", "balancing_valve_kv_m3_per_h"],
                "exchanger_sizes_positive",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.unit} {self.name}"

    def clean(self) -> None:
        if fault := checked_parts(self.wetted_materials, WETTED_PARTS):
            raise ValidationError({"wetted_materials": fault})

    def reads_in(self, mode: str) -> bool:
        return self.modes in ("both", mode)

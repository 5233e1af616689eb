"""Customers, sites, units, exchangers and what is known of them. SI in the columns; the unit is in the name."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower

from contractor.accounts.models import Person
from contractor.trail.tracked import Tracked
from diagnostics.engine import records


def words(names: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(name, name.replace("_", " ")) for name in names]


def known(
    column: str, names: tuple[str, ...], constraint: str, *, blank: bool = False
) -> models.CheckConstraint:
    allowed = [*names, ""] if blank else list(names)
    return models.CheckConstraint(condition=Q(**{f"{column}__in": allowed}), name=constraint)


def positive(columns: list[str], constraint: str) -> models.CheckConstraint:
    condition = Q()
    for column in columns:
        condition &= Q(**{f"{column}__isnull": True}) | Q(**{f"{column}__gt": 0})
    return models.CheckConstraint(condition=condition, name=constraint)


class Retirable(Tracked):
    """Nothing with history is deleted; it is retired."""

    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True


class Customer(Retirable):
    name = models.CharField(max_length=120)
    code = models.CharField(
        max_length=40, blank=True, help_text="the contractor's own number for the customer"
    )
    contact_name = models.CharField(max_length=120, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["name", "id"]
        constraints = [models.UniqueConstraint(Lower("name"), name="customer_name_once")]

    def __str__(self) -> str:
        return self.name


class Site(Retirable):
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="sites")
    name = models.CharField(max_length=120)
    address = models.CharField(max_length=300, blank=True)
    time_zone = models.CharField(max_length=60, default="UTC")
    elevation_m = models.FloatField(null=True, blank=True)
    access_from = models.TimeField(null=True, blank=True)
    access_until = models.TimeField(null=True, blank=True)
    quiet_from = models.TimeField(null=True, blank=True)
    quiet_until = models.TimeField(null=True, blank=True)
    access_notes = models.TextField(blank=True)
    safety_notes = models.TextField(blank=True)
    emergency_phone = models.CharField(max_length=40, blank=True)
    water_source = models.CharField(max_length=20, choices=words(records.WATER_SOURCES), blank=True)
    antifreeze = models.CharField(max_length=20, choices=words(records.ANTIFREEZES), default="none")
    antifreeze_fraction = models.FloatField(
        null=True, blank=True, help_text="0 to 1; by volume for glycols, by mass for alcohols"
    )
    loop_low_k = models.FloatField(null=True, blank=True)
    loop_high_k = models.FloatField(null=True, blank=True)
    drain = models.CharField(max_length=200, blank=True, help_text="where waste water goes and who allows it")
    discharge_ph_low = models.FloatField(null=True, blank=True)
    discharge_ph_high = models.FloatField(null=True, blank=True)
    discharge_copper_mg_per_l = models.FloatField(null=True, blank=True)
    discharge_iron_mg_per_l = models.FloatField(null=True, blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.UniqueConstraint("customer", Lower("name"), name="site_name_once_a_customer"),
            known("water_source", records.WATER_SOURCES, "site_water_source_known", blank=True),
            known("antifreeze", records.ANTIFREEZES, "site_antifreeze_known"),
            models.CheckConstraint(
                condition=Q(antifreeze_fraction__isnull=True)
                | Q(antifreeze_fraction__gte=0, antifreeze_fraction__lte=1),
                name="site_antifreeze_fraction_0_to_1",
            ),
            models.CheckConstraint(
                condition=Q(loop_low_k__isnull=True)
                | Q(loop_high_k__isnull=True)
                | Q(loop_low_k__lte=F("loop_high_k")),
                name="site_loop_low_below_high",
            ),
            models.CheckConstraint(
                condition=Q(elevation_m__isnull=True) | Q(elevation_m__gte=-500, elevation_m__lte=6000),
                name="site_elevation_on_earth",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class ClientAccess(Tracked):
    """A client's sign-in sees one customer, optionally only some of its sites."""

    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="client_access")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="client_accesses")
    sites = models.ManyToManyField(Site, blank=True, related_name="client_accesses")

    def __str__(self) -> str:
        return f"{self.person} for {self.customer}"


class WaterTest(Tracked):
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="water_tests")
    taken_at = models.DateTimeField()
    temperature_k = models.FloatField(null=True, blank=True)
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

    class Meta:
        ordering = ["-taken_at", "id"]

    def __str__(self) -> str:
        return f"{self.site} {self.taken_at:%Y-%m-%d}"


class OperatingTable(Retirable):
    """The maker's printed operating data of one model, typed once and used by every unit of the model."""

    name = models.CharField(max_length=120)
    rating_includes_fouling = models.BooleanField(null=True, blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["name", "id"]
        constraints = [models.UniqueConstraint(Lower("name"), name="operatingtable_name_once")]

    def __str__(self) -> str:
        return self.name


class OperatingTableRow(Tracked):
    table = models.ForeignKey(OperatingTable, on_delete=models.PROTECT, related_name="rows")
    mode = models.CharField(max_length=8, choices=words(records.MODES))
    stage = models.CharField(max_length=20, default="full")
    entering_water_k = models.FloatField(null=True, blank=True)
    water_flow_m3_per_s = models.FloatField(null=True, blank=True)
    head_low_pa_gauge = models.FloatField(null=True, blank=True)
    head_high_pa_gauge = models.FloatField(null=True, blank=True)
    suction_low_pa_gauge = models.FloatField(null=True, blank=True)
    suction_high_pa_gauge = models.FloatField(null=True, blank=True)
    superheat_low_k = models.FloatField(null=True, blank=True)
    superheat_high_k = models.FloatField(null=True, blank=True)
    subcooling_low_k = models.FloatField(null=True, blank=True)
    subcooling_high_k = models.FloatField(null=True, blank=True)
    water_temperature_change_low_k = models.FloatField(null=True, blank=True)
    water_temperature_change_high_k = models.FloatField(null=True, blank=True)
    water_pressure_drop_pa = models.FloatField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)
    as_typed = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["table", "mode", "stage", "entering_water_k", "water_flow_m3_per_s", "id"]
        constraints = [known("mode", records.MODES, "operatingtablerow_mode_known")]

    def __str__(self) -> str:
        return f"{self.table} {self.mode}"


UNIT_KINDS = (
    "water_to_air_heat_pump",
    "water_to_water_heat_pump",
    "water_cooled_condenser",
    "water_cooled_chiller",
)
RECEIVERS = ("none", "fitted")


class Unit(Retirable):
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="units")
    tag = models.CharField(max_length=40, help_text="the code on the unit's tag, once in the whole register")
    place = models.CharField(max_length=120, blank=True)
    model = models.CharField(max_length=80, blank=True)
    serial = models.CharField(max_length=80, blank=True)
    kind = models.CharField(max_length=30, choices=words(UNIT_KINDS), default="water_to_air_heat_pump")
    refrigerant = models.CharField(max_length=20)
    capacity_w = models.FloatField(null=True, blank=True)
    stages = models.PositiveSmallIntegerField(default=1)
    expansion = models.CharField(max_length=20, choices=words(records.EXPANSION_DEVICES), blank=True)
    receiver = models.BooleanField(null=True, blank=True)
    head_pressure_valve = models.BooleanField(null=True, blank=True)
    hot_gas_reheat = models.BooleanField(null=True, blank=True)
    desuperheater_coil = models.BooleanField(null=True, blank=True)
    high_head_cutout_pa_gauge = models.FloatField(null=True, blank=True)
    low_suction_cutout_pa_gauge = models.FloatField(null=True, blank=True)
    freeze_cutout_k = models.FloatField(null=True, blank=True)
    low_side_rating_pa_gauge = models.FloatField(null=True, blank=True)
    relief_setting_pa_gauge = models.FloatField(null=True, blank=True)
    loop = models.CharField(max_length=60, blank=True)
    operating_table = models.ForeignKey(
        OperatingTable, null=True, blank=True, on_delete=models.PROTECT, related_name="units"
    )
    safety_notes = models.TextField(blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["tag", "id"]
        constraints = [
            models.UniqueConstraint(Lower("tag"), name="unit_tag_once"),
            known("kind", UNIT_KINDS, "unit_kind_known"),
            known("expansion", records.EXPANSION_DEVICES, "unit_expansion_known", blank=True),
            positive(["capacity_w"], "unit_capacity_positive"),
        ]

    def __str__(self) -> str:
        return self.tag


class UnitEvent(Tracked):
    """Charge, compressor, expansion device or exchanger changed: voids the clean references taken before."""

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="events")
    at = models.DateTimeField()
    what = models.CharField(max_length=24, choices=words(records.EVENT_KINDS))
    note = models.TextField(blank=True)
    taken_back_at = models.DateTimeField(
        null=True, blank=True, help_text="entered by mistake; kept, without effect"
    )

    class Meta:
        ordering = ["-at", "id"]
        constraints = [known("what", records.EVENT_KINDS, "unitevent_what_known")]

    def __str__(self) -> str:
        return f"{self.unit} {self.what}"


EXCHANGER_MODES = ("both", "cooling", "heating")
METALS = (
    "copper",
    "cupronickel",
    "stainless_304",
    "stainless_316",
    "copper_brazed_stainless",
    "nickel_brazed_stainless",
    "titanium",
    "carbon_steel",
    "admiralty_brass",
)


class Exchanger(Retirable):
    """One refrigerant circuit and water side. Area is often unknown; answers are then in kelvin and per cent."""

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="exchangers")
    name = models.CharField(
        max_length=60, default="1", help_text="circuit number, condenser, evaporator, ..."
    )
    kind = models.CharField(max_length=20, choices=words(records.EXCHANGER_KINDS))
    modes = models.CharField(
        max_length=8,
        choices=words(EXCHANGER_MODES),
        default="both",
        help_text="a chiller's condenser reads as cooling, its evaporator as heating",
    )
    metal = models.CharField(max_length=30, choices=words(METALS), blank=True)
    area_m2 = models.FloatField(null=True, blank=True)
    bore_m = models.FloatField(null=True, blank=True)
    length_m = models.FloatField(null=True, blank=True)
    count = models.PositiveIntegerField(null=True, blank=True)
    flow_in_heating = models.CharField(max_length=12, choices=words(records.FLOW_ARRANGEMENTS), blank=True)
    design_flow_m3_per_s = models.FloatField(null=True, blank=True)
    design_pressure_drop_pa = models.FloatField(null=True, blank=True)
    pressure_drop_exponent = models.FloatField(null=True, blank=True)
    water_content_m3 = models.FloatField(null=True, blank=True)
    water_rating_pa_gauge = models.FloatField(null=True, blank=True)
    fouling_limit_m2k_per_w = models.FloatField(null=True, blank=True)
    rating_includes_fouling = models.BooleanField(null=True, blank=True)
    isolation_valves = models.BooleanField(null=True, blank=True)
    hose_connections = models.CharField(max_length=120, blank=True)
    strainer_on_inlet = models.BooleanField(null=True, blank=True)
    balancing_valve_position = models.CharField(
        max_length=60, blank=True, help_text="as set by whoever balanced the system; noted, never moved"
    )
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["unit", "name", "id"]
        constraints = [
            models.UniqueConstraint("unit", Lower("name"), name="exchanger_name_once_a_unit"),
            known("kind", records.EXCHANGER_KINDS, "exchanger_kind_known"),
            known("modes", EXCHANGER_MODES, "exchanger_modes_known"),
            known("metal", METALS, "exchanger_metal_known", blank=True),
            positive(
                ["area_m2", "bore_m", "length_m", "count", "design_flow_m3_per_s", "design_pressure_drop_pa",
                 "pressure_drop_exponent", "water_content_m3", "fouling_limit_m2k_per_w"],
                "exchanger_sizes_positive",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.unit} {self.name}"


class GaugeSet(Retirable):
    """The gauges and thermometers a technician carries; their repeating errors go along to every visit."""

    name = models.CharField(max_length=80)
    holder = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="gauge_sets"
    )

    class Meta:
        ordering = ["name", "id"]
        constraints = [models.UniqueConstraint(Lower("name"), name="gaugeset_name_once")]

    def __str__(self) -> str:
        return self.name


class Instrument(Retirable):
    gauge_set = models.ForeignKey(GaugeSet, on_delete=models.PROTECT, related_name="instruments")
    reading = models.CharField(max_length=40, help_text="the reading it takes, such as entering_water")
    repeating = models.FloatField(help_text="limit of the part that stays the same from visit to visit")
    random = models.FloatField(help_text="limit of the part that is new at every reading")
    relative = models.BooleanField(
        help_text="True: fractions of the reading; False: in the reading's SI unit"
    )
    serial = models.CharField(max_length=80, blank=True)
    calibrated_on = models.DateField(null=True, blank=True)
    calibration_due_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["gauge_set", "reading", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(repeating__gte=0, random__gte=0), name="instrument_accuracy_not_negative"
            ),
            models.UniqueConstraint(
                fields=["gauge_set", "reading"],
                condition=Q(retired_at__isnull=True),
                name="instrument_reading_once_a_gauge_set",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.gauge_set} {self.reading}"

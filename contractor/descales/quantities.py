"""What may be typed with a unit at a descale, by record, with the column of its SI value."""

from contractor.register.typed import Quantity

PRESSURES = (
    Quantity("pressure_before", "pressure_before_pa_gauge", "refrigerant_pressure", gauge=True),
    Quantity("pressure_after", "pressure_after_pa_gauge", "refrigerant_pressure", gauge=True),
)
PRODUCT = (Quantity("product_mass", "product_kg", "mass"), Quantity("product_volume", "product_m3", "volume"))
FLOW = Quantity("flow", "flow_m3_per_s", "water_flow")
DURATION = Quantity("duration", "duration_s", "duration")
VOLUME = Quantity("volume", "volume_m3", "volume")
CONDUCTIVITY = Quantity("conductivity", "conductivity_s_per_m", "conductivity")

CHECK = (DURATION, *PRESSURES, FLOW, VOLUME)
BATCH = (*PRODUCT, Quantity("water", "water_m3", "volume"))
PORTION = PRODUCT
LOOK = (
    Quantity("temperature", "temperature_k", "temperature"),
    Quantity("level", "level_m", "length"),
    FLOW,
    CONDUCTIVITY,
)
END_STEP = (
    DURATION,
    *PRESSURES,
    FLOW,
    CONDUCTIVITY,
    Quantity("supply_conductivity", "supply_conductivity_s_per_m", "conductivity"),
    Quantity("static_pressure", "static_pressure_pa", "refrigerant_pressure"),
    Quantity("freeze_setting", "freeze_setting_k", "temperature"),
)
NEUTRALISING = (Quantity("agent_mass", "agent_kg", "mass"),)
HELD_WASTE = (VOLUME,)
DISCHARGE = (
    VOLUME,
    Quantity("temperature", "temperature_k", "temperature"),
    Quantity("neutraliser_mass", "neutraliser_kg", "mass"),
)


def columns_of(quantities: tuple[Quantity, ...]) -> tuple[str, ...]:
    return tuple(column for quantity in quantities for column in quantity.columns)

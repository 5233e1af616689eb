"""Which columns of the register hold a value with a unit, and what it is called when typed."""

from contractor.register.typed import Quantity

SITE = (
    Quantity("elevation", "elevation_m", "length"),
    Quantity("antifreeze_fraction", "antifreeze_fraction", "fraction"),
    Quantity("loop_low", "loop_low_k", "temperature"),
    Quantity("loop_high", "loop_high_k", "temperature"),
    Quantity("discharge_highest", "discharge_highest_k", "temperature"),
)
WATER_TEST = (Quantity("temperature", "temperature_k", "temperature"),)
UNIT = (
    Quantity("capacity", "capacity_w", "power"),
    Quantity("high_head_cutout", "high_head_cutout_pa_gauge", "refrigerant_pressure", gauge=True),
    Quantity("low_suction_cutout", "low_suction_cutout_pa_gauge", "refrigerant_pressure", gauge=True),
    Quantity("freeze_cutout", "freeze_cutout_k", "temperature"),
    Quantity("low_side_rating", "low_side_rating_pa_gauge", "refrigerant_pressure", gauge=True),
    Quantity("relief_setting", "relief_setting_pa_gauge", "refrigerant_pressure", gauge=True),
    Quantity("room_volume", "room_volume_m3", "volume"),
    Quantity("fan_power", "fan_power_w", "power"),
)
EXCHANGER = (
    Quantity("area", "area_m2", "area"),
    Quantity("bore", "bore_m", "length"),
    Quantity("length", "length_m", "length"),
    Quantity("design_flow", "design_flow_m3_per_s", "water_flow"),
    Quantity("design_pressure_drop", "design_pressure_drop_pa", "pressure_difference"),
    Quantity("balancing_valve_kv", "balancing_valve_kv_m3_per_h", "flow_coefficient"),
    Quantity("port_rise", "port_rise_m", "length"),
    Quantity("water_content", "water_content_m3", "volume"),
    Quantity("water_rating", "water_rating_pa_gauge", "refrigerant_pressure", gauge=True),
    Quantity("fouling_limit", "fouling_limit_m2k_per_w", "fouling_resistance"),
)
CLEANER = (
    Quantity("highest_temperature", "highest_temperature_k", "temperature"),
    Quantity("longest_time", "longest_time_s", "duration"),
    Quantity("product_strength", "product_strength", "fraction"),
    Quantity("strength_low", "strength_low", "fraction"),
    Quantity("strength_usual", "strength_usual", "fraction"),
    Quantity("strength_high", "strength_high", "fraction"),
)
CLEANER_LOT = (Quantity("quantity", "quantity_kg", "mass"),)
RIG = (
    Quantity("tank_volume", "tank_volume_m3", "volume"),
    Quantity("spare_tank_volume", "spare_tank_volume_m3", "volume"),
    Quantity("pump_power", "pump_power_w", "power"),
    Quantity("hose_length", "hose_length_m", "length"),
    Quantity("hose_bore", "hose_bore_m", "length"),
)
TABLE_ROW = (
    Quantity("entering_water", "entering_water_k", "temperature"),
    Quantity("water_flow", "water_flow_m3_per_s", "water_flow"),
    Quantity("head_low", "head_low_pa_gauge", "refrigerant_pressure", gauge=True),
    Quantity("head_high", "head_high_pa_gauge", "refrigerant_pressure", gauge=True),
    Quantity("suction_low", "suction_low_pa_gauge", "refrigerant_pressure", gauge=True),
    Quantity("suction_high", "suction_high_pa_gauge", "refrigerant_pressure", gauge=True),
    Quantity("superheat_low", "superheat_low_k", "temperature_difference"),
    Quantity("superheat_high", "superheat_high_k", "temperature_difference"),
    Quantity("subcooling_low", "subcooling_low_k", "temperature_difference"),
    Quantity("subcooling_high", "subcooling_high_k", "temperature_difference"),
    Quantity("water_temperature_change_low", "water_temperature_change_low_k", "temperature_difference"),
    Quantity("water_temperature_change_high", "water_temperature_change_high_k", "temperature_difference"),
    Quantity("water_pressure_drop", "water_pressure_drop_pa", "pressure_difference"),
)

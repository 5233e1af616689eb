"""What a technician may read or find, by the name it is typed under, with the column of its SI value."""

from contractor.register.typed import Quantity

READING = (
    Quantity("entering_water", "entering_water_k", "temperature"),
    Quantity("leaving_water", "leaving_water_k", "temperature"),
    Quantity("water_flow", "water_flow_m3_per_s", "water_flow", mass_column="water_flow_kg_per_s"),
    Quantity("water_pressure_drop", "water_pressure_drop_pa", "pressure_difference"),
    Quantity("balancing_valve_pressure_drop", "balancing_valve_pressure_drop_pa", "pressure_difference"),
    Quantity("head_pressure", "head_pressure_pa", "refrigerant_pressure"),
    Quantity("suction_pressure", "suction_pressure_pa", "refrigerant_pressure"),
    Quantity("liquid_line", "liquid_line_k", "temperature"),
    Quantity("suction_line", "suction_line_k", "temperature"),
    Quantity("discharge_line", "discharge_line_k", "temperature"),
    Quantity("compressor_power", "compressor_power_w", "power"),
    Quantity("amps", "amps_a", "current"),
    Quantity("volts", "volts_v", "voltage"),
    Quantity("power_factor", "power_factor", "ratio"),
    Quantity("entering_air", "entering_air_k", "temperature"),
    Quantity("entering_air_wet_bulb", "entering_air_wet_bulb_k", "temperature"),
    Quantity("leaving_air", "leaving_air_k", "temperature"),
    Quantity("static_pressure", "static_pressure_pa", "refrigerant_pressure"),
    Quantity("static_coldest", "static_coldest_k", "temperature"),
)
FINDING = (
    Quantity("static_pressure", "static_pressure_pa", "refrigerant_pressure"),
    Quantity("static_coldest", "static_coldest_k", "temperature"),
    Quantity("cutout_pressure", "cutout_pressure_pa", "refrigerant_pressure"),
    Quantity("freeze_cutout", "freeze_cutout_k", "temperature"),
)
FINDING_COLUMNS = tuple(column for quantity in FINDING for column in quantity.columns)
BY_NAME = {quantity.name: quantity for quantity in READING}
COLUMNS = tuple(column for quantity in READING for column in quantity.columns)

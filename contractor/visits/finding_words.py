"""What a finding may say, by its kind: the words that the ranking of causes understands."""

from diagnostics.engine import records

RIGHT = "right"
FINDING_VALUES: dict[str, tuple[str, ...]] = {
    "strainer": records.STRAINER_STATES,
    "back_flush": records.BACK_FLUSH_RESULTS,
    "lockout": records.FAULT_LOCKOUTS,
    "strainer_cleaned": records.BACK_FLUSH_RESULTS,
    "cutout_setting": (RIGHT, "drifted"),
    "freeze_sensor": (RIGHT, "set_for_water", "misplaced"),
    "static_test": ("measured", "above_saturation", "at_saturation"),
    "flow_control": (RIGHT, "wrong"),
    "hoses": (RIGHT, "crossed", "kinked"),
    "loop_flow": ("enough", "short"),
    "water_vent": ("none", "air"),
    "air_side": (RIGHT, "wrong"),
    "charge": (RIGHT, "too_much", "too_little"),
    "reversing_valve": (RIGHT, "leaks"),
    "metering": (RIGHT, "restricted", "overfeeds"),
    "compressor": (RIGHT, "weak"),
    "read_again": ("the_same", "different"),
    "data_plate": ("the_same", "different"),
    "descale": ("better", "no_change", "not_measured"),
}
"""Kinds that say something of a unit, and what each may say."""

FINDING_KINDS: tuple[str, ...] = (*FINDING_VALUES, "photo", "could_not_do", "note")
USUAL_VALUES: dict[str, str] = {"static_test": "measured", "descale": "not_measured"}
"""What a kind says where nothing is said."""

BROUGHT: tuple[str, ...] = ("nothing", "solids", "colour", "mud", "slime")
"""What came out. Colour is what dissolved and gave the solution colour without solids."""
BRINGS: frozenset[str] = frozenset({"strainer_cleaned", "back_flush", "descale"})
"""Kinds of which it may be said what they brought out."""

"""Numbers, units, times and names of readings as people read them, in the hand that is set (`hand`)."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from diagnostics.engine import per_cent
from diagnostics.engine.records import Interval
from reporting.documents import inch_pound
from reporting.documents.hand import hand

NEVER_LARGE = ("pH ", "pH,")
MINUS = "−"
THIN = "\u202f"
HARD = "\u00a0"
ZERO_CELSIUS_K = 273.15
SUPERSCRIPT = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip

READINGS: dict[str, str] = {
    "entering_water": "Entering water",
    "leaving_water": "Leaving water",
    "water_flow": "Water flow",
    "water_pressure_drop": "Water pressure drop",
    "balancing_valve_pressure_drop": "Pressure drop over the balancing valve",
    "head_pressure": "Head pressure",
    "suction_pressure": "Suction pressure",
    "liquid_line": "Liquid line",
    "suction_line": "Suction line",
    "discharge_line": "Discharge line",
    "compressor_power": "Compressor power",
    "amps": "Current",
    "volts": "Voltage",
    "phases": "Phases",
    "power_factor": "Power factor",
    "entering_air": "Entering air",
    "entering_air_wet_bulb": "Entering air, wet bulb",
    "leaving_air": "Leaving air",
    "static_pressure": "Static pressure, machine off",
    "static_coldest": "Coldest place, machine off",
    "minutes_running": "Minutes running",
}
UNITS: dict[str, str] = {
    "degF": "°F", "degC": "°C", "K": "K", "delta_degF": "°F difference", "delta_degC": "°C difference",
    "gpm": "US gpm", "psig": "psi gauge", "psia": "psi absolute", "kPa_gauge": "kPa gauge",
    "kPa_abs": "kPa absolute", "bar_gauge": "bar gauge", "bar_abs": "bar absolute",
    "inHg_vacuum": "inHg vacuum",
    "m3/h": "m³/h", "m**3/h": "m³/h", "m3/s": "m³/s", "l/s": "L/s", "L/s": "L/s",
    "l/min": "L/min", "L/min": "L/min", "L/minute": "L/min",
    "liter/minute": "L/min", "ft_H2O": "ft of water", "inH2O": "in of water", "min": "min",
}  # fmt: skip
COLUMN = re.compile(r"\b(?:" + "|".join(name for name in READINGS if "_" in name) + r")\b")
PER_CENT = re.compile(r"(\d) ?%")
CODE = re.compile(r"\b[a-z]+(?:_[a-z]+)+\b")
HYPHEN = re.compile(r"(?<=[ (])-(?=\d)")
CERTAIN = re.compile(r"\((100|0)%(?=\)| beyond| left)")
TINY = re.compile(r"(?<![\w.])(?:(\d+(?:\.\d+)?)e([+-]?\d+)|0\.(000+)([1-9]\d*))\b")
# what is said of pH has no unit behind its numbers
ACIDITY, BARE = re.compile(r"\bpH \d"), re.compile(r"(?<![\w.])(\d+\.\d+)(?!\w|\.\d)")
DECIMAL = re.compile(
    rf"(?<![\w.])(\d+)\.(\d+)(?=[ {HARD}]"
    r"(?:K|°C|°F|kPa|kW|W|%|psi|gpm|kg/s|times|to|\+-|±|×|m²K/W|mm|h|mg/L)(?![\w]))"
)
PRINTED = (
    ("delta_degC", "K"), ("delta_degF", "°F"), ("degC", "°C"), ("degF", "°F"),
    ("design_flow", "design flow"), ("m2K/W", "m²K/W"), ("(m2K)", "(m²K)"), ("(m2 K)", "(m²K)"),
)  # fmt: skip
EVENTS: dict[str, str] = {
    "charge_changed": "Refrigerant charge changed",
    "compressor_replaced": "Compressor replaced",
    "expansion_replaced": "Expansion device replaced",
    "exchanger_replaced": "Exchanger replaced",
    "descaled": "Descaled",
}
PURPOSES: dict[str, str] = {
    "clean_reference": "clean reference",
    "routine": "routine reading",
    "after_back_flush": "after back-flush",
    "before_descale": "before descale",
    "after_descale": "after descale",
}
REFERENCES: dict[str, str] = {
    "clean_reference": "clean visit",
    "operating_table": "maker's operating table",
    "rated_data": "rated data",
    "geometry": "geometry of the exchanger",
}


def plain_name(code: str) -> str:
    """A word of the records as people write it."""
    special = {"water_to_air_heat_pump": "water-to-air heat pump", "brazed_plate": "brazed plate",
               "water_to_water_heat_pump": "water-to-water heat pump", "shell_and_tube": "shell-and-tube",
               "water_cooled_condenser": "water-cooled condenser", "plate_and_frame": "plate-and-frame",
               "water_cooled_chiller": "water-cooled chiller"}  # fmt: skip
    return special.get(code, code.replace("_", " "))


def reading_name(column: str) -> str:
    return READINGS.get(column, plain_name(column).capitalize())


def for_people(text: str, resistances: bool = False) -> str:
    """The engine's sentence without the names and units that programs use; `resistances` where what stands
    around it tells them in the reader's units too, and not in SI as the documents' figures do."""
    text = COLUMN.sub(lambda found: inside(READINGS[found.group()]), text)
    for typed, printed in PRINTED:
        text = text.replace(typed, printed)
    text = CERTAIN.sub(lambda found: f"({percent(float(found[1]) / 100)}", text)
    text = PER_CENT.sub(f"\\1{HARD}%", text)
    if hand().inch_pound:
        text = inch_pound.told(text, resistances)
    text = TINY.sub(_tiny, text)
    text = CODE.sub(lambda found: plain_name(found.group()), HYPHEN.sub(MINUS, text))
    if ACIDITY.search(text):
        text = BARE.sub(lambda found: hand().marked(found[1]), text)
    text = DECIMAL.sub(lambda found: hand().marked(f"{found[1]}.{found[2]}"), text)
    return text.replace(" +- ", f"{HARD}±{HARD}").replace("+-", "±")


def _tiny(found: re.Match[str]) -> str:
    """`2e-4` and `0.00018` as this document writes small numbers, with the digits that were given."""
    if found[1]:
        return f"{found[1]}{HARD}{times_ten(int(found[2]))}"
    digits = found[4]
    mantissa = f"{digits[0]}.{digits[1:]}" if len(digits) > 1 else digits
    return f"{mantissa}{HARD}{times_ten(-len(found[3]) - 1)}"


def inside(name: str) -> str:
    """A name as it stands inside a sentence: first letter small."""
    return name[:1].lower() + name[1:]


def unit_name(unit: str) -> str:
    return UNITS.get(unit, unit.replace("delta_", "").replace("_", " ").replace("**", "^"))


# beyond these no reading of this trade is; written out they would break a page
SMALLEST_PLAIN, LARGEST_PLAIN = 1e-9, 1e9


def number(value: float, digits: int = 3) -> str:
    """A number to so many significant digits, thousands set apart; an exponent only where absurd."""
    if not math.isfinite(value):
        return "–"
    if value == 0:
        return "0"
    if abs(value) < SMALLEST_PLAIN:
        return scientific(value, "").rstrip(HARD)
    return fixed(value, max(0, digits - 1 - math.floor(math.log10(abs(value)))))


def fixed(value: float, decimals: int) -> str:
    """A number with so many decimals; a true minus sign, never a negative zero."""
    if not math.isfinite(value):
        return "–"
    if abs(value) >= LARGEST_PLAIN:
        return scientific(value, "").rstrip(HARD)
    text = hand().marked(f"{abs(value):,.{decimals}f}".replace(",", THIN))
    negative = value < 0 and any(c in "123456789" for c in text)
    return MINUS + text if negative else text


def decimals_for(width: float) -> int:
    """Decimals that show two digits of a width of uncertainty, one where it begins with 5 or more."""
    if not math.isfinite(width) or width <= 0:
        return 2
    exponent = math.floor(math.log10(width))
    digits = 1 if width / 10.0**exponent >= 5 else 2
    return min(max(digits - 1 - exponent, 0), 6)


def interval(value: Interval, unit: str, scale: float = 1.0) -> str:
    """`2.9 K (2.1 to 3.7 K)`: the value with its 95 % interval, digits as the interval deserves."""
    middle, ends = interval_parts(value, unit, scale)
    return f"{middle} ({ends})"


def interval_parts(value: Interval, unit: str, scale: float = 1.0) -> tuple[str, str]:
    v, low, high = value.value * scale, value.low * scale, value.high * scale
    decimals = decimals_for((high - low) / 2)
    space = HARD if unit else ""
    return (
        f"{fixed(v, decimals)}{space}{unit}",
        f"{fixed(low, decimals)} to {fixed(high, decimals)}{space}{unit}",
    )


def power_of_ten(value: float) -> int:
    """Exponent, a multiple of one, that puts a small number between 1 and 10."""
    return 0 if value == 0 or not math.isfinite(value) else math.floor(math.log10(abs(value)))


def times_ten(exponent: int) -> str:
    return "" if exponent == 0 else f"×{HARD}10{str(exponent).translate(SUPERSCRIPT)}"


def scientific(value: float, unit: str, exponent: int | None = None) -> str:
    """`1.76 × 10⁻⁴ m²K/W`."""
    power = power_of_ten(value) if exponent is None else exponent
    ten = times_ten(power)
    return f"{fixed(value / 10.0**power, 2)}{HARD}{ten}{HARD if ten else ''}{pretty_unit(unit)}"


def scientific_interval(value: Interval, unit: str, exponent: int) -> tuple[str, str]:
    middle, ends = interval_parts(value, "", 10.0**-exponent)
    tail = f"{HARD}{times_ten(exponent)}{HARD}{pretty_unit(unit)}"
    return middle + tail, ends + tail


def counted_in(unit: str, exponent: int) -> str:
    """`10⁻⁴ m²K/W`: what the bare numbers of a column or along an axis count."""
    ten = times_ten(exponent).removeprefix(f"×{HARD}")
    return f"{ten}{HARD if ten else ''}{pretty_unit(unit)}"


def difference(value: Interval) -> tuple[str, str]:
    """A temperature difference [K] and the ends of its interval, in the unit of the hand."""
    unit, factor = hand().difference()
    return interval_parts(value, unit, factor)


def pretty_unit(unit: str) -> str:
    return unit.replace("m2", "m²").replace("m3", "m³")


def celsius(kelvin: float) -> str:
    return f"{fixed(kelvin - ZERO_CELSIUS_K, 1)}{HARD}°C"


def percent(share: float) -> str:
    """A probability in per cent, never rounded to certainty."""
    return per_cent.chance(share).replace(" %", f"{HARD}%")


def short_percent(share: float) -> str:
    return percent(share).replace("over ", f">{HARD}").replace("below ", f"<{HARD}")


def zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return ZoneInfo("UTC")


def local(moment: datetime, zone_name: str) -> datetime:
    aware = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return aware.astimezone(zone(zone_name))


def day(moment: datetime) -> str:
    return f"{moment.day}{HARD}{MONTHS[moment.month - 1]}{HARD}{moment.year}"


def short_day(moment: datetime) -> str:
    return f"{moment.day}{HARD}{MONTHS[moment.month - 1][:3]}{HARD}{moment.year}"


def moment_words(moment: datetime) -> str:
    """`14 March 2025, 10:42 GMT`."""
    name = moment.tzname() or ""
    return f"{day(moment)}, {moment:%H:%M}{HARD}{name}".rstrip()


def listed(parts: list[str], last: str = "and") -> str:
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {last} {parts[-1]}"


def sentence(text: str) -> str:
    """First letter large, a full stop at the end."""
    text = text.strip()
    if not text:
        return ""
    text = text if text.startswith(NEVER_LARGE) else text[0].upper() + text[1:]
    return text if text[-1] in ".!?…" else text + "."

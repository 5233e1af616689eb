"""What fields are called on pages, and help in the trade's words where the record itself has none."""

from __future__ import annotations

import re

from contractor.register.api.base import described

LABELS = {
    "tag": "Tag",
    "at": "When",
    "what": "What was done",
    "area": "Wetted area, water side",
    "bore": "Tube bore",
    "length": "Tube length",
    "count": "Tubes or channels in parallel",
    "capacity": "Nominal cooling capacity",
    "metal": "Metal of the wetted surface",
    "modes": "Reads in",
    "ph": "pH",
    "renewal_ph": "Renewal pH",
    "discharge_ph_low": "Lowest pH allowed to drain",
    "discharge_ph_high": "Highest pH allowed to drain",
    "balancing_valve_kv": "Balancing valve coefficient",
    "between_ports": "Between the pressure ports",
    "port_rise": "Leaving port above the entering one",
    "fan_power": "Power of the unit's fan",
    "drop_read_by": "Pressure drop read by",
    "power_includes_fan": "The power includes the fan",
    "rating_includes_fouling": "The rating includes an allowance for fouling",
    "is_active": "May sign in",
    "repeating": "Stays the same",
    "random": "New each time",
    "treatment": "Treatment, in words",
    "treatments": "Treatments found or told",
    "email": "E-mail address",
    "holder": "Carried by",
    "person": "Person",
    "sites": "Only these sites",
    "high_head_cutout": "High head cut-out",
    "low_suction_cutout": "Low suction cut-out",
    "freeze_cutout": "Freeze cut-out",
    "drain": "Drain and its authority",
    "label_on": "Date of the label",
    "safety_sheet": "Safety data sheet",
    "safety_sheet_on": "Date of the safety data sheet",
}
# a name alone, or record and name where one name means two things
HELP = {
    "unitevent.note": "The contractor's own; clients do not see it.",
    "is_active": "Without it every sign-in of theirs ends at once.",
    "static_pressure": "Machine off and settled: tells whether air is in the refrigerant.",
    "static_coldest": "The coldest part the refrigerant touches, machine off and settled.",
    "gaugeset.holder": "The technician who works with it.",
    "clientaccess.person": "The client who signs in.",
    "certificate.person": "",
    "instrument.reading": "What it reads.",
    "instrument.serial": "As on the instrument.",
    "cleanerlot.place": "Where it is stored.",
    "treatments": "What was found or told. None ticked: nobody asked.",
    "product_strength": "Acid in the product, by mass.",
    "tag": "The code on the label that the crew reads off the unit or scans.",
    "place": "Where in the building: floor, room, ceiling void, roof.",
    "model": "As on the data plate.",
    "serial": "As on the data plate.",
    "refrigerant": "As on the data plate, such as R410A.",
    "stages": "Compressor stages; 1 where there is only one speed.",
    "expansion": "What meters the refrigerant.",
    "receiver": "A liquid receiver hides a wrong charge.",
    "head_pressure_valve": "A water-regulating valve that holds the head pressure hides fouling.",
    "vapour_injection": "Vapour led into the compressor midway: its power then tells no flow.",
    "fan_power": "Taken off where the power was read with the fan on the meter. Empty: 5 to 15 % of it.",
    "between_ports": "Hoses, strainer and valve take their part of the drop read, which is then taken off.",
    "port_rise": "Negative where it stands below. A gauge read at each port sees it (1 m is 9.8 kPa); a "
    "differential gauge with its hoses full of water does not.",
    "drop_read_by": "A differential gauge with its hoses full of water does not see the ports' levels.",
    "power_includes_fan": "Where the meter, or the clamp, had the fan on it as well as the compressor.",
    "hot_gas_reheat": "Takes heat past the water; the water side then tells less.",
    "desuperheater_coil": "Takes heat into hot water, past the exchanger.",
    "loop": "Units on the same loop are compared with each other.",
    "bore": "Inside diameter, from the maker's data.",
    "kind": "",
    "design_flow": "The flow at which the pressure drop holds.",
    "fouling_limit": "Left empty, the limit follows from what fouling costs on this unit.",
    "design_pressure_drop": "On water at 20 °C (68 °F).",
    "wetted_materials": "The material of each part that the bath touches.",
    "renew_below_share": "0.4 where it is spent at four tenths of what it was at the start.",
    "strength_per_drop": "Titration: acid in the bath, as a share by mass, that one drop stands for: 0.005 "
    "is half a per cent.",
    "isolation_valves": "Without them the loop cannot be kept out of the descaling circuit.",
    "hose_connections": "Size and place of the ports for the circulating hoses.",
    "metal": "An unknown metal rules out acid; it is worth a look.",
    "access_from": "By the clock on the site's wall.",
    "access_until": "By the clock on the site's wall.",
    "emergency_phone": "For the crew in the plant room. Left blank, the firm's general one serves.",
    "safety_notes": "Shown to the crew before they arrive: power, roof, confined spaces.",
    "elevation": "Metres or feet above the sea: the gauge reads less against thinner air.",
    "antifreeze_fraction": "By volume for glycols, by mass for alcohols.",
    "treatment": "Nitrite, sulphite, chlorine and bromine give off poisonous gas with acid: name them.",
    "repeating": "Limit of the error that stays from visit to visit.",
    "random": "Limit of the error that is new at every reading.",
    "role": "What the person may see and do.",
    "sites": "None ticked: all sites of the customer.",
}

UNITS_SHOWN = {"kg/m3": "kg/m³", "mg/L as CaCO3": "mg/L as CaCO₃"}
FOR_PROGRAMS = re.compile(r"(,? ?\b0 to 1)?( \[[^\]]*\])?$")


def label_of(name: str) -> str:
    if name in LABELS:
        return LABELS[name]
    plain = described(name).partition(" [")[0]
    return plain[:1].upper() + plain[1:]


def unit_of(name: str) -> str:
    unit = described(name).partition(" [")[2].rstrip("]")
    return UNITS_SHOWN.get(unit, unit)


def sentence(said: str) -> str:
    """A description as a sentence, without what only programs need: unit in brackets, range of a share."""
    plain = FOR_PROGRAMS.sub("", said.strip())
    first = plain.split(" ", 1)[0]
    plain = plain[:1].upper() + plain[1:] if first.islower() else plain
    return f"{plain}." if plain and plain[-1].isalnum() else plain


def help_of(name: str, said: str, record: str = "") -> str:
    """Ours, else what the record's description says, unless that only repeats the name."""
    for known in (f"{record}.{name}", name):
        if known in HELP:
            return HELP[known]
    plain = said.partition(" [")[0].strip()
    same = {described(name).partition(" [")[0], label_of(name).lower()}
    return "" if plain.replace("_", " ").lower() in same else sentence(said)

"""The usual cautions, once and short, where they apply."""

from __future__ import annotations

import re
from collections.abc import Iterable

CHEMICAL = re.compile(
    r"descal|\bacids?\b|chemical|\b(?:a|the|cleaning) (?:cleaner|solution)\b", re.IGNORECASE
)
FLAMMABLE = ("R290", "R600A", "R1270")
"""Class A3 of ISO 817: propane, isobutane, propene."""
MILDLY_FLAMMABLE = ("R32", "R454B", "R1234ZE(E)", "R1234YF", "R452B")
TOXIC_REFRIGERANTS = ("R123",)
WATER_SIDE = re.compile(r"back-?flush|strainer|brush|rinse|hose|cartridge|\bvent\b", re.IGNORECASE)

ANY_WORK = (
    "Lock out, tag out and prove dead before covers come off. Local codes and licensed practice govern.",
    "Compressor and discharge line burn, also for a while after the machine stops: let them cool or keep "
    "clear.",
    "Only certified people open refrigerant circuits or connect to them.",
)
CHEMICAL_WORK = (
    "The cleaner's label and safety data sheet come first; local codes and licensed practice govern. Wear "
    "the eye, face, hand and skin protection they ask for; have eyewash, spill neutraliser, first aid (15 "
    "minutes of water), the emergency number and a second person within call. Supply pumps from a "
    "ground-fault protected outlet.",
    "Every wetted metal and seal must be one that the cleaner's label allows; where one is unknown, do "
    "not start.",
    "Acid into water, never the reverse, and in portions. Never mix cleaners, and never with bleach. Ask "
    "how the water is treated: acid on nitrite, sulphite, chlorine or bromine gives off poisonous gas; "
    "flush with plain water until a test strip shows none.",
    "Ventilate: dissolving and neutralising release carbon dioxide, which gathers low; a pit or vault is "
    "a confined space. Acid on steel gives off hydrogen; acid on black slime gives off hydrogen sulphide.",
    "The machine stays off while the water side is valved off; nothing between two shut valves is heated, "
    "and the vent stays open. The label and the shut-in refrigerant's pressure cap the temperature of the "
    "solution.",
    "Test for leaks with water, never air, at loop working pressure and under the exchanger's rating, 15 "
    "minutes, before acid and again after.",
    "Stop means drain and rinse now: test strip for copper above the sheet's figure, blue deepening, "
    "level falling. Level rising: pump off, shut the hose valves, re-seat the leaking valve. Bubbles or "
    "oil while no acid is being used: refrigerant may be leaking; stop, ventilate, call a certified "
    "person.",
    "Every batch has a clock time by which it must be out; a bath never moves on to a unit of other metals.",
    "Discharge only as label, permit and local authority allow; metals and solids count, not only pH. "
    "Nothing below pH 5 goes to a sewer that was not designed for it, nothing at pH 2 or below or 12.5 or "
    "above to any, and nothing at all to storm drain, ground, well or septic tank.",
    "No connection to drinking water without backflow protection; a coil that heats drinking water is not "
    "cleaned.",
)

WATER_SIDE_WORK = (
    "Before the water side is opened, back-flushed too: stop the machine and lock it out, shut and tag both "
    "isolating valves, relieve the pressure into a container. The machine stays off while they are shut."
)
CHEMICAL_MAY_FOLLOW = (
    "Should chemical work follow: not on this report alone. The cleaner's label and safety data sheet come "
    "first, local codes and licensed practice govern, and the descale's job sheet carries its cautions in "
    "full: protection for eyes, face and hands, ventilation, a second person within call, where the waste "
    "may go."
)
CHEMICAL_WORK_IN_SHORT = (
    "Chemical work only by the cleaner's label and safety data sheet, within local codes and licensed "
    "practice; the job sheet of a descale carries its cautions in full."
)


def speaks_of_chemical_work(texts: Iterable[str]) -> bool:
    return any(CHEMICAL.search(text) for text in texts)


def opens_the_water_side(texts: Iterable[str]) -> bool:
    return any(WATER_SIDE.search(text) for text in texts)


def cautions(
    *, chemical: bool, refrigerant: str, antifreeze: str, water_source: str, emergency_phone: str = "",
    chemical_was: bool = False, chemical_may_follow: bool = False, water_side: bool = False,
) -> list[str]:  # fmt: skip
    """Sentences to print before any work.

    The chemical ones stand in full where chemical work is proposed, next or done now (`chemical`), and as one
    line where it may follow what comes first (`chemical_may_follow`) or stands in the history only
    (`chemical_was`). `water_side` where the work opens the water side.
    """
    told = list(CHEMICAL_WORK) if chemical else []
    if not chemical and (chemical_may_follow or chemical_was):
        told.append(CHEMICAL_MAY_FOLLOW if chemical_may_follow else CHEMICAL_WORK_IN_SHORT)
    told += [*([WATER_SIDE_WORK] if water_side else []), *ANY_WORK]
    told += of_the_refrigerant(refrigerant)
    told += _of_the_antifreeze(antifreeze, chemical)
    if water_source == "cooling_tower":
        told.append("Cooling tower water: keep aerosol away from people; the guidance on Legionella applies.")
    if emergency_phone:
        told.append(f"Emergency number of this site: {emergency_phone}.")
    return told


def of_the_refrigerant(refrigerant: str) -> list[str]:
    name = refrigerant.replace("-", "").replace(" ", "").upper()
    if name in FLAMMABLE:
        return [
            f"{refrigerant} is highly flammable and heavier than air: a gas detector low down and on, no "
            "source of ignition, ventilate; only people certified for flammable refrigerants."
        ]
    if name in MILDLY_FLAMMABLE:
        return [f"{refrigerant} is mildly flammable: a gas detector at hand, no source of ignition."]
    if name in TOXIC_REFRIGERANTS:
        return [f"{refrigerant} is toxic: ventilate, and leave if the alarm sounds."]
    return []


def _of_the_antifreeze(antifreeze: str, chemical: bool) -> list[str]:
    told = []
    if antifreeze in ("methanol", "ethanol"):
        told.append(f"The loop holds {antifreeze}, which burns: no ordinary pump, no source of ignition.")
    if antifreeze in ("methanol", "ethylene_glycol"):
        told.append(f"{antifreeze.replace('_', ' ').capitalize()} is poisonous.")
    if chemical and antifreeze not in ("none", ""):
        told.append(
            "Take the antifreeze out before acid, keep it, and put its concentration back after the rinse."
        )
    return told

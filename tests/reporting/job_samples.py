"""Papers of a descale made by hand, one for each thing they may have to say."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from diagnostics.engine.records import Interval
from reporting.documents.job_facts import (
    Certificate,
    Chemical,
    ClientNotice,
    Compared,
    Dose,
    JobSheet,
    Kept,
    LetOut,
    Limits,
    Mixed,
    Modelled,
    Place,
    Proof,
    Signature,
    Step,
)

START = datetime(2025, 3, 20, 8, 0, tzinfo=UTC)
PLACE = Place(
    contractor="Northmoor Mechanical",
    customer="Harbour Reach Offices",
    site="Quayside House",
    unit="HR-07",
    address="4 Tidewater Row, Harbour Reach",
    place="second floor, riser cupboard",
    exchanger="circuit 1",
    exchanger_kind="coaxial",
    metal="cupronickel",
    refrigerant="R410A",
    antifreeze="propylene_glycol",
    water_source="cooling_tower",
)
CHEMICAL = Chemical(
    name="sulfamic (generic)",
    acids=("sulfamic",),
    form="powder",
    protection=("goggles and face shield", "acid-proof gloves", "apron", "boots", "dust mask while weighing"),
    first_aid="Eyes: rinse under running water for 15 minutes, lids held open, then a doctor. Skin: clothing "
    "off, water for 15 minutes.",
    fresh_colour="clear",
    disposal="Never to storm drain, ground, well or septic tank. Neutralise in the tank first.",
    safety_sheet_on="3 January 2025",
    missing_papers=("label",),
    copper_limit_mg_per_l=300.0,
    iron_limit_mg_per_l=3000.0,
)
STEPS = (
    Step("before acid", "take the readings before, in the mode and with the instruments of afterwards", True),
    Step("before acid", "stop the machine, lock out and tag out", True),
    Step("before acid", "prove it dead at the terminals", True),
    Step("before acid", "shut and tag both water valves", True),
    Step("before acid", "note the balancing valve's position; it is not moved", True),
    Step("before acid", "relieve the pressure between the valves into a container", True),
    Step("before acid", "prove that both valves hold", True),
    Step("before acid", "drain the antifreeze from between the valves only, and keep it", True),
    Step("before acid", "hoses to the labelled ports: feed at the bottom, filter on the return", True),
    Step("before acid", "hold with water at loop pressure for 15 minutes; never air", True),
    Step("before acid", "run plain water and look for leaks and flow", True),
    Step("before acid", "flush until the test strip of the water's treatment shows none", True),
    Step("before acid", "eye, face, hand and skin protection on, as the sheet says", True),
    Step("acid", "product into the running water, never the reverse, in portions", True),
    Step("end", "drain to the parked tank"),
    Step("end", "rinse at once"),
    Step("end", "final rinse: five minutes at least, and until pH and conductivity are the supply's", True),
    Step("end", "open both water valves", True),
    Step("end", "hold again at loop pressure for 15 minutes", True),
    Step("end", "antifreeze back: its strength and the freeze setting agree", True),
    Step("end", "prove the flow", True),
    Step("end", "locks and tags off", True),
    Step("end", "run the machine"),
    Step("end", "look at the strainer after a day"),
)  # fmt: skip


def planned() -> JobSheet:
    return JobSheet(
        place=PLACE,
        chemical=CHEMICAL,
        dose=Dose(0.10, 0.0382, 0.0359, 4.21, None, (1.0525,) * 4, (1, 2, 3), "one_or_more"),
        limits=Limits(
            321.2,
            "label",
            timedelta(hours=6),
            "sewer",
            "letter of the works, 4 May 2024",
            (("pH", "6 to 9.5"), ("copper", "at most 4.6 mg/L")),
        ),
        plan="7f3a9c51e0b84d2f",
        address_of_job="https://waterside.northmoor.example/descales/6c1f0f6e-8f1c-4a0e-9a51-0f7a4d4f2f10/",
        starts_at=START,
        crew=("Wilf Arkady", "Ines Corvale"),
        looks_min=(0, 3, 6, 10, 20),
        kit=(
            *CHEMICAL.protection,
            "sulfamic: 12.6 kg for 3 of the baths",
            "sodium bicarbonate: 10.9 kg for the baths",
            "tank, pump, hoses, return filter, and a spare container of the bath's size",
            "second, clean tank for neutraliser and rinse",
            "pH and conductivity meter, thermometer, titration kit, copper strips",
            "locks and tags, ground-fault protected outlet",
            "carbon dioxide meter and a fan",
        ),
        steps=STEPS,
        deposit_kg=Interval(1.9, 0.8, 4.1),
        neutraliser="sodium_bicarbonate",
        neutralise_bath_kg=Interval(1.2, 1.2, 3.64),
        neutralise_surface_kg=0.38,
        rinses=4,
        rinse_m3=0.0071,
        waste_m3=0.105,
        gas_m3=0.47,
        gas_share=0.0093,
        room="fan_and_meter",
        pump="small_transfer_pump",
        flow_wanted_m3_per_s=5.1e-4,
        flow_reached_m3_per_s=5.6e-4,
        sound_level_db=68.0,
        quiet_hours="quiet hours 20:00 to 07:00 are kept",
        treatments=("nitrite",),
        emergency_phone="112, plant desk 0555 0142",
        eyewash="riser cupboard door, second floor",
        safety_notes="roof hatch is alarmed, call the desk first",
        balancing_valve="2.5 turns open",
    )


def under_way() -> JobSheet:
    mixed = ((START + timedelta(hours=1, minutes=12), START + timedelta(hours=7, minutes=12)),)
    return replace(planned(), mixed=mixed)


def bare() -> JobSheet:
    """As little as a plan may know."""
    return JobSheet(
        place=Place("Northmoor Mechanical", "Harbour Reach Offices", "Quayside House", "HR-07"),
        chemical=Chemical("citric (generic)", ("citric",), "powder"),
        dose=Dose(0.04, 0.03, 0.0288, 1.24, None, (0.31,) * 4),
        limits=Limits(313.15, "relief_setting", timedelta(hours=12)),
        plan="00",
        address_of_job="https://example.org/descales/1/",
    )


def drawn(turns: float = 2.5) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Something like a name in one go, and its underline."""
    loop = tuple(
        (0.05 + 0.85 * t / 80, 0.45 + 0.28 * math.sin(t / 80 * turns * 6.283) * (1 - t / 120))
        for t in range(81)
    )
    return (loop, ((0.1, 0.88), (0.8, 0.82)))


PROOF = Proof(
    before_at=START - timedelta(days=6),
    after_at=START + timedelta(hours=9),
    improved="improved",
    unit="m2K/W",
    before=Interval(2.61e-4, 1.93e-4, 3.36e-4),
    after=Interval(0.21e-4, -0.22e-4, 0.66e-4),
    removed=Interval(2.40e-4, 1.89e-4, 2.94e-4),
    limit=1.761e-4,
    area_m2=1.2,
    probability_improved=0.999,
    probability_below_limit=0.998,
    lockout_cleared=True,
    reference="clean_reference",
    compared=(
        Compared("Head pressure, absolute", 2783.0, 2390.0, "kPa"),
        Compared("Compressor power", 3.9, 3.31, "kW"),
        Compared("Heat to the water", 11.84, 12.9, "kW"),
    ),
    modelled=(
        Modelled("Capacity", 9.71, 10.32, Interval(0.61, 0.42, 0.83), "kW"),
        Modelled("Compressor power", 2.94, 2.58, Interval(-0.36, -0.49, -0.25), "kW"),
    ),
    modelled_at_k=303.15,
)


def certificate() -> Certificate:
    mixed = START + timedelta(hours=1, minutes=12)
    return Certificate(
        place=PLACE,
        number="6c1f0f6e-8f1c",
        started_at=START,
        ended_at=START + timedelta(hours=9, minutes=20),
        called="finished",
        crew=("Wilf Arkady", "Ines Corvale"),
        batches=(
            Mixed("sulfamic (generic)", "SA-2291", "31 Dec 2026", 0.1, mixed,
                  mixed + timedelta(hours=2), 4.21, 0.0359),
            Mixed("sulfamic (generic)", "SA-2291", "31 Dec 2026", 0.1, mixed + timedelta(hours=2, minutes=20),
                  mixed + timedelta(hours=4), 4.21, 0.0359),
        ),
        seen=("bubbles and pale solids for two hours, then none", "copper at most 40 mg/L, iron 310 mg/L"),
        dissolved_kg=Interval(2.1, 1.7, 2.6),
        rinsed="four rinses, the last until pH 7.6 and 62 mS/m, the supply's being pH 7.5 and 60 mS/m",
        let_out=(
            LetOut(START + timedelta(hours=6), "bath", "sewer", 0.0382, 7.2, 3.9, 210.0,
                   "letter of the works, 4 May 2024"),
            LetOut(START + timedelta(hours=7), "first_rinse", "sewer", 0.007, 6.8, 6.1, 12.0,
                   "letter of the works, 4 May 2024", ("copper 6.1 mg/L is above 4.6 mg/L",)),
        ),
        kept=(Kept(START + timedelta(hours=6), "bath", "yard, bay 3", "Northmoor Mechanical", 0.038),),
        proof=PROOF,
        left_open=("Look at the strainer after a day: Wilf Arkady, on 21 March",),
        signatures=(
            Signature("customer", "Maren Oske", START + timedelta(hours=9, minutes=25), drawn()),
            Signature("technician", "Wilf Arkady", START + timedelta(hours=9, minutes=26), drawn(4.0)),
        ),
    )  # fmt: skip


def no_better() -> Certificate:
    proof = replace(
        PROOF,
        improved="no_improvement_shown",
        after=Interval(2.5e-4, 1.8e-4, 3.2e-4),
        removed=Interval(0.1e-4, -0.5e-4, 0.7e-4),
        modelled=(
            Modelled("Capacity", 9.71, 9.74, Interval(0.03, -0.14, 0.19), "kW"),
            Modelled("Compressor power", 2.94, 2.92, Interval(-0.02, -0.11, 0.08), "kW"),
        ),
        probability_below_limit=0.02,
        lockout_cleared=False,
        reference="best_since",
        cautions=("Not read with the same gauge set: their errors do not cancel",),
    )
    return replace(certificate(), proof=proof, called="not_called")


def unproved() -> Certificate:
    return Certificate(PLACE, "1", START, None, "not_called")


def notice() -> ClientNotice:
    return ClientNotice(
        place=PLACE,
        chemical="sulfamic acid, about 10 % in water, with an inhibitor",
        starts_at=START,
        hours_without_cooling=9.0,
        noise="a pump in the riser cupboard, 68 dB(A) beside it, about as loud as a busy office",
        others_affected="HR-08 on the same branch, for about an hour in the morning",
        sent_to="building manager, by e-mail on 13 March 2025",
        safety_sheet_on="3 January 2025",
        protection=CHEMICAL.protection,
        first_aid=CHEMICAL.first_aid,
        contact="Northmoor Mechanical, office, 0555 0100",
        disposal="the spent solution is neutralised; to the sewer by letter of the works, or taken along",
        emergency_phone="112, plant desk 0555 0142",
        number="6c1f0f6e-8f1c",
    )

"""Visit reports made by hand, one for each thing a report may have to say."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from diagnostics.engine.records import Assessment, Interval, Limit, ReferenceUsed, Warning
from reporting.documents.facts import Done, EarlierResult, ReadingLine, VisitReport

TAKEN = datetime(2025, 3, 14, 10, 42, tzinfo=UTC)
LIMIT = Limit(1.761e-4, "m2K/W", "TEMA Standards, RGP-T-2.4 (from memory), treated cooling tower water")

FOULED_ANSWER = Assessment(
    unit="HR-07",
    taken_at="2025-03-14T10:42:00+00:00",
    mode="cooling",
    line=None,
    water_flow_kg_per_s=Interval(0.512, 0.496, 0.528),
    heat_w=Interval(11_840.0, 11_350.0, 12_330.0),
    ua_w_per_k=Interval(1_512.0, 1_330.0, 1_741.0),
    excess_approach_k=Interval(3.14, 2.41, 3.92),
    cleanliness=Interval(0.683, 0.612, 0.751),
    fouling_resistance_m2k_per_w=Interval(2.61e-4, 1.93e-4, 3.36e-4),
    fouling_resistance_k_per_w=Interval(2.1e-4, 1.5e-4, 2.7e-4),
    probability_over_limit=0.978,
    limit=LIMIT,
    verdict="fouled",
    reference=(
        ReferenceUsed("clean_reference", "2023-04-02T09:10:00+00:00"),
        ReferenceUsed("operating_table"),
    ),
    decides_next=None,
    do_next="Back-flush the exchanger and read again; if the approach stays up, plan a descale.",
    warnings=(Warning("air_possible", "Air in the refrigerant has not been ruled out by a static test"),),
    more={"draws": 20_000},
    engine_version="0.1.0",
    inputs_digest="7f3a9c51e0b84d2f6a1be07c95d3f482117c0a64e9d85b3321fa6e0c4d9b7a58",
)

READINGS = (
    ReadingLine("entering_water", "85.1", "degF", "29.5\u00a0°C"),
    ReadingLine("leaving_water", "95.0", "degF", "35.0\u00a0°C"),
    ReadingLine("water_flow", "8.1", "gpm", "0.511\u00a0L/s"),
    ReadingLine("water_pressure_drop", "3.9", "psi", "26.9\u00a0kPa"),
    ReadingLine("head_pressure", "389", "psig", "2\u202f783\u00a0kPa absolute"),
    ReadingLine("suction_pressure", "131", "psig", "1\u202f005\u00a0kPa absolute"),
    ReadingLine("liquid_line", "103.5", "degF", "39.7\u00a0°C"),
    ReadingLine("discharge_line", "171", "degF", "77.2\u00a0°C"),
)


def fouled() -> VisitReport:
    return VisitReport(
        contractor="Northmoor Mechanical",
        customer="Harbour Reach Offices",
        site="Quayside House",
        unit="HR-07",
        exchanger="circuit 1",
        refrigerant="R410A",
        taken_at=TAKEN,
        taken_by="Wilf Arkady",
        mode="cooling",
        purpose="routine",
        answer=FOULED_ANSWER,
        address="4 Tidewater Row, Harbour Reach",
        place="second floor, riser cupboard east",
        unit_kind="water_to_air_heat_pump",
        model="12 kW vertical",
        serial="20-118",
        exchanger_kind="coaxial",
        metal="cupronickel",
        water="no antifreeze",
        water_source="cooling_tower",
        visit_day=TAKEN,
        visit_reason="routine",
        crew=("Wilf Arkady", "Ines Corvale"),
        gauge_set="Gauge set 2",
        readings=READINGS,
        not_read=("suction_line", "compressor_power", "amps"),
        looked_at=(("Strainer", "clean"), ("Lockout shown", "high head")),
        earlier=earlier_results(),
        done=(Done(TAKEN - timedelta(days=420), "descaled"),),
        emergency_phone="555 0100",
    )


def earlier_results() -> tuple[EarlierResult, ...]:
    results = []
    for i, (rf, verdict, over) in enumerate(
        [
            (0.1, "clean", 0.004),
            (0.9, "clean", 0.06),
            (2.2, "fouled", 0.91),
            (0.2, "clean", 0.01),
            (1.6, "undecided", 0.38),
        ]
    ):
        results.append(
            EarlierResult(
                taken_at=TAKEN - timedelta(days=710 - 140 * i),
                mode="heating" if i == 1 else "cooling",
                purpose="clean_reference" if i == 0 else "routine",
                verdict=verdict,
                probability_over_limit=over,
                excess_approach_k=Interval(1.2 * rf, 1.2 * rf - 0.7, 1.2 * rf + 0.8),
                fouling_resistance_m2k_per_w=Interval(rf * 1e-4, (rf - 0.5) * 1e-4, (rf + 0.6) * 1e-4),
                fouling_resistance_k_per_w=None,
            )
        )
    return tuple(results)


def clean() -> VisitReport:
    answer = replace(
        FOULED_ANSWER,
        excess_approach_k=Interval(0.21, -0.35, 0.78),
        cleanliness=Interval(0.974, 0.905, 1.046),
        fouling_resistance_m2k_per_w=Interval(0.18e-4, -0.3e-4, 0.71e-4),
        probability_over_limit=0.0004,
        verdict="clean",
        do_next="Nothing to do on the water side; read again at the next routine visit.",
        warnings=(),
    )
    return replace(fouled(), answer=answer)


def undecided() -> VisitReport:
    answer = replace(
        FOULED_ANSWER,
        excess_approach_k=Interval(1.9, 0.3, 3.6),
        cleanliness=Interval(0.81, 0.62, 0.97),
        fouling_resistance_m2k_per_w=Interval(1.5e-4, 0.1e-4, 3.1e-4),
        probability_over_limit=0.41,
        verdict="undecided",
        decides_next="discharge_line",
        do_next="Clean the strainer, then read again with the discharge line temperature.",
        reference=(ReferenceUsed("geometry"),),
        more={
            "variance_shares": {"entering_water": 0.04, "reference": 0.62, "discharge_line": 0.21},
            "interval_left_with_one_more": {"operating_table": 0.55, "clean_reference": 0.7},
            "detectability": "With these instruments fouling from 0.00045 m2K/W on would be called with 90 % "
            "confidence; the operating table from the manual would help most.",
        },
    )
    return replace(fouled(), answer=answer, readings=READINGS[:6], earlier=(), done=())


def without_area() -> VisitReport:
    answer = replace(
        FOULED_ANSWER,
        fouling_resistance_m2k_per_w=None,
        fouling_resistance_k_per_w=Interval(2.1e-4, 1.5e-4, 2.7e-4),
        limit=Limit(1.4e-4, "K/W", "5 % of capacity"),
    )
    return replace(fouled(), answer=answer)


def withheld() -> VisitReport:
    answer = Assessment(
        unit="HR-07",
        taken_at="2025-03-14T10:42:00+00:00",
        mode="cooling",
        line=None,
        water_flow_kg_per_s=None,
        heat_w=None,
        ua_w_per_k=None,
        excess_approach_k=None,
        cleanliness=None,
        fouling_resistance_m2k_per_w=None,
        fouling_resistance_k_per_w=None,
        probability_over_limit=None,
        limit=LIMIT,
        verdict="undecided",
        reference=(),
        decides_next="leaving_water",
        do_next="Read the leaving water again: it cannot stand at 28.1 °C in cooling.",
        warnings=(
            Warning(
                "water_change_sign",
                "Leaving water 28.1 °C is colder than entering water 29.5 °C, but cooling warms the "
                "water; expected between 29.5 and 42 °C",
            ),
        ),
        engine_version="0.1.0",
        inputs_digest="00aa9c51e0b84d2f6a1be07c95d3f482117c0a64e9d85b3321fa6e0c4d9b7a58",
    )
    return replace(fouled(), answer=answer)


def without_reference() -> VisitReport:
    """Flow and heat are known; nothing is known of the clean surface."""
    answer = replace(
        FOULED_ANSWER,
        excess_approach_k=None,
        cleanliness=None,
        fouling_resistance_m2k_per_w=None,
        fouling_resistance_k_per_w=None,
        probability_over_limit=None,
        verdict="undecided",
        reference=(),
        do_next="Enter the operating table from the unit's manual: without it fouling can't be told.",
    )
    return replace(fouled(), answer=answer)


def bare() -> VisitReport:
    """Only what is compulsory."""
    return VisitReport(
        contractor="Northmoor Mechanical",
        customer="Larkfield Homes",
        site="Block A",
        unit="LF-1",
        exchanger="1",
        refrigerant="R22",
        taken_at=TAKEN,
        taken_by="Wilf Arkady",
        mode="heating",
        purpose="routine",
        answer=replace(
            withheld().answer, warnings=(), limit=None, decides_next=None, inputs_digest="", engine_version=""
        ),
    )


def crowded() -> VisitReport:
    """Long names, letters the typeface lacks, forty warnings, a long instruction."""
    long_word = "Unterwasserwärmetauscheranschlussüberprüfungsstelle" * 2
    answer = replace(
        FOULED_ANSWER,
        do_next="Shut down the second stage, clean the strainer on the inlet and check the flow against the "
        "balancing "
        "report before anything else, because the flow that the pressure drop tells stands 40 % above "
        "what the heat "
        "tells; " * 3 + "then read again.",
        warnings=tuple(
            Warning(
                f"w{i}",
                f"Reading {i} of this set stands at {i}.{i} °C, "
                f"{'which is far from what its ' * (1 + i % 3)}neighbours say; expected between {i} and "
                f"{i + 3} °C",
            )
            for i in range(40)
        ),
    )
    return replace(
        fouled(),
        answer=answer,
        customer="The Most Worshipful Harbour Reach Offices and Wharfage Holdings " * 2,
        site="株式会社水側 Ωmega Łódź Жуково Tower",
        address=long_word,
        unit="HR-07-" + "X" * 34,
        place="مبنى seven",
        taken_by="Włodzimierz Ngũgĩ-Þórðarson",
        earlier=earlier_results() * 9,
        note="Noisy pump\x07 \u202e, see photo 🚰",
    )


ALL = {
    "fouled": fouled,
    "clean": clean,
    "undecided": undecided,
    "withheld": withheld,
    "without_area": without_area,
    "without_reference": without_reference,
    "bare": bare,
    "crowded": crowded,
}

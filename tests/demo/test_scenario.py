"""The invented world, before any database sees it."""

from __future__ import annotations

from datetime import date

import pytest

from contractor.demo.as_typed import SHOWN, as_typed
from contractor.demo.history import ROUNDS, TECHNICIANS, History, VisitStory
from contractor.demo.machines import HANDOVER
from contractor.demo.scenario import Scenario
from diagnostics.engine.quantities import standard_atmosphere_pa, to_si
from diagnostics.engine.records import EXCHANGER_KINDS
from diagnostics.engine.waters import water
from tests.demo.small import FULL

WORLD = Scenario(FULL)
LAST_DAY = date(2026, 7, 31)


@pytest.fixture(scope="module")
def history() -> History:
    return History(WORLD)


@pytest.fixture(scope="module")
def visits(history: History) -> list[VisitStory]:
    return history.visits()


def test_it_has_three_customers_six_sites_and_about_sixty_exchangers_of_all_kinds() -> None:
    assert len(WORLD.rows("customers")) == 3 and len(WORLD.sites) == 6
    assert 55 <= len(WORLD.exchangers) <= 65
    assert {one.model["kind"] for one in WORLD.exchangers} == set(EXCHANGER_KINDS)
    assert len({one.model["refrigerant"] for one in WORLD.exchangers}) >= 8
    assert {row["role"] for row in WORLD.rows("people")} == {"owner", "office", "technician", "client"}


def test_every_story_and_descale_is_about_an_exchanger_that_exists() -> None:
    known = {one.key for one in WORLD.exchangers}
    assert WORLD.stories.keys() <= known and WORLD.descales.keys() <= known


def test_it_holds_one_misdiagnosis_one_blocked_strainer_and_one_unit_low_on_charge() -> None:
    kinds = [story.kind for story in WORLD.stories.values()]
    assert all(kinds.count(kind) == 1 for kind in ("half_shut_valve", "blocked_strainer", "low_charge"))
    [misdiagnosed] = [key for key, story in WORLD.stories.items() if story.kind == "half_shut_valve"]
    assert WORLD.descales[misdiagnosed], "descaled, although it was low flow"


def test_visits_span_three_years_and_all_seasons(visits: list[VisitStory]) -> None:
    assert (visits[-1].day - visits[0].day).days > 2.7 * 365
    assert visits[0].day == HANDOVER and {season for _, season in ROUNDS} == {"summer", "winter"}


def test_nobody_is_in_two_places_on_one_day(visits: list[VisitStory]) -> None:
    places = [(visit.day, visit.technician) for visit in visits]
    assert len(set(places)) == len(places)
    assert {visit.technician for visit in visits} == set(TECHNICIANS)


def test_the_same_is_read_every_time(visits: list[VisitStory]) -> None:
    again = History(WORLD).visits()
    assert [[one.reading for one in visit.readings] for visit in again] == [
        [one.reading for one in visit.readings] for visit in visits
    ]


def test_the_technicians_read_a_full_set(visits: list[VisitStory]) -> None:
    """What a verdict hangs on is not left out, so that the demo shows verdicts more than wants."""
    wanted = ("entering_water_k", "leaving_water_k", "head_pressure_pa", "suction_pressure_pa",
              "liquid_line_k", "suction_line_k", "discharge_line_k", "water_pressure_drop_pa",
              "water_flow_kg_per_s", "compressor_power_w")  # fmt: skip
    sets = [one.reading for visit in visits for one in visit.readings]
    full = [each for each in sets if all(getattr(each, name) is not None for name in wanted)]
    assert len(full) > 0.5 * len(sets)


def test_clean_references_were_taken_on_clean_surfaces(visits: list[VisitStory]) -> None:
    clean = [
        (one, visit) for visit in visits for one in visit.readings if one.reading.purpose == "clean_reference"
    ]
    assert len(clean) > 50
    assert all(one.machine.fouling_m2k_per_w(visit.day) == 0.0 for one, visit in clean)


def test_some_are_fouled_some_are_clean_and_cleaning_helps(history: History) -> None:
    limit = 1.76e-4  # 0.001 h ft2 degF/Btu, TEMA RGP-T-2.4 (from memory)
    over = [machine.fouling_m2k_per_w(LAST_DAY) > limit for machine in history.machines]
    assert 8 <= sum(over) <= len(over) - 20
    for machine in history.machines:
        for descale in WORLD.descales.get(machine.story.key, []):
            before = machine.fouling_m2k_per_w(date.fromordinal(descale.on.toordinal() - 1))
            assert machine.fouling_m2k_per_w(descale.on) <= before * 1.01


def test_what_is_typed_converts_back_to_what_was_read(visits: list[VisitStory]) -> None:
    """Within half of the gauge's last digit."""
    steps = {"degF": 0.05 / 1.8, "degC": 0.05, "psig": 0.05 * 6894.757, "bar_gauge": 500.0}
    for visit in visits[:6]:
        site = visit.site
        barometric = float(standard_atmosphere_pa(float(site.row["elevation_m"])))
        for one in visit.readings:
            typed = as_typed(one.reading, site, barometric)
            density = water(site.antifreeze, site.antifreeze_fraction).density_kg_per_m3(
                one.reading.entering_water_k
            )
            for shown in SHOWN:
                true = getattr(one.reading, shown.column)
                if true is None:
                    assert shown.name not in typed
                    continue
                entry = typed[shown.name]
                back = to_si(
                    float(entry["value"]), entry["unit"], shown.kind,
                    barometric_pa=barometric, density=density,
                )  # fmt: skip
                if shown.kind == "pressure_difference":
                    back = to_si(float(entry["value"]), entry["unit"], shown.kind)
                assert back == pytest.approx(true, rel=0.01, abs=steps.get(entry["unit"], 0.0))
                if entry["unit"] in steps:
                    assert abs(back - true) <= steps[entry["unit"]] * 1.001


def test_the_strainer_story_shows_in_the_flow_and_the_charge_story_in_the_subcooling(
    visits: list[VisitStory],
) -> None:
    def read(tag: str, day_after: date, mode: str) -> list[float]:
        return [
            getattr(one.reading, "water_flow_kg_per_s" if tag == "HRQ-11" else "liquid_line_k")
            for visit in visits
            for one in visit.readings
            if one.machine.story.tag == tag and one.reading.mode == mode and visit.day >= day_after
        ]

    flows = read("HRQ-11", HANDOVER, "cooling")
    assert flows[-1] < 0.5 * flows[0]
    liquid = read("LFC-05", HANDOVER, "cooling")
    assert liquid[-1] > liquid[-2] + 2.0, "hardly any subcooling is left, so the liquid line is warmer"

"""What a row may know of its unit: earlier or equal times only, whatever the file's order."""

from __future__ import annotations

import random
import time
from datetime import UTC, datetime, timedelta

import pytest

from diagnostics.batch.history import Histories
from diagnostics.engine.records import ReadingSet
from tests.batch.desk import HEADER, UNITS, Desk, Outcome

TWO_UNITS = UNITS + "HP-2,R22,brazed_plate\n"


def known_to(outcome: Outcome) -> dict[int, list[str]]:
    """Times of the history that each row was given, by the row's line."""
    lines = [result["line"] for result in outcome.results]
    return {
        line: [str(one.taken_at_as_typed) for one in history.readings]
        for line, (_, _, history, _) in zip(lines, outcome.seen.calls, strict=True)
    }


def test_a_row_knows_earlier_rows_of_its_unit_whatever_the_files_order(desk: Desk) -> None:
    outcome = desk.run(
        f"{HEADER}\nHP-1,2025-03-01,cooling\nHP-2,2025-01-15,cooling\nHP-1,2025-01-01,cooling\n"
        "HP-1,2025-02-01,heating\n",
        TWO_UNITS,
    )
    assert known_to(outcome) == {2: ["2025-01-01", "2025-02-01"], 3: [], 4: [], 5: ["2025-01-01"]}


def test_rows_of_an_equal_time_know_each_other_but_none_itself(desk: Desk) -> None:
    outcome = desk.run(f"{HEADER}\nHP-1,2025-03-01T10:00,cooling\nHP-1,2025-03-01T10:00Z,heating\n")
    assert known_to(outcome) == {2: ["2025-03-01T10:00Z"], 3: ["2025-03-01T10:00"]}


def test_a_clean_reference_is_not_in_its_own_history(desk: Desk) -> None:
    outcome = desk.run(
        f"{HEADER},purpose\nHP-1,2025-01-01,cooling,clean_reference\nHP-1,2025-02-01,cooling,clean_reference\n"
    )
    assert known_to(outcome) == {2: [], 3: ["2025-01-01"]}


def test_times_are_compared_across_offsets(desk: Desk) -> None:
    # 09:30 at +02:00 is 07:30 UTC, before 08:00 UTC.
    outcome = desk.run(f"{HEADER}\nHP-1,2025-03-01T08:00,cooling\nHP-1,2025-03-01T09:30+02:00,cooling\n")
    assert known_to(outcome) == {2: ["2025-03-01T09:30+02:00"], 3: []}


@pytest.mark.parametrize(
    ("typed", "utc"),
    [
        ("2025-06-30T14:05", datetime(2025, 6, 30, 14, 5, tzinfo=UTC)),
        ("2025-06-30 14:05:30", datetime(2025, 6, 30, 14, 5, 30, tzinfo=UTC)),
        ("2025-06-30T14:05Z", datetime(2025, 6, 30, 14, 5, tzinfo=UTC)),
        ("2025-06-30T14:05+01:00", datetime(2025, 6, 30, 13, 5, tzinfo=UTC)),
        ("2025-06-30T14:05-0530", datetime(2025, 6, 30, 19, 35, tzinfo=UTC)),
        ("20250630T1405", datetime(2025, 6, 30, 14, 5, tzinfo=UTC)),
        ("2025-06-30", datetime(2025, 6, 30, tzinfo=UTC)),
    ],
)
def test_a_time_without_an_offset_is_utc_and_is_echoed_as_typed(
    desk: Desk, typed: str, utc: datetime
) -> None:
    outcome = desk.run(f"{HEADER}\nHP-1,{typed},cooling\n")
    assert outcome.seen.reading.taken_at == utc
    assert outcome.results[0]["taken_at"] == typed


def test_the_clock_of_the_computer_does_not_matter(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:
        patch.setenv("TZ", "XYZ+7")
        time.tzset()
        reading = desk.run(f"{HEADER}\nHP-1,2025-06-30T14:05,cooling\n").seen.reading
    time.tzset()
    assert reading.taken_at == datetime(2025, 6, 30, 14, 5, tzinfo=UTC)


def test_events_up_to_the_rows_time_are_known_and_no_later_ones(desk: Desk) -> None:
    events = (
        "unit,at,what\nHP-1,2025-03-01,descaled\nHP-1,2025-01-01,charge_changed\nHP-1,2025-02-01,descaled\n"
    )
    outcome = desk.run(f"{HEADER}\nHP-1,2025-02-01,cooling\n", events=events)
    assert [event.what for event in outcome.seen.history.events] == ["charge_changed", "descaled"]


def test_tables_and_events_go_to_their_own_unit(desk: Desk) -> None:
    tables = "unit,mode,stage,superheat_low [K]\nHP-1,cooling,,4\nHP-2,heating,first,5\n"
    events = "unit,at,what\nHP-2,2025-01-01,descaled\n"
    readings = f"{HEADER}\nHP-1,2025-02-01,cooling\nHP-2,2025-02-01,cooling\n"
    outcome = desk.run(readings, TWO_UNITS, tables=tables, events=events)
    first, second = (history for _, _, history, _ in outcome.seen.calls)
    assert [(row.stage, row.superheat_low_k) for row in first.tables] == [("full", 4.0)]
    assert [(row.stage, row.superheat_low_k) for row in second.tables] == [("first", 5.0)]
    assert (len(first.events), len(second.events)) == (0, 1)


def test_blank_purpose_stage_and_gauge_set_mean_routine_full_and_the_units_own(desk: Desk) -> None:
    outcome = desk.run(f"{HEADER},purpose,stage,gauge_set\nHP-1,2025-02-01,cooling,,,\n")
    reading = outcome.seen.reading
    assert (reading.purpose, reading.stage, reading.gauge_set) == ("routine", "full", None)


def test_a_gauge_set_and_a_stage_are_kept_as_written(desk: Desk) -> None:
    outcome = desk.run(f"{HEADER},stage,gauge_set\nHP-1,2025-02-01,cooling,first,Blue case\n")
    assert (outcome.seen.reading.stage, outcome.seen.reading.gauge_set) == ("first", "Blue case")


def test_what_a_row_is_given_does_not_depend_on_the_files_order(desk: Desk) -> None:
    rows = [
        f"HP-1,2025-0{month}-01T10:00,{mode},{85 + month}"
        for month in (1, 2, 2, 3)
        for mode in ("cooling", "heating")
    ]
    header = f"{HEADER},entering_water [degF]"
    given = []
    for seed in range(3):
        random.Random(seed).shuffle(rows)
        outcome = desk.run("\n".join([header, *rows]) + "\n")
        given.append(sorted(repr(call) for call in outcome.seen.calls))
    assert given[0] == given[1] == given[2]


def test_histories_of_ten_thousand_rows_take_a_moment() -> None:
    start = datetime(2020, 1, 1, tzinfo=UTC)
    readings = [
        ReadingSet(unit=f"HP-{number % 50}", taken_at=start + timedelta(hours=number), mode="cooling")
        for number in range(10_000)
    ]
    began = time.perf_counter()
    histories = Histories(readings, {}, {})
    assert sum(len(histories.before(index).readings) for index in range(10_000)) == 50 * 200 * 199 // 2
    # Ten thousand times a scan of ten thousand rows would take minutes.
    assert time.perf_counter() - began < 5


def test_blank_gauge_sets_are_the_one_that_a_unit_names(desk: Desk) -> None:
    rows = "HP-1,2025-02-01,cooling,\nHP-1,2025-02-02,cooling,Blue case\nHP-1,2025-02-03,cooling,\n"
    outcome = desk.run(f"{HEADER},gauge_set\n{rows}")
    seen = [
        (row.gauge_set, [one.gauge_set for one in past.readings]) for _, row, past, _ in outcome.seen.calls
    ]
    assert seen == [
        (None, []),
        ("Blue case", ["Blue case"]),
        ("Blue case", ["Blue case", "Blue case"]),
    ]


def test_where_a_unit_names_two_gauge_sets_a_blank_one_stays_its_own(desk: Desk) -> None:
    rows = "HP-1,2025-02-01,cooling,A\nHP-1,2025-02-02,cooling,B\nHP-1,2025-02-03,cooling,\n"
    outcome = desk.run(f"{HEADER},gauge_set\n{rows}")
    assert [row.gauge_set for _, row, _, _ in outcome.seen.calls] == ["A", "B", None]

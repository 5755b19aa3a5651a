"""The grid's lines and who is there on them, at the grid's first and last days too, where mistakes of one day hide."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from planned import crew, head, task

from sequencer.grid import Grid, hours_to_slots
from sequencer.job import Crew, Hours, parse_job
from sequencer.shifts import allowed_starts, on_shift

UTC = ZoneInfo("UTC")
MONDAY = dt.date(2027, 4, 12)
GRID = Grid(UTC, MONDAY, 7)


def person(*lines: str, away: tuple[str, ...] = ()) -> Crew:
    """Somebody with these lines of hours, as the job file has them."""
    return parse_job(head() + crew(*lines, away=away) + task("launch")).crew[0]


def lift(*lines: str) -> tuple[Hours, ...]:
    return parse_job(head() + crew() + task("launch", slots=f"[ {', '.join(lines)} ]")).tasks["launch"].slots


def hours_there(one: Crew, grid: Grid = GRID) -> list[tuple[int, float, float]]:
    """Spans at work as (day, from hour, to hour)."""
    there = on_shift(one, grid)
    assert len(there) == grid.length
    found: list[tuple[int, float, float]] = []
    for day in range(grid.days):
        at = [slot for slot in range(96) if there[96 * day + slot]]
        begins = [slot for slot in at if slot - 1 not in at]
        ends = [slot + 1 for slot in at if slot + 1 not in at]
        found += [(day, b / 4, e / 4) for b, e in zip(begins, ends, strict=True)]
    return found


# -- the grid


def test_hours_are_rounded_up_to_quarter_hours_at_least_one() -> None:
    hours = (0.01, 0.25, 0.26, 1, 1.5, 0.1 + 0.2 + 0.7)
    assert [hours_to_slots(h) for h in hours] == [1, 1, 2, 4, 6, 4]


def test_days_and_slots_before_and_past_the_grid() -> None:
    assert [GRID.day_start(day) for day in (-1, 0, 6, 7, 8)] == [-96, 0, 576, 672, 768]
    assert [GRID.day_of(slot) for slot in (-97, -96, -1, 0, 95, 96, 671, 672, 767, 768)] == [
        -2,
        -1,
        -1,
        0,
        0,
        1,
        6,
        7,
        7,
        8,
    ]
    assert GRID.date(-1) == dt.date(2027, 4, 11)
    assert [GRID.at(0, minutes) for minutes in (0, 61, 1439, 1440, 1441, 2880)] == [0, 5, 96, 96, 97, 192]


def test_a_moment_between_two_lines_counts_from_the_next() -> None:
    at = dt.datetime(2027, 4, 12, 8)
    moments = [at, at + dt.timedelta(seconds=1), at + dt.timedelta(minutes=15), at - dt.timedelta(seconds=1)]
    assert [GRID.slot(moment) for moment in moments] == [32, 33, 33, 32]
    assert GRID.slot(dt.datetime(2027, 4, 12, 8, tzinfo=dt.timezone(dt.timedelta(hours=2)))) == 24
    assert GRID.slot(MONDAY) == 0
    assert GRID.moment(33) == dt.datetime(2027, 4, 12, 8, 15, tzinfo=dt.UTC)


def test_the_haul_out_may_be_told_by_another_clock() -> None:
    # Ten past midnight in the yard is still Sunday evening in New York.
    late = dt.datetime(2027, 4, 11, 19, 10, tzinfo=ZoneInfo("America/New_York"))
    grid = Grid(ZoneInfo("Europe/London"), late, 1)
    assert grid.day0 == MONDAY
    assert grid.slot(late) == 1
    other = Grid(ZoneInfo("Europe/London"), MONDAY, 1)
    assert grid.same(other)
    assert not grid.same(Grid(ZoneInfo("Europe/London"), MONDAY, 2))
    assert not grid.same(Grid(UTC, MONDAY, 1))
    assert not grid.same(Grid(ZoneInfo("Europe/London"), MONDAY + dt.timedelta(days=1), 1))


def test_a_day_of_the_clocks_change_shows_its_own_hours() -> None:
    grid = Grid(ZoneInfo("Europe/London"), dt.date(2027, 3, 27), 3)
    assert grid.length == 96 + 92 + 96
    assert grid.day_index.tolist() == [0] * 96 + [1] * 92 + [2] * 96
    shown = grid.clock_minutes[96 : 96 + 92].tolist()
    assert shown == [*range(0, 60, 15), *range(120, 1440, 15)]
    assert [grid.day_of(slot) for slot in (95, 96, 187, 188)] == [0, 1, 1, 2]


# -- people


def test_days_of_the_week_and_hours_of_the_day() -> None:
    one = person('{ days = "Mon Wed", from = "08:05", to = "12:00" }', '{ days = "Sun", from = "13:00", to = "24:00" }')
    assert hours_there(one) == [(0, 8.25, 12), (2, 8.25, 12), (6, 13, 24)]


def test_a_night_shift_begun_the_day_before_the_grid_runs_into_it() -> None:
    nights = person('{ days = "Sun Sat", from = "22:00", to = "02:00" }')
    assert hours_there(nights) == [(0, 0, 2), (5, 22, 24), (6, 0, 2), (6, 22, 24)]
    by_rule = person('{ rule = "FREQ=WEEKLY;BYDAY=SU,SA", since = "2027-01-02", from = "22:00", to = "02:00" }')
    assert hours_there(by_rule) == hours_there(nights)


def test_a_rule_holds_from_its_since_to_its_until() -> None:
    line = '{{ rule = "FREQ=DAILY{}", since = "{}", from = "09:00", to = "10:00" }}'
    assert [d for d, _, _ in hours_there(person(line.format("", "2027-04-15")))] == [3, 4, 5, 6]
    assert [d for d, _, _ in hours_there(person(line.format(";UNTIL=20270414", "2027-01-01")))] == [0, 1, 2]
    assert [d for d, _, _ in hours_there(person(line.format(";UNTIL=20270414T090000Z", "2027-01-01")))] == [0, 1, 2]
    assert [d for d, _, _ in hours_there(person(line.format(";UNTIL=20270414T085959Z", "2027-01-01")))] == [0, 1]
    assert [d for d, _, _ in hours_there(person(line.format(";COUNT=2", "2027-04-11")))] == [0]


@pytest.mark.parametrize(
    ("away", "left"),
    [
        ("2027-04-12", [1, 2, 3, 4, 5, 6]),
        ("2027-04-10/2027-04-13", [2, 3, 4, 5, 6]),
        ("2027-04-14", [0, 1, 3, 4, 5, 6]),
        ("2027-04-18", [0, 1, 2, 3, 4, 5]),
        ("2027-04-17/2027-05-01", [0, 1, 2, 3, 4]),
        ("2027-04-11", [0, 1, 2, 3, 4, 5, 6]),
        ("2027-04-19/2027-04-20", [0, 1, 2, 3, 4, 5, 6]),
        ("2027-01-01/2027-12-31", []),
    ],
)
def test_away_takes_whole_days_both_ends_included(away: str, left: list[int]) -> None:
    one = person('{ days = "Mon-Sun", from = "08:00", to = "12:00" }', away=(away,))
    assert [day for day, _, _ in hours_there(one)] == left


# -- lifts


def test_a_lift_may_start_at_both_ends_of_its_slot() -> None:
    allowed = allowed_starts(lift('{ days = "Mon", from = "09:00", to = "10:00" }'), GRID)
    assert [slot for slot in range(GRID.length) if allowed[slot]] == [36, 37, 38, 39, 40]
    late = allowed_starts(lift('{ days = "Sun", from = "23:30", to = "00:30" }'), GRID)
    assert [slot for slot in range(GRID.length) if late[slot]] == [0, 1, 2, 670, 671]

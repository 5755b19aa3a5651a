"""Day: the air, the lanes with their windows, the sheet, and turning days."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from tui_support import (
    COATS,
    HEAD,
    NARROW,
    NORMALS,
    RELAUNCH,
    SMALL,
    WIDE,
    app_on,
    job_file,
    line_with,
    lines_of,
    running,
    task,
    text_of,
    zone,
)

from sequencer.tui.app import SequencerApp
from sequencer.tui.day import DayPage
from sequencer.tui.day_view import DayView


def view_of(app: SequencerApp) -> DayView:
    """The view the page draws."""
    page = app.pages["Day"]
    assert isinstance(page, DayPage)
    assert page.view is not None
    return page.view


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_air_hands_lane_and_sheet(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, size) as pilot:
        await pilot.press("d")
        await pilot.pause()
        assert lines_of(app)[3].startswith("Mon 7     0   2   4")
        assert line_with(app, "air °C")[10:].split()[:3] == ["11", "10", "9"]
        assert line_with(app, "hands")[10 + 16 : 10 + 24] == "1" * 8
        assert "3 is enough" in line_with(app, "over dew")
        assert "▲ now 07:40" in text_of(app)
        assert line_with(app, "08:00  scrape")
        await pilot.press("right_square_bracket")
        await pilot.pause()
        assert "wants 5" in line_with(app, "check")


async def test_the_bracket_runs_from_opening_to_last_start(tmp_path: Path) -> None:
    text = SMALL.replace(
        'id = "scrape"\n', 'id = "scrape"\nstarted = 2027-06-06T10:00:00\nfinished = 2027-06-06T12:00:00\n'
    )
    app = app_on(job_file(tmp_path, text))
    async with running(app) as pilot:
        await pilot.press("d")
        await pilot.pause()
        plan = app.model.plan
        assert plan is not None
        bracket = line_with(app, "takes coat-2")
        coat = plan.rows["coat-1"]
        begin = plan.grid.day_start(plan.grid.day_of(coat.start))
        assert bracket.index("[") == 10 + (coat.stages["recoat"] - begin) // 2
        assert "!" in bracket
        assert bracket.index("!") > bracket.index("[")
        assert line_with(app, "on by")


async def test_what_stays_wet_tonight(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, SMALL.replace("set = [4, 2]", "set = [14, 12]")))
    async with running(app, WIDE) as pilot:
        await pilot.press("d", "right_square_bracket")
        await pilot.pause()
        assert "No rain seen" in line_with(app, "TONIGHT")


async def test_what_to_leave_and_why(tmp_path: Path) -> None:
    friend = '[[crew]]\nid = "wil"\ntitle = "Wil"\nhours = [ { days = "Thu", from = "09:00", to = "16:00" } ]\n\n'
    text = HEAD + friend + NORMALS + zone("bottom", "Bottom") + COATS + task("mast", more="hands = 2") + RELAUNCH
    app = app_on(job_file(tmp_path, text))
    async with running(app, WIDE) as pilot:
        await pilot.press("d")
        await pilot.pause()
        leave = line_with(app, "LEAVE")
        assert "mast" in leave
        assert "mast: hands short, Wil is next here Thu 10" in leave


async def test_past_midnight_the_day_turns(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("d")
        await pilot.pause()
        view = view_of(app)
        day = view.day
        view.go(view.one.end - 1)
        await pilot.press("right")
        assert view.day == day + 1
        await pilot.press("left", "left", "left")
        assert view.day == day
        await pilot.press("right_square_bracket")
        assert view.day == day + 1
        await pilot.press("pageup", "left_square_bracket", "left_square_bracket", "left_square_bracket")
        assert view.day == 0
        await pilot.press("full_stop")
        assert view.day == day


async def test_down_walks_the_lanes_then_the_sheet(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("d")
        await pilot.pause()
        view = view_of(app)
        await pilot.press("down")
        await pilot.pause()
        assert view.item == 0
        assert app.model.marked == "scrape"
        assert line_with(app, "08:00  scrape").startswith(">")
        await pilot.press(*["down"] * 4)
        assert view.spot == view.spots - 1
        await pilot.press(*["up"] * 4)
        assert view.spot == 0


async def test_enter_and_a_second_click_open_the_task(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("d", "down", "enter")
        await pilot.pause()
        if "Tasks" in app.pages:
            assert app.current == "Tasks"
        assert app.model.marked == "scrape"
        await pilot.press("d")
        await pilot.pause()
        y = next(n for n, line in enumerate(lines_of(app)) if "08:00  scrape" in line)
        await pilot.press("up")
        await pilot.click(offset=(20, y))
        await pilot.pause()
        assert view_of(app).item == 0


async def test_a_row_marked_elsewhere_does_not_turn_the_day(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("d")
        await pilot.pause()
        day = view_of(app).day
        await pilot.press("s", "end", "d")
        await pilot.pause()
        assert view_of(app).day == day


@pytest.mark.parametrize(("month", "day", "cells"), [(3, 28, 46), (10, 31, 50)])
async def test_days_of_23_and_25_hours(tmp_path: Path, month: int, day: int, cells: int) -> None:
    text = SMALL.replace('timezone = "UTC"', 'timezone = "Europe/London"').replace(
        "hauled = 2027-06-06T10:00:00", f"hauled = 2027-{month:02}-{day:02}T00:30:00"
    )
    frozen = dt.datetime(2027, month, day, 7, 40, tzinfo=dt.UTC)
    app = app_on(job_file(tmp_path, text), clock=lambda: frozen)
    async with running(app) as pilot:
        await pilot.press("d")
        await pilot.pause()
        view = view_of(app)
        assert view.one.count == cells
        hours = lines_of(app)[3][10 : 10 + cells].split()
        assert hours[:1] == ["0"]
        assert hours[-1] == "22"


async def test_quarter_hours_where_there_is_room(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, WIDE) as pilot:
        await pilot.press("d", "z")
        await pilot.pause()
        assert view_of(app).one.count == 96
        await pilot.press("x", "x")
        assert view_of(app).one.count == 24
        await pilot.press("z")
        await pilot.resize_terminal(60, 24)
        await pilot.pause()
        assert view_of(app).one.count == 48


async def test_rain_and_cold_are_marked(tmp_path: Path) -> None:
    wet = '[[weather.day]]\ndate = 2027-06-07\nlow = 2.0\nhigh = 8.0\ndew = 1.0\nrain = ["13:00/15:00"]\nwind = 12\n\n'
    app = app_on(job_file(tmp_path, HEAD + wet + NORMALS + zone("bottom", "Bottom") + COATS + RELAUNCH))
    async with running(app) as pilot:
        await pilot.press("d", "full_stop")
        await pilot.pause()
        assert "rain 2 h, wind 12 kn" in lines_of(app)[3]
        unfit = lines_of(app)[4]
        assert unfit[10 + 26 : 10 + 30] == "¦¦¦¦"
        assert "*" in unfit

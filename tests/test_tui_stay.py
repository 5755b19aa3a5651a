"""Stay: lanes, marks, the path, the cell one stands on, and names of every kind."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.cells import cell_len
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
from sequencer.tui.stay import StayPage
from sequencer.tui.stay_view import StayView

HOSTILE = [
    "[bold]x[/bold]",
    "[/red]",
    "@click=quit",
    "$ink {0} %s \\",
    "日本語の舵",
    "🛥️ boat 👨‍👩‍👧",
    "שלום עולם",
    "e\u0301a\u0300",
    "x" * 300,
    '"quoted" <b>',
    "tab\\there",
]


def view_of(app: SequencerApp) -> StayView:
    """The view the page draws."""
    page = app.pages["Stay"]
    assert isinstance(page, StayPage)
    assert page.view is not None
    return page.view


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_a_lane_shows_work_cure_and_water(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, size):
        lane = line_with(app, "Bottom")
        assert "▒" in lane
        assert "█" in lane
        assert "~" in lane
        assert lane.rstrip().endswith("≈≈")
        assert "▼" in lane
        assert "▲ now" in text_of(app)
        assert "▲ lift" in text_of(app)


async def test_the_whole_stay_and_two_days_of_water_are_in_view(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app):
        view = view_of(app)
        assert view.first_cell == 0
        assert view.columns.count <= view.room
        last = view.plan.grid.day_of(view.columns.span(view.columns.count - 1)[0])
        assert last == view.plan.grid.day_of(view.plan.launch) + 2


async def test_what_holds_her_is_a_double_line(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app):
        assert "═" in text_of(app)
        assert any("coat-1" in line and "═" in line for line in lines_of(app))


async def test_the_reading_says_who_what_when(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("full_stop")
        await pilot.pause()
        for _ in range(40):
            if "scrape 08:00-11:00" in text_of(app):
                break
            await pilot.press("right")
        assert "one pair of hands" in text_of(app)
        await pilot.press("end")
        await pilot.pause()
        assert "she launches Thu 10 08:00" in text_of(app)


async def test_arrows_walk_and_the_row_is_told_to_all(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        view = view_of(app)
        before = view.cell
        await pilot.press("right", "right", "left")
        assert view.cell == before + 1
        await pilot.press("home")
        await pilot.pause()
        assert app.model.marked == "scrape"
        await pilot.press(*["right"] * 16)
        await pilot.pause()
        assert view.row is not None
        assert app.model.marked == view.row.id != "scrape"


async def test_zoom_keeps_the_moment(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        view = view_of(app)
        slot = view.slot
        cells = view.columns.count
        await pilot.press("z")
        assert view.columns.count > cells
        begin, end = view.columns.span(view.cell)
        assert begin <= slot < end
        await pilot.press(*"xxxxxxxxxxxx")
        assert view.columns.count < cells
        await pilot.press(*"zzzzzzzzzzzzzzzz")
        await pilot.pause()
        assert view.cell - view.first_cell < view.room


async def test_enter_opens_the_day_one_stands_on(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("end", "enter")
        await pilot.pause()
        assert app.current == "Day"
        plan = app.model.plan
        assert plan is not None
        assert f"{plan.launched:%a} {plan.launched.day}" in lines_of(app)[3]


async def test_a_click_stands_and_a_second_opens(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        view = view_of(app)
        y = next(n for n, line in enumerate(lines_of(app)) if line.startswith("Bottom"))
        await pilot.click(offset=(30, y))
        await pilot.pause()
        assert view.cell == view.first_cell + 20
        assert app.current == "Stay"
        await pilot.click(offset=(30, y))
        await pilot.pause()
        assert app.current == "Day"


def hostile_job() -> str:
    """A job whose places and tasks are called all that."""
    text = HEAD + NORMALS + zone("bottom", "Bottom") + COATS + RELAUNCH
    for number, title in enumerate(HOSTILE):
        text += zone(f"place-{number}", title) + task(f"job-{number}", f"place-{number}", title=title, work=0.5)
    return text


async def test_names_are_shown_letter_for_letter_and_shift_nothing(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, hostile_job()))
    async with running(app, (120, 70)) as pilot:
        view = view_of(app)
        lanes = [line for line in lines_of(app) if "≈≈" in line and "afloat" not in line]
        assert len(lanes) == len(HOSTILE) + 1
        begins = {cell_len(line.split("≈")[0].rstrip("▼")) for line in lanes}
        assert max(begins) - min(begins) <= 1
        for number, title in enumerate(HOSTILE):
            view.lane = number + 1
            await pilot.press("home", "full_stop")
            view.lane, view.slot = number + 1, app.model.plan.rows[f"job-{number}"].start  # type: ignore[union-attr]
            app.pages["Stay"].redraw()  # type: ignore[attr-defined]
            await pilot.pause()
            shown = title.replace("\ufe0f", "").replace("\u200d", "")
            assert shown[:28] in text_of(app)
            assert all(cell_len(line) <= 120 for line in lines_of(app))


@pytest.mark.parametrize("key", ["d", "c", "h", "t", "space"])
async def test_such_names_break_no_page(tmp_path: Path, key: str) -> None:
    app = app_on(job_file(tmp_path, hostile_job()))
    async with running(app) as pilot:
        await pilot.press(key, *(["j", "o", "b"] if key == "space" else ["down", "down", "right"]))
        await pilot.pause(0.2)
        assert all(cell_len(line) <= NARROW[0] for line in lines_of(app))
        assert "[bold]x[/bold]" in text_of(app) or key != "space"


async def test_twelve_zones_at_24_lines(tmp_path: Path) -> None:
    zones = "".join(zone(f"place-{n}", f"Place {n}") for n in range(1, 12)) + zone("bottom", "Bottom")
    tasks = "".join(task(f"job-{n}", f"place-{n}") for n in range(1, 12))
    app = app_on(job_file(tmp_path, HEAD + NORMALS + zones + COATS + tasks + RELAUNCH))
    async with running(app) as pilot:
        view = view_of(app)
        assert lines_of(app)[0].startswith("▼")
        view.stand(0, 0)
        for _ in range(13):
            await pilot.press("down")
            await pilot.pause()
            assert any(line.startswith(view.here.name) and ">" in line for line in lines_of(app))
            assert "space ask" in lines_of(app)[-1]


async def test_one_zone_fills_up_with_the_day(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app):
        assert "TODAY Mon 7" in text_of(app)
        assert "08:00 scrape" in text_of(app)


async def test_the_box_of_the_day_on_a_wide_screen(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, WIDE):
        head = line_with(app, "TODAY")
        assert "WHAT HOLDS HER" in head
        assert "TUE 8" in text_of(app)


async def test_a_long_stay_takes_coarser_cells(tmp_path: Path) -> None:
    text = SMALL.replace('after = ["coat-1@recoat"]', 'after = ["coat-1@recoat"]\nnot_before = 2027-09-20')
    app = app_on(job_file(tmp_path, text))
    async with running(app) as pilot:
        view = view_of(app)
        assert view.columns.level.days == 2
        assert "≈" in line_with(app, "Bottom")
        await pilot.press("z", "z", "z", "end")
        await pilot.pause()
        assert "▼" in text_of(app)
        await pilot.press("home")
        await pilot.pause()
        assert "▼" not in "".join(lines_of(app)[3:])


async def test_a_task_without_a_place_stands_in_the_yard(tmp_path: Path) -> None:
    text = HEAD + NORMALS + zone("bottom", "Bottom") + COATS + task("papers", "") + RELAUNCH
    app = app_on(job_file(tmp_path, text))
    async with running(app):
        assert any(line.startswith("yard") for line in lines_of(app))
        assert "papers" in text_of(app)


async def test_a_missed_window_is_keyed_in_sight(tmp_path: Path) -> None:
    """A coat laid the evening before and left too long: x, then a keying, then the next coat."""
    text = SMALL.replace(
        'id = "coat-1"\n', 'id = "coat-1"\nstarted = 2027-06-06T11:00:00\nfinished = 2027-06-06T13:00:00\n'
    ).replace('id = "scrape"\n', 'id = "scrape"\nstarted = 2027-06-06T10:00:00\nfinished = 2027-06-06T11:00:00\n')
    app = app_on(job_file(tmp_path, text))
    async with running(app) as pilot:
        plan = app.model.plan
        assert plan is not None
        assert plan.missed
        await pilot.press("z", "z")
        await pilot.pause()
        lane = line_with(app, "Bottom")
        assert "x" in lane
        assert "/" in lane
        assert any("key" in line and "coat-2" in line for line in lines_of(app))
        assert "missed coat-1's window" in lines_of(app)[1]

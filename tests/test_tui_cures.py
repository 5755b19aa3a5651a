"""The Cures page: the tide table, the hours of the coat one stands on, what it asks; missed windows."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from rich.cells import cell_len
from telling_jobs import BAY, HEAD, MISSED, NORMALS, SOFT, launch, plan_of, task
from tui_support import NARROW, WIDE, app_on, job_file, line_with, lines_of, running, text_of

from sequencer.planning.plan import Plan
from sequencer.tui.coat_hours import CoatHours
from sequencer.tui.coat_table import CoatTable, coats_ahead
from sequencer.tui.cures_view import CuresView
from sequencer.tui.drawing import Line
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model

SIZES = [(80, 20), (120, 36), (60, 16)]
NOW = "2027-04-05T10:00:00"


def model_of(tasks: str = SOFT, now: str = NOW, **more: object) -> Model:
    plan = plan_of(tasks, now=now)
    return replace(Model(plan.job, plan, now=plan.moment(plan.now)), **more)  # type: ignore[arg-type]


def plain(lines: list[Line]) -> str:
    return "\n".join(made.plain.rstrip() for made in lines)


def table_of(plan: Plan, width: int = 80, here: str = "") -> dict[str, str]:
    """The table's lines by coat."""
    table = CoatTable(plan, plan.now, width, Signs())
    return {c.row.id: table.draw(c, c.row.id == here).plain for c in coats_ahead(plan, plan.now)}


# -- the table ------------------------------------------------------------------------------------------------


def test_the_tide_table_by_hand() -> None:
    line = table_of(plan_of(SOFT, now=NOW))["coat-1"]
    # laid, dry till (set), coat from (soft), last start (you leave at 17:30), sand from
    assert re.findall(r"Mon 5 (\S+)", line) == ["10:00", "15:00", "15:00", "16:45", "23:00"]


def test_the_last_coat_says_when_it_may_be_wetted() -> None:
    assert "last coat: may be wetted Tue 6 11:45" in table_of(plan_of(SOFT, now=NOW))["coat-2"]


def test_columns_do_not_shift() -> None:
    plan = plan_of(SOFT.replace("coat-1", "c" + "-very-long" * 9), now=NOW)
    head = CoatTable(plan, plan.now, 80, Signs()).head().plain
    line = next(text for name, text in table_of(plan).items() if name.startswith("c-very"))
    for word, moment in (("laid", "Mon 5 10:00"), ("last start", "Mon 5 16:45"), ("sand from", "Mon 5 23:00")):
        assert head.index(word) == line.index(moment)


@pytest.mark.parametrize(("width", "columns"), [(120, 6), (80, 5), (60, 3), (40, 2)])
def test_narrow_screens_keep_the_last_start(width: int, columns: int) -> None:
    plan = plan_of(SOFT, now=NOW)
    table = CoatTable(plan, plan.now, width, Signs())
    assert len(table.columns) == columns
    assert "last" in table.columns
    assert all(len(text) <= width for text in table_of(plan, width).values())


def test_a_last_start_within_two_hours_is_marked() -> None:
    logged = 'material = "coat"\nstarted = 2027-04-05T10:00:00\nfinished = 2027-04-05T11:00:00\n\n'
    plan = plan_of(SOFT.replace('material = "coat"\n\n', logged, 1), now="2027-04-05T14:45:00")
    coat = next(c for c in coats_ahead(plan, plan.now) if c.row.id == "coat-1")
    drawn = CoatTable(plan, plan.now, 80, Signs()).draw(coat, False)
    assert "Mon 5 16:45!" in drawn.plain
    assert "bell reverse bold" in {role for _, role in drawn.runs}
    before = CoatTable(plan, plan.now - 1, 80, Signs()).draw(coat, False)
    assert "!" not in before.plain


def test_a_missed_window_says_what_keying_takes() -> None:
    plan = plan_of(MISSED, now="2027-04-05T18:00:00")
    assert "x Mon 5 17:00: key 2 h Tue 6 08:00" in table_of(plan)["coat-1"]
    text = plain(CuresView(model_of(MISSED, "2027-04-05T18:00:00", marked="coat-1")).draw(80, 20))
    assert "coat-2 misses coat-1's window" in text
    assert "Keying coat-1 Tue 6 08:00: 2 h, one hand, dusty." in " ".join(text.split())


def test_a_coat_that_is_covered_is_left_out() -> None:
    tasks = MISSED.replace("not_before = 2027-04-06", "started = 2027-04-05T16:00:00\nfinished = 2027-04-05T16:30:00")
    plan = plan_of(tasks, now="2027-04-05T18:00:00")
    assert [c.row.id for c in coats_ahead(plan, plan.now)] == ["coat-2"]


def test_a_stage_of_the_owners_own_is_named() -> None:
    tasks = task("lay", 'material = "coat"') + task("pull", 'after = ["lay@hard"]') + launch('"pull"')
    plan = plan_of(tasks, now=NOW)
    text = table_of(plan)["lay"]
    assert "hard Mon 5 19:00, for pull" in text


# -- the hours ------------------------------------------------------------------------------------------------


def hours_of(model: Model, per: int = 4, name: str = "coat-1", here: bool = True, width: int = 80) -> str:
    plan = model.plan
    assert plan is not None
    coat = next(c for c in coats_ahead(plan, plan.now) if c.row.id == name)
    return CoatHours(plan, plan.grid.day_start(0), per, 8, width, Signs()).draw(coat, here).plain


def test_the_hours_by_hand() -> None:
    # By the hour from midnight: laid 10-11, wet till 15, open, last start 16:45, shut after 17:00, then missed.
    assert hours_of(model_of())[9 : 9 + 24] == " " * 10 + "█~~~~=!x" + "x" * 6


def test_the_last_start_shows_though_the_window_closes_within_its_hour() -> None:
    tasks = SOFT.replace("work = 0.75", "work = 0.25")
    assert "!x" in hours_of(model_of(tasks))


def test_what_is_covered_stops_where_the_next_coat_goes_on() -> None:
    said = hours_of(model_of(), here=False)
    assert said[9 : 9 + 16] == " " * 10 + "█~~~~" + " "
    assert "then covered" in said


def test_finer_hours_show_the_same_times() -> None:
    fine = hours_of(model_of(), per=2, width=120)
    assert fine[9 : 9 + 48] == " " * 20 + "██~~~~~~~~===!xxxxxxxxxxxxxx"


def test_the_keying_is_drawn() -> None:
    model = model_of(MISSED, "2027-04-05T18:00:00")
    said = hours_of(model)
    assert said[9 + 32 : 9 + 34] == "//"
    assert "x" in said[9 + 17 : 9 + 32]


def test_the_clock_names_days_and_now() -> None:
    model = model_of()
    plan = model.plan
    assert plan is not None
    said = CoatHours(plan, 0, 4, 8, 80, Signs()).clock(plan.now).plain
    assert said.index("Mon 5") == 9
    assert said.index("Tue 6") == 9 + 24
    assert said.index("▲") == 9 + 10


# -- the page -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("tasks", [BAY, SOFT, MISSED])
def test_a_page_fits_its_size(size: tuple[int, int], tasks: str) -> None:
    drawn = CuresView(model_of(tasks, "2027-04-05T18:00:00" if tasks is MISSED else NOW)).draw(*size)
    assert len(drawn) <= size[1]
    assert max(made.width for made in drawn) <= size[0]


def test_the_sentences_of_the_coat_one_stands_on() -> None:
    text = plain(CuresView(model_of()).draw(80, 20))
    assert "coat-1 takes coat-2 while still soft: Mon 5 15:00 to 17:00, 45 min of work." in text
    assert "You leave at 17:30, so start by 16:45." in text
    assert "Missed: key it from Tue 6 08:00, 2 h, one hand, dusty." in text


def test_it_opens_on_the_window_that_shuts_next_or_the_row_marked() -> None:
    assert CuresView(model_of()).row == "coat-1"
    assert CuresView(model_of(marked="coat-2")).row == "coat-2"


def test_the_mark_and_the_hours_move() -> None:
    view = CuresView(model_of())
    begin = view.begin()
    view.hours(6)
    assert view.begin() == begin + 24
    view.zoom(1)
    assert view.begin() == begin
    assert view.move(1)
    assert view.row == "coat-2"
    assert not view.move(1)


def test_a_new_model_keeps_one_where_one_stood() -> None:
    model = model_of()
    view = CuresView(model)
    view.move(1)
    later = CuresView(replace(model, looking=True))
    later.follow(view, answer=False)
    assert later.row == "coat-2"


def many(count: int) -> str:
    coats = "".join(task(f"coat-{n}", 'material = "coat"', work=0.25) for n in range(count))
    return coats + launch(", ".join(f'"coat-{n}@immerse"' for n in range(count)))


def test_many_coats_keep_the_mark_in_view() -> None:
    view = CuresView(model_of(many(30)))
    for _ in range(len(view.coats)):
        lines = view.draw(80, 20)
        assert any(made.plain.startswith(f">{view.row} ") for made in lines[:16])
        view.move(1)


def test_no_coats_and_no_plan() -> None:
    plan = plan_of(task("relaunch"))
    assert "Nothing cures" in plain(CuresView(Model(plan.job, plan)).draw(80, 20))
    assert plain(CuresView(Model()).draw(80, 20)) == "There is no plan yet."
    assert "Looking" in plain(CuresView(Model(looking=True)).draw(80, 20))


def test_plain_marks_are_ascii() -> None:
    assert plain(CuresView(model_of(ascii=True)).draw(80, 20)).isascii()


def test_sixty_tasks_fill_the_page_and_no_more() -> None:
    lines = CuresView(model_of(many(60))).draw(120, 36)
    assert len(lines) <= 36
    assert all(cell_len(made.plain) <= 120 for made in lines)
    assert any(made.plain.startswith(">") for made in lines)


# -- on the screen --------------------------------------------------------------------------------------------


def soft_file(folder: Path) -> Path:
    return job_file(folder, HEAD.replace("hauled", f"now = {NOW}\nhauled", 1) + NORMALS + SOFT)


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_the_page_on_a_screen(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(soft_file(tmp_path))
    async with running(app, size) as pilot:
        await pilot.press("c")
        await pilot.pause()
        assert "last start" in text_of(app)
        assert line_with(app, ">coat-1")
        assert len(lines_of(app)) == size[1]


async def test_keys_click_and_enter(tmp_path: Path) -> None:
    app = app_on(soft_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("c", "down")
        await pilot.pause()
        assert app.model.marked == "coat-2"
        await pilot.press("right", "z", "x", "full_stop", "left")
        y = next(i for i, text in enumerate(lines_of(app)) if text.startswith(" coat-1"))
        await pilot.click(offset=(5, y))
        await pilot.pause()
        assert app.model.marked == "coat-1"
        await pilot.click(offset=(5, y))
        await pilot.pause()
        assert (app.current, app.model.marked) == ("Tasks", "coat-1")

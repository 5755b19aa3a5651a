"""The Tasks page: the list, the walk along the links, the card; hostile names, many tasks, none."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from rich.cells import cell_len
from telling_jobs import BAY, HEAD, LIFT, MISSED, NORMALS, SOFT, plan_of, task
from tui_support import NARROW, WIDE, app_on, job_file, line_with, lines_of, running, text_of

from sequencer.errors import Fault, JobError
from sequencer.job import parse_job
from sequencer.tui.drawing import Line
from sequencer.tui.model import Model
from sequencer.tui.tasks_view import TasksView
from sequencer.tui.text import width_of

SIZES = [(80, 20), (120, 36), (60, 16)]
NOW = "2027-04-05T10:00:00"
HOSTILE = [
    "[/red]",
    "[bold]loud",
    "[@click=app.quit]x[/]",
    "$x {y} \\\\n",
    "paint 🎨 and 漆",
    "שלום עולם",
    "e\u0301tanche\u0301",
    "long " * 60,
]


def model_of(tasks: str = BAY, now: str = NOW, **more: object) -> Model:
    plan = plan_of(tasks, now=now)
    return replace(Model(plan.job, plan, now=plan.moment(plan.now)), **more)  # type: ignore[arg-type]


def plain(lines: list[Line]) -> str:
    return "\n".join(made.plain.rstrip() for made in lines)


def right(view: TasksView, width: int = 80, height: int = 20) -> str:
    """What stands right of the list."""
    return "\n".join(text.partition("│ ")[2] for text in plain(view.draw(width, height)).splitlines())


def words(text: str) -> str:
    return " ".join(text.split())


# -- the list -------------------------------------------------------------------------------------------------


def test_the_list_marks_done_here_and_the_path() -> None:
    model = model_of(MISSED, "2027-04-05T18:00:00", marked="coat-2")
    listed = {made.plain.split("│")[0][4:].strip(): made.plain[:2] for made in TasksView(model).draw(80, 20)[1:-1]}
    assert listed["coat-1"] == "═√"
    assert listed["coat-2"] == "═>"
    assert listed["keying coat-1"] == "═/"


def test_the_count_of_what_is_to_do() -> None:
    assert "3 tasks, 2 to do" in plain(TasksView(model_of(MISSED, "2027-04-05T18:00:00")).draw(120, 36))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("tasks", [BAY, SOFT, MISSED])
def test_a_page_fits_its_size(size: tuple[int, int], tasks: str) -> None:
    view = TasksView(model_of(tasks, "2027-04-05T18:00:00" if tasks is MISSED else NOW))
    view.lit = True
    for _ in view.names:
        drawn = view.draw(*size)
        assert len(drawn) <= size[1]
        assert max(made.width for made in drawn) <= size[0]
        view.move(1)


def many(count: int) -> str:
    text = task("task-000", work=0.25)
    for n in range(1, count):
        text += task(f"task-{n:03}", f'after = ["task-{n - 1:03}"]', work=0.25)
    return text + task("relaunch", f'after = ["task-{count - 1:03}"]\n' + LIFT)


def test_two_hundred_tasks_keep_the_mark_in_view() -> None:
    job = parse_job(HEAD + NORMALS + many(200))
    view = TasksView(Model(job))
    for _ in range(201):
        shown = [made.plain for made in view.draw(80, 20)]
        assert any(text.startswith(f" >  {view.name}") for text in shown)
        view.move(1)


def test_two_hundred_tasks_are_lit_all_the_way_and_fit_the_page() -> None:
    view = TasksView(Model(parse_job(HEAD + NORMALS + many(200))))
    view.lit = True
    for _ in range(10):
        view.move(1)
        lines = view.draw(120, 36)
        assert len(lines) <= 36
        assert all(cell_len(made.plain) <= 120 for made in lines)


def test_no_tasks_no_job_and_a_broken_file() -> None:
    assert "No tasks yet." in plain(TasksView(Model()).draw(80, 20))
    trouble = JobError([Fault("task fit, after", "names no task", "did you mean fit-pod?")])
    assert "task fit, after: names no task" in plain(TasksView(Model(trouble=trouble)).draw(80, 20))


@pytest.mark.parametrize("title", HOSTILE)
def test_titles_are_shown_letter_for_letter_and_columns_hold(title: str) -> None:
    tasks = BAY.replace('id = "fit"', f"id = \"fit\"\ntitle = '''{title}'''")
    view = TasksView(model_of(tasks, marked="fit"))
    drawn = view.draw(80, 20)
    assert {width_of(made.plain.split("│")[0]) for made in drawn} == {width_of(drawn[0].plain.split("│")[0])}
    assert max(made.width for made in drawn) <= 80
    # Broken over lines at most; never a letter less.
    assert "".join(title.split())[:120] in "".join(right(view).split())


def test_plain_marks_are_ascii() -> None:
    view = TasksView(model_of(MISSED, "2027-04-05T18:00:00", ascii=True))
    view.lit = True
    assert plain(view.draw(80, 20)).isascii()


def test_a_new_model_keeps_one_where_one_stood() -> None:
    model = model_of()
    view = TasksView(model)
    view.stand("fit")
    view.step(-1)
    view.lit = True
    later = TasksView(replace(model, looking=True))
    later.follow(view, answer=False)
    assert (later.name, later.walk.side, later.lit) == ("fit", -1, True)
    other = TasksView(replace(model, marked="coat-2"))
    other.follow(later, answer=False)
    assert (other.name, other.walk.side) == ("coat-2", 0)


# -- on the screen --------------------------------------------------------------------------------------------


def bay_file(folder: Path, tasks: str = BAY) -> Path:
    return job_file(folder, HEAD.replace("hauled", f"now = {NOW}\nhauled", 1) + NORMALS + tasks)


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_the_page_on_a_screen(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(bay_file(tmp_path))
    async with running(app, size) as pilot:
        await pilot.press("t")
        await pilot.pause()
        assert "[ coat-1 ]" in text_of(app)
        assert len(lines_of(app)) == size[1]


async def test_keys_walk_the_links(tmp_path: Path) -> None:
    app = app_on(bay_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("t", "home", "right", "enter")
        await pilot.pause()
        assert app.model.marked == "fit"
        assert "[ fit ]" in text_of(app)
        await pilot.press("right", "right", "right")
        await pilot.pause()
        assert app.model.marked == "relaunch"
        await pilot.press("w")
        await pilot.pause()
        assert "◄ 3" in text_of(app)
        await pilot.press("w", "pagedown", "pageup", "end", "up")
        await pilot.pause()
        assert app.model.marked == "coat-2"


async def test_clicks_mark_and_walk(tmp_path: Path) -> None:
    app = app_on(bay_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("t", "home")
        await pilot.pause()
        y = next(i for i, text in enumerate(lines_of(app)) if "coat-2" in text)
        await pilot.click(offset=(6, y))
        await pilot.pause()
        assert app.model.marked == "coat-2"
        y = next(i for i, text in enumerate(lines_of(app)) if "[ coat-2 ]" in text)
        x = lines_of(app)[y].index("relaunch")
        await pilot.click(offset=(x, y))
        await pilot.click(offset=(x, y))
        await pilot.pause()
        assert app.model.marked == "relaunch"


@pytest.mark.parametrize("title", HOSTILE[:4])
async def test_hostile_titles_on_a_screen(tmp_path: Path, title: str) -> None:
    app = app_on(bay_file(tmp_path, BAY.replace('id = "fit"', f"id = \"fit\"\ntitle = '''{title}'''")))
    async with running(app) as pilot:
        await pilot.press("t", "home", "right", "enter", "w", "c", "h", "s")
        await pilot.press("t")
        await pilot.pause()
        assert title.split()[0] in line_with(app, "│ fit  ")


async def test_a_job_that_cannot_be_planned_still_shows_its_tasks(tmp_path: Path) -> None:
    app = app_on(bay_file(tmp_path, BAY.replace("hands = 2", "hands = 3")))
    async with running(app) as pilot:
        await pilot.press("t")
        await pilot.pause()
        assert "coat-1" in text_of(app)

"""The Holds page: the sentences, where the mark stands, the ledger that adds up; on screens of several sizes."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from rich.cells import cell_len
from telling_jobs import BAY, HEAD, HELD, MISSED, NORMALS, plan_of
from tui_support import NARROW, WIDE, app_on, job_file, line_with, lines_of, running, text_of

from sequencer.errors import Fault, NoPlanError
from sequencer.telling import launch_sentences, ledger
from sequencer.tui.drawing import Line
from sequencer.tui.holds_view import HoldsView, fold
from sequencer.tui.model import Model
from sequencer.tui.page import Page
from sequencer.tui.text import width_of

HOURS = re.compile(r"([0-9.]+) h ")
NOW = "2027-04-05T10:00:00"
SIZES = [(80, 20), (120, 36), (60, 16)]


def model_of(tasks: str = BAY, **more: object) -> Model:
    plan = plan_of(tasks)
    return replace(Model(plan.job, plan, now=plan.moment(plan.now)), **more)  # type: ignore[arg-type]


def plain(lines: list[Line]) -> str:
    return "\n".join(made.plain.rstrip() for made in lines)


# -- thought out ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("tasks", [BAY, HELD, MISSED])
def test_a_page_fits_its_size(size: tuple[int, int], tasks: str) -> None:
    drawn = HoldsView(model_of(tasks)).draw(*size)
    assert len(drawn) <= size[1]
    assert max(made.width for made in drawn) <= size[0]


def test_it_opens_where_effort_pays() -> None:
    view = HoldsView(model_of())
    assert view.row == "fit"
    text = plain(view.draw(80, 20))
    assert "> 4 fit waits for two pairs of hands: Wil is next here Wed 7 09:00, 41 h in all" in text.replace(
        ">4", "> 4"
    )
    assert "Effort pays here" in text


def test_it_opens_on_the_row_marked_elsewhere_when_that_holds_her() -> None:
    assert HoldsView(model_of(marked="coat-2")).row == "coat-2"
    assert HoldsView(model_of(marked="no-such-row")).row == "fit"


def test_the_bars_and_hours_add_up() -> None:
    model = model_of()
    assert model.plan is not None
    lines = plain(HoldsView(model).draw(120, 36)).splitlines()
    at = next(i for i, text in enumerate(lines) if text.startswith("Hauled"))
    hours = [float(HOURS.findall(text)[0]) for text in lines[at + 1 : -1]]
    assert sum(hours) == 71
    assert lines[-1].split() == ["the", "stay", "71.00", "h", "3", "nights,", "£458"]
    longest = [text.count("█") for text in lines[at + 1 : -1]]
    assert longest == sorted(longest, reverse=True)
    assert longest[0] > 0


def test_a_folded_ledger_still_adds_up() -> None:
    plan = plan_of(BAY)
    books = ledger(plan)
    for room in range(1, len(books) + 1):
        folded = fold(books, room)
        assert len(folded) <= room
        assert sum(entry.slots for entry in folded) == plan.launch - plan.hauled


def test_where_the_play_begins_there_is_a_line() -> None:
    text = plain(HoldsView(model_of()).draw(80, 20))
    above, below = text.split("from here back, 30.5 h of play")
    assert "fit waits for" in above
    assert "coat-1 takes the next coat" in below


def test_the_mark_walks_and_stays_in_view() -> None:
    view = HoldsView(model_of())
    view.move(-99)
    seen = []
    for _ in view.sentences:
        lines = view.draw(60, 14)
        marked = [made.plain for made in lines if made.plain.startswith(">")]
        assert len(marked) == 1
        seen.append(view.at)
        view.move(1)
    assert seen == list(range(len(view.sentences)))
    assert not view.move(1)


def test_lines_tell_which_sentence_they_are_of() -> None:
    view = HoldsView(model_of())
    lines = view.draw(80, 20)
    for y, made in enumerate(lines):
        at = view.at_line(y)
        if at is not None and made.plain[1:3].strip().isdigit():
            assert int(made.plain[1:3]) == at + 1
    assert view.at_line(0) is None
    assert view.at_line(999) is None


def test_no_plan_shows_the_sentences_of_the_trouble() -> None:
    trouble = NoPlanError([Fault("task fit-pod", "it needs 3 hands, the crew is 2", "change hands or add crew")])
    text = plain(HoldsView(Model(trouble=trouble)).draw(80, 20))
    assert "No launch." in text
    assert "task fit-pod: it needs 3 hands, the crew is 2; change hands or add crew." in text


def test_trouble_beside_an_old_plan_is_told_above_it() -> None:
    trouble = NoPlanError([Fault("task fit-pod", "it needs 3 hands, the crew is 2", "")])
    text = plain(HoldsView(model_of(trouble=trouble)).draw(80, 20))
    assert text.startswith("The last change has no plan: task fit-pod")
    assert "She launches" in text


def test_nothing_at_all() -> None:
    assert "there is no plan" in plain(HoldsView(Model()).draw(80, 20))
    assert "Looking" in plain(HoldsView(Model(looking=True)).draw(80, 20))


def test_plain_marks_are_ascii() -> None:
    text = plain(HoldsView(model_of(ascii=True)).draw(80, 20))
    assert text.isascii()


def test_the_marked_sentence_is_told_apart_without_colour() -> None:
    view = HoldsView(model_of())
    roles = {role for made in view.draw(80, 20) for text, role in made.runs if text == ">"}
    assert roles == {"ink bold reverse"}


def test_long_names_are_cut_by_the_cell() -> None:
    name = "a" + "-long" * 30
    view = HoldsView(model_of(BAY.replace("coat-1", name)))
    assert max(width_of(made.plain) for made in view.draw(80, 20)) <= 80


# -- on the screen --------------------------------------------------------------------------------------------


def bay_file(folder: Path) -> Path:
    return job_file(folder, HEAD.replace("hauled", f"now = {NOW}\nhauled", 1) + NORMALS + BAY)


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_the_page_says_what_holds_her(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(bay_file(tmp_path))
    async with running(app, size) as pilot:
        await pilot.press("h")
        await pilot.pause()
        assert "fit waits for two pairs of hands" in text_of(app)
        assert "the stay" in text_of(app)
        assert len(lines_of(app)) == size[1]


async def test_keys_walk_and_enter_opens_the_task(tmp_path: Path) -> None:
    app = app_on(bay_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("h", "home")
        await pilot.pause()
        assert line_with(app, "the lift works").startswith(">")
        await pilot.press("down", "down", "down")
        await pilot.pause()
        assert line_with(app, "fit waits for").startswith(">")
        assert app.model.marked == "fit"
        await pilot.press("enter")
        await pilot.pause()
        assert (app.current, app.model.marked) == ("Tasks", "fit")


async def test_fast_keys_do_not_jump_back(tmp_path: Path) -> None:
    app = app_on(bay_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("h", "home", *["down"] * 5)
        await pilot.pause()
        assert line_with(app, "nothing comes before coat-1").startswith(">")


async def test_a_click_marks_and_a_second_click_opens(tmp_path: Path) -> None:
    app = app_on(bay_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("h")
        await pilot.pause()
        y = next(i for i, text in enumerate(lines_of(app)) if "coat-2 follows fit" in text)
        await pilot.click(offset=(10, y))
        await pilot.pause()
        assert lines_of(app)[y].startswith(">")
        await pilot.click(offset=(10, y))
        await pilot.pause()
        assert app.current == "Tasks"
        assert app.model.marked == "fit"


async def test_a_job_that_cannot_be_planned(tmp_path: Path) -> None:
    text = HEAD + NORMALS + BAY.replace("hands = 2", "hands = 3")
    app = app_on(job_file(tmp_path, text))
    async with running(app) as pilot:
        await pilot.press("h")
        await pilot.pause()
        assert "No launch" in text_of(app)
        assert "3 hands" in text_of(app)


def test_the_page_is_no_larger_than_the_screen() -> None:
    for width, height in ((80, 20), (120, 36)):
        lines = HoldsView(model_of()).draw(width, height)
        assert len(lines) <= height
        assert all(cell_len(made.plain) <= width for made in lines)


def test_page_says_what_it_takes() -> None:
    from sequencer.tui.holds import HoldsPage

    assert issubclass(HoldsPage, Page)
    assert HoldsPage.takes_trouble
    assert launch_sentences(plan_of(BAY))

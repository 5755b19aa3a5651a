"""The shell: strip, rail, foot, help, what space asks, keys, errors, and a search that never holds up a key."""

from __future__ import annotations

import asyncio
import dataclasses
import time
from pathlib import Path
from typing import Any

import pytest
from rich.cells import cell_len
from textual import events
from textual.binding import Binding
from tui_support import (
    FROZEN,
    HEAD,
    NARROW,
    NORMALS,
    SMALL,
    WIDE,
    app_on,
    job_file,
    line_with,
    lines_of,
    running,
    settled,
    task,
    text_of,
    until,
    zone,
)

from sequencer.odds import Launch, Odds
from sequencer.planning import planner
from sequencer.tui.app import SequencerApp
from sequencer.tui.ask import Ask, answers
from sequencer.tui.drawing import Line
from sequencer.tui.forms import Options
from sequencer.tui.headline import headline
from sequencer.tui.keys import EVERYWHERE, KEYS, keys_of
from sequencer.tui.marks import BY_NAME, TABLE
from sequencer.tui.theme import DARK, LIGHT


async def test_the_strip_says_launch_nights_cost_and_proof(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app):
        first, second = lines_of(app)[:2]
        plan = app.model.plan
        assert plan is not None
        assert f"{plan.launched:%H:%M}" in first
        assert f"{plan.nights} nights" in first
        assert "£" in first
        assert ("proved" in first) == plan.proved
        assert "now Mon 7 07:40" in second
        assert "Tern" not in first


async def test_at_120_columns_the_boat_is_named(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, WIDE):
        assert lines_of(app)[0].endswith("Tern, 7 m sloop")


async def test_the_next_last_start_counts_down(tmp_path: Path) -> None:
    laid = SMALL.replace(
        'id = "scrape"\n', 'id = "scrape"\nstarted = 2027-06-06T11:00:00\nfinished = 2027-06-06T14:00:00\n'
    )
    app = app_on(job_file(tmp_path, laid))
    async with running(app):
        second = lines_of(app)[1]
        assert second.startswith("! coat-1 by ")
        assert "coat-2 misses it" in second or "key coat-1" in second


async def test_pages_answer_their_letters_and_escape_goes_back(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        for title in app.pages:
            await pilot.press(title[0].lower())
            await pilot.pause()
            assert app.current == title
            assert f"[{title}]" in lines_of(app)[2]
        visited = list(app.pages)
        for title in reversed(visited[:-1]):
            await pilot.press("escape")
            assert app.current == title
        await pilot.press("escape", "escape")
        assert app.current == visited[0]
        assert app.is_running


@pytest.mark.parametrize("size", [NARROW, WIDE, (60, 20)])
async def test_no_line_is_wider_than_the_screen(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, size) as pilot:
        for title in app.pages:
            await pilot.press(title[0].lower())
            await pilot.pause()
            drawn = lines_of(app)
            assert len(drawn) == size[1]
            assert all(cell_len(line) <= size[0] for line in drawn)


async def test_the_foot_never_changes(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        foots = set()
        for title in app.pages:
            await pilot.press(title[0].lower())
            await pilot.pause()
            foots.add("\n".join(lines_of(app)[-2:]))
        assert len(foots) == 1
        assert "space ask" in foots.pop()


async def test_every_key_bound_is_in_the_registry_and_in_the_help(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    documented = {(key.where, k) for key in KEYS for k in key.keys.split(",")}
    async with running(app):
        for bound in SequencerApp.BINDINGS:
            assert isinstance(bound, Binding)
            assert (EVERYWHERE, bound.key.split(",")[0]) in documented
        for page in app.pages.values():
            assert keys_of(page.title), page.title
            for bound in page.BINDINGS:
                assert isinstance(bound, Binding)
                assert bound.description
                assert all((page.title, key) in documented for key in bound.key.split(","))
            for name in page.marks:
                assert name in BY_NAME
            assert page.help.strip()


@pytest.mark.parametrize("title", ["Stay", "Day"])
async def test_question_mark_explains_the_page(tmp_path: Path, title: str) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, (100, 100)) as pilot:
        await pilot.press(title[0].lower(), "question_mark")
        await pilot.pause()
        told = " ".join(text_of(app).replace("│", " ").split())
        for key in (*keys_of(title), *keys_of(EVERYWHERE)):
            assert key.words in told
            assert key.shown in told
        for name in app.pages[title].marks:
            assert BY_NAME[name].means in told
        await pilot.press("escape")
        await pilot.pause()
        assert app.current == title
        assert not app.screen.is_modal


async def test_space_asks_for_pages_tasks_and_verbs(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, WIDE) as pilot:
        await pilot.press("space")
        await until(pilot, lambda: "look further" in text_of(app))
        await pilot.press(*"one day by the hour")
        await until(pilot, lambda: "Day" in text_of(app) and "look further" not in text_of(app))
        await pilot.press("enter")
        await until(pilot, lambda: app.current == "Day")
        await pilot.press("space", *"coat-2")
        await until(pilot, lambda: "look further" not in text_of(app) and "coat-2" in text_of(app))
        await pilot.press("enter")
        await until(pilot, lambda: app.model.marked == "coat-2")


async def test_the_theme_turns_and_plain_marks_turn(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        assert app.theme == DARK
        app.action_turn_theme()
        await pilot.pause()
        assert app.theme == LIGHT
        assert "≈" in text_of(app)
        app.action_plain_marks()
        await pilot.pause()
        assert text_of(app).isascii()


async def test_plain_marks_by_the_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEQUENCER_ASCII", "1")
    app = app_on(job_file(tmp_path), ascii=None)
    async with running(app, WIDE) as pilot:
        for title in ("Stay", "Day"):
            await pilot.press(title[0].lower())
            await pilot.pause()
            assert text_of(app).isascii()


async def test_without_colour_every_state_has_its_own_sign(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = app_on(job_file(tmp_path))
    assert app.no_color
    async with running(app) as pilot:
        await pilot.press("d")
        await pilot.pause()
        told = text_of(app)
        assert all(sign in told for sign in "█▒~:=")


def test_marks_are_single_cells_and_differ() -> None:
    for mark in TABLE:
        assert cell_len(mark.sign) == cell_len(mark.plain) == 1
        assert mark.plain.isascii()
    assert len({mark.sign for mark in TABLE}) == len(TABLE)
    states = [mark for mark in TABLE if mark.name not in ("delivery", "here", "now", "launch")]
    assert len({mark.plain for mark in states}) == len(states)


async def test_rail_and_foot_are_buttons(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        at = lines_of(app)[2].index("Day")
        await pilot.click(offset=(at, 2))
        await pilot.pause()
        assert app.current == "Day"
        await pilot.click(offset=(lines_of(app)[23].index("this page"), 23))
        await pilot.pause()
        assert app.screen.is_modal


async def test_a_faulty_file_lists_its_faults(tmp_path: Path) -> None:
    text = SMALL.replace('finish = "relaunch"', 'finish = "[/red]"').replace("work = 3", "work = -1")
    app = app_on(job_file(tmp_path, text))
    async with running(app) as pilot:
        for title in app.pages:
            await pilot.press(title[0].lower())
            await pilot.pause()
            told = text_of(app)
            assert "[/red]" in told
            assert "scrape" in told
            assert "Traceback" not in told
        assert "job file has faults" in lines_of(app)[0]


async def test_a_missing_file_is_said_plainly(tmp_path: Path) -> None:
    app = app_on(tmp_path / "none.toml")
    async with running(app):
        assert "none.toml" in text_of(app)


async def test_no_file_at_all_says_what_to_type() -> None:
    app = app_on(None)
    async with running(app) as pilot:
        assert "sequencer MY-JOB.toml" in text_of(app)
        await pilot.press("d", "t", "space", "escape", "question_mark", "escape")
        assert app.is_running


async def test_a_job_that_cannot_be_planned(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, SMALL.replace('id = "coat-2"\n', 'id = "coat-2"\nhands = 3\n')))
    async with running(app) as pilot:
        assert "no launch: see Holds" in lines_of(app)[0]
        assert "coat-2" in text_of(app)
        await pilot.press("d")
        await pilot.pause()
        assert "coat-2" in text_of(app)


async def test_a_change_that_cannot_be_planned_keeps_the_old_plan(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        job_file(tmp_path, SMALL.replace('id = "coat-2"\n', 'id = "coat-2"\nhands = 3\n'))
        app.action_again()
        await settled(app, pilot)
        assert app.model.plan is not None
        assert "old plan; no launch" in lines_of(app)[0]
        job_file(tmp_path)
        app.action_again()
        await settled(app, pilot)
        assert app.model.trouble is None
        assert "old plan" not in lines_of(app)[0]


async def test_a_key_answers_while_the_search_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = planner.plan_job
    ended: list[str] = []

    def slow(job: Any, now: Any, seconds: float, stop: Any, progress: Any, clock: Any, like: Any = None) -> Any:
        plan = real(job, now, 0.2, clock=clock)
        progress(plan)
        begun = time.monotonic()
        while not stop() and time.monotonic() - begun < 20:
            sum(range(2000))
        ended.append("stopped" if stop() else "ran out")
        return plan

    monkeypatch.setattr(planner, "plan_job", slow)
    app = app_on(job_file(tmp_path))
    async with app.run_test(size=NARROW) as pilot:
        for _ in range(200):
            await pilot.pause(0.01)
            if app.model.plan is not None:
                break
        assert app.model.looking
        # Pilot waits for an idle processor, which there is none: the keys are sent as a terminal sends them.
        for key, title in (("d", "Day"), ("h", "Holds"), ("s", "Stay")):
            app.post_message(events.Key(key, key))
            for _ in range(1000):
                if app.current == title:
                    break
                await asyncio.sleep(0.005)
            assert app.current == title
            assert app.model.looking
        # A second search silences the first, whose plan no longer counts.
        app.action_again()
        await asyncio.sleep(0.1)
        app.action_leave()
    # Leaving waits for the search, which ends because it is told to, not because it is done.
    assert ended
    assert set(ended) == {"stopped"}


async def test_looking_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def slow(job: Any, now: Any, seconds: float, stop: Any, progress: Any, clock: Any, like: Any = None) -> Any:
        while not stop():
            time.sleep(0.01)

    monkeypatch.setattr(planner, "plan_job", slow)
    app = app_on(job_file(tmp_path))
    async with app.run_test(size=NARROW) as pilot:
        await pilot.pause(0.2)
        assert "looking…" in lines_of(app)[0]
        assert "Looking for a launch" in text_of(app)


async def test_a_fault_of_the_tool_is_a_dialog_and_no_traceback(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*args: Any, **more: Any) -> Any:
        raise ZeroDivisionError("[/red] @click")

    monkeypatch.setattr(planner, "plan_job", broken)
    app = app_on(job_file(tmp_path))
    async with app.run_test(size=NARROW) as pilot:
        await until(pilot, lambda: "[/red] @click" in text_of(app))
        told = text_of(app)
        assert "Traceback" not in told
        await pilot.press("escape")
        await until(pilot, lambda: not app.screen.is_modal)
        assert app.is_running


async def test_now_is_as_given_before_the_clock(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path), now=FROZEN.replace(hour=14, minute=0))
    async with running(app):
        assert "now Mon 7 14:00" in lines_of(app)[1]


async def test_the_clock_ticks(tmp_path: Path) -> None:
    times = [FROZEN]
    app = app_on(job_file(tmp_path), clock=lambda: times[-1])
    async with running(app) as pilot:
        times.append(FROZEN.replace(hour=9, minute=5))
        app._tick()
        await pilot.pause()
        assert "now Mon 7 09:05" in lines_of(app)[1]


async def test_a_very_small_screen_shows_the_strip_and_the_list(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, (40, 14)) as pilot:
        assert lines_of(app)[2].startswith("TO DO Mon 7")
        assert line_with(app, "scrape").startswith("08:00")
        await pilot.resize_terminal(*NARROW)
        await pilot.pause()
        assert "[Stay]" in lines_of(app)[2]


async def test_no_tasks_but_the_launch(tmp_path: Path) -> None:
    text = HEAD + NORMALS + zone("bottom") + task("relaunch", "bottom", work=1)
    app = app_on(job_file(tmp_path, text))
    async with running(app) as pilot:
        for title in app.pages:
            await pilot.press(title[0].lower(), "down", "right", "up", "enter", "escape")
            await pilot.pause()
        assert app.model.plan is not None


@pytest.mark.parametrize("plain", [False, True])
async def test_at_80_columns_launch_cost_and_chance_are_all_seen_however_long_they_are(
    tmp_path: Path, plain: bool
) -> None:
    """The longest of each: a date in two figures, a cost in five, a bound in another month, a chance of 100."""
    app = app_on(job_file(tmp_path, SMALL.replace("fixed = 300.0", "fixed = 98765.0")), ascii=plain)
    async with running(app):
        plan = app.model.plan
        assert plan is not None
        far = dataclasses.replace(plan, launch=plan.launch + 30 * 96, proved=False)
        sure = Odds(20, 20, 1, far.launched, (Launch(far.launched, 20, 1.0, far.nights, None),))
        answers = dataclasses.replace(app.model.answers, about=far, odds=sure, odds_over=True)
        first = text_of_line(headline(dataclasses.replace(app.model, plan=far, answers=answers), 80)[0])
        assert len(first) <= 80
        assert f"{far.launched:%H:%M}" in first
        assert "99,785" in first
        assert "not before" in first
        assert first.endswith("100 in 100")


def text_of_line(drawn: Line) -> str:
    """A line as text."""
    return "".join(text for text, _ in drawn.runs)


async def test_what_is_asked_for_by_name_stands_before_what_only_speaks_of_it(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, WIDE) as pilot:
        await pilot.press("space", "d", "a")
        options = app.screen.query_one(Options)
        names = [option.words for option in options.shown]
        assert names[0] == "Day"
        assert "now" not in names
        assert [name.lower().startswith("da") for name in names] == sorted(
            (name.lower().startswith("da") for name in names), reverse=True
        )
        assert any("da" not in name.lower() for name in names)
        await pilot.press("down")
        assert options.at == 1
        await pilot.press("y")
        assert options.chosen is not None
        assert options.chosen.words == "Day"
        await pilot.press("backspace", "backspace", "backspace")
        assert len(options.shown) == sum(answer.at_once for answer in answers(app)) < len(answers(app))


@pytest.mark.parametrize("size", [(20, 5), NARROW])
async def test_any_key_any_number_of_times_in_what_space_asks_leaves_the_app_up(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, size) as pilot:
        for keys in (
            ["pageup", "pagedown", "end", "home", "up"],
            ["x", "enter", "pageup"],
            ["enter"] * 3,
            ["escape"] * 3,
        ):
            await pilot.press("space", *keys)
            for _ in range(4):
                await pilot.press("escape")
            await until(pilot, lambda: not app.screen.is_modal)
            assert app.return_code is None
        await pilot.press("space", *"cures")
        asked = app.screen
        assert isinstance(asked, Ask)
        for _ in range(3):
            asked.action_take()  # Enter, pressed again while the first is under way.
        await until(pilot, lambda: app.current == "Cures")
        assert len(app.screen_stack) == 1
        assert app.return_code is None

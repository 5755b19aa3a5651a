"""Whole mornings in the yard, told by keys: rain at ten, a friend who cancels, a late pod, a coat missed."""

from __future__ import annotations

import datetime as dt
import tomllib
from pathlib import Path

import pytest
from planned import assert_kept
from textual.pilot import Pilot
from tui_support import (
    COATS,
    FROZEN,
    HEAD,
    NORMALS,
    RELAUNCH,
    SMALL,
    WIDE,
    app_on,
    job_file,
    line_with,
    running,
    settled,
    task,
    text_of,
    zone,
)

from sequencer.job.jobfile import JobFile
from sequencer.job.writing import SetField
from sequencer.planning.plan import Plan
from sequencer.tui.app import SequencerApp
from sequencer.tui.asking import Choose, Say
from sequencer.tui.jot import Jotting
from sequencer.tui.jots import Jots, read_typed
from sequencer.tui.keys import EVERYWHERE, KEYS
from sequencer.tui.stay_view import StayView
from sequencer.tui.warning import next_warning

FRIEND = """\
[[crew]]
id = "wil"
title = "Wil"
hours = [ { days = "Mon,Wed,Sat", from = "09:00", to = "16:00" } ]

"""
POD = '[[delivery]]\nid = "pod"\ndue = 2027-06-07\n\n'
TWO_HANDS = (
    HEAD
    + FRIEND
    + POD
    + NORMALS
    + zone("bottom", "Bottom")
    + COATS
    + task("fit-pod", more='hands = 2\nwho = ["wil"]\ndelivery = "pod"\nafter = ["scrape"]', work=3)
    + task("relaunch", "bottom", 'after = ["coat-2@immerse", "fit-pod"]', work=1)
)


QUICK = SMALL.replace("work = 3", "work = 1").replace("immerse = [40, 24]", "immerse = [10, 6]")
"""Both coats on the first day, where it stays dry."""


async def press(app: SequencerApp, pilot: Pilot[None], *keys: str) -> None:
    """Press keys, and wait until the plan that follows is found."""
    await pilot.press(*keys)
    await pilot.pause()
    await settled(app, pilot)


def sound(app: SequencerApp) -> None:
    """The plan on the screen is a plan of the file on the disk, and keeps every rule."""
    plan = app.model.plan
    assert plan is not None
    assert app.file is not None
    assert app.file.path.read_text("utf-8") == app.job_text
    assert plan.job == app.file.job
    assert_kept(plan.job, plan, plan.moment(plan.now))


def data(path: Path) -> dict[str, object]:
    """What the file holds, read by another reader."""
    return tomllib.loads(path.read_text("utf-8"))


async def test_rain_at_ten(tmp_path: Path) -> None:
    path = job_file(tmp_path, QUICK)
    first = path.read_bytes()
    app = app_on(path)
    async with running(app) as pilot:
        before = app.model.plan
        assert before is not None
        await press(app, pilot, "d", "j", "1", "0", "0", "0", "r")
        after = app.model.plan
        assert after is not None
        assert after.launch > before.launch
        assert app.current == "Moved"
        told = text_of(app)
        assert "Mon 7 Jun rained off from 10:00" in told
        assert "1 night" in line_with(app, " launch ")
        assert "slid" in told
        sound(app)
        day = data(path)["weather"]["day"][0]  # type: ignore[index]
        assert day["rain"] == ["10:00/24:00"]
        await press(app, pilot, "escape")
        assert app.current == "Day"
        await press(app, pilot, "u")
        assert path.read_bytes() == first
        assert app.model.plan is not None
        assert app.model.plan.launch == before.launch
        assert "undone: Mon 7 Jun rained off" in text_of(app)
        await press(app, pilot, "r")
        assert app.model.plan.launch == after.launch
        sound(app)


async def test_the_friend_cancels(tmp_path: Path) -> None:
    path = job_file(tmp_path, TWO_HANDS)
    app = app_on(path)
    async with running(app) as pilot:
        before = app.model.plan
        assert before is not None
        assert before.moment(before.rows["fit-pod"].start).date() == dt.date(2027, 6, 7)
        await pilot.press("j", "a")
        assert "Wil, today, Mon 7" in text_of(app)
        names = [jot.words for jot in Jots(app.model).away()]
        for _ in range(next(n for n, words in enumerate(names) if words.startswith("Wil"))):
            await pilot.press("down")
        await press(app, pilot, "enter")
        after = app.model.plan
        assert after is not None
        assert after.moment(after.rows["fit-pod"].start).date() == dt.date(2027, 6, 9)
        assert "wil away Mon 7 Jun" in text_of(app)
        assert any("fit-pod" in line and "slid" in line for line in text_of(app).split("\n"))
        sound(app)


async def test_the_pod_is_late(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, TWO_HANDS))
    async with running(app, WIDE) as pilot:
        before = app.model.plan
        assert before is not None
        app.change(SetField("delivery", "pod", "due", dt.date(2027, 6, 16)), "fit-pod")
        await settled(app, pilot)
        after = app.model.plan
        assert after is not None
        assert after.launched.date() > before.launched.date()
        assert app.model.marked == "fit-pod"
        assert "delivery pod: due" in text_of(app)
        assert "nights" in line_with(app, " launch ")
        sound(app)


async def test_the_coat_could_not_go_on_in_time(tmp_path: Path) -> None:
    clock = [FROZEN]
    path = job_file(tmp_path)
    app = app_on(path, clock=lambda: clock[0])
    async with running(app) as pilot:
        for name, begin, end in (("scrape", "0800", "1100"), ("coat-1", "1100", "1200")):
            clock[0] = dt.datetime(2027, 6, 7, int(end[:2]), 5, tzinfo=dt.UTC)
            app.model = app.model.__class__(**{**app.model.__dict__, "marked": name, "now": clock[0]})
            await press(app, pilot, "j", *begin, "s")
            await press(app, pilot, "j", *end, "f")
        plan = app.model.plan
        assert plan is not None
        assert plan.rows["coat-1"].finished
        closes = plan.moment(plan.rows["coat-1"].closes["recoat"])
        # He is called away, and looks again when the window has shut.
        clock[0] = closes + dt.timedelta(hours=1)
        app._tick()
        await settled(app, pilot)
        plan = app.model.plan
        assert plan is not None
        assert [row.id for row in plan.missed] == ["coat-2/key/coat-1"]
        assert "missed" in text_of(app).split("\n")[1]
        sound(app)


async def test_a_day_of_work_jotted_by_keys_alone(tmp_path: Path) -> None:
    clock = [FROZEN]
    path = job_file(tmp_path)
    app = app_on(path, clock=lambda: clock[0])
    async with running(app) as pilot:
        clock[0] = dt.datetime(2027, 6, 7, 9, 30, tzinfo=dt.UTC)
        app._tick()
        await settled(app, pilot)
        await press(app, pilot, "j", "8", "s")
        assert data(path)["task"][0]["started"] == dt.datetime(2027, 6, 7, 8)  # type: ignore[index]
        await press(app, pilot, "j", "2", ".", "2", "5", "h")
        assert data(path)["task"][0]["work_left"] == 2.25  # type: ignore[index]
        clock[0] = dt.datetime(2027, 6, 7, 15, 0, tzinfo=dt.UTC)
        app._tick()
        await settled(app, pilot)
        await press(app, pilot, "j", "1", "1", "4", "5", "f")
        logged = data(path)["task"][0]  # type: ignore[index]
        assert logged["finished"] == dt.datetime(2027, 6, 7, 11, 45)
        assert "work_left" not in logged
        # coat-1 is due now: jot it without looking for it.
        assert Jots(app.model).task == "coat-1"
        await press(app, pilot, "j", "1", "2", "s")
        await press(app, pilot, "j", "f")
        assert app.model.plan is not None
        planned = app.model.plan.rows["coat-1"].stages["set"]
        clock[0] = dt.datetime(2027, 6, 7, 16, 0, tzinfo=dt.UTC)
        app._tick()
        await settled(app, pilot)
        app.stand_on("coat-1")
        await press(app, pilot, "j", "c")
        assert data(path)["task"][1]["reached"] == {"set": dt.datetime(2027, 6, 7, 16)}  # type: ignore[index]
        assert app.model.plan.rows["coat-1"].stages["set"] < planned
        sound(app)
        while app.file is not None and app.file.next_undo:
            await press(app, pilot, "u")
        assert path.read_bytes() == SMALL.encode()


async def test_refused_jots_say_why_and_change_nothing(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await pilot.press("j", "n")
        assert isinstance(app.screen, Jotting)
        assert "nothing is jotted on it" in text_of(app)
        await pilot.press("9", "9", "9", "9", "f")
        assert "99:99 is no time of the day" in text_of(app)
        await press(app, pilot, "escape")
        assert not app.screen.is_modal
        await press(app, pilot, "u")
        assert isinstance(app.screen, Say)
        assert "there is nothing to undo" in text_of(app)
        assert path.read_text("utf-8") == SMALL


async def test_undo_goes_on_after_a_restart(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await press(app, pilot, "j", "r")
        await press(app, pilot, "j", "+", "r")
        assert path.read_text("utf-8") != SMALL
    again = app_on(path)
    async with running(again) as pilot:
        await press(again, pilot, "m")
        assert text_of(again).count("rained off") >= 2
        await press(again, pilot, "u")
        await press(again, pilot, "u")
        assert path.read_text("utf-8") == SMALL
        await press(again, pilot, "u")
        assert "there is nothing to undo" in text_of(again)


async def test_a_second_window_can_look_and_says_so(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    with JobFile.open(path) as first:
        app = app_on(path)
        async with running(app) as pilot:
            assert isinstance(app.screen, Say)
            assert "open in another window" in text_of(app)
            await press(app, pilot, "escape")
            assert app.model.plan is not None
            await press(app, pilot, "j", "r")
            assert "open in another window" in text_of(app)
            assert path.read_text("utf-8") == SMALL
            await press(app, pilot, "escape")
            first.close()
            await press(app, pilot, "j", "r")
            assert path.read_text("utf-8") != SMALL


async def test_another_programs_change_is_never_overwritten_blindly(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    theirs = SMALL.replace('title = "Two coats"', 'title = "Changed elsewhere"')
    app = app_on(path)
    async with running(app) as pilot:
        path.write_text(theirs, "utf-8")
        await press(app, pilot, "j", "r")
        assert isinstance(app.screen, Choose)
        assert path.read_text("utf-8") == theirs
        await press(app, pilot, "enter")
        assert app.model.job is not None
        assert app.model.job.job.title == "Changed elsewhere"
        await press(app, pilot, "j", "r")
        assert 'title = "Changed elsewhere"' in path.read_text("utf-8")
        path.write_text(SMALL, "utf-8")
        app._tick()
        await pilot.pause()
        assert isinstance(app.screen, Choose)
        await press(app, pilot, "down", "enter")
        assert 'title = "Changed elsewhere"' in path.read_text("utf-8")
        sound(app)


async def test_the_page_that_moved_covers_is_not_drawn_anew_before_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = app_on(job_file(tmp_path, QUICK))
    drawn: list[Plan] = []
    lanes = StayView.follow

    def followed(view: StayView, plan: Plan) -> None:
        if plan is not view.plan:
            drawn.append(plan)
        lanes(view, plan)

    monkeypatch.setattr(StayView, "follow", followed)
    async with running(app) as pilot:
        assert app.current == "Stay"
        drawn.clear()
        await press(app, pilot, "j", "1", "0", "0", "0", "r")
        assert app.current == "Moved"
        assert drawn == []
        await press(app, pilot, "escape")
        assert app.current == "Stay"
        assert drawn == [app.model.plan]


async def test_a_change_without_a_plan_says_why_and_can_be_undone(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        app.change(SetField("task", "coat-1", "hands", 3))
        await settled(app, pilot)
        assert app.current == "Moved"
        told = text_of(app)
        assert "no launch" in told
        assert "coat-1" in told
        await press(app, pilot, "u")
        assert app.model.trouble is None
        assert path.read_text("utf-8") == SMALL
        sound(app)


async def test_a_faulty_change_is_refused_in_plain_words(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        app.change(SetField("task", "scrape", "after", ["coat-2"]))
        await pilot.pause()
        told = text_of(app)
        assert "Not done" in told
        assert "scrape → coat-1" in told
        assert path.read_text("utf-8") == SMALL
        await press(app, pilot, "escape")
        assert app.model.trouble is None


async def test_a_window_about_to_shut_is_told_in_time(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, HEAD + NORMALS + zone("bottom") + COATS + RELAUNCH))
    async with running(app):
        plan = app.model.plan
        assert plan is not None
        model = app.model
        row = plan.rows["coat-2"]
        last = plan.moment(min(plan.rows["coat-1"].closes["recoat"], row.start + 200))
        told = set()
        for minutes in range(0, 240, 5):
            moment = last - dt.timedelta(minutes=240 - minutes)
            alarm = next_warning(model.__class__(**{**model.__dict__, "now": moment}))
            if alarm is not None:
                assert alarm.words.startswith("Start ")
                told.add(alarm.key)
        assert told


def test_what_is_typed_between_the_keys() -> None:
    assert read_typed("1630").minutes == 16 * 60 + 30
    assert read_typed("9:05").minutes == 9 * 60 + 5
    assert read_typed("9").minutes == 9 * 60
    assert read_typed("9", wants_left=True).left == 9
    assert read_typed("2.5 1630") == read_typed("1630 2,5")
    assert read_typed("+").days == 1
    assert read_typed("-2 14").days == -2
    assert read_typed("25:00").fault
    assert read_typed("...").fault


async def test_every_verb_of_a_key_can_be_asked_for_too(tmp_path: Path) -> None:
    from sequencer.tui.ask import answers

    moves = {"go_back", "ask", "quit", "closer", "wider", "to_now"}
    app = app_on(job_file(tmp_path))
    async with running(app):
        asked = {answer.words for answer in answers(app)}
        for key in KEYS:
            if key.where == EVERYWHERE and not key.page and key.action not in moves:
                assert key.action in asked, key
            if key.page:
                assert key.page in asked

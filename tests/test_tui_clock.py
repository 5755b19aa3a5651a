"""A clock that jumps: set back or forth by hand or by a time server, or run through the yard's own clock change."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace
from pathlib import Path

import pytest
from surroundings import (
    NOON,
    PLAIN,
    app_at_noon,
    noticed,
    press,
    tick,
    told,
    true_to_disk,
)
from textual.pilot import Pilot
from tui_support import (
    SMALL,
    app_on,
    job_file,
    lines_of,
    running,
    settled,
    text_of,
)

from sequencer.job.writing import SetField
from sequencer.tui import questions
from sequencer.tui.app import SequencerApp
from sequencer.tui.cures_now import curing_now
from sequencer.tui.strip import LaunchStrip

HOUR, DAY, YEAR = dt.timedelta(hours=1), dt.timedelta(days=1), dt.timedelta(days=365)
JUMPS = (-HOUR, HOUR, -DAY, YEAR, -500 * YEAR)


@pytest.fixture(autouse=True)
def few_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questions, "RUNS", 5)
    monkeypatch.setattr(questions, "LEVER_SECONDS", 0.05)


async def every_page(app: SequencerApp, pilot: Pilot[None]) -> None:
    """Every page is drawn, and shows no amount below nothing."""
    for page in app.pages:
        await press(app, pilot, page[0].lower())
        assert app.current == page
        assert not re.search(r"in -\d|-\d+ (?:min|h|days?)\b|-\d+ ?%", text_of(app)), text_of(app)


async def test_a_clock_that_jumps_is_followed_and_comes_back(tmp_path: Path) -> None:
    clock = [NOON]
    path = job_file(tmp_path, SMALL)
    app = app_at_noon(path, clock)
    async with running(app) as pilot:
        before = app.model.plan
        assert before is not None
        for jump in JUMPS:
            clock[0] = NOON + jump
            await tick(app, pilot)
            assert lines_of(app)[1].endswith(f"now {clock[0]:%a} {clock[0].day} {clock[0]:%H:%M}")
            plan = app.model.plan
            assert plan is not None
            # From now, but not from before she was hauled (contract §2).
            assert plan.moment(plan.now) == max(clock[0], plan.moment(plan.hauled))
            if abs(jump) >= DAY:
                await every_page(app, pilot)
            assert all(0 <= curing.along <= 1 and curing.minutes >= 0 for curing in curing_now(plan, clock[0]))
            clock[0] = NOON
            await tick(app, pilot)
            assert app.model.plan is not None
            assert app.model.plan.launch == before.launch
            true_to_disk(app, path)


async def test_what_was_jotted_before_the_clock_was_set_back_is_said_and_kept(tmp_path: Path) -> None:
    clock = [NOON]
    path = job_file(tmp_path, SMALL)
    app = app_at_noon(path, clock)
    async with running(app) as pilot:
        await press(app, pilot, "j", "s")
        good = app.model.plan
        logged = path.read_text("utf-8")
        clock[0] = NOON - 2 * HOUR
        await tick(app, pilot)
        assert "old plan" in lines_of(app)[0]
        await press(app, pilot, "h")
        assert "is later than now" in told(app)
        assert app.model.plan is good
        assert path.read_text("utf-8") == logged
        # Jotted again, by the clock as it is now: mended, not a second time.
        app.stand_on("scrape")
        await press(app, pilot, "j", "s")
        assert path.read_text("utf-8").count("started") == 1
        assert app.model.trouble is None
        await press(app, pilot, "u")
        assert path.read_text("utf-8") == logged
        clock[0] = NOON + HOUR / 4
        await tick(app, pilot)
        assert app.model.trouble is None
        true_to_disk(app, path)


async def test_undo_goes_by_the_order_of_changes_whatever_the_clock_says(tmp_path: Path) -> None:
    clock = [NOON]
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path, clock)
    texts = [PLAIN]
    async with running(app) as pilot:
        for number, jump in enumerate((HOUR, -DAY, 2 * DAY, -YEAR)):
            clock[0] += jump
            app.change(SetField("task", "scrape", "note", f"{number}"))
            await settled(app, pilot)
            texts.append(path.read_text("utf-8"))
        done = app.model.turn.done
        assert [noted.words[:14] for noted in done] == [f"scrape: note {number}" for number in range(4)]
        assert [noted.time for noted in done] != sorted(noted.time for noted in done)
        await press(app, pilot, "m")
        shown = [line for line in lines_of(app) if "scrape: note" in line]
        assert [re.findall(r"note (\d)", line)[0] for line in shown][:4] == ["3", "2", "1", "0"]
        for text in reversed(texts[:-1]):
            await press(app, pilot, "u")
            assert path.read_text("utf-8") == text
    again = app_at_noon(path, clock)
    async with running(again) as pilot:
        for text in texts[1:]:
            await press(again, pilot, "r")
            assert path.read_text("utf-8") == text


async def test_warnings_are_not_repeated_by_a_clock_that_goes_to_and_fro(tmp_path: Path) -> None:
    path = job_file(tmp_path, SMALL)
    app = app_on(path, seconds=0.3)
    async with running(app) as pilot:
        plan = app.model.plan
        assert plan is not None
        clock = [plan.moment(plan.rows["coat-2"].start)]
        app.clock = lambda: clock[0]
        counts = []
        for _ in range(3):
            for minutes in (-90, -45, -10, -30, -100):
                clock[0] = plan.moment(plan.rows["coat-2"].start) + dt.timedelta(minutes=minutes)
                await tick(app, pilot)
            counts.append(len([said for said in noticed(app) if said.startswith("Start ")]))
        assert counts[1] == counts[2]
        assert all(len([s for s in noticed(app) if s == said]) == 1 for said in noticed(app))


async def test_the_hour_that_comes_twice(tmp_path: Path) -> None:
    text = SMALL.replace('timezone = "UTC"', 'timezone = "Europe/London"').replace("2027-06-06", "2027-10-30")
    clock = [dt.datetime(2027, 10, 30, 23, 30, tzinfo=dt.UTC)]
    path = job_file(tmp_path, text)
    app = app_at_noon(path, clock)
    async with running(app) as pilot:
        plan = app.model.plan
        assert plan is not None
        seen, begins = [], []
        for quarter in (0, 3, 4, 5, 6, 8, 10):
            clock[0] = dt.datetime(2027, 10, 30, 23, 30, tzinfo=dt.UTC) + quarter * dt.timedelta(minutes=15)
            await tick(app, pilot)
            assert app.model.plan is not None
            assert app.model.trouble is None
            seen.append(lines_of(app)[1][-5:])
            begins.append(app.model.plan.now)
            true_to_disk(app, path)
        assert seen == ["00:30", "01:15", "01:30", "01:45", "01:00", "01:30", "02:00"]
        assert begins == sorted(begins)
        await every_page(app, pilot)


async def test_an_answer_that_comes_when_the_screens_are_gone_ends_in_no_error(tmp_path: Path) -> None:
    app = app_at_noon(job_file(tmp_path, SMALL), [NOON])
    async with running(app) as pilot:
        await settled(app, pilot)
        strip = app.query_one(LaunchStrip)
        await strip.remove()
        app.show_model(replace(app.model, looking=True))
        assert app.model.looking

"""The Odds and Levers pages: asked in the background, told as they come, taken into the job."""

from __future__ import annotations

from pathlib import Path

import pytest
from planned import assert_kept
from tui_support import NARROW, SMALL, WIDE, app_on, job_file, line_with, running, settled, text_of, until

from sequencer.odds import Odds
from sequencer.tui import questions
from sequencer.tui.levers_view import LeversView
from sequencer.tui.odds_view import OddsView

LATE = SMALL.replace('"Mon-Sun"', '"Mon,Wed,Fri"')
"""Somebody who is there every other day: a day more buys nights."""


@pytest.fixture(autouse=True)
def few_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questions, "RUNS", 60)
    monkeypatch.setattr(questions, "LEVER_SECONDS", 5.0)


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_the_odds_are_told_with_a_sentence_for_the_yard(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, size) as pilot:
        await pilot.press("o")
        await until(pilot, lambda: app.model.answers.odds_over)
        odds = app.model.odds
        assert isinstance(odds, Odds)
        assert odds.runs == 60
        told = text_of(app)
        assert "Book the lift for " in told
        assert ": 8 in 10" in told
        assert "What sets the launch" in told
        assert f"{int(100 * odds.by(odds.planned.date()) + 1e-9)} in 100" in told.split("\n")[0]
        shares = [day.by for day in OddsView(app.model).days]
        assert shares == sorted(shares)
        assert shares[-1] == pytest.approx(1 - odds.unplanned)


async def test_a_new_plan_is_asked_anew(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("o")
        await until(pilot, lambda: app.model.answers.odds_over)
        await pilot.press("j", "+", "r")
        await settled(app, pilot)
        assert app.model.odds is None
        assert "in 100" not in text_of(app).split("\n")[0]
        await pilot.press("o")
        await until(pilot, lambda: app.model.answers.odds_over)
        assert app.model.answers.about is app.model.plan


async def test_a_lever_is_taken_into_the_job_and_put_back(tmp_path: Path) -> None:
    path = job_file(tmp_path, LATE)
    app = app_on(path)
    async with running(app) as pilot:
        before = app.model.plan
        assert before is not None
        await pilot.press("l")
        await until(pilot, lambda: app.model.trials is not None)
        assert "tried for real" in text_of(app)
        assert "as planned" in text_of(app)
        trials = app.model.trials
        assert trials is not None
        best = trials.tried[0]
        assert best.nights > 0
        assert best.name[:12] in line_with(app, ">")
        await pilot.press("enter")
        await settled(app, pilot)
        after = app.model.plan
        assert after is not None
        assert after.nights <= before.nights - best.nights
        assert_kept(after.job, after, after.moment(after.now))
        assert app.current == "Moved"
        await pilot.press("u")
        await settled(app, pilot)
        assert path.read_text("utf-8") == LATE


async def test_without_a_yard_or_a_plan_the_pages_say_so(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, SMALL.replace("work = 3", "work = 3\nhands = 9")))
    async with running(app) as pilot:
        for key in "ol":
            await pilot.press(key)
            await pilot.pause()
            assert "no launch" in text_of(app)
    assert "no plan yet" in LeversView(app.model).draw(80, 20)[0].plain
    assert "no plan yet" in OddsView(app.model).draw(80, 20)[0].plain


async def test_leaving_stops_what_is_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questions, "RUNS", 1_000_000)
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("o")
        await pilot.pause()
        app.action_leave()
    assert not app.model.answers.odds_over

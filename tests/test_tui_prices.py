"""On Levers: what a help costs is typed, kept beside the job, and ranks it anew; nights certain and at 8 in 10."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input
from tui_support import NARROW, SMALL, WIDE, app_on, job_file, line_with, lines_of, running, settled, text_of, until

from sequencer.levers import Tried, asked_of, keep_price, prices_file, read_prices
from sequencer.tui import questions
from sequencer.tui.app import SequencerApp
from sequencer.tui.asking import Say
from sequencer.tui.forms import Write

LATE = SMALL.replace('"Mon-Sun"', '"Mon,Wed,Fri"').replace('title = "You"', 'title = "Wil"')
"""Wil is there every other day: a day more buys nights."""


@pytest.fixture(autouse=True)
def few_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questions, "RUNS", 60)
    monkeypatch.setattr(questions, "LEVER_SECONDS", 8.0)


def best_of(app: SequencerApp) -> tuple[Tried, str]:
    """What is ranked first, and what its price is kept by."""
    trials = app.model.trials
    assert trials is not None
    best = trials.tried[0]
    assert best.nights > 0
    return best, asked_of(best, trials.before.job)[0].key


async def left(app: SequencerApp, pilot: Pilot[None]) -> None:
    """Of two together each price is asked for; leave the second."""
    if isinstance(app.screen, Write):
        await pilot.press("escape")
    await pilot.pause()


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_a_lever_is_priced_ranked_and_kept_for_the_job(tmp_path: Path, size: tuple[int, int]) -> None:
    path = job_file(tmp_path, LATE)
    app = app_on(path)
    async with running(app, size) as pilot:
        await pilot.press("l")
        await until(pilot, lambda: app.model.trials is not None and not app.model.answers.asking)
        best, key = best_of(app)
        assert best.price is None
        assert line_with(app, ">").split()[-2:] == ["?", "?"]
        assert "e tells what it costs." in text_of(app)
        await pilot.press("e")
        assert isinstance(app.screen, Write)
        assert "job.prices.toml" in text_of(app)
        await pilot.press(*"much", "enter")
        assert "That is no amount" in text_of(app)
        app.screen.query_one(Input).value = "1,180.50"
        await pilot.press("enter")
        await pilot.pause()
        await left(app, pilot)
        trials = app.model.trials
        assert trials is not None
        priced = next(t for t in trials.tried if t.id == best.id)
        assert priced.price == 1180.5
        assert priced.kept is not None
        assert priced.kept < 0
        assert line_with(app, ">").split()[-2] == "£1,181"
        assert line_with(app, ">").split()[-1].startswith("-£1,1")
        assert read_prices(path) == {key: 1180.5}
        assert path.read_text("utf-8") == LATE
        await pilot.press("e")
        assert app.screen.query_one(Input).value == "1180.5"
        app.screen.query_one(Input).value = ""
        await pilot.press("enter")
        await pilot.pause()
        await left(app, pilot)
        assert read_prices(path) == {}
        assert next(t for t in app.model.trials.tried if t.id == best.id).price is None  # type: ignore[union-attr]


async def test_prices_told_before_count_at_once_and_a_broken_file_is_said(tmp_path: Path) -> None:
    path = job_file(tmp_path, LATE)
    app = app_on(path)
    async with running(app) as pilot:
        await pilot.press("l")
        await until(pilot, lambda: app.model.trials is not None and not app.model.answers.asking)
        best, key = best_of(app)
        keep_price(path, key, 20)
    app = app_on(path)
    async with running(app) as pilot:
        await pilot.press("l")
        await until(pilot, lambda: app.model.trials is not None)
        assert next(t.price for t in app.model.trials.tried if t.id == best.id) == 20  # type: ignore[union-attr]
        prices_file(path).write_text(f'"{key}" = "dear"\n', "utf-8")
        await pilot.press("e")
        assert isinstance(app.screen, Say)
        assert "is no price" in text_of(app)


async def test_nights_stand_with_how_sure_they_are_and_at_eight_in_ten(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, LATE))
    async with running(app) as pilot:
        await pilot.press("l")
        await until(pilot, lambda: app.model.trials is not None and not app.model.answers.asking)
        trials = app.model.trials
        assert trials is not None
        assert "8 in 10" in lines_of(app)[3]
        assert trials.tried[0].late_nights is not None
        shown = line_with(app, ">").split()
        assert str(trials.tried[0].late_nights) in shown
        assert trials.tried[0].nights_words in shown


async def test_plain_marks_leave_room_between_the_amounts(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, LATE.replace("night = 30.0", "night = 333.0")), ascii=True)
    async with running(app) as pilot:
        await pilot.press("l")
        await until(pilot, lambda: app.model.trials is not None and not app.model.answers.asking)
        assert "in GBP" in line_with(app, "as planned")
        trials = app.model.trials
        assert trials is not None
        saved = trials.tried[0].saved
        assert saved is not None
        assert f"{saved:,.0f}" in line_with(app, ">").split()


async def test_without_a_yard_a_price_has_nothing_to_stand_against(tmp_path: Path) -> None:
    lines = LATE.replace('[yard]\ncurrency = "GBP"\nnight = 30.0\nfixed = 300.0\n', "")
    app = app_on(job_file(tmp_path, lines))
    async with running(app) as pilot:
        await pilot.press("l")
        await until(pilot, lambda: app.model.trials is not None)
        await pilot.press("e")
        assert isinstance(app.screen, Say)
        assert "what a night costs" in text_of(app)
        await pilot.press("escape")
        await settled(app, pilot)

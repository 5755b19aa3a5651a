"""Hours of use: what was drawn, asked and planned before is let go of, so that the collector never holds up a key."""

from __future__ import annotations

import gc
from collections.abc import Sequence
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.strip import Strip
from textual.widget import Widget
from tui_support import HEAD, NORMALS, RELAUNCH, SMALL, app_on, job_file, running, settled, task, text_of, until, zone

from sequencer.planning.plan import Row
from sequencer.tui import questions
from sequencer.tui.app import SequencerApp
from sequencer.tui.model import Model
from sequencer.tui.page import Page

JOB = HEAD + NORMALS + zone("bottom") + task("scrape", work=6) + task("wash", more='after = ["scrape"]') + RELAUNCH


def alive(kind: type) -> int:
    """How many of a kind are held by anything."""
    gc.collect()
    return sum(type(found) is kind for found in gc.get_objects())


async def again(app: SequencerApp, pilot: Pilot[None], keys: Sequence[str], times: int) -> None:
    for _ in range(times):
        await pilot.press(*keys)
        await until(pilot, lambda: not app.screen.is_modal)
        await settled(app, pilot)


@pytest.mark.parametrize(
    "keys",
    [("space", "escape"), ("j", "escape"), ("question_mark", "escape"), ("t", "enter", "escape"), ("p", "escape")],
    ids=" ".join,
)
async def test_what_a_dialog_drew_is_let_go_with_it(tmp_path: Path, keys: Sequence[str]) -> None:
    app = app_on(job_file(tmp_path, JOB))
    async with running(app) as pilot:
        await again(app, pilot, keys, 2)
        before = alive(Strip)
        await again(app, pilot, keys, 12)
        # A dozen dialogs draw well over two hundred lines.
        assert alive(Strip) <= before + 24


async def test_levers_tried_of_a_plan_before_are_let_go_by_the_pages_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(questions, "LEVER_SECONDS", 5.0)
    app = app_on(job_file(tmp_path, SMALL.replace('"Mon-Sun"', '"Mon,Wed,Fri"')))
    async with running(app) as pilot:
        await pilot.press("l")
        await until(pilot, lambda: app.model.trials is not None and not app.model.answers.asking)
        for page in ("Tasks", "Day", "Stay"):
            app.open_page(page)
        await pilot.pause()
        holders = [page for page in app.pages.values() if trials_of(page)]
        assert holders
        await pilot.press("j", "+", "r")
        await settled(app, pilot)
        assert app.model.trials is None
        assert [page.title for page in holders if trials_of(page)] == []


async def test_levers_tried_are_kept_without_their_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questions, "LEVER_SECONDS", 5.0)
    app = app_on(job_file(tmp_path, SMALL.replace('"Mon-Sun"', '"Mon,Wed,Fri"')))
    async with running(app) as pilot:
        before = alive(Row)
        await pilot.press("l")
        await until(pilot, lambda: app.model.trials is not None and not app.model.answers.asking)
        trials, plan = app.model.trials, app.model.plan
        assert trials is not None
        assert plan is not None
        assert len(trials.tried) > 2
        assert alive(Row) <= before + len(plan.rows)
        text = text_of(app)
        for tried in trials.gains[:1]:
            assert tried.nights == plan.nights - (tried.launch.date() - plan.moment(plan.hauled).date()).days
            assert tried.levers[0].name[:20] in text


def trials_of(page: Page) -> list[Widget]:
    """Whatever in a page holds levers tried."""
    kept = [(node, getattr(node, "model", None)) for node in (page, *page.walk_children())]
    return [node for node, model in kept if isinstance(model, Model) and model.answers.trials is not None]

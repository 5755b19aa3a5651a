"""A walk through the whole app on ``job.toml`` where one stands, each part told to who watches it."""

from __future__ import annotations

import asyncio
import datetime as dt
import sys
from pathlib import Path
from typing import Any

from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input
from tui_support import WIDE, app_on, running, settled, until

import sequencer.tui.questions
from sequencer.job.writing import SetField
from sequencer.tui.app import SequencerApp
from sequencer.tui.forms import Pick, Write
from sequencer.tui.keys import KEYS
from sequencer.tui.reader import Reader

NOW = dt.datetime(2027, 3, 14, 7, 0, tzinfo=dt.UTC)


def step(name: str) -> None:
    """What is done from here on."""
    sys.audit("reach.step", name)


async def shown(app: SequencerApp, pilot: Pilot[None], form: type[Screen[Any]]) -> None:
    """Wait for a dialog of a kind."""
    await until(pilot, lambda: isinstance(app.screen, form))


async def typed(app: SequencerApp, pilot: Pilot[None], form: type[Screen[Any]], text: str) -> None:
    """Write into a dialog and take it."""
    await shown(app, pilot, form)
    app.screen.query_one(Input).value = text
    await pilot.press("enter")


async def look(app: SequencerApp, pilot: Pilot[None]) -> None:
    """Every page, with the answers that take a while; a price is kept."""
    for key in [key for key in KEYS if key.page]:
        step(f"page {key.page}")
        await pilot.press(key.keys)
        assert app.current == key.page
    await pilot.press("o")
    await until(pilot, lambda: app.model.answers.odds_over)
    await pilot.press("l")
    await until(pilot, lambda: app.model.trials is not None)
    step("price")
    await pilot.press("e")
    await typed(app, pilot, Write, "30")
    await until(pilot, Path("job.prices.toml").exists)
    await pilot.press("escape", "escape", "question_mark", "escape")


async def change(app: SequencerApp, pilot: Pilot[None]) -> None:
    """An edit, that undone, a jotting."""
    assert app.model.job is not None
    before = app.job_text
    step("edit")
    app.change(SetField("task", app.model.job.task[-1].id, "title", "Down she goes"))
    await settled(app, pilot)
    assert "Down she goes" in app.job_text
    step("undo")
    await pilot.press("u")
    await settled(app, pilot)
    assert app.job_text == before
    step("jot")
    await pilot.press("t", "j", "r")
    await settled(app, pilot)
    assert app.job_text != before


async def papers(app: SequencerApp, pilot: Pilot[None]) -> None:
    """The sheet, kept as a page; the review, a finding answered."""
    step("sheet")
    await pilot.press("escape", "d", "p")
    await shown(app, pilot, Reader)
    await pilot.press("k")
    await until(pilot, lambda: any(Path().glob("job-*.html")))
    await shown(app, pilot, Reader)
    await pilot.press("escape")
    step("review")
    await pilot.press("v")
    await shown(app, pilot, Reader)
    await pilot.press("a")
    await shown(app, pilot, Pick)
    await pilot.press("enter")
    await typed(app, pilot, Write, "two of us by then")
    await shown(app, pilot, Reader)
    assert Path("job.answers.toml").exists()
    await pilot.press("escape")


async def files(app: SequencerApp, pilot: Pilot[None]) -> None:
    """A forecast, past years, and a new job."""
    step("forecast")
    await pilot.press("a", "f")
    await until(pilot, lambda: app.screen.is_modal)
    app.screen.query_one(Input).value = "knot-march.csv"
    await pilot.press("enter", "escape", "escape")
    await until(pilot, lambda: not app.screen.is_modal)
    step("past")
    await pilot.press("o", "f")
    await until(pilot, lambda: app.screen.is_modal)
    await pilot.press("enter", "escape")
    await until(pilot, lambda: not app.screen.is_modal)
    step("new job")
    app.action_new_job()
    await shown(app, pilot, Pick)
    await pilot.press("enter")
    await typed(app, pilot, Write, "another.toml")
    await until(pilot, lambda: app.folder / "another.toml" == app.job_path)
    await settled(app, pilot)


async def main() -> None:
    """All of it."""
    app = app_on(Path("job.toml"), clock=lambda: NOW, seconds=0.2)
    async with running(app, WIDE) as pilot:
        for part in (look, change, papers, files):
            await part(app, pilot)
    step("end")


if __name__ == "__main__":
    sequencer.tui.questions.RUNS = 60
    sequencer.tui.questions.LEVER_SECONDS = 0.5
    asyncio.run(main())
    print("DONE")

"""Plain marks: no page, dialog, card or toast paints anything but ASCII, but for what the owner typed himself."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from tui_support import (
    HEAD,
    NARROW,
    NORMALS,
    RELAUNCH,
    WIDE,
    app_on,
    job_file,
    lines_of,
    running,
    settled,
    task,
    text_of,
    until,
    zone,
)

from sequencer.tui import questions
from sequencer.tui.app import SequencerApp
from sequencer.tui.ask import answers
from sequencer.tui.keys import keys_of
from sequencer.tui.reader import Reader

LONG = "A " + "very " * 30 + "long title"

DAMP = (
    HEAD.replace("apply = { min_temp = 5,", "no_cure_below = 4\napply = { min_temp = 12, max_temp = 30,")
    + NORMALS
    + zone("bottom", "The bottom of her, from the stem to the skeg and the rudder")
    + zone("shed", shelter="inside")
    + '[[crew]]\nid = "wil"\ntitle = "Wil of the long and well-known name"\n'
    + 'hours = [ { days = "Mon,Wed", from = "09:00", to = "16:00" } ]\n\n'
    + task("scrape", more='makes = "dust"\nneeds = { min_temp = 3, max_wind = 20 }\nwho = ["wil"]', work=3)
    + task("coat-1", more='material = "primer"\nafter = ["scrape"]')
    + task("coat-2", more='material = "primer"\nafter = ["coat-1@recoat"]')
    + task("bench", "shed", work=6, title=LONG)
    + RELAUNCH
)
"""Cold mornings, a limit on wind, long names and titles: whatever has degrees, money or letters to leave out."""

NO_LAUNCH = DAMP.replace('who = ["wil"]', 'who = ["wil"]\nhands = 3')

INSIDE = ("down", "enter")
"""Pressed in whatever has come up."""

VERBS_LEFT_OUT = {"leave", "plain marks", "undo", "redo", "now", "again", "look further"}
"""They bring nothing up."""


@pytest.fixture(autouse=True)
def few_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questions, "RUNS", 20)
    monkeypatch.setattr(questions, "LEVER_SECONDS", 1.0)


class Watch:
    """Gathers the lines of the screen that hold what a plain terminal has not, and how one came to see them."""

    def __init__(self, app: SequencerApp, pilot: Pilot[None]) -> None:
        self.app, self.pilot = app, pilot
        self.found: dict[str, str] = {}
        self.seen: set[str] = set()

    def look(self, how: str) -> None:
        self.seen.add(type(self.app.screen).__name__)
        for line in lines_of(self.app):
            if not (line.isascii() and line.isprintable()):
                self.found.setdefault(line.strip(), how)

    async def press(self, key: str, how: str) -> None:
        await self.pilot.press(key)
        self.look(f"{how} {key}")

    async def inside(self, how: str) -> None:
        """Keys in what has come up, then back to the page."""
        for key in INSIDE:
            if len(self.app.screen_stack) > 1:
                await self.press(key, how)
        for _ in range(12):
            if len(self.app.screen_stack) > 1:
                await self.press("escape", how)
        assert len(self.app.screen_stack) == 1, how
        await settled(self.app, self.pilot)


@pytest.mark.parametrize("size", [NARROW])
async def test_every_page_and_its_keys_are_plain(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(job_file(tmp_path, DAMP), ascii=True, seconds=0.5)
    async with running(app, size) as pilot:
        watch = Watch(app, pilot)
        for page in app.pages:
            for key in keys_of(page):
                app.open_page(page)
                await watch.press(key.keys.split(",")[0], page)
                await watch.inside(f"{page} {key.shown}")
            app.open_page(page)
            await watch.press("question_mark", page)
            await watch.press("end", page)
            await watch.inside(f"{page} ?")
        assert watch.found == {}


async def test_everything_that_can_be_asked_for_is_plain(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, DAMP), ascii=True, seconds=0.5)
    async with app.run_test(size=NARROW, notifications=True) as pilot:
        await settled(app, pilot)
        watch = Watch(app, pilot)
        await watch.press("space", "ask")
        await watch.press("s", "ask")
        await watch.inside("ask")
        for answer in answers(app):
            if answer.words not in VERBS_LEFT_OUT:
                answer.run()
                await pilot.pause()
                watch.look(answer.words)
                await watch.inside(answer.words)
        for severity in ("information", "warning", "error"):
            app.notify("A word to the owner.", severity=severity, markup=False)  # type: ignore[arg-type]
            await pilot.pause()
            watch.look(severity)
        assert "A word to the owner." in text_of(app)
        assert watch.found == {}
        assert watch.seen >= {"Explain", "Jotting", "Reader", "Pick", "Ask"}


async def test_faults_and_an_empty_start_are_plain(tmp_path: Path) -> None:
    for path in (None, job_file(tmp_path, DAMP.replace("hauled", "hawled")), job_file(tmp_path, NO_LAUNCH)):
        app = app_on(path, ascii=True)
        async with running(app) as pilot:
            watch = Watch(app, pilot)
            watch.look("start")
            for page in app.pages:
                app.open_page(page)
                await watch.press("down", page)
            assert watch.found == {}


async def test_the_owners_own_signs_stay_as_he_typed_them(tmp_path: Path) -> None:
    title = "Glass at 15 °C…"
    app = app_on(job_file(tmp_path, DAMP.replace(LONG, title)), ascii=True, seconds=0.5)
    async with running(app, WIDE) as pilot:
        app.open_page("Tasks", "bench")
        await pilot.pause()
        assert title in text_of(app)
        await pilot.press("enter")
        await pilot.pause()
        assert title in text_of(app)
        await pilot.press("escape")
        app.open_page("Stay", "bench")
        await pilot.pause()
        assert title in text_of(app)
        await pilot.press("p")
        await until(pilot, lambda: isinstance(app.screen, Reader))
        assert title in app.screen.text  # type: ignore[attr-defined]


async def test_turned_back_the_full_marks_return(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, DAMP), ascii=True, seconds=0.5)
    async with running(app) as pilot:
        assert text_of(app).isascii()
        app.action_plain_marks()
        await pilot.pause()
        assert not text_of(app).isascii()
        app.action_plain_marks()
        await pilot.pause()
        assert text_of(app).isascii()

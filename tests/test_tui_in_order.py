"""Keys sent in the same instant are heard one after another: each finds open what the one before it opened."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from textual import events
from textual.message_pump import MessagePump
from textual.pilot import Pilot
from textual.widgets import Input
from tui_support import app_on, job_file, running, settled, text_of, until

from sequencer.tui import inorder
from sequencer.tui.app import SequencerApp
from sequencer.tui.card_screen import CardScreen
from sequencer.tui.explain import Explain
from sequencer.tui.forms import Pick
from sequencer.tui.jot import Jotting
from sequencer.tui.keys import KEYS, Key
from sequencer.tui.tasks import TasksPage

PAGES = tuple(key for key in KEYS if key.page)
NAMES = {"?": "question_mark"}


def at_once(app: SequencerApp, *keys: str) -> None:
    """Keys as a terminal sends them over a slow line: all in one piece."""
    for key in keys:
        character = " " if key == "space" else key if len(key) == 1 else None
        app.post_message(events.Key(NAMES.get(key, key), character))


async def heard(app: SequencerApp, pilot: Pilot[None]) -> None:
    """Wait until no key is held back and what they did is done."""
    await pilot.pause()
    await until(pilot, lambda: app.all_heard)
    await pilot.pause()


async def test_a_jot_typed_in_one_go_is_jotted_and_does_nothing_again_below(tmp_path: Path) -> None:
    """On the page below the same letter would bring back a change that was taken back."""
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("j", "f")
        await settled(app, pilot)
        await pilot.press("u", "h")
        await settled(app, pilot)
        assert app.file is not None
        assert "finished" in app.file.next_redo
        at_once(app, "j", "r")
        await heard(app, pilot)
        await settled(app, pilot)
        assert "rained off" in app.file.next_undo
        assert "finished" not in app.file.next_undo
        assert "finished" not in app.file.text


@pytest.mark.parametrize("page", PAGES, ids=lambda key: str(key.page))
async def test_help_asked_for_in_one_go_with_a_page_is_that_pages(page: Key, tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        at_once(app, page.keys, "?")
        await heard(app, pilot)
        assert app.current == page.page
        assert isinstance(app.screen, Explain)
        assert f" {page.page} " in text_of(app).split("╭", 1)[1]


async def test_enter_sent_with_a_page_is_heard_on_that_page(tmp_path: Path) -> None:
    """On Stay, in front before, enter opens the day."""
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        assert app.current == "Stay"
        at_once(app, "t", "down", "enter")
        await heard(app, pilot)
        assert app.current == "Tasks"
        assert isinstance(app.screen, CardScreen)
        assert "task coat-1" in text_of(app)


async def test_a_verb_asked_for_in_one_go_is_done(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("j", "f")
        await settled(app, pilot)
        assert app.file is not None
        assert app.file.next_undo
        at_once(app, "space", *"undo", "enter")
        await heard(app, pilot)
        assert not app.file.next_undo
        assert "finished" in app.file.next_redo


async def test_what_is_typed_narrows_before_an_arrow_walks(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        at_once(app, "space", *"coat", "down")
        await heard(app, pilot)
        assert isinstance(app.screen, Pick)
        assert app.screen.query_one(Input).value == "coat"
        assert [option.words for option in app.screen.list.shown][:2] == ["coat-1", "coat-2"]
        assert app.screen.list.at == 1


async def test_a_chain_of_forms_is_walked_in_one_go(tmp_path: Path) -> None:
    """A new person: of which kind, what name, what hours; each form comes once the one before is gone."""
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("t")
        at_once(app, "n", *"person", "enter", *"Ann", "enter", "enter")
        await heard(app, pilot)
        assert app.file is not None
        assert 'title = "Ann"' in app.file.text


async def test_what_is_pasted_with_a_key_comes_into_the_form_it_opens(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        at_once(app, "space")
        app.post_message(events.Paste("coat-2"))
        await heard(app, pilot)
        assert app.screen.query_one(Input).value == "coat-2"


async def test_an_arrow_held_down_loses_no_step_and_waits_for_nothing(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("t", "home")
        page = app.pages["Tasks"]
        assert isinstance(page, TasksPage)
        first = page.view.name
        at_once(app, *["down"] * 40, *["up"] * 2)
        await asyncio.sleep(0)
        assert not app._held
        await heard(app, pilot)
        assert first == "scrape"
        assert page.view.name == "coat-1"


async def test_escape_sent_with_what_it_leaves_leaves_it(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("h")
        at_once(app, "j", "escape", "j", "escape", "escape")
        await heard(app, pilot)
        assert not isinstance(app.screen, Jotting)
        assert app.current == "Stay"


async def test_something_that_never_answers_does_not_take_the_keys_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Deaf(MessagePump):
        def call_later(self, callback: object, *args: object, **kwargs: object) -> bool:
            return True

    monkeypatch.setattr(inorder, "LONGEST", 0.05)
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        monkeypatch.setattr(app, "_way", lambda: [Deaf()])
        at_once(app, "t", "h")
        await until(pilot, lambda: app.current == "Holds")
        assert not app._held


async def test_keys_behind_the_one_that_leaves_are_let_go(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        at_once(app, "t", "ctrl+q", "h", "j")
        await pilot.pause()
    assert app.return_code == 0
    assert app.current == "Tasks"
    assert not app._held
    assert app._following is None or app._following.done() or app._following.cancelling()

"""A stranger's words on every page and in every dialog: what is drawn holds no control code and no action to click."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from small_job import TEXT
from test_hostile_text import harmless, toml
from test_reach_text import SHORT, WORDS, job_text
from textual.pilot import Pilot
from textual.widgets import Input
from tui_support import NARROW, WIDE, app_on, lines_of, settled, text_of, until

from sequencer.job.jobfile import JobFile
from sequencer.job.journal import journal_path
from sequencer.job.layout import SINGLE, name_of
from sequencer.job.record import Entry
from sequencer.job.saving import digest
from sequencer.job.writing import SetField
from sequencer.tui import questions
from sequencer.tui.app import SequencerApp
from sequencer.tui.forecast_form import FilePick
from sequencer.tui.keys import KEYS
from sequencer.tui.lookup import tables_of

NOON = dt.datetime(2027, 4, 12, 10, 0, tzinfo=dt.UTC)
NAMES = ("a\x1b[31mred", "b[bold]x[@click=app.quit]leave[", "c\nd", "e\x9b2J\u202egnp", "$f {g} '\"")
"""Names of files beside the job."""
SCROLLBAR = {"grab", "scroll_up", "scroll_down"}
"""What Textual's own scrollbars do when pressed: the only actions that are bound to what is drawn."""


def assert_safe(app: SequencerApp) -> None:
    """Whatever is on the screen is letters, and nothing in it runs an action when clicked."""
    for strip in app.screen._compositor.render_strips():
        for segment in strip:
            assert segment.control is None
            assert segment.text.isprintable(), ascii(segment.text)
            style = segment.style
            assert style is None or style.link is None
            actions = {value for key, value in style.meta.items() if key.startswith("@")} if style is not None else ()
            assert set(actions) <= SCROLLBAR, actions
    assert harmless(f"{app.title} {app.sub_title}")


@pytest.fixture(autouse=True)
def _few_futures(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questions, "RUNS", 40)
    monkeypatch.setattr(questions, "LEVER_SECONDS", 0.3)


@asynccontextmanager
async def opened(folder: Path, text: str, size: tuple[int, int]) -> AsyncIterator[tuple[SequencerApp, Pilot[None]]]:
    """The app on this job, among files of odd names."""
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8", newline="")
    for name in NAMES:
        (folder / f"{name}.csv").write_text(f"{name}\n1", "utf-8")
        (folder / f"{name}.toml").write_text(f"{name.replace(chr(10), '')} = 1", "utf-8")
    app = app_on(path, clock=lambda: NOON, seconds=0.1)
    async with app.run_test(size=size, notifications=True, tooltips=True) as pilot:
        await settled(app, pilot)
        assert app.model.plan is not None
        assert app.file is not None
        yield app, pilot
        assert app.is_running
        assert not app.leaving


async def look(app: SequencerApp, pilot: Pilot[None], *keys: str) -> None:
    """Press keys one after another; after each what is shown is looked at, and what invites a click is clicked."""
    for key in keys:
        await pilot.press(key)
        assert_safe(app)
        inviting = [(line.find("]leave") + 2, row) for row, line in enumerate(lines_of(app)) if "]leave" in line]
        if inviting and not app.screen.is_modal:
            await pilot.click(offset=inviting[0])
            assert app.is_running
            assert_safe(app)


async def closed(app: SequencerApp, pilot: Pilot[None]) -> None:
    """Leave every dialog."""
    for _ in range(8):
        if not app.screen.is_modal:
            return
        await pilot.press("escape")
    raise AssertionError("a dialog stays")


ROUNDS = [((SHORT,), NARROW), (tuple(WORDS.values()), WIDE)]


@pytest.mark.parametrize(("words", "size"), ROUNDS, ids=["narrow", "wide"])
async def test_pages_show_letters_and_nothing_else(
    tmp_path: Path, words: tuple[str, ...], size: tuple[int, int]
) -> None:
    async with opened(tmp_path, job_text(*words), size) as (app, pilot):
        # The answers first: a pilot waits long for keys while there is other work.
        app.open_page("Odds")
        await until(pilot, lambda: app.model.answers.odds_over)
        app.open_page("Levers")
        await until(pilot, lambda: app.model.trials is not None and not app.model.answers.asking)
        for key in [key for key in KEYS if key.page]:
            await look(app, pilot, key.keys)
            await closed(app, pilot)
        await look(app, pilot, "l", "down", "e")
        await closed(app, pilot)


async def test_cards_and_lists_show_letters_and_nothing_else(tmp_path: Path) -> None:
    async with opened(tmp_path, job_text(SHORT), WIDE) as (app, pilot):
        for kind in ("task", "material", "crew", "delivery", "weather.day", "job"):
            names = [""] if kind in SINGLE else [name_of(kind, table) for table in tables_of(app.job_text, kind)]
            app.edit_card(kind, names[0])
            await until(pilot, lambda: app.screen.is_modal)
            await look(app, pilot, "end")
            await closed(app, pilot)
        for action in (app.action_book, app.action_open_job, app.action_new_job, app.action_jot):
            action()
            await until(pilot, lambda: app.screen.is_modal)
            await look(app, pilot, "end")
            await closed(app, pilot)
        await look(app, pilot, "j", "a")
        await closed(app, pilot)
        await pilot.press("space", "t", "w")
        await look(app, pilot, "o")
        await closed(app, pilot)


async def test_papers_forms_and_what_moved_show_letters_and_nothing_else(tmp_path: Path) -> None:
    async with opened(tmp_path, job_text(*WORDS.values()), WIDE) as (app, pilot):
        await look(app, pilot, "d", "p", "n", "f", "end", "enter")
        await closed(app, pilot)
        await look(app, pilot, "v", "a", "enter")
        await closed(app, pilot)
        await pilot.press("a", "f")
        for name in NAMES[::2]:
            await until(pilot, lambda: isinstance(app.screen, FilePick))
            app.screen.query_one(Input).value = name[:1]
            await look(app, pilot, "enter")
            assert "no table of weather" in text_of(app)
        await closed(app, pilot)
        await pilot.press("o", "f")
        await look(app, pilot, "enter")
        await closed(app, pilot)
        for text in (SHORT, WORDS["lines"]):
            app.change(SetField("task", "two", "title", text))
            await settled(app, pilot)
            assert_safe(app)
        await look(app, pilot, "m", "end", "u", "r")
        await closed(app, pilot)
        for text in (SHORT, WORDS["lines"], WORDS["markup"]):
            app.say_broken(ValueError(text))
            await pilot.pause()
            assert_safe(app)
            await closed(app, pilot)


@pytest.mark.parametrize("name", NAMES[:2], ids=["codes", "markup"])
async def test_faults_of_a_file_are_told_in_letters(tmp_path: Path, name: str) -> None:
    path = tmp_path / f"{name}.toml"
    ids = "".join(f"[[task]]\nid = {toml(text)}\n{toml(text)} = 1\n" for text in WORDS.values())
    path.write_text(f"[job]\ntitle = 1\n{ids}", "utf-8")
    app = app_on(path)
    async with app.run_test(size=WIDE, notifications=True) as pilot:
        await settled(app, pilot)
        assert app.model.trouble is not None
        assert len(app.model.trouble.faults) > len(WORDS)
        await look(app, pilot, "h", "end", "t", "j")


# -- a stranger's journal


def journal_of(text: str, *entries: tuple[str, dict[str, object]]) -> bytes:
    """A journal that begins at `text`, with more lines, each (words, other values)."""
    first = Entry(1, "first", NOON, "the file as it was", "", digest(text), 0, "", text)
    lines = [first.line()]
    for number, (words, values) in enumerate(entries, 2):
        entry = Entry(number, "change", NOON, words, digest(text), digest(text), 0, "", "")
        lines.append(json.dumps({**json.loads(entry.line()), **values}) + "\n")
    return "".join(lines).encode()


async def test_words_of_a_journal_are_shown_as_letters(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(TEXT, "utf-8")
    journal_path(path).write_bytes(journal_of(TEXT, *((words, {}) for words in WORDS.values())))
    app = app_on(path, seconds=0.2)
    async with app.run_test(size=WIDE, notifications=True) as pilot:
        await settled(app, pilot)
        assert app.file is not None
        assert len(app.file.history()) == len(WORDS)
        await look(app, pilot, "m", "end", "u", "m", "r", "m")
        assert "x1b" in text_of(app)


ODD = (
    {"time": "0001-01-01T00:00:00+14:00"},
    {"time": "9999-12-31T23:59:59-12:00"},
    {"time": "2027-04-12T10:00:00"},
    {"at": -3},
    {"at": 10**30},
    {"number": 10**4000},
    {"number": -5},
    {"number": True},
    {"into": "\ud800"},
    {"out": "x" * 9},
    {"what": "undo"},
    {"what": "[bold]"},
    {"words": "\ud800"},
    {"more": 1},
)


@pytest.mark.parametrize("values", ODD, ids=range(len(ODD)))
def test_a_line_of_a_journal_that_makes_no_sense_is_a_damaged_one(values: dict[str, object], tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(TEXT, "utf-8")
    journal_path(path).write_bytes(journal_of(TEXT, ("one", {}), ("odd", values)))
    for _ in range(2):
        with JobFile.open(path) as file:
            assert file.text == TEXT
            assert all(harmless(ascii(noted)) for noted in file.history())
            file.apply(SetField("job", "", "title", "Something else"))
            file.undo()
    assert path.read_text("utf-8") == TEXT


def test_lines_of_a_journal_nested_without_end_are_damaged_ones(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(TEXT, "utf-8")
    journal_path(path).write_bytes(b"[" * 100_000 + b"\n")
    with JobFile.open(path) as file:
        assert file.history() == []


def test_a_journal_that_doubles_the_text_with_every_line_is_cut_off(tmp_path: Path) -> None:
    """A span that begins before the text would take it in twice: forty lines of that, and no machine holds it."""
    path = tmp_path / "job.toml"
    path.write_text(TEXT, "utf-8")
    lines, text = [journal_of(TEXT)], TEXT
    for number in range(2, 8):
        made = text[:-1] + text[-1 + len("xx") :]
        lines.append(Entry(number, "change", NOON, "more", digest(text), digest(made), -1, "xx", "").line().encode())
        text = made
    assert len(text) > 50 * len(TEXT)
    journal_path(path).write_bytes(b"".join(lines))
    with JobFile.open(path) as file:
        assert file.history() == []
        assert file.text == TEXT

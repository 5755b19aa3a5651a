"""Space asks: pages, tasks to stand on, and plain verbs, found as one types."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from sequencer.tui.forms import Option, Pick
from sequencer.tui.keys import KEYS

if TYPE_CHECKING:
    from sequencer.tui.app import SequencerApp

PLACEHOLDER = "a page, a task or a verb"


@dataclass(frozen=True)
class Answer:
    """Something that can be asked for: what it is called, a line about it, what it does."""

    words: str
    about: str
    run: Callable[[], object]
    at_once: bool = True
    """Whether it is listed before anything is typed."""


def answers(app: SequencerApp) -> list[Answer]:
    """All there is to ask for: pages, verbs, then tasks."""
    found = [
        Answer(key.page, key.words.partition(": ")[2], partial(app.open_page, key.page))
        for key in KEYS
        if key.page in app.pages
    ]
    found += [
        Answer("jot", "what happened: done, half done, rained off, away", app.action_jot),
        Answer("undo", "undo the last change", app.action_undo),
        Answer("redo", "do again what was undone", app.action_redo),
        Answer("edit", "the card of the task marked: every field of it", app.action_edit),
        Answer("new", "a task, material, place, person, gear, delivery, day", app.action_new),
        Answer("copy", "a copy of the task marked", app.action_copy),
        Answer("book", "cards of all else: materials, places, people, yard", app.action_book),
        Answer("forecast", "a forecast from a file; first see what it would move", app.action_forecast),
        Answer("add a block", "a chain of tasks of the trade, to adjust", app.action_add_block),
        Answer("new job", "a job file begun: from nothing, a block, or a copy", app.action_new_job),
        Answer("open a job", "another job file in place of this one", app.action_open_job),
        Answer("sheet", "the sheet of the day: to read, to keep, to print", app.action_sheet),
        Answer("review", "checks of the trade: what one must not forget", app.action_review),
        Answer("now", "stand at now", app.action_to_now),
        Answer("again", "read the file again and look for a launch anew", app.action_again),
        Answer("look further", "search longer for an earlier launch", app.action_further),
        Answer("theme", "dark or light", app.action_turn_theme),
        Answer("plain marks", "marks for plain terminals, or back", app.action_plain_marks),
        Answer("explain", "this page, its marks and keys", app.action_explain),
        Answer("leave", "close the app", app.action_leave),
    ]
    plan = app.model.plan
    for row in plan.rows.values() if plan is not None else ():
        found.append(Answer(row.id, row.title, partial(app.stand_on, row.id), at_once=False))
    return found


class Ask(Pick):
    """Ask for any of the answers; the one picked is run once this is closed."""

    def __init__(self, found: list[Answer]) -> None:
        options = [Option(str(n), answer.words, answer.about, answer.at_once) for n, answer in enumerate(found)]
        super().__init__("ask", options, typed=PLACEHOLDER)


def ask(app: SequencerApp) -> None:
    """Bring up all there is to ask for, and do what is picked."""
    found = answers(app)

    def picked(number: str | None) -> None:
        if number is not None:
            app.call_later(found[int(number)].run)

    app.push_screen(Ask(found), picked)

"""Space asks: pages, tasks to stand on, and plain verbs, found as one types."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from textual.command import CommandList, CommandPalette, DiscoveryHit, Hit, Hits, Provider
from textual.content import Content

from sequencer.tui.forms import signs_of
from sequencer.tui.keys import KEYS
from sequencer.tui.text import cut, pad

if TYPE_CHECKING:
    from sequencer.tui.app import SequencerApp

PLACEHOLDER = "a page, a task or a verb"
WORDS_CELLS, ABOUT_CELLS = 20, 52


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


class Asked(Provider):
    """Feeds the palette. Names go in as plain content, so that brackets in them stay letters."""

    @property
    def _answers(self) -> list[Answer]:
        return answers(self.app)  # type: ignore[arg-type]

    async def discover(self) -> Hits:
        """Pages and verbs, before anything is typed."""
        more = signs_of(self.screen).more
        for answer in self._answers:
            if answer.at_once:
                yield DiscoveryHit(_line(answer, more), answer.run, answer.words)

    async def search(self, query: str) -> Hits:
        """Whatever matches in name or description."""
        matcher, more = self.matcher(query), signs_of(self.screen).more
        for answer in self._answers:
            score = max(matcher.match(answer.words), 0.6 * matcher.match(answer.about))
            if score > 0:
                yield Hit(score, _line(answer, more), answer.run, answer.words)


def _line(answer: Answer, more: str) -> Content:
    """An answer on one line: what it is called, and what it is about. more: stands for letters left out."""
    return Content.assemble((pad(answer.words, WORDS_CELLS), "bold"), " ", cut(answer.about, ABOUT_CELLS, more))


class Palette(CommandPalette):
    """The palette. Keys that walk its list do nothing while the list has no room, where there is no line to go to."""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Whether a key of the palette may act now."""
        if action == "command_list" and not self.query_one(CommandList).scrollable_content_region:
            return False
        return super().check_action(action, parameters)


def palette_screen() -> CommandPalette:
    """The palette, asking in our words."""
    return Palette([Asked], placeholder=PLACEHOLDER)

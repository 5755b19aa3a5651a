"""Editing in the app: the cards of what the job holds, copies, building blocks; another job in its place."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path

from textual import on

from sequencer.blocks import block_about, block_names
from sequencer.errors import SequencerError
from sequencer.job.layout import SINGLE, name_of
from sequencer.starting import block_change
from sequencer.tui.asking import Say
from sequencer.tui.card_screen import CardScreen
from sequencer.tui.creating import Creating
from sequencer.tui.editor import Editor
from sequencer.tui.fields import KINDS, word_of
from sequencer.tui.fieldwords import called
from sequencer.tui.forms import Option, Pick
from sequencer.tui.keeping import NO_FILE
from sequencer.tui.lookup import table_of, tables_of
from sequencer.tui.other_jobs import OtherJobs
from sequencer.tui.page import Page
from sequencer.tui.tasks import TasksPage
from sequencer.tui.watching import Watching

NO_TASK = "No task is marked. Mark one first: on Tasks, t, or on any other page."
NEW = ""
"""The key of the option that makes a new table."""


class Editing(Watching):
    """An app in which everything of the job can be edited."""

    pages: dict[str, Page]
    current: str
    _asking = False

    @property
    def editor(self) -> Editor:
        """What asks for values."""
        return Editor(self)

    @property
    def folder(self) -> Path:
        """Where the job lies, and where others are looked for first."""
        return self.job_path.parent if self.job_path is not None else Path.cwd()

    # -- one dialog after another -----------------------------------------------------------------------------

    def _ask(self, ask: Callable[[], Awaitable[None]], on_job: bool = True) -> None:
        """Ask a chain of dialogs, one chain at a time however fast the keys come. on_job: only with a job open.

        What the chain changes is told as one.
        """
        if self._asking:
            return
        if on_job and self.file is None:
            self.push_screen(Say(NO_FILE))
            return
        self._asking = True
        self.run_worker(self._asked(ask, on_job), group="asking")

    async def _asked(self, ask: Callable[[], Awaitable[None]], on_job: bool) -> None:
        try:
            self.tell_together(on_job)
            await ask()
        finally:
            self.tell_together(False)
            self._asking = False

    async def _kind(self, title: str, single: bool = True) -> str | None:
        options = [Option(kind, word, about) for kind, word, about in KINDS if single or kind not in SINGLE]
        return await self.push_screen_wait(Pick(title, options))

    def _here(self) -> str:
        """The task stood on, of a keying the one it clears the way for; empty for none.

        The Tasks page stands on the task due now before anything is marked.
        """
        page = self.pages.get(self.current)
        row = page.view.name if isinstance(page, TasksPage) else self.model.marked
        name = row.partition("/key/")[0]
        return name if name and table_of(self.job_text, "task", name) else ""

    def _marked_task(self) -> str:
        """The task stood on; empty, and told, for none."""
        name = self._here()
        if name:
            return name
        self.push_screen(Say(NO_TASK if self.file is not None else NO_FILE))
        return ""

    # -- cards ------------------------------------------------------------------------------------------------

    def edit_card(self, kind: str, name: str = "") -> None:
        """The card of a table."""
        self._ask(lambda: self._card(kind, name))

    async def _card(self, kind: str, name: str = "") -> None:
        if kind in SINGLE or table_of(self.job_text, kind, name):
            await self.push_screen_wait(CardScreen(self.editor, kind, name))

    def action_edit(self) -> None:
        """The card of the task marked."""
        name = self._marked_task()
        if name:
            self.edit_card("task", name)

    @on(Page.Edited)
    def _edited(self, message: Page.Edited) -> None:
        self.edit_card("task", message.row.partition("/key/")[0])

    def action_book(self) -> None:
        """Pick any table of the job, and open its card."""
        self._ask(self._book)

    async def _book(self) -> None:
        kind = await self._kind("what to edit?")
        if kind is None or kind in SINGLE:
            await (self._card(kind) if kind else _nothing())
            return
        options = [Option(name_of(kind, table), called(kind, table)) for table in tables_of(self.job_text, kind)]
        options.append(Option(NEW, "new", "one that is not there yet"))
        name = await self.push_screen_wait(Pick(f"which {word_of(kind)}?", options))
        if name == NEW:
            await self._new(kind)
        elif name is not None:
            await self._card(kind, name)

    # -- new tables -------------------------------------------------------------------------------------------

    def action_new(self) -> None:
        """A new table of any kind, a task first."""
        self._ask(self._new_of_a_kind)

    async def _new_of_a_kind(self) -> None:
        kind = await self._kind("new: what?", single=False)
        if kind:
            await self._new(kind)

    def action_new_task(self) -> None:
        """A new task."""
        self._ask(lambda: self._new("task"))

    async def _new(self, kind: str) -> None:
        """A new table, then its card."""
        assert self.file is not None
        name = await Creating(self, self._here(), self.file.job.job.finish).new(kind)
        if name:
            await self._card(kind, name)

    def action_copy(self) -> None:
        """A copy of the task marked, and its card."""
        name = self._marked_task()
        if name:
            self._ask(lambda: self._copy(name))

    async def _copy(self, name: str) -> None:
        new = await self.editor.copy("task", name)
        if new:
            await self._card("task", new)

    def action_add_block(self) -> None:
        """A building block of the trade added to the job."""
        self._ask(self._add_block)

    async def _add_block(self) -> None:
        assert self.file is not None
        options = [Option(name, name.replace("-", " "), block_about(name)) for name in block_names()]
        picked = await self.push_screen_wait(Pick("add which block?", options))
        if not picked:
            return
        try:
            change = block_change(self.file.job, picked)
        except SequencerError as error:
            self.push_screen(Say(error))
            return
        self.change(change)

    # -- whole jobs -------------------------------------------------------------------------------------------

    def action_open_job(self) -> None:
        """Another job in place of this one."""
        self._ask(lambda: self._open(OtherJobs(self).pick()), on_job=False)

    def action_new_job(self) -> None:
        """A new job file: from nothing, from a block of the trade, or a copy of another job; then it is opened."""
        self._ask(lambda: self._open(OtherJobs(self).new()), on_job=False)

    async def _open(self, asked: Awaitable[Path | None]) -> None:
        path = await asked
        if path is not None:
            self.open_job(path)
            await self.run_action("page('Stay')")


async def _nothing() -> None:
    """Nothing was picked."""

"""The app's job file: changes saved at once, undone and redone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from textual import on

from sequencer.errors import ChangedOutsideError, GoneError, SaveError, SequencerError
from sequencer.job import Job
from sequencer.job.jobfile import JobFile
from sequencer.job.writing import Change
from sequencer.planning.plan import Plan
from sequencer.tui.asking import Say
from sequencer.tui.model import Turn
from sequencer.tui.page import Page
from sequencer.tui.searching import Searching, whole

HISTORY = 200
"""Lines of the journal kept for the screen."""
NOT_YET = "{}; say first what to do about that, then do it again. What you typed still stands here."
OUTSIDE = {ChangedOutsideError: "another program has changed the job file", GoneError: "the job file is gone"}
NOT_CHANGED = "Not done; the job is as it was."
NO_FILE = "There is no job to change yet: it has faults, or none was named. Mend the file first, then look again."


class Keeping(Searching):
    """An app that keeps one job file open: every change goes through here, is saved, planned and shown."""

    def __init__(
        self, job_path: Path | None, now: dt.datetime | None, clock: Callable[[], dt.datetime], seconds: float
    ) -> None:
        super().__init__(job_path, now, clock, seconds)
        self.file: JobFile | None = None
        self._shows_moved = False
        self._together: list[str] | None = None
        self._began: Plan | None = None

    @property
    def job_text(self) -> str:
        """What the job file holds; empty before it is read."""
        return self.file.text if self.file is not None else ""

    # -- opening ----------------------------------------------------------------------------------------------

    def take_file(self, file: JobFile, wanted: bool) -> None:
        """Keep the file that a search opened, and say so where it can't be changed."""
        if not wanted or self.leaving:
            file.close()
            return
        self._drop_file()
        self.file = file
        self._show_job(self._turn(""))
        self.show_model(self.model)
        if file.trouble is not None:
            self.push_screen(Say(file.trouble, "You can look, but nothing can be changed until then."))

    def _drop_file(self) -> None:
        if self.file is not None:
            self.file.close()
            self.file = None

    def open_job(self, path: Path) -> None:
        """Another job file in place of this one."""
        self._drop_file()
        self.job_path = whole(path)
        self._shows_moved = False
        self.show_model(replace(self.model, job=None, plan=None, trouble=None, marked="", turn=Turn(), outside=""))
        self.look_for(self.seconds)

    def on_unmount(self) -> None:
        """Let another window have the job."""
        super().on_unmount()
        self._drop_file()

    # -- changing ---------------------------------------------------------------------------------------------

    @on(Page.Changed)
    def _changed(self, message: Page.Changed) -> None:
        self.change(message.change, message.marked)

    def change(self, change: Change, marked: str = "") -> None:
        """Make a change, save it, plan anew and show what moved; a refusal is told in plain sentences."""
        self._act(lambda file: file.apply(change), lambda file: file.next_undo, marked)

    def change_or_why(self, change: Change, marked: str = "") -> str:
        """Make a change as :meth:`change` does; why it was refused comes back, for the form it was typed in.

        Where the file is not what it was, what to do about that is asked in front of the form.
        """
        if self.file is None:
            return NO_FILE
        refused = self._done(lambda file: file.apply(change), lambda file: file.next_undo, marked)
        if isinstance(refused, ChangedOutsideError | GoneError):
            self.tell_outside(refused)
            return NOT_YET.format(OUTSIDE[type(refused)])
        return " ".join(fault.sentence() for fault in refused.faults) if refused is not None else ""

    def action_undo(self) -> None:
        """Take the last change back."""
        words = self.file.next_undo if self.file is not None else ""
        self._act(lambda file: file.undo(), lambda _: f"undone: {words}")

    def action_redo(self) -> None:
        """Do again what was undone last."""
        self._act(lambda file: file.redo(), lambda file: f"done again: {file.next_undo}")

    def _act(self, act: Callable[[JobFile], Job], said: Callable[[JobFile], str], marked: str = "") -> None:
        if self.file is None:
            self.push_screen(Say(NO_FILE))
            return
        refused = self._done(act, said, marked)
        if isinstance(refused, ChangedOutsideError | GoneError):
            self.tell_outside(refused)
        elif refused is not None:
            self.push_screen(Say(refused, title=NOT_CHANGED))

    def _done(
        self, act: Callable[[JobFile], Job], said: Callable[[JobFile], str], marked: str
    ) -> SequencerError | None:
        """Change the file and go on from there; None, or why it was refused."""
        file = self.file
        assert file is not None
        before = file.text
        try:
            act(file)
        except SequencerError as error:
            return error
        if file.text == before:
            self.notify("Nothing is different by that.", markup=False)
            return None
        self.model = replace(self.model, marked=marked or self.model.marked)
        self.go_on(said(file))
        return None

    def go_on(self, words: str, quietly: bool = False) -> None:
        """Plan the job from the plan that stands; what moved is shown as soon as there is a plan, unless `quietly`."""
        assert self.file is not None
        like = self.model.plan
        self._show_job(self._turn(words))
        self._shows_moved = not quietly
        self.look_for(self.seconds, self.file.job, like)

    def _turn(self, words: str) -> Turn:
        assert self.file is not None
        before = self.model.plan if words else None
        if self._together is not None:
            self._began = self._began or before
            self._together.append(words)
            words, before = "; ".join(self._together), self._began
        done = tuple(self.file.history()[-HISTORY:])
        return Turn(words, before, self.file.next_undo, self.file.next_redo, done)

    def _show_job(self, turn: Turn) -> None:
        assert self.file is not None
        job = self.file.job
        # Not drawn yet where a plan follows at once: until then the old plan is what there is to show.
        self.model = replace(self.model, job=job, now=self.now_of(job), turn=turn)

    def tell_together(self, on: bool) -> None:
        """While a card is open, what its changes do is told as one."""
        self._together, self._began = [] if on else None, None

    def planned(self) -> None:
        """The first answer after a change brings up what moved."""
        if self._shows_moved:
            self._shows_moved = False
            self.show_moved()

    def show_moved(self) -> None:
        """Bring up the page that tells what moved."""
        raise NotImplementedError

    def tell_outside(self, error: SaveError) -> None:
        """Something outside has the file as it is not shown here: ask what is to stay."""
        raise NotImplementedError

"""A job file open for changes: read, changed, saved at once, undone and redone, also after a restart.

Order of writes, so that whoever is killed at any moment loses nothing: the change goes to the journal and to the disk;
then the file is replaced in one step; then the journal notes that. When next opened, a change that stands in the
journal without that note, over a file that is still as before it, is written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Self

from sequencer.errors import ChangedOutsideError, Fault, GoneError, SaveError, UsageError
from sequencer.job.journal import Journal, journal_path
from sequencer.job.models import Job
from sequencer.job.reading import parse_job
from sequencer.job.record import CHANGE, FIRST, OUTSIDE, REDO, UNDO, Entry, Noted, Record, entry_between, read_record
from sequencer.job.saving import digest, drop_leftover, read_exactly, replace_text
from sequencer.job.source import read_text
from sequencer.job.writing import Change, apply_change

BY_OTHERS = "changed by another program"


def clock_now() -> dt.datetime:
    """The computer's clock, with offset."""
    return dt.datetime.now(dt.UTC)


class JobFile:
    """A job file open for changes; close it after use, or use it in a ``with``.

    path: as given. text: what the file holds, to the byte. job: what that says. trouble: why changes can't be saved
    now (another window has it, a read-only folder, a full disk), None where they can; each change tries again.
    """

    def __init__(self, path: Path, text: str, job: Job, clock: Callable[[], dt.datetime] = clock_now) -> None:
        self.path = path
        self.text = text
        self.job = job
        self.trouble: SaveError | None = None
        self._clock = clock
        self._journal: Journal | None = None

    @classmethod
    def open(cls, path: str | Path, clock: Callable[[], dt.datetime] = clock_now) -> Self:
        """Open a job file. Raises JobError where it can't be read or has faults.

        What a sudden end left undone is done first. Where another window has the job, or nothing can be saved, it is
        open for looking: see `trouble`.
        """
        path = Path(path)
        read_text(path)
        text = read_exactly(path)
        opened = cls(path, text, parse_job(text, path), clock)
        try:
            opened._get_ready()
            # Read once more: only now does nobody else of us write.
            text = read_exactly(path)
            opened._show(text, opened.job if text == opened.text else parse_job(text, path))
            opened._journal_outside(BY_OTHERS)
        except SaveError as error:
            opened.trouble = error
        except BaseException:
            opened.close()
            raise
        return opened

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let another window have the job."""
        if self._journal is not None:
            self._journal.close()
            self._journal = None

    # -- changing -------------------------------------------------------------------------------------------

    def try_again(self) -> None:
        """See whether changes can be saved by now; `trouble` says."""
        try:
            self._get_ready()
        except SaveError as error:
            self.trouble = error

    def apply(self, change: Change) -> Job:
        """Make a change and save it; a change that changes nothing is not noted.

        Raises JobError where the change would make the file faulty (a loop is spelled out), ChangedOutsideError where
        another program has changed the file, another SaveError where it can't be saved; then nothing has happened.
        """
        self._get_ready()
        written = apply_change(self.text, change, self.path)
        if written.text != self.text:
            self._commit(CHANGE, written.words, written.text, written.job)
        return self.job

    def undo(self) -> Job:
        """Take the last change back, to the byte. Raises as :meth:`apply`, and UsageError where there is none."""
        entry = _last(self._in_step().record.done, "undo")
        text = entry.back(self.text)
        self._commit(UNDO, f"undone: {entry.words}", text, parse_job(text, self.path))
        return self.job

    def redo(self) -> Job:
        """Do again what was undone last; any new change ends that."""
        entry = _last(self._in_step().record.undone, "redo")
        text = entry.forward(self.text)
        self._commit(REDO, f"done again: {entry.words}", text, parse_job(text, self.path))
        return self.job

    @property
    def next_undo(self) -> str:
        """What :meth:`undo` would take back, empty where there is nothing."""
        done = self._record.done
        return done[-1].words if done else ""

    @property
    def next_redo(self) -> str:
        """What :meth:`redo` would do again, empty where there is nothing."""
        undone = self._record.undone
        return undone[-1].words if undone else ""

    @property
    def last_noted(self) -> str:
        """What was done last, taken back or done again included; empty where nothing was."""
        entries = self._record.entries
        return entries[-1].words if entries else ""

    def history(self) -> list[Noted]:
        """What was done when, from the first change on, undone ones among it."""
        return self._record.noted(self.job.job.timezone)

    # -- other programs -------------------------------------------------------------------------------------

    def check_outside_change(self) -> str | None:
        """The file's text where another program has changed it since, else None.

        Raises SaveError where it is gone, or no text any more.
        """
        there = read_exactly(self.path)
        return there if there != self.text else None

    def take_theirs(self) -> Job:
        """Go on from what another program made of the file; that can be undone. Raises JobError where it has faults."""
        mine, there = self.text, read_exactly(self.path)
        self._show(there, parse_job(there, self.path))
        try:
            self._note_theirs(mine)
        except SaveError as error:
            self.trouble = error
        return self.job

    def keep_mine(self) -> Job:
        """Put what is shown here back in place of what another program made of the file; an undo brings that back."""
        mine, job = self.text, self.job
        try:
            theirs = read_exactly(self.path)
        except GoneError:
            self._get_ready()
            replace_text(self.path, mine, lambda: None, create=True)
            return job
        if theirs != mine:
            self.text = theirs
            try:
                self._note_theirs(mine)
                self._commit(CHANGE, "put back what was here before", mine, job)
            except SaveError:
                self.text = mine
                raise
        return self.job

    # -- saving ---------------------------------------------------------------------------------------------

    @property
    def _record(self) -> Record:
        if self._journal is not None:
            return self._journal.record
        return read_record(journal_path(self.path))

    def _show(self, text: str, job: Job) -> None:
        self.text, self.job = text, job

    def _get_ready(self) -> Journal:
        """The journal, locked and in step with the file; see the order of writes above."""
        if self._journal is not None and not self._journal.alive:
            self.close()
        if self._journal is None:
            journal = Journal.acquire(journal_path(self.path), self.path)
            try:
                self._recover(journal)
            except BaseException:
                journal.close()
                raise
            self._journal = journal
        self.trouble = None
        return self._journal

    def _recover(self, journal: Journal) -> None:
        """Do what a sudden end left undone."""
        drop_leftover(self.path)
        pending, text = journal.record.pending, journal.record.text
        if pending is None or text is None:
            return
        there = read_exactly(self.path)
        if digest(there) == pending.before:
            replace_text(self.path, text, self._guard(there))
            journal.mark_done()
            if self.text == there:
                self._show(text, parse_job(text, self.path))
        elif there == text:
            journal.mark_done()

    def _guard(self, expected: str) -> Callable[[], None]:
        """Raises ChangedOutsideError where the file is not what was expected."""

        def look() -> None:
            there = read_exactly(self.path)
            if there != expected:
                hint = "look at what it says, then take that or keep what is here"
                fault = Fault("", "another program has changed the file", hint)
                raise ChangedOutsideError([fault], str(self.path), there)

        return look

    def _commit(self, what: str, words: str, text: str, job: Job) -> None:
        """Journal, file, note: in this order."""
        journal = self._in_step()
        size = journal.size
        journal.append([*self._beginning(journal, self.text), self._entry(journal, what, words, self.text, text)])
        try:
            replace_text(self.path, text, self._guard(self.text))
        except BaseException:
            # An interrupt may come when the file has been replaced already.
            if self._holds(text):
                self._show(text, job)
            else:
                journal.withdraw(size)
            raise
        self._show(text, job)
        journal.mark_done()

    def _holds(self, text: str) -> bool:
        try:
            return read_exactly(self.path) == text
        except SaveError:
            return False

    def _in_step(self) -> Journal:
        """The journal, ready, and ending with the text shown here, which is the file's.

        Where it ends with another, a change from that to this is noted. Raises ChangedOutsideError.
        """
        journal = self._get_ready()
        self._guard(self.text)()
        self._journal_outside(BY_OTHERS)
        return journal

    def _note_theirs(self, mine: str) -> None:
        """Note what another program made of `mine`: an undo brings that back, also where nothing was changed before."""
        journal = self._get_ready()
        if self.text != mine:
            journal.append(self._beginning(journal, mine))
        self._journal_outside(BY_OTHERS)

    def _journal_outside(self, words: str) -> None:
        """Note a change that another program made, if the journal has any text to go on from."""
        journal = self._get_ready()
        before = journal.record.text
        if before is not None and before != self.text:
            journal.append([self._entry(journal, OUTSIDE, words, before, self.text)])
            journal.mark_done()

    def _beginning(self, journal: Journal, text: str) -> list[Entry]:
        """The first entry of a new journal: the text as it was before any change."""
        if journal.record.text is not None:
            return []
        return [Entry(1, FIRST, self._clock(), "the file as it was", "", digest(text), 0, "", text)]

    def _entry(self, journal: Journal, what: str, words: str, before: str, after: str) -> Entry:
        number = max(2, journal.record.next_number)
        return entry_between(number, what, self._clock(), words, before, after)


def _last(entries: list[Entry], verb: str) -> Entry:
    if not entries:
        raise UsageError([Fault("", f"there is nothing to {verb}")])
    return entries[-1]

"""What becomes of the app's files while they are open: told once, shown while it lasts, gone on from when it is over.

Each tick looks at the job file and the weather files it names. What another program made of them is never overwritten
and never taken over without a word.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from sequencer.errors import ChangedOutsideError, GoneError, InUseError, JobError, SaveError, SequencerError
from sequencer.job import Job
from sequencer.job.jobfile import JobFile
from sequencer.job.reading import parse_job
from sequencer.planning.plan import Plan
from sequencer.tui.asking import Choose, Say
from sequencer.tui.clocktext import now_slot
from sequencer.tui.keeping import Keeping
from sequencer.tui.text import shown

THEIRS, MINE, BACK = "theirs", "mine", "put back"
CHANGED = "changed by another program"
TAKEN_OVER = "What you see here is the job as it was. As soon as the file is back, the app goes on with it."

QUARTER = dt.timedelta(minutes=15)

Stamp = tuple[int, int, int] | None


@dataclass(frozen=True)
class Astray:
    """What is the matter with the job file. about: tells one case from another; words: for the strip."""

    about: str
    words: str
    error: SaveError | None = None


class Watching(Keeping):
    """An app that watches its files."""

    def __init__(
        self, job_path: Path | None, now: dt.datetime | None, clock: Callable[[], dt.datetime], seconds: float
    ) -> None:
        super().__init__(job_path, now, clock, seconds)
        self._known = ""
        self._read_at: Stamp = None
        self._named: tuple[tuple[Path, Stamp], ...] = ()

    def look_for(self, seconds: float, job: Job | None = None, like: Plan | None = None) -> None:
        """Start a search, and remember how the files were then."""
        if job is None and self.job_path is not None:
            self._read_at = stamp(self.job_path)
        if job is not None:
            self._named = _named(job)
        super().look_for(seconds, job, like)

    def take_file(self, file: JobFile, wanted: bool) -> None:
        """Keep the file that a search opened, and remember the weather it names."""
        super().take_file(file, wanted)
        if self.file is file:
            self._known, self._named = "", _named(file.job)

    def watch_file(self) -> None:
        """Notice what became of the files. Dialogs wait until no other is open."""
        if self.file is None:
            self._look_when_mended()
            return
        looking_on = isinstance(self.file.trouble, InUseError)
        astray = self._astray()
        self._show_outside(astray)
        if self.screen.is_modal:
            return
        if astray is None:
            self._go_on_again()
        elif astray.about != self._known and not (looking_on and astray.error is None and self._followed()):
            self._known = astray.about
            self._tell(astray)

    # -- the job file -----------------------------------------------------------------------------------------

    def _astray(self) -> Astray | None:
        """What is the matter with the job file; None where it is as it is shown here."""
        assert self.file is not None
        if self.file.trouble is not None:
            self.file.try_again()
        try:
            theirs = self.file.check_outside_change()
        except SaveError as error:
            what = error.faults[0].what.removeprefix("can't be read, ")
            return Astray(error.text(), f"job file: {what}", error)
        return None if theirs is None else Astray(f"{CHANGED}: {theirs}", CHANGED)

    def _show_outside(self, astray: Astray | None) -> None:
        trouble = self.file.trouble if self.file is not None else None
        words = astray.words if astray is not None else trouble.faults[0].what if trouble is not None else ""
        if words != self.model.outside:
            self.show_model(replace(self.model, outside=words))

    def tell_outside(self, error: SaveError) -> None:
        """A change was refused over what has become of the file: ask what is to stay."""
        astray = self._astray()
        self._show_outside(astray)
        self._known = astray.about if astray is not None else ""
        if isinstance(error, ChangedOutsideError):
            self.ask_whose()
        else:
            self.tell_gone(error)

    def _tell(self, astray: Astray) -> None:
        if astray.error is None:
            self.ask_whose()
        else:
            self.tell_gone(astray.error)

    def tell_gone(self, error: SaveError) -> None:
        """The file is not what it was: where it is gone it can be put back, else it is said."""
        assert self.file is not None
        if not isinstance(error, GoneError):
            self.push_screen(Say(error, TAKEN_OVER, title="The job file"))
            return
        choices = (
            (BACK, "write it once more, as it is shown here"),
            ("leave it", "as soon as it is back, the app goes on with it"),
        )
        words = f"{shown(self.file.path.name)} is gone: moved, renamed or deleted. What is shown here is how it was."
        self.push_screen(Choose(words, choices), self._whose)

    def ask_whose(self) -> None:
        """Another program has changed the file: whose is to stay?"""
        assert self.file is not None
        choices = (
            (THEIRS, "take what it says now, and go on from there (undo brings back what was here)"),
            (MINE, "keep what is here (what the other program wrote stays in the journal: undo brings it back)"),
        )
        words = f"Another program has changed {shown(self.file.path.name)}. Nothing is overwritten until you say so."
        self.push_screen(Choose(words, choices), self._whose)

    def _whose(self, chosen: str | None) -> None:
        if self.file is None or chosen not in (THEIRS, MINE, BACK):
            return
        try:
            if chosen == THEIRS:
                self._take_theirs()
                return
            self.file.keep_mine()
        except SequencerError as error:
            self.push_screen(Say(error))
        else:
            self._known = ""
            self._show_outside(None)
            if chosen == MINE:
                self.go_on("kept what was here")
            else:
                self.notify(f"{shown(self.file.path.name)} is written again.", markup=False)

    def _take_theirs(self) -> None:
        assert self.file is not None
        self.file.take_theirs()
        self._known = ""
        self.model = replace(self.model, outside="")
        self.go_on(CHANGED)

    def _followed(self) -> bool:
        """A window that only looks on follows the one that writes: there is nothing of its own to lose."""
        file = self.file
        assert file is not None
        try:
            file.take_theirs()
        except SequencerError:
            return False
        done = file.last_noted or "changed the job"
        self.notify(f"The other window: {shown(done)}.", markup=False)
        self._show_outside(None)
        self.go_on(f"in the other window: {done}", quietly=True)
        return True

    def _go_on_again(self) -> None:
        """The job file is as it is shown here: go on where something was the matter, or where the weather is new."""
        assert self.file is not None
        if self._known:
            self._known = ""
            self.notify(f"{shown(self.file.path.name)} is back as it is shown here.", markup=False)
            if isinstance(self.model.trouble, JobError):
                self.look_for(self.seconds, self.file.job, self.model.plan)
        changed = [(path, now) for path, before in self._named if (now := stamp(path)) != before]
        if changed:
            said = "; ".join(
                f"{shown(path.name)} {'is gone' if now is None else 'has changed'}" for path, now in changed
            )
            self.notify(f"{said}: looking anew. m tells what moved.", markup=False)
            self.go_on(said, quietly=True)

    def look_again(self, seconds: float) -> None:
        """Plan anew from what the file says now, whoever wrote it."""
        if self.file is None:
            self.look_for(seconds)
            return
        try:
            if self.file.check_outside_change() is not None:
                self._take_theirs()
                return
            # Read again whole: the weather file it names may be another.
            self.look_for(seconds, parse_job(self.file.text, self.file.path))
        except SaveError as error:
            self.tell_gone(error)
        except SequencerError as error:
            self.show_model(replace(self.model, trouble=error, looking=False))

    # -- the clock --------------------------------------------------------------------------------------------

    def watch_clock(self) -> None:
        """Plan anew what was planned for a quarter hour now past and was not jotted, and where the clock jumped."""
        job, now = self.model.job, self.model.now
        if job is None or now is None or self.given_now is not None or job.job.now is not None:
            return
        if not self.model.looking and self._time_has_gone(now):
            self.look_for(self.seconds, job, self.model.plan)

    def _time_has_gone(self, now: dt.datetime) -> bool:
        plan = self.model.plan
        if plan is None or self.model.trouble is not None:
            # What is logged may have been in the future by a clock that was wrong: ask again by and by.
            return abs(now - self.looked_at) >= QUARTER
        return now_slot(plan, now) > plan.now or max(plan.hauled, plan.grid.slot(now)) < plan.now

    def _look_when_mended(self) -> None:
        """A job that could not be opened is opened once its file is another."""
        if self.job_path is None or self.model.looking or self.model.trouble is None or self.screen.is_modal:
            return
        if stamp(self.job_path) != self._read_at:
            self.look_for(self.seconds)


def stamp(path: Path) -> Stamp:
    """What tells a file from the one that was there before: when written, how long, which; None where there is none."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def _named(job: Job) -> tuple[tuple[Path, Stamp], ...]:
    """The weather files a job names, as they are now."""
    names = [name for name in (job.weather.file, job.weather.past) if name]
    return tuple((job.folder / name, stamp(job.folder / name)) for name in names)

"""The app's searches: started, told to stop, and heard, so that a key always answers while one runs."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

from textual import on
from textual.worker import Worker, WorkerState

from sequencer.job import Job
from sequencer.job.jobfile import JobFile
from sequencer.planning.plan import Plan
from sequencer.tui.explain import Trouble
from sequencer.tui.inorder import InOrder
from sequencer.tui.looking import Better, Done, Failed, JobOpened, Search, look
from sequencer.tui.model import Model

NOT_LOST = "The job file is as it was, and the last plan still stands. Escape goes back; space, again looks anew."


def whole(path: Path) -> Path:
    """A path from the root on, where that can be told."""
    try:
        return path.absolute()
    except OSError:
        return path


class Searching(InOrder[None]):
    """An app that keeps one model and has it searched for, one search at a time, in a thread."""

    model: Model

    def __init__(
        self, job_path: Path | None, now: dt.datetime | None, clock: Callable[[], dt.datetime], seconds: float
    ) -> None:
        super().__init__()
        # Where the folder one stands in is taken away, names that begin there lead nowhere.
        self.job_path = whole(job_path) if job_path is not None else None
        self.given_now = now
        self.clock = clock
        self.looked_at = clock()
        self.seconds = seconds
        self._run = 0
        self._leaving = threading.Event()

    def show_model(self, model: Model) -> None:
        """Take a new model and draw it."""
        raise NotImplementedError

    def now_of(self, job: Job | None) -> dt.datetime | None:
        """Where one stands in time: as given, as the job says, or as the clock does; None before the job is read."""
        if job is None:
            return None
        moment = self.given_now or job.job.now or self.clock()
        if not isinstance(moment, dt.datetime):
            moment = dt.datetime.combine(moment, dt.time())
        zone = job.job.timezone
        return moment.replace(tzinfo=zone) if moment.tzinfo is None else moment.astimezone(zone)

    def look_for(self, seconds: float, job: Job | None = None, like: Plan | None = None) -> None:
        """Start a search; one still running is told to stop. job: None: open the file. like: a plan to go by."""
        if self.job_path is None:
            return
        self._run += 1
        run = self._run
        search = Search(run, self.job_path, self.given_now, self.clock(), seconds, job, like, self.clock)
        self.looked_at = search.clock
        stop = partial(self._stopped, run)
        self.show_model(replace(self.model, looking=True))
        self.run_worker(
            partial(look, search, self.post_message, stop),
            name=f"search {run}",
            description="a search",  # Else it would be the repr of the whole plan.
            group="search",
            exit_on_error=False,
            thread=True,
        )

    def _stopped(self, run: int) -> bool:
        return self._leaving.is_set() or run != self._run

    @on(JobOpened)
    def _job_opened(self, found: JobOpened) -> None:
        self.take_file(found.file, found.run == self._run)

    def take_file(self, file: JobFile, wanted: bool) -> None:
        """A job file was opened; wanted: false where another search has begun since."""
        raise NotImplementedError

    def planned(self) -> None:
        """The search found a plan, or that there is none; the model has it, and it is about to be drawn."""

    @on(Better)
    @on(Done)
    def _planned(self, found: Better | Done) -> None:
        """A plan; while the search is on, only one that is better than the one shown."""
        if found.run != self._run:
            return
        shown, done = self.model.plan, isinstance(found, Done)
        same = shown is not None and self.model.trouble is None and shown.job == found.plan.job
        if not done and same and shown is not None and shown.launch <= found.plan.launch:
            return
        self._draw_planned(replace(self.model, plan=found.plan, trouble=None, looking=not done))

    @on(Failed)
    def _failed(self, found: Failed) -> None:
        if found.run == self._run:
            self._draw_planned(replace(self.model, trouble=found.error, looking=False))

    def _draw_planned(self, model: Model) -> None:
        # First the page that is to show it, so that the one it covers is not drawn for nothing.
        self.model = model
        self.planned()
        self.show_model(self.model)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """A fault of the tool itself is told in a dialog; the pages stay as they were."""
        if event.state is WorkerState.ERROR and event.worker.name == f"search {self._run}":
            self.show_model(replace(self.model, looking=False))
            self.say_broken(event.worker.error)

    def say_broken(self, error: BaseException | None) -> None:
        """A fault of the tool itself, in a dialog."""
        said = f"{type(error).__name__}: {error}"
        self.push_screen(Trouble(f"Something went wrong inside the planner.\n\n{said}\n\n{NOT_LOST}"))

    @property
    def leaving(self) -> bool:
        """Whether the app is on its way out."""
        return self._leaving.is_set()

    def stop_looking(self) -> None:
        """Tell every search to stop, so that none holds up the way out."""
        self._leaving.set()

    def on_unmount(self) -> None:
        """However it ends, stop."""
        super().on_unmount()
        self.stop_looking()

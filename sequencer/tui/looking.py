"""The search, off the screen: opens the job, plans, and posts what it finds. In a thread; it only posts."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from textual.message import Message

from sequencer.errors import SequencerError
from sequencer.job import Job
from sequencer.job.jobfile import JobFile, clock_now
from sequencer.planning.plan import Plan

DRAWING = 0.06
"""Seconds the search stands still once it has the first plan after a change: the screen then draws it undisturbed."""

Post = Callable[[Message], object]


class Found(Message):
    """Something a search has to say. run: which search, since an old one may still speak after a new one began."""

    def __init__(self, run: int) -> None:
        super().__init__()
        self.run = run


class JobOpened(Found):
    """The job file was read, and is open for changes."""

    def __init__(self, run: int, file: JobFile) -> None:
        super().__init__(run)
        self.file = file


class Better(Found):
    """A plan, the first or a better one."""

    def __init__(self, run: int, plan: Plan) -> None:
        super().__init__(run)
        self.plan = plan

    def can_replace(self, message: Message) -> bool:
        """A better plan makes those still waiting to be drawn needless."""
        return isinstance(message, Better) and message.run == self.run


class Done(Found):
    """The search is over, with its best plan."""

    def __init__(self, run: int, plan: Plan) -> None:
        super().__init__(run)
        self.plan = plan


class Failed(Found):
    """The job can't be read or planned."""

    def __init__(self, run: int, error: SequencerError) -> None:
        super().__init__(run)
        self.error = error


@dataclass(frozen=True)
class Search:
    """What to look for: the job, from when on, for how long. job: None: open the file first. like: a plan to go by.

    ticking: the clock by which the journal notes what is done.
    """

    run: int
    path: Path
    now: dt.datetime | None
    clock: dt.datetime
    seconds: float
    job: Job | None = None
    like: Plan | None = None
    ticking: Callable[[], dt.datetime] = clock_now


def look(search: Search, post: Post, stop: Callable[[], bool]) -> None:
    """Open, plan, post. stop is polled; once it says so nothing more is posted."""
    # Imported here so that the screen is up before numpy is.
    from sequencer.planning.planner import plan_job

    drawn = search.like is None

    def tell(message: Found) -> None:
        nonlocal drawn
        if not stop():
            post(message)
            if not drawn:
                drawn = True
                time.sleep(DRAWING)

    try:
        job = search.job
        if job is None:
            file = JobFile.open(search.path, search.ticking)
            job = file.job
            # Whoever began another search in the meantime opens the file anew.
            if stop() or not post(JobOpened(search.run, file)):
                file.close()
                return
        plan = plan_job(
            job,
            search.now,
            search.seconds,
            stop=stop,
            progress=lambda better: tell(Better(search.run, better)),
            clock=search.clock,
            like=search.like,
        )
        tell(Done(search.run, plan))
    except SequencerError as error:
        tell(Failed(search.run, error))

"""Other processes that make batches of futures. Where none can be had, the one that asks makes them all."""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from types import TracebackType
from typing import Self

from sequencer.odds.batches import Batch, Batches
from sequencer.odds.ground import Given
from sequencer.weather.climate import Climate

IN_HAND = 2
"""Batches each helper is given at once, so that it never waits for the next."""

WAIT_SECONDS = 0.1
"""Longest wait for a helper before the asking process looks round again."""

SAFE_PATH = "PYTHONSAFEPATH"
"""Environment: a Python process that finds it set does not look for modules in the folder it stands in (since 3.11)."""

_starting = threading.Lock()
"""Odds may be asked for in several threads, and the environment is one."""

_batches: Batches | None = None


def _begin(given: Given, seed: int, runs: int, climate: Climate | None) -> None:
    """Get a helper ready. It leaves the keyboard's interrupt to the process that asked."""
    global _batches
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _batches = Batches(given, seed, runs, climate=climate)
    # Futures leave no cycles behind: looking for some would take a tenth of the time.
    gc.freeze()
    gc.disable()


def _make(number: int) -> Batch:
    assert _batches is not None
    return _batches.make(number)


@contextlib.contextmanager
def _own_modules_alone() -> Iterator[None]:
    """Processes started meanwhile import nothing from the folder one stands in, which may be a stranger's."""
    with _starting:
        before = os.environ.get(SAFE_PATH)
        os.environ[SAFE_PATH] = "1"
        try:
            yield
        finally:
            if before is None:
                os.environ.pop(SAFE_PATH, None)
            else:
                os.environ[SAFE_PATH] = before


@contextlib.contextmanager
def deaf_to_ctrl_c() -> Iterator[None]:
    """Helpers started within are deaf to the keyboard's interrupt from the first; ours waits until after."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class Workers:
    """Helpers for one run. cores: processes altogether, the asking one among them; None: all the machine has.

    They are handed all they need to know of the job and its weather, and read no file of it.
    """

    def __init__(self, given: Given, seed: int, runs: int, climate: Climate | None, cores: int | None) -> None:
        self.args = (given, seed, runs, climate)
        self.helpers = max(0, (cores if cores is not None else os.cpu_count() or 1) - 1)
        self.pool: ProcessPoolExecutor | None = None
        self.given: dict[Future[Batch], int] = {}
        self.back: list[int] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.pool is not None:
            self.pool.shutdown(wait=False, cancel_futures=True)

    @property
    def busy(self) -> bool:
        """Whether batches are out, or came back undone."""
        return bool(self.given) or bool(self.back)

    @property
    def want_more(self) -> bool:
        """Whether a helper could take another batch."""
        return self.pool is not None and len(self.given) < self.helpers * IN_HAND

    def start(self) -> None:
        """Start the helpers, once. A fresh process each: a copy of one with threads (an app's) may hang."""
        if self.pool is None and self.helpers:
            context = multiprocessing.get_context("spawn")
            with contextlib.suppress(OSError, ValueError, ImportError), _own_modules_alone():
                self.pool = ProcessPoolExecutor(self.helpers, context, _begin, self.args)

    def give(self, number: int) -> None:
        """Hand a batch to a helper."""
        assert self.pool is not None
        try:
            with _own_modules_alone(), deaf_to_ctrl_c():
                self.given[self.pool.submit(_make, number)] = number
        except (RuntimeError, OSError):
            self._give_up()
            self.back.append(number)

    def dismiss(self) -> None:
        """Ask no helper for more, and take back what they have in hand."""
        self._give_up()
        self.back += self.given.values()
        self.given.clear()

    def ready(self) -> Iterator[tuple[int, Batch]]:
        """The batches that are done."""
        for future in [f for f in self.given if f.done()]:
            number = self.given.pop(future, -1)
            if number < 0:
                continue
            try:
                yield number, future.result()
            except Exception:
                # Whatever ended a helper, its batch can still be made here, and then says what is wrong.
                self.back.append(number)
                self._give_up()

    def wait(self) -> list[int]:
        """Wait a moment for a helper; returns batches that came back undone."""
        if self.given:
            wait(self.given, WAIT_SECONDS, FIRST_COMPLETED)
        back, self.back = self.back, []
        return back

    def _give_up(self) -> None:
        """Ask no helper for more."""
        self.helpers = 0

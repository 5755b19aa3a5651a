"""While a command works: one line of progress on a terminal, and ctrl-C that ends the work with what there is."""

from __future__ import annotations

import contextlib
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from types import FrameType
from typing import Self

from sequencer.errors import one_line

LINE = 79
"""Columns of the line of progress."""


class Progress:
    """A line on standard error that is written over as work goes on; nothing where that is no terminal."""

    def __init__(self) -> None:
        self._on = sys.stderr.isatty()
        self._long = 0

    def tell(self, words: str) -> None:
        """Write `words` over what was told before. Whatever else is said next is written over them."""
        said = one_line(words, LINE)
        self._write(said.ljust(self._long))
        self._long = len(said)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_error: object) -> None:
        """Leave the line empty for what comes next."""
        self._write(" " * self._long)

    def _write(self, words: str) -> None:
        if not self._on:
            return
        try:
            print(words, end="\r", file=sys.stderr, flush=True)
        except OSError:
            # Nobody can read it any more.
            self._on = False


@contextlib.contextmanager
def interruptible() -> Iterator[Callable[[], bool]]:
    """A stop that the first ctrl-C sets, to be polled by work that has an answer at any time; the second ends all."""
    stopped = threading.Event()

    def interrupted(number: int, frame: FrameType | None) -> None:
        if stopped.is_set():
            signal.default_int_handler(number, frame)
        stopped.set()

    if threading.current_thread() is not threading.main_thread():
        yield stopped.is_set
        return
    before = signal.signal(signal.SIGINT, interrupted)
    try:
        yield stopped.is_set
    finally:
        signal.signal(signal.SIGINT, before)

"""A child process that changes a job file and is killed (SIGKILL) at a chosen moment of its saving."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sequencer.job.jobfile import JobFile
from sequencer.job.writing import SetField

CALLS = ("open", "write", "fsync", "replace", "unlink", "ftruncate", "fchmod", "close")
"""What the system is asked for while saving: each a moment at which a process may end."""


@dataclass
class Fuse:
    """Ends the process at call number `left`: before it, or halfway through where it writes and `half` is set."""

    left: int
    half: bool = False

    def over(self, call: Callable[..., Any]) -> Callable[..., Any]:
        """`call` with the fuse on it."""

        def burning(*args: Any, **named: Any) -> Any:
            self.left -= 1
            if self.left == 0:
                if self.half and call is WRITE:
                    WRITE(args[0], bytes(args[1])[: len(args[1]) // 2])
                os.kill(os.getpid(), signal.SIGKILL)
            return call(*args, **named)

        return burning

    def lay(self) -> None:
        """Put the fuse on every call that saves."""
        for name in CALLS:
            setattr(os, name, self.over(getattr(os, name)))


WRITE = os.write


def changes_in_child(path: Path, fuse: Fuse | None, edits: int = 3) -> tuple[int, int]:
    """Fork a child that edits the note of a task `edits` times, then undoes one.

    Returns its process id and the reading end of a pipe to which it writes a letter for each change accepted. The
    caller may kill it, and waits for it.
    """
    return _in_child(lambda writing: _edit(path, fuse, edits, writing))


def opens_in_child(path: Path, fuse: Fuse) -> tuple[int, int]:
    """Fork a child that opens the job and closes it again; returns as :func:`changes_in_child`."""
    return _in_child(lambda writing: _open(path, fuse, writing))


def _in_child(act: Callable[[int], None]) -> tuple[int, int]:
    reading, writing = os.pipe()
    child = os.fork()
    if child:
        os.close(writing)
        return child, reading
    try:
        os.close(reading)
        act(writing)
    finally:
        os._exit(0)


def _edit(path: Path, fuse: Fuse | None, edits: int, writing: int) -> None:
    if fuse is not None:
        fuse.lay()
    with JobFile.open(path) as file:
        for number in range(1, edits + 1):
            file.apply(SetField("task", "wash", "note", f"note {number}"))
            WRITE(writing, b"a")
        file.undo()
        WRITE(writing, b"u")


def _open(path: Path, fuse: Fuse, writing: int) -> None:
    fuse.lay()
    with JobFile.open(path):
        WRITE(writing, b"o")

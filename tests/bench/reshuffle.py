"""Milliseconds from the key that changes the job to the new launch on the screen; on jobs of 60 tasks.

.venv/bin/python tests/bench/reshuffle.py [JOBS]
"""

from __future__ import annotations

import contextlib
import os
import pty
import select
import statistics
import struct
import sys
import tempfile
import time
from fcntl import ioctl
from pathlib import Path
from termios import TIOCSWINSZ

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(Path(__file__).parent)]

from paint import until  # noqa: E402
from random_jobs import random_job  # noqa: E402

TASKS = 60
NEW_LAUNCH = (b"stays", "►".encode())
"""What the line of the new launch ends in, or holds."""


def drain(terminal: int, seconds: float) -> None:
    """Read what is painted for so long."""
    end = time.perf_counter() + seconds
    while time.perf_counter() < end:
        if select.select([terminal], [], [], 0.05)[0]:
            os.read(terminal, 65536)


def new_launch(terminal: int) -> float:
    """Seconds until the new launch is painted."""
    began, seen = time.perf_counter(), b""
    while not any(sign in seen for sign in NEW_LAUNCH):
        if time.perf_counter() - began > 20:
            raise TimeoutError("the new launch was never painted")
        if select.select([terminal], [], [], 0.05)[0]:
            seen += os.read(terminal, 65536)
    return time.perf_counter() - began


def once(job: Path) -> list[float]:
    """Seconds for each of six changes: today rained off, and that undone, three times."""
    child, terminal = pty.fork()
    if child == 0:
        os.environ |= {"TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
        os.execv(sys.executable, [sys.executable, "-m", "sequencer", str(job)])
    ioctl(terminal, TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    until(terminal, b"night")
    drain(terminal, 6)  # The first search is over: nobody is quicker than that after opening the lid.
    spent = []
    for key in b"rururu":
        if key == ord("r"):
            os.write(terminal, b"j")
            drain(terminal, 1)
        os.write(terminal, bytes([key]))
        spent.append(new_launch(terminal))
        drain(terminal, 6)
    os.write(terminal, b"\x11")
    with contextlib.suppress(OSError):
        while os.read(terminal, 65536):
            pass
    os.waitpid(child, 0)
    os.close(terminal)
    return spent


def main() -> None:
    """Some jobs, the median of all changes."""
    jobs = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    spent = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(jobs):
            job = Path(folder) / f"job-{seed}.toml"
            job.write_text(random_job(seed, TASKS), encoding="utf-8")
            spent += once(job)
    milliseconds = sorted(round(one * 1000) for one in spent)
    print(
        f"{len(spent)} changes of {jobs} jobs of {TASKS} tasks: median {statistics.median(milliseconds)} ms,", end=" "
    )
    print(f"slowest {milliseconds[-1]} ms")


if __name__ == "__main__":
    main()

"""Seconds from the command to the launch on the screen, and the longest a key waited for its page; on the demo job.

.venv/bin/python tests/bench/paint.py
"""

from __future__ import annotations

import contextlib
import os
import pty
import select
import statistics
import struct
import sys
import time
from fcntl import ioctl
from pathlib import Path
from termios import TIOCSWINSZ

ROOT = Path(__file__).resolve().parent.parent.parent
PAGES = {b"d": b"TO DO", b"c": b"last start", b"h": b"because", b"t": b"comes after", b"s": b"hauled"}


def until(terminal: int, wanted: bytes, seconds: float = 20.0) -> float:
    """Seconds until `wanted` is painted; raises TimeoutError."""
    began, seen = time.perf_counter(), b""
    while time.perf_counter() - began < seconds:
        if select.select([terminal], [], [], 0.05)[0]:
            seen += os.read(terminal, 65536)
            if wanted in seen:
                return time.perf_counter() - began
    raise TimeoutError(f"{wanted!r} was never painted")


def once() -> tuple[float, float]:
    """One run: seconds to the launch, and the slowest page."""
    began = time.perf_counter()
    child, terminal = pty.fork()
    if child == 0:
        os.environ |= {"TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
        os.execv(sys.executable, [sys.executable, "-m", "sequencer"])
    ioctl(terminal, TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    until(terminal, b"nights")
    painted = time.perf_counter() - began
    slowest = 0.0
    for key, sign in PAGES.items():
        os.write(terminal, key)
        slowest = max(slowest, until(terminal, sign))
    os.write(terminal, b"\x11")
    with contextlib.suppress(OSError):
        # What it still paints must be read, or it waits for us.
        while os.read(terminal, 65536):
            pass
    os.waitpid(child, 0)
    os.close(terminal)
    return painted, slowest


def main() -> None:
    """Ten runs, medians."""
    os.chdir(ROOT)
    runs = [once() for _ in range(10)]
    print(f"launch painted after {statistics.median(p for p, _ in runs):.2f} s (median of 10)")
    print(f"slowest of five pages after its key: {statistics.median(s for _, s in runs) * 1000:.0f} ms (median of 10)")


if __name__ == "__main__":
    main()

"""The app on a terminal of its own: the very bytes that reach it, for a job full of a stranger's codes."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
from pathlib import Path

from test_reach_text import SHORT, job_text

ROOT = Path(__file__).resolve().parent.parent
PATIENCE = 60
"""Seconds after which an app that says nothing is taken for dead."""

LEAVE = b"\x11"
"""ctrl+q."""

CSI = re.compile(r"\x1b\[[0-?]*[ -/]*[@-~]")
"""A control sequence, ECMA-48 5.4."""
STRING = re.compile(r"\x1b[\]P_^X](.*?)(?:\x07|\x1b\\)", re.DOTALL)
"""A command that carries a text: OSC, DCS and their kin, ECMA-48 5.6."""


def read_until(terminal: int, wanted: bytes) -> bytes:
    """What an app writes until `wanted`, or until it has gone."""
    got = b""
    while wanted not in got or not wanted:
        assert select.select([terminal], [], [], PATIENCE)[0], ascii(got[-400:])
        try:
            more = os.read(terminal, 1 << 16)
        except OSError:
            more = b""
        if not more:
            break
        got += more
    return got


def stream_of(job: Path, *keys: tuple[bytes, bytes]) -> str:
    """All that the app writes: keys one after another, each with what it brings up, then it is left."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
    env = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "TEXTUAL", "NO_COLOR"))}
    env |= {"TERM": "xterm-256color", "PYTHONPATH": str(ROOT), "LANG": "C.UTF-8"}
    words = [sys.executable, "-P", "-m", "sequencer", str(job), "--seconds", "0.2"]
    with subprocess.Popen(words, stdin=theirs, stdout=theirs, stderr=theirs, env=env, start_new_session=True) as app:
        os.close(theirs)
        try:
            got = read_until(ours, b"nights")
            for key, brings in keys:
                os.write(ours, key)
                got += read_until(ours, brings)
            os.write(ours, LEAVE)
            got += read_until(ours, b"")
            assert app.wait(PATIENCE) == 0
        finally:
            app.kill()
            os.close(ours)
    return got.decode()


def test_no_byte_of_a_strangers_codes_reaches_the_terminal(tmp_path: Path) -> None:
    job = tmp_path / f"{SHORT.replace('/', '')}.toml"
    job.write_text(job_text(SHORT), "utf-8", newline="")
    stream = stream_of(
        job, (b"t", b"comes"), (b"h", b"launch"), (b"a", b"days"), (b"?", b"goes back"), (b"\x1b", b"usual")
    )
    assert r"\x1b[31m\x9b2J\u202e" in stream, "what the job says is there, spelled out"
    assert "\x1b[31m" not in stream
    # The shape of the pointer is all that Textual says in such a way: no title, no link, nothing for the clipboard.
    assert set(STRING.findall(stream)) <= {"22;default", "22;pointer", "22;text"}
    rest = STRING.sub("", CSI.sub("", stream))
    assert {letter for letter in rest if not letter.isprintable()} <= {"\r", "\n"}

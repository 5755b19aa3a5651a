"""A process that changes a job and undoes is killed (SIGKILL) at random moments: nothing accepted may be lost.

.venv/bin/python tests/kills.py [KILLS] [SEED]    # the long form: five hundred
"""

from __future__ import annotations

import os
import random
import signal
import sys
import tempfile
import time
from pathlib import Path

from killing import changes_in_child
from small_job import TEXT
from test_sudden_ends import assert_nothing_lost, wait_and_read

EDITS = 8
LONGEST = 0.15
"""Seconds within which the child is killed: by then it has opened the job, made its changes and undone one."""


def main() -> None:
    """So many kills; an AssertionError where something is lost."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    dice = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    midway = 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        for _ in range(kills):
            path.write_text(TEXT)
            child, reading = changes_in_child(path, None, edits=EDITS)
            time.sleep(dice.random() * LONGEST)
            os.kill(child, signal.SIGKILL)
            accepted, ended = wait_and_read(child, reading)
            midway += bool(ended) and accepted > 0
            assert_nothing_lost(path, EDITS, accepted)
    print(f"{kills} kills, {midway} of them between two changes or in one: nothing accepted was lost")


if __name__ == "__main__":
    main()

"""Random keys, clicks, wheels and resizes over every screen: nothing may crash, and every screen tells the launch.

.venv/bin/python tests/monkey.py [KEYS] [SEED]    # the long form, over every job in jobs/
"""

from __future__ import annotations

import asyncio
import datetime as dt
import random
import shutil
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from textual import events
from textual.pilot import Pilot
from textual.widgets import Input
from tui_support import text_of

from sequencer.tui.app import SequencerApp
from sequencer.tui.keys import KEYS

ROOT = Path(__file__).resolve().parent.parent
SIZES = ((20, 5), (60, 20), (80, 24), (80, 24), (120, 40), (300, 100))
TEXTS = (
    "[bold]",
    "[/]",
    "@click",
    "$x",
    "1630",
    "2.5",
    "-1",
    "2027-04-20",
    "é🛥",
    "x" * 60,
    "Mon-Fri 08:00-12:00",
    "3, 4, 6",
)
LETTERS = "abcdfhjlmnorstuyxz0123456789+.?[]"
NAMED = (
    "up",
    "down",
    "left",
    "right",
    "enter",
    "escape",
    "space",
    "tab",
    "home",
    "end",
    "pageup",
    "pagedown",
    "delete",
)
LOOKS = 10
"""Steps after which the screen is looked at, all that was sent being done."""

SLOW = 1.0
"""Seconds after which the app counts as frozen; told by the long form only."""

PULSE = 0.02
"""Seconds between two looks at whether the app still turns."""

BETWEEN = 0.01
"""Seconds between two steps."""

CHARACTERS = {"space": " ", "enter": "\r", "tab": "\t", "question_mark": "?", "full_stop": "."} | {
    "left_square_bracket": "[",
    "right_square_bracket": "]",
}

MICE = (
    (events.MouseDown, events.MouseUp),
    (events.MouseDown, events.MouseUp),
    (events.MouseMove,),
    (events.MouseScrollDown,),
    (events.MouseScrollUp,),
)
"""What a mouse does: clicks, moves, turns its wheel."""


@dataclass
class Tally:
    """What a run did.

    longest: the most seconds of its own processor time for which the app took no event (so that a busy machine tells no
    lies); frozen: how often that was above SLOW.
    """

    steps: int = 0
    longest: float = 0.0
    frozen: int = 0
    dialogs: int = 0


def some_keys(rng: random.Random) -> Iterator[str]:
    """Keys for ever, those the app has a meaning for more often."""
    known = [key.keys.split(",")[0] for key in KEYS if key.keys != "ctrl+q"]
    while True:
        yield rng.choice(rng.choice((known, NAMED, list(LETTERS))))


def key_event(key: str) -> events.Key:
    """A key as the terminal sends it."""
    return events.Key(key, key if len(key) == 1 else CHARACTERS.get(key))


async def one_step(app: SequencerApp, pilot: Pilot[None], rng: random.Random, key: str) -> None:
    """One key, or now and then a click, a wheel, a resize, or a text typed into a form.

    Keys come as fast as an owner's, whatever is going on; only now and then are they waited for.
    """
    dice = rng.random()
    width, height = app.size
    if dice < 0.01:
        await pilot.resize_terminal(*rng.choice(SIZES))
    elif dice < 0.10:
        at = rng.randrange(width), rng.randrange(height)
        button = rng.choice((1, 1, 1, 3))
        for kind in rng.choice(MICE):
            app.post_message(kind(None, *at, 0, 0, button, False, False, False, *at))
    elif dice < 0.14:
        found = app.screen.query(Input)
        if found:
            found.first().value = rng.choice(TEXTS)
    elif dice < 0.16:
        await pilot.press(key)
    else:
        app.post_message(key_event(key))
    await asyncio.sleep(BETWEEN)


def tells_the_launch(app: SequencerApp) -> bool:
    """Whether the strip says when she launches, or why not; a dialog over it may hide it on a small screen."""
    first = text_of(app).split("\n", 1)[0]
    said = ("▼", "V ", "looking", "no launch", "faults", "file", "plan")
    return app.screen.is_modal or any(word in first for word in said)


async def pulse(tally: Tally) -> None:
    """Tell how long the app takes no event, however long the pilot waits for work in the background to end."""
    while True:
        began = time.thread_time()
        await asyncio.sleep(PULSE)
        still = time.thread_time() - began
        tally.longest = max(tally.longest, still)
        tally.frozen += still > SLOW


async def monkey(job: Path, keys: int, seed: int, size: tuple[int, int] = (80, 24)) -> Tally:
    """`keys` random steps on a job that may be changed. Raises what the app raises, AssertionError where it is mute.

    Where a key leaves the app, it is opened again.
    """
    rng, tally = random.Random(seed), Tally()
    while tally.steps < keys:
        await sitting(job, keys, rng, tally, size)
    return tally


async def sitting(job: Path, keys: int, rng: random.Random, tally: Tally, size: tuple[int, int]) -> None:
    """Steps from opening the app until it is left, or all are done."""
    app = SequencerApp(job, clock=lambda: dt.datetime(2027, 4, 14, 6, 40, tzinfo=dt.UTC), seconds=0.2, ascii=False)
    async with app.run_test(size=size) as pilot:
        stream = some_keys(rng)
        beating = asyncio.create_task(pulse(tally))
        while tally.steps < keys and app.return_code is None:
            await one_step(app, pilot, rng, next(stream))
            tally.steps += 1
            tally.dialogs += app.screen.is_modal
            if tally.steps % LOOKS == 0 and app.return_code is None:
                await pilot.pause()
                assert tells_the_launch(app) or app.return_code is not None, text_of(app)
            if rng.random() < 0.03 and app.return_code is None:
                await pilot.press("escape", "escape", "escape")
        while app.screen.is_modal and app.return_code is None:
            await pilot.press("escape")
        if app.return_code is None:
            await pilot.pause()
        beating.cancel()
        assert app.return_code is not None or app.file is None or app.file.path.read_text("utf-8") == app.job_text


def copy_of(job: Path, folder: Path) -> Path:
    """A job and what lies beside it, to be changed at will."""
    for other in job.parent.iterdir():
        if other.is_file() and not other.name.startswith("."):
            shutil.copy(other, folder)
    return folder / job.name


def main() -> None:
    """Every job in turn, the keys shared out."""
    keys = int(sys.argv[1]) if len(sys.argv) > 1 else 50_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    jobs = sorted((ROOT / "jobs").glob("*.toml"))
    share = -(-keys // (2 * len(jobs)))
    failed = 0
    for number, job in enumerate(jobs):
        for size in ((80, 24), (120, 40)):
            with tempfile.TemporaryDirectory() as folder:
                try:
                    tally = asyncio.run(monkey(copy_of(job, Path(folder)), share, seed * 1000 + number, size))
                except Exception:
                    # Whatever it was: told, and the other jobs have their turn.
                    traceback.print_exc()
                    failed += 1
                    continue
            said = f"{tally.steps} steps, {tally.dialogs} of them in dialogs"
            still = f"still for {tally.longest:.2f} s at most, {tally.frozen} times above a second"
            print(f"{job.stem} {size[0]}x{size[1]}: {said}; {still}", flush=True)
    sys.exit(f"{failed} of the runs ended in an error" if failed else 0)


if __name__ == "__main__":
    main()

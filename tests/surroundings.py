"""What may happen around the app, for tests of it: a disk that refuses, keys pressed, and what is then told."""

from __future__ import annotations

import asyncio
import datetime as dt
import errno
import os
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from planned import assert_kept
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input
from tui_support import FROZEN, HEAD, app_on, task, text_of, until

from sequencer.tui.app import SequencerApp
from sequencer.tui.asking import Choose
from sequencer.tui.card_screen import CardScreen
from sequencer.tui.forms import Write

SAVING = ("open", "write", "fsync", "replace", "fchmod")
"""The calls of the system that a save makes, `ftruncate` for taking one back aside."""
REAL_WRITE = os.write

NOON = FROZEN.replace(hour=12, minute=0)
MOST_STEPS = 30
Step = Callable[[], Awaitable[None]]

NAMED = {"space": " ", "full_stop": "."}
"""Keys with a letter, by name."""

PLAIN = HEAD + task("scrape", "", work=3) + task("relaunch", "", 'after = ["scrape"]', work=1)
"""The least job: no coats, no weather, planned in no time."""

FULL = "can't be saved, the disk is full; make room, then do it again; the file is as it was."
"""What is said of a change that a full disk refused."""


def app_at_noon(path: Path, clock: list[dt.datetime] | None = None) -> SequencerApp:
    """The app at noon, when something may have been started; or by a clock that can be set."""
    return app_on(path, clock=lambda: clock[0] if clock else NOON, seconds=0.3)


class Refusing:
    """Fails the calls that save, from number `number` on as many as `times`; a refused write is half written."""

    def __init__(self, number: int, code: int, times: int = 1) -> None:
        self.left, self.code, self.times = number, code, times

    @property
    def came(self) -> bool:
        """Whether any call was refused."""
        return self.left <= 0

    def over(self, call: Callable[..., Any]) -> Callable[..., Any]:
        """`call`, refused when its turn comes."""

        def refusing(*args: Any, **named: Any) -> Any:
            self.left -= 1
            if -self.times < self.left <= 0:
                if call is REAL_WRITE:
                    REAL_WRITE(args[0], bytes(args[1])[: len(args[1]) // 2])
                raise OSError(self.code, os.strerror(self.code))
            return call(*args, **named)

        return refusing


@contextmanager
def refusing(number: int = 1, code: int = errno.ENOSPC, times: int = 1_000_000) -> Iterator[Refusing]:
    """A disk that refuses from its `number`-th call on, until left."""
    fault = Refusing(number, code, times)
    with pytest.MonkeyPatch.context() as patched:
        for name in SAVING:
            patched.setattr(os, name, fault.over(getattr(os, name)))
        yield fault


async def at_every_step(act: Step, refused: Step, after: Step, stride: int = 1) -> int:
    """Do `act` with its first call of the system refused, then its second, until none is left to refuse.

    refused: what must hold while it is refused; after: that it was done all the same, or can be. How often refused.
    """
    for count, number in enumerate(range(1, MOST_STEPS, stride)):
        with refusing(number, times=1) as fault:
            await act()
            stopped = fault.came
        if not stopped:
            return count
        await refused()
        await after()
    raise AssertionError("saving asks the system for more than was tried")


async def rest(app: SequencerApp, pilot: Pilot[None]) -> None:
    """Wait until no search is on and what it found is drawn; no longer, so that many steps take little time."""
    for _ in range(4000):
        await pilot._wait_for_screen()
        if not app.model.looking and (app.model.plan is not None or app.model.trouble is not None):
            break
        await asyncio.sleep(0.002)
    await pilot.pause(0)
    await pilot.pause(0)


async def press(app: SequencerApp, pilot: Pilot[None], *keys: str) -> None:
    """Press keys, and wait until the plan that follows is found."""
    for key in keys:
        # As a terminal sends them: a pilot's own keys wait for an idle processor first, which a busy machine has not.
        app.post_message(events.Key(key, key if len(key) == 1 else NAMED.get(key)))
        await pilot._wait_for_screen()
        while not app.all_heard:
            await asyncio.sleep(0)
    await rest(app, pilot)


async def tick(app: SequencerApp, pilot: Pilot[None]) -> None:
    """The app looks around, as it does every few seconds, and comes to rest."""
    app.call_later(app._tick)
    await pilot._wait_for_screen()
    await rest(app, pilot)


async def write(app: SequencerApp, pilot: Pilot[None], text: str) -> None:
    """Put `text` into the form's line, as pasted, and take it."""
    form = app.screen
    assert isinstance(form, Write), form
    form.query_one(Input).value = text
    await press(app, pilot, "enter")


async def open_field(app: SequencerApp, pilot: Pilot[None], name: str, path: str) -> None:
    """The form of a field on the card of a task."""
    app.edit_card("task", name)
    await until(pilot, lambda: isinstance(app.screen, CardScreen))
    card = app.screen
    assert isinstance(card, CardScreen), card
    card.action_move([field.path for field in card.lines.fields].index(path) - card.lines.at)
    await press(app, pilot, "enter")


def typed(app: SequencerApp) -> str:
    """What stands in the form's line."""
    return app.screen.query_one(Input).value


def told(app: SequencerApp) -> str:
    """What a dialog says, or else the whole screen, line ends taken out: a sentence is found however it is wrapped."""
    lines = text_of(app).split("\n")
    if app.screen.is_modal:
        lines = [line[line.index("│") + 1 : line.rindex("│")] for line in lines if line.count("│") > 1]
    return " ".join(" ".join(lines).split())


def noticed(app: SequencerApp) -> list[str]:
    """What short notices say, oldest first."""
    return [notice.message for notice in app._notifications]


def true_to_disk(app: SequencerApp, path: Path) -> None:
    """What is shown is what is on the disk, and the plan on the screen is of it and keeps every rule."""
    assert app.file is not None
    assert path.read_text("utf-8") == app.job_text
    plan = app.model.plan
    assert plan is not None
    assert plan.job == app.file.job == app.model.job
    assert_kept(plan.job, plan, plan.moment(plan.now))


async def write_refused(app: SequencerApp, pilot: Pilot[None], text: str) -> None:
    """Take `text` in the form; a question comes up in front of it."""
    await write(app, pilot, text)
    assert isinstance(app.screen, Choose)

"""Everything around the app at once: seeded random mixes in which no accepted change may get lost."""

from __future__ import annotations

import datetime as dt
import random
import re
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from surroundings import (
    NOON,
    PLAIN,
    app_at_noon,
    press,
    refusing,
    tick,
    told,
    true_to_disk,
)
from textual.pilot import Pilot
from tui_support import (
    job_file,
    running,
    settled,
)

from sequencer.job.jobfile import JobFile
from sequencer.job.writing import SetField
from sequencer.tui.app import SequencerApp
from sequencer.tui.asking import Choose

HOUR, DAY, YEAR = dt.timedelta(hours=1), dt.timedelta(days=1), dt.timedelta(days=365)


@dataclass
class Yard:
    """An app in a yard where anything may happen, and what it has accepted so far, in order.

    held: another window's hold of the job; hidden: the job file's bytes while it is taken away or spoilt.
    """

    app: SequencerApp
    pilot: Pilot[None]
    path: Path
    clock: list[dt.datetime]
    rng: random.Random
    texts: list[str] = field(default_factory=lambda: [PLAIN])
    told: int = 0
    hidden: bytes | None = None
    number: int = 0

    async def note(self, full: bool = False) -> None:
        """A note typed; it is on the disk, or it is told that it is not."""
        self.number += 1
        change = SetField("task", "scrape", "note", f"note {self.number}")
        if full:
            with refusing(self.rng.randint(1, 9), times=self.rng.choice((1, 1_000_000))):
                self.app.change(change)
        else:
            self.app.change(change)
        await self.came_of(f'note = "note {self.number}"')

    async def came_of(self, words: str) -> None:
        """A change is accepted and on the disk, or told as refused and neither shown nor on the disk."""
        await settled(self.app, self.pilot)
        if self.app.screen.is_modal:
            self.told += 1
            assert re.search(r"Not done|gone|Another program|can't", told(self.app)), told(self.app)
            assert words not in self.app.job_text
            assert not self.path.is_file() or words not in self.path.read_text("utf-8", errors="replace")
            await self.leave()
        else:
            assert words in self.path.read_text("utf-8")
            self.texts.append(self.path.read_text("utf-8"))

    async def leave(self) -> None:
        """Every dialog is left without a choice."""
        for _ in range(5):
            if self.app.screen.is_modal:
                await press(self.app, self.pilot, "escape")
        assert not self.app.screen.is_modal

    async def undo(self) -> None:
        """One change taken back, or told why not."""
        before = self.app.job_text
        await press(self.app, self.pilot, "u")
        if self.app.screen.is_modal:
            self.told += 1
            assert self.app.job_text == before
            await self.leave()
        else:
            assert self.path.read_text("utf-8") == self.app.job_text
            self.texts.append(self.app.job_text)

    async def hide(self) -> None:
        """The job file is taken away, or spoilt, or comes back."""
        if self.hidden is not None:
            if self.path.is_dir():
                self.path.rmdir()
            self.path.write_bytes(self.hidden)
            self.hidden = None
            return
        self.hidden = self.path.read_bytes()
        self.path.unlink()
        kind = self.rng.choice(("gone", "folder", "half", "no TOML"))
        if kind == "folder":
            self.path.mkdir()
        elif kind != "gone":
            self.path.write_bytes(self.hidden[: len(self.hidden) // 2] if kind == "half" else b"[job")

    async def other_program(self) -> None:
        """Another program changes the file; it is asked whose stays, and that stays."""
        if self.hidden is not None:
            return
        self.number += 1
        mine = self.app.job_text
        theirs = re.sub(r'title = "[^"]*"', f'title = "Theirs {self.number}"', mine, count=1)
        self.path.write_text(theirs, "utf-8")
        await (press(self.app, self.pilot, "u") if self.rng.random() < 0.5 else tick(self.app, self.pilot))
        assert isinstance(self.app.screen, Choose)
        assert self.path.read_text("utf-8") == theirs
        take = self.rng.random() < 0.5
        await press(self.app, self.pilot, *(["enter"] if take else ["down", "enter"]))
        self.texts.append(theirs if take else mine)

    async def other_window(self) -> None:
        """Another window of ours tries to write."""
        if self.hidden is None:
            with JobFile.open(self.path) as other:
                assert other.trouble is not None
                assert other.text == self.path.read_text("utf-8")

    async def jump(self) -> None:
        """The clock is set."""
        self.clock[0] += self.rng.choice((-1, 1)) * self.rng.choice((HOUR / 4, HOUR, DAY, YEAR))

    async def look(self) -> None:
        """The app looks around; whatever it asks is left unanswered."""
        await tick(self.app, self.pilot)
        await self.leave()
        assert (self.hidden is None) == (not self.app.model.outside), self.app.model.outside

    async def step(self) -> None:
        """One thing happens."""
        await self.rng.choice(
            (
                self.note,
                self.note if self.hidden is None else self.hide,
                lambda: self.note(full=True),
                self.undo,
                self.hide,
                self.jump,
                self.look,
                self.other_window,
                self.other_program,
            )
        )()
        assert self.app.is_running
        if self.hidden is None:
            assert self.path.read_text("utf-8") == self.app.job_text == self.texts[-1]


@pytest.mark.parametrize("seed", [1])
async def test_whatever_happens_an_accepted_change_is_on_the_disk_or_told_as_not_saved(
    tmp_path: Path, seed: int
) -> None:
    clock = [NOON]
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path, clock)
    async with running(app) as pilot:
        yard = Yard(app, pilot, path, clock, random.Random(seed))
        for _ in range(60):
            await yard.step()
        if yard.hidden is not None:
            await yard.hide()
        clock[0] = NOON
        await yard.look()
        await yard.note()
        true_to_disk(app, path)
        assert yard.told >= 3
        assert len(yard.texts) >= 8
        while app.file is not None and app.file.next_undo:
            await yard.undo()
        assert path.read_text("utf-8") == PLAIN
    assert {entry.name for entry in tmp_path.iterdir()} == {"job.toml", ".job.toml.journal"}

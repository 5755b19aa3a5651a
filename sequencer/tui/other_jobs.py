"""Other job files: picked to be opened, or begun from nothing, from a block of the trade, or from another job."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any, Protocol

from textual.screen import Screen

from sequencer.blocks import block_about, block_names
from sequencer.errors import SequencerError
from sequencer.starting import begin_job, copy_job, own_timezone
from sequencer.tui.editor import T
from sequencer.tui.forms import Option, Pick, Write
from sequencer.tui.text import shown

JOBS_FOLDER = Path(__file__).resolve().parent.parent.parent / "jobs"
"""The jobs that come with the tool, where it runs from its own folder."""
BLOCK, COPY = "block", "copy"


class Owner(Protocol):
    """What is asked of the app."""

    clock: Callable[[], dt.datetime]

    @property
    def folder(self) -> Path:
        """Where jobs are looked for first, and new ones written."""

    async def push_screen_wait(self, screen: Screen[T]) -> T:
        """Show a dialog and wait for its answer."""


class OtherJobs:
    """Asks for another job."""

    def __init__(self, app: Owner) -> None:
        self.app = app

    def jobs(self) -> list[Path]:
        """Job files beside this one, and those that come with the tool."""
        folders = dict.fromkeys([self.app.folder.resolve(), JOBS_FOLDER])
        return [
            path
            for folder in folders
            if folder.is_dir()
            for path in sorted(folder.glob("*.toml"))
            if path.is_file() and not path.name.endswith((".answers.toml", ".prices.toml"))
        ]

    async def pick(self) -> Path | None:
        """One of the jobs there are."""
        options = [Option(str(path), path.stem, str(path.parent)) for path in self.jobs()]
        picked = await self.app.push_screen_wait(Pick("which job?", options))
        return Path(picked) if picked else None

    async def new(self) -> Path | None:
        """A new job's file, written."""
        source = await self.app.push_screen_wait(Pick("a new job, from what?", self._sources()))
        if source is None:
            return None
        made: list[Path] = []

        def check(text: str) -> str:
            path, why = self._named(text)
            why = why or self._begin(path, source)
            if not why:
                made.append(path)
            return why

        title, about = "name of the new job's file", f"in {self.app.folder.resolve()}"
        await self.app.push_screen_wait(Write(title, about, "my-boat.toml", check))
        return made[0] if made else None

    def _sources(self) -> list[Option]:
        options = [Option("", "from nothing", "one small task, and comments that teach the file")]
        options += [
            Option(f"{BLOCK} {name}", f"from {name.replace('-', ' ')}", block_about(name)) for name in block_names()
        ]
        copies: list[Any] = [(path, f"a copy of {path.stem}") for path in self.jobs()]
        return options + [Option(f"{COPY} {path}", words, "without what happened to it") for path, words in copies]

    def _named(self, text: str) -> tuple[Path, str]:
        """The file that is meant, and what is wrong with its name."""
        name = text.strip()
        if not name or name.startswith(".") or not name.isprintable() or any(c in name for c in "/\\"):
            return Path(), "Write a file name, such as my-boat.toml."
        return self.app.folder / (name if name.endswith(".toml") else f"{name}.toml"), ""

    def _begin(self, path: Path, source: str) -> str:
        """Write the file; why it can't be, empty where it was."""
        how, _, what = source.partition(" ")
        try:
            if how == COPY:
                copy_job(path, Path(what))
            else:
                today = self.app.clock().astimezone().date()
                begin_job(path, timezone=own_timezone(), hauled=today, blocks=[what] if how == BLOCK else [])
        except SequencerError as error:
            told = " ".join(fault.sentence() for fault in error.faults)
            return f"{shown(Path(what).name if how == COPY and error.file == what else path.name)}: {told}"
        return ""

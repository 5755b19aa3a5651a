"""A small TOML table beside a job, a name and a value a line: the owner's, read with care and kept as he wrote it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from sequencer.errors import Fault, GoneError, JobError, SaveError
from sequencer.job.saving import read_exactly, replace_text
from sequencer.job.sidefiles import check_side
from sequencer.job.source import MAX_BYTES, parse_toml


@dataclass(frozen=True)
class SideTable:
    """One such file. head: what a new one begins with; holds: what is in it; hint: how a line of it is written."""

    path: Path
    head: str
    holds: str
    hint: str

    def text(self) -> str | None:
        """The file as it is, None where there is none. Raises SaveError where it can't be read."""
        check_side(self.path)
        try:
            return read_exactly(self.path)
        except GoneError:
            return None

    def values(self, text: str | None) -> dict[str, Any]:
        """What a text of it says. Raises JobError where it is no table."""
        bare = (text or "").lstrip("\ufeff")
        if len(bare.encode()) > MAX_BYTES:
            raise JobError([Fault("", f"is too large for {self.holds}", self.hint)], str(self.path))
        try:
            return parse_toml(bare) if bare.strip() else {}
        except JobError as error:
            faults = [Fault(fault.where, f"is no TOML: {fault.what}", self.hint) for fault in error.faults]
            raise JobError(faults, str(self.path)) from None

    def keep(self, before: str | None, key: str, value: str | float | None) -> str:
        """Write a value, or take it away (None), in what was `before`; what else stands there stays.

        Returns the text as it is then. Raises SaveError, and then the file is as it was.
        """
        kept = tomlkit.parse((self.head if before is None else before).lstrip("\ufeff"))
        if value is not None:
            kept[key] = value
        elif key in kept:
            del kept[key]
        else:
            return before or ""

        def unchanged() -> None:
            if self.text() != before:
                raise SaveError([Fault("", "another program has just changed it", "do it again")], str(self.path))

        text = tomlkit.dumps(kept)
        replace_text(self.path, text, unchanged, create=before is None)
        return text

"""New job files on disk, from nothing, from blocks, or from another job, never over a file that is there; and a
block of the trade as a change of a job that is there."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Sequence
from pathlib import Path

from sequencer.blocks import Taken, changed_head, fit_block, new_job_text
from sequencer.blocks.fitting import HEADING, tables_text
from sequencer.errors import Fault, UsageError
from sequencer.job import Job, parse_job, read_job
from sequencer.job.nearby import past_path, weather_path
from sequencer.job.saving import write_new
from sequencer.job.source import read_text
from sequencer.job.writing import AddText, Change, SetField, Several

WEATHER_FILES = (("file", weather_path), ("past", past_path))
"""Fields of ``[weather]`` that name files, and where such a file lies."""


def begin_job(
    path: Path,
    title: str = "Haul-out",
    boat: str = "",
    timezone: str = "UTC",
    hauled: dt.datetime | dt.date | None = None,
    blocks: Sequence[str] = (),
) -> None:
    """Write a new job of `blocks`, or of one small task; see :func:`sequencer.blocks.new_job_text`.

    Raises UsageError (the file is there, can't be written, no such block) or JobError (no such time zone).
    """
    _check_free(path)
    _write(path, new_job_text(title, boat, timezone, hauled, blocks))


def copy_job(path: Path, source: Path, head: dict[str, str | dt.date] | None = None) -> None:
    """Write a copy of the job `source` without its log, with fields of ``[job]`` set to `head`.

    Files of weather, or of past years, that would lie outside of the copy's folder are copied into it. Raises
    UsageError (a file is there, can't be written) or JobError (the source has faults, or the copy would).
    """
    _check_free(path)
    job = read_job(source)
    named = {}
    if _elsewhere(path, source):
        named = {name: _weather_beside(path, where(job)) for name, where in WEATHER_FILES if getattr(job.weather, name)}
    _write(path, changed_head(read_text(source), head or {}, named))


def block_change(job: Job, name: str, due: dt.date | None = None) -> Change:
    """A block added to a job as one change: its tables, and the task that ends the stay after its ends.

    due: the day deliveries are due, else a year from today. Raises UsageError where there is no such block.
    """
    fitted = fit_block(name, Taken.of(job), due)
    text = f"{fitted.heading}\n# {HEADING}\n\n{tables_text(fitted.pieces)}"
    changes: list[Change] = [AddText(text, name)]
    if fitted.ends:
        finish = job.tasks[job.job.finish]
        kept = [str(link) for link in finish.after if str(link) not in fitted.covered]
        changes.append(SetField("task", finish.id, "after", [*kept, *fitted.ends]))
    tasks = sum(piece.kind == "task" for piece in fitted.pieces)
    return Several(tuple(changes), f"block {name} added, {tasks} task{'s' if tasks != 1 else ''}")


def own_timezone() -> str:
    """The computer's time zone by its name, where that can be told, else UTC."""
    told = os.environ.get("TZ") or os.path.realpath("/etc/localtime").partition("zoneinfo/")[2]
    return told if "/" in told and not told.startswith(("/", ":")) else "UTC"


def _elsewhere(path: Path, source: Path) -> bool:
    return path.parent.resolve() != source.parent.resolve()


def _weather_beside(path: Path, file: Path) -> str:
    """How a job at `path` names the weather of `file`: where it is, or as a copy in the job's own folder.

    A copy that is there already and says the same is taken. Raises UsageError where another file has its name, or
    it can't be copied; one that is not there is not copied, and is told of when the job is planned.
    """
    folder = path.parent.resolve()
    if file.resolve().is_relative_to(folder):
        return file.resolve().relative_to(folder).as_posix()
    copy = path.parent / file.name
    try:
        if file.exists() and path.parent.is_dir() and not _is_same(copy, file.read_bytes()):
            write_new(copy, file.read_bytes())
    except FileExistsError:
        raise _is_there(copy) from None
    except OSError as error:
        why = f"the weather can't be copied ({(error.strerror or 'no access').lower()})"
        raise UsageError([Fault("", why, "check the folder and the room on it")], str(copy)) from None
    return file.name


def _is_same(copy: Path, raw: bytes) -> bool:
    """Whether a plain file, no link, says just this; a pipe of that name would be waited at for ever."""
    return copy.is_file() and not copy.is_symlink() and copy.read_bytes() == raw


def _check_free(path: Path) -> None:
    if os.path.lexists(path):
        raise _is_there(path)


def _is_there(path: Path) -> UsageError:
    return UsageError([Fault("", "is there already, and nothing is overwritten", "take another name")], str(path))


def _write(path: Path, text: str) -> None:
    """Write what can be read again, to a file that is not there; never over one that has come in between."""
    parse_job(text, path)
    try:
        write_new(path, text.encode())
    except FileExistsError:
        raise _is_there(path) from None
    except (OSError, ValueError) as error:
        why = (getattr(error, "strerror", "") or "no such name").lower()
        raise UsageError([Fault("", f"can't be written ({why})", "check the name and the folder")], str(path)) from None

"""The weather file that a job names. A job may come from anyone, so what it names is looked at before it is opened."""

from __future__ import annotations

import stat
from pathlib import Path

from sequencer.errors import Fault, JobError
from sequencer.job.models import Job

MOST_BYTES = 20_000_000
"""A year of hours with many columns is a tenth of it; more is some other file."""

WHERE = "weather, file"


def weather_path(job: Job) -> Path:
    """Where the weather file of a job that names one should lie; whether it is there is for its reader to say.

    Raises JobError where it lies, links followed, outside of the job's own folder, or is no plain file of a size
    that weather has: a folder, a pipe, a device.
    """
    assert job.weather.file is not None
    return _beside(job, job.weather.file, WHERE)


def past_path(job: Job) -> Path:
    """Where the past years of a job that names them should lie; raises as :func:`weather_path`."""
    assert job.weather.past is not None
    return _beside(job, job.weather.past, "weather, past")


def _beside(job: Job, name: str, where: str) -> Path:
    path = job.folder / name
    field = where.replace(", ", ".")
    try:
        inside = path.resolve().is_relative_to(job.folder.resolve())
    except (OSError, ValueError, RuntimeError):
        fault = Fault(where, "is no name of a file", f"check the name, or leave {field} out")
        raise JobError([fault], str(path)) from None
    if not inside:
        hint = "put the file beside the job file and name it from there"
        raise JobError([Fault(where, "lies outside of the job's own folder", hint)], str(path))
    check_plain(path, where)
    return path


def check_plain(path: Path, where: str = "", limit: int = MOST_BYTES) -> None:
    """Raise JobError for what is there and is no plain file of at most `limit` bytes."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return
    if stat.S_ISREG(found.st_mode) and found.st_size <= limit:
        return
    if stat.S_ISDIR(found.st_mode):
        fault = Fault(where, "is a folder, not a file", "name the file in it")
    elif not stat.S_ISREG(found.st_mode):
        fault = Fault(where, "is no plain file but a pipe or a device", "name a file")
    else:
        what = f"has {found.st_size:,} bytes, and weather has {limit:,} at most"
        fault = Fault(where, what, "check that it is the right file, or cut it to the months of the stay")
    raise JobError([fault], str(path))

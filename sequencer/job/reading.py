"""Reading a job file: TOML text to a Job, or all its faults at once."""

from __future__ import annotations

from itertools import islice
from pathlib import Path
from typing import Any, TypeVar

from sequencer.errors import Fault, JobError
from sequencer.job.crosscheck import cross_faults
from sequencer.job.drafts import MAX_FAULTS, Entry, Reader
from sequencer.job.models import Crew, Delivery, Gear, Head, Job, Material, Task, Weather, Yard, Zone
from sequencer.job.sketch import Sketch, job_of, place_of
from sequencer.job.source import parse_toml, read_text
from sequencer.job.tables import Table
from sequencer.job.wording import listing, nearest, show, shown

T = TypeVar("T", bound=Table)

SECTIONS = tuple(Job.model_fields)


def parse_job(text: str, path: str | Path | None = None) -> Job:
    """The job that a TOML text describes.

    path: the file it came from, for sentences and for files it names.
    Raises JobError with every fault there is.
    """
    file = "" if path is None else str(path)
    try:
        data = parse_toml(text.removeprefix("\ufeff"))
    except JobError as error:
        raise JobError(error.faults, file) from None
    return job_from(data, path)


def job_from(data: dict[str, Any], path: str | Path | None = None) -> Job:
    """The job of a file's plain data, such as tomllib gives; otherwise as :func:`parse_job`."""
    file = "" if path is None else str(path)
    sketch, faults = read_sketch(data)
    if len(faults) <= MAX_FAULTS:
        faults += islice(cross_faults(sketch), MAX_FAULTS + 1)
    if len(faults) > MAX_FAULTS:
        what = f"there are more faults than these {MAX_FAULTS}"
        faults[MAX_FAULTS:] = [Fault("", what, "mend these first")]
    if faults:
        raise JobError(faults, file)
    job = job_of(sketch)
    job._path = None if path is None else Path(path)
    return job


def read_job(path: str | Path) -> Job:
    """Read a job file. Raises JobError with every fault there is, a file that can't be read among them."""
    return parse_job(read_text(Path(path)), Path(path))


def read_sketch(data: dict[str, Any]) -> tuple[Sketch, list[Fault]]:
    """All tables of a file as far as they can be read, and what is wrong within each."""
    reader, sketch = Reader(), Sketch()
    for key in data:
        if key not in SECTIONS and not reader.full:
            near = nearest(key, SECTIONS)
            hint = f"did you mean {near}?" if near else f"a job file has {listing(SECTIONS)}"
            reader.faults.append(Fault("", f"there is no table {shown(key)}", hint))
    if "job" not in data:
        hint = "add [job] with timezone, hauled and finish"
        reader.faults.append(Fault("", "the table [job] is missing", hint))
    sketch.head = _single(reader, Head, "job", data)
    sketch.yard = _single(reader, Yard, "yard", data)
    sketch.weather = _single(reader, Weather, "weather", data)
    sketch.crew = _several(reader, sketch, Crew, "crew", data)
    sketch.zone = _several(reader, sketch, Zone, "zone", data)
    sketch.gear = _several(reader, sketch, Gear, "gear", data)
    sketch.delivery = _several(reader, sketch, Delivery, "delivery", data)
    sketch.material = _several(reader, sketch, Material, "material", data)
    sketch.task = _several(reader, sketch, Task, "task", data)
    return sketch, reader.faults


def _single(reader: Reader, model: type[T], key: str, data: dict[str, Any]) -> Entry[T] | None:
    """One table of its own, such as [job]."""
    if key not in data:
        return None
    raw = data[key]
    if isinstance(raw, list) and len(raw) == 1:
        hint = f"write [{key}] with single brackets"
        reader.faults.append(Fault(key, f"[[{key}]] has double brackets, and there is only one of it", hint))
        raw = raw[0]
    elif not isinstance(raw, dict):
        reader.faults.append(Fault(key, f"this must be one table, not {show(raw)}", f"write [{key}]"))
        return None
    return reader.table(model, raw, key)


def _several(reader: Reader, sketch: Sketch, model: type[T], key: str, data: dict[str, Any]) -> list[Entry[T]]:
    """The tables of a kind, such as every [[task]]."""
    raw = data.get(key, [])
    if isinstance(raw, dict):
        # Told, and read all the same, so that nothing that names it seems lost.
        where = place_of(key, raw.get("id"), 1)
        reader.faults.append(Fault(where, f"[{key}] has single brackets", f"write [[{key}]]"))
        raw = [raw]
    if not isinstance(raw, list):
        reader.faults.append(Fault(key, f"these must be tables, not {show(raw)}", f"write each as [[{key}]]"))
        sketch.unread.add(key)
        return []
    entries = []
    for position, item in enumerate(raw, 1):
        if reader.full:
            break
        name = item.get("id") if isinstance(item, dict) else None
        entry = reader.table(model, item, place_of(key, name, position))
        entries += [entry] if entry is not None else []
    return entries

"""Blocks of the trade: chains of tasks with the materials, places and gear they use, fitted into a job."""

from __future__ import annotations

import datetime as dt
import difflib
import tomllib
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any, Protocol

from sequencer.blocks.pieces import KINDS, Piece, pieces_of, read_text, stages_of, stock
from sequencer.errors import Fault, UsageError

NAMES = (
    "remove-fitting",
    "drying",
    "structural-repair",
    "moulded-part",
    "fairing",
    "barrier-coats",
    "antifouling",
    "through-hull",
    "pod",
    "lift",
)
"""The blocks in the order of a stay, which is also the order in which they join."""

LIFT = "lift"
"""The block whose task ends the stay."""

FIRST = "first-task"
"""What a job of no block begins with; in no list of blocks."""

DATE_TO_GIVE = "1999-12-31"
"""Stands in the texts for the day a delivery is due."""

HEADING = "Hours of work are rough guesses: put yours. Your own data sheets go before every number here."


class _Staged(Protocol):
    @property
    def stages(self) -> Mapping[str, object]: ...


class _TaskLike(Protocol):
    @property
    def material(self) -> str | None: ...


class JobLike(Protocol):
    """Anything with tables by id; a job above all."""

    @property
    def tasks(self) -> Mapping[str, _TaskLike]: ...
    @property
    def zones(self) -> Mapping[str, object]: ...
    @property
    def gears(self) -> Mapping[str, object]: ...
    @property
    def deliveries(self) -> Mapping[str, object]: ...
    @property
    def materials(self) -> Mapping[str, _Staged]: ...


@dataclass(frozen=True)
class Taken:
    """Ids a job has already. task, material: with the stages that are known of each."""

    zone: Collection[str] = ()
    gear: Collection[str] = ()
    delivery: Collection[str] = ()
    material: Mapping[str, Collection[str]] = field(default_factory=dict)
    task: Mapping[str, Collection[str]] = field(default_factory=dict)

    @classmethod
    def of(cls, job: JobLike) -> Taken:
        """Those of a job."""
        material = {name: frozenset(m.stages) for name, m in job.materials.items()}
        task = {name: material.get(t.material or "", frozenset()) for name, t in job.tasks.items()}
        return cls(tuple(job.zones), tuple(job.gears), tuple(job.deliveries), material, task)

    def and_those(self, pieces: Iterable[Piece]) -> Taken:
        """These and the ids of `pieces`."""
        pieces = list(pieces)
        new = {kind: [p.id for p in pieces if p.kind == kind] for kind in KINDS}
        material = {**self.material, **{p.id: stages_of(p.data) for p in pieces if p.kind == "material"}}
        task = {p.id: material.get(p.data.get("material", ""), ()) for p in pieces if p.kind == "task"}
        places = ([*self.zone, *new["zone"]], [*self.gear, *new["gear"]], [*self.delivery, *new["delivery"]])
        return Taken(*places, material, {**self.task, **task})


@dataclass(frozen=True)
class Fitted:
    """A block fitted into a job: its new tables, what the launch comes after, and joins with tasks outside it.

    covered: ends of other blocks that this one's coats take over. joins: by task what it comes after too.
    """

    name: str
    pieces: tuple[Piece, ...]
    ends: tuple[str, ...]
    covered: tuple[str, ...]
    joins: Mapping[str, tuple[str, ...]]

    @property
    def heading(self) -> str:
        """A line of comment over its tables."""
        return f"# ---- {_head(self.name)['title']}: {block_about(self.name)}"

    @property
    def text(self) -> str:
        """Its tables as TOML, with comments on what to do with them."""
        lines = [self.heading, f"# {HEADING}"]
        if self.ends:
            lines.append(f"# The launch comes after {' and '.join(self.ends)}: add that to its task.")
        return "\n".join(lines) + "\n\n" + tables_text(self.pieces)


def tables_text(pieces: Iterable[Piece]) -> str:
    """Tables as TOML with a blank line after each, in the order of a job file."""
    ordered = sorted(pieces, key=lambda piece: KINDS.index(piece.kind))
    return "".join(f"{piece.text}\n\n" for piece in ordered)


def block_names() -> tuple[str, ...]:
    """The names of the blocks, in the order of a stay."""
    return NAMES


def block_about(name: str) -> str:
    """What a block is, in a line without a full stop. Raises UsageError where there is no such block."""
    about: str = _head(name)["about"]
    return about


def material_names() -> tuple[str, ...]:
    """The ids of the generic materials."""
    return tuple(name for kind, name in stock() if kind == "material")


def material_text(name: str, taken: Taken | None = None) -> str:
    """A generic material as TOML, under an id that is free. Raises UsageError where there is none of that name."""
    if name not in material_names():
        raise UsageError([_unknown("material", name, material_names())])
    piece = stock()["material", name]
    free = _free(name, (taken or Taken()).material)
    return piece.renamed({"material": {name: free}}).text + "\n"


def block_text(name: str, taken: Taken | None = None, due: dt.date | None = None) -> str:
    """A block as TOML to add to a job that has the ids `taken`; parses with it, whatever it has.

    Tasks get free ids (``af-1-2``); places, gear and materials that the job has under their ids are used as they
    are, materials only where they have the stages. due: the day deliveries are due, else a year from today.
    Raises UsageError where there is no such block.
    """
    return fit_block(name, taken, due).text


def fit_block(name: str, taken: Taken | None = None, due: dt.date | None = None) -> Fitted:
    """A block fitted beside what is taken; see :func:`block_text`."""
    taken = taken or Taken()
    head, tasks = _head(name), list(_tasks(name))
    gone = {task for there, tasks_out in head.get("without", {}).items() if there in taken.task for task in tasks_out}
    tasks = [piece.after((), gone) for piece in tasks if piece.id not in gone]
    new, number = _new_ids(tasks, taken)
    fresh, renamed = _stock_for(tasks, taken, due or dt.date.today() + dt.timedelta(days=365))
    tasks = [piece.renamed({**renamed, "task": new}) for piece in tasks]
    joins = {
        new.get(task, task): tuple(known for link in links if (known := _outside(link, number, taken)))
        for task, links in head.get("joins", {}).items()
    }
    tasks = [piece.after(joins.pop(piece.id, ())) for piece in tasks]
    ends = tuple(_moved(link, new) for link in head["ends"])
    covered = tuple(head.get("covers", ()))
    return Fitted(name, (*fresh, *tasks), ends, covered, _late_joins(head, new, taken))


def _late_joins(head: Mapping[str, Any], new: Mapping[str, str], taken: Taken) -> dict[str, tuple[str, ...]]:
    """What tasks that are there already come after in this block; for a job made new, no owner's task is touched."""
    return {
        task: tuple(_moved(link, new) for link in links if link.partition("@")[0] in new)
        for task, links in head.get("joins", {}).items()
        if task in taken.task and task not in new
    }


@cache
def _head(name: str) -> dict[str, Any]:
    if name not in (*NAMES, FIRST):
        raise UsageError([_unknown("block", name, NAMES)])
    head: dict[str, Any] = tomllib.loads(read_text(name))["block"]
    return head


@cache
def _tasks(name: str) -> tuple[Piece, ...]:
    _head(name)
    return tuple(pieces_of(read_text(name)))


def _unknown(kind: str, name: str, names: Collection[str]) -> Fault:
    near = difflib.get_close_matches(name[:60].lower(), names, n=1, cutoff=0.4)
    listed = ", ".join(names)
    hint = f"the nearest is {near[0]}; there are {listed}" if near else f"there are {listed}"
    return Fault("", f"there is no {kind} {name[:60]}", hint)


def _new_ids(tasks: Iterable[Piece], taken: Taken) -> tuple[dict[str, str], int]:
    """Ids for the tasks that are all free, with one number for the whole chain; 1 for none."""
    ids = [piece.id for piece in tasks]
    number = 1
    while any(_numbered(name, number) in taken.task for name in ids):
        number += 1
    return {name: _numbered(name, number) for name in ids}, number


def _numbered(name: str, number: int) -> str:
    return name if number == 1 else f"{name}-{number}"


def _free(name: str, taken: Collection[str]) -> str:
    number = 1
    while _numbered(name, number) in taken:
        number += 1
    return _numbered(name, number)


def _stock_for(tasks: Iterable[Piece], taken: Taken, due: dt.date) -> tuple[list[Piece], dict[str, dict[str, str]]]:
    """The stock's tables that `tasks` need and the job lacks, and by kind the ids that had to change."""
    fresh: dict[tuple[str, str], Piece] = {}
    renamed: dict[str, dict[str, str]] = {kind: {} for kind in KINDS}
    for task in tasks:
        for kind, names in task.names().items():
            for name in names:
                piece = stock()[kind, name]
                known: Collection[str] = getattr(taken, kind)
                if kind == "material" and name in known and not stages_of(piece.data) <= set(taken.material[name]):
                    # The owner's own material of that name knows other stages: it stays as it is, beside this one.
                    renamed[kind][name] = _free_material(name, piece, taken)
                if renamed[kind].get(name, name) not in known:
                    fresh[kind, name] = piece.renamed({kind: renamed[kind]})
    order = [key for key in stock() if key in fresh]
    return [
        replace(p, text=p.text.replace(DATE_TO_GIVE, due.isoformat())) for p in map(fresh.__getitem__, order)
    ], renamed


def _free_material(name: str, piece: Piece, taken: Taken) -> str:
    """An id that is free, or that an earlier block gave this very material."""
    number = 2
    while (there := taken.material.get(_numbered(name, number))) is not None and not stages_of(piece.data) <= set(
        there
    ):
        number += 1
    return _numbered(name, number)


def _outside(link: str, number: int, taken: Taken) -> str:
    """The link as the job has it: to the task of the same number, or else of none; empty where there is none."""
    task, at, stage = link.partition("@")
    for name in (_numbered(task, number), task):
        if name in taken.task and (not stage or stage in taken.task[name]):
            return f"{name}{at}{stage}"
    return ""


def _moved(link: str, new: Mapping[str, str]) -> str:
    task, at, stage = link.partition("@")
    return f"{new.get(task, task)}{at}{stage}"

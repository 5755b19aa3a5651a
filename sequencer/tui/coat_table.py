"""Every coat that is curing now or will be, as a line of the tide table: when what, by when the next one."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.job.links import DONE
from sequencer.planning.plan import Plan, Row
from sequencer.telling import Window, best_window, column_clock, lasting
from sequencer.tui.coats import AFLOAT_STAGES, Coats, coats_of
from sequencer.tui.drawing import Line
from sequencer.tui.marks import Signs
from sequencer.tui.text import cut, pad

NAME_CELLS = (8, 30)
"""Cells of a coat's name: at the least, at the most."""
COLUMN = 13
"""Cells a moment takes with the blank after it."""
MARKED = 1
"""Cells more for the last start, whose mark stands behind it."""
SHUTS_SOON = 8
"""Slots before a last start from which it is marked: two hours."""

PLAIN_STAGES = ("recoat", "sand")
"""Stages that have a column."""

HEADS = {
    "laid": "laid",
    "dry": "dry till",
    "opens": "coat from",
    "last": "last start",
    "sand": "sand from",
    "wetted": "wet from",
}
"""Columns from left to right."""
RANK = ("last", "opens", "dry", "laid", "sand", "wetted")
"""Which columns stay when there is no room for all."""


@dataclass(frozen=True)
class Coat:
    """One coat. window: the one to mind, None where no next coat waits for it. cells: by column, the slot."""

    row: Row
    window: Window | None
    cells: dict[str, int]
    said: str = ""
    """What stands in place of the last columns: cured, the last coat, a missed window."""
    bad: bool = False


def coats_ahead(plan: Plan, now: int) -> list[Coat]:
    """The coats that still show at `now` or later, in the order they are laid."""
    coats = coats_of(plan)
    rows = [r for r in plan.rows.values() if r.task.material and not r.keys and coats.gone(r) > now]
    return [_coat(plan, coats, row, now) for row in rows]


def _coat(plan: Plan, coats: Coats, row: Row, now: int) -> Coat:
    window = best_window(plan, row.id)
    if window is not None and (window.begun or window.stage in AFLOAT_STAGES):
        window = None
    cells = {"laid": row.start, "dry": coats.dry(row)}
    follow = coats.after.get(row.id, [])
    takes = next((s for r, s in follow if r.task.material and s in row.stages and s != "sand"), "")
    opens = window.opens if window is not None else row.stages.get(takes)
    wetted = next((row.stages[s] for s in AFLOAT_STAGES if s in row.stages), None)
    if opens is not None:
        cells["opens"] = opens
    if "sand" in row.stages:
        cells["sand"] = row.stages["sand"]
    if wetted is not None:
        cells["wetted"] = wetted
    said, bad = _said(plan, row, window, now) if window is not None else (_rest(plan, row, follow, now), False)
    if window is not None and not said and window.last >= 0:
        cells["last"] = window.last
    return Coat(row, window, cells, said, bad)


def _said(plan: Plan, row: Row, window: Window, now: int) -> tuple[str, bool]:
    """A window that is missed, or that nobody can meet; empty and False for any other."""
    near = plan.moment(max(now, row.start))
    shut = column_clock(plan.moment(window.closes), near)
    if window.keyed:
        key = plan.rows[window.keyed]
        return f"x {shut}: key {lasting(key.worked)} {column_clock(plan.moment(key.start), near)}", True
    if window.last < 0:
        return f"x {shut}: nobody can meet it", True
    return "", False


def _rest(plan: Plan, row: Row, follow: list[tuple[Row, str]], now: int) -> str:
    """What a coat without a window comes to: a stage of the owner's own, or the water; empty for plain columns."""
    near = plan.moment(max(now, row.start))
    wanted = [(r, s) for r, s in follow if s not in (DONE, *AFLOAT_STAGES) and s in row.stages]
    if any(s in PLAIN_STAGES or r.task.material for r, s in wanted):
        return ""
    if wanted:
        after, stage = wanted[0]
        return f"{stage} {column_clock(plan.moment(row.stages[stage]), near)}, for {after.id}"
    wetted = next((row.stages[s] for s in AFLOAT_STAGES if s in row.stages), None)
    if wetted is None:
        return ""
    moment = column_clock(plan.moment(wetted), near)
    return f"cured: may be wetted since {moment}" if wetted <= now else f"last coat: may be wetted {moment}"


class CoatTable:
    """Draws coats as lines of one width."""

    def __init__(self, plan: Plan, now: int, width: int, signs: Signs) -> None:
        self.plan, self.now, self.signs = plan, now, signs
        # The last column needs no blank after it.
        fit = max(1, (width - MARKED - NAME_CELLS[0]) // COLUMN)
        kept = set(RANK[:fit])
        self.columns = [name for name in HEADS if name in kept]
        self.names = min(NAME_CELLS[1], width - MARKED - len(self.columns) * COLUMN)
        self.width = width

    def head(self) -> Line:
        """The heads of the columns."""
        made = Line().add(pad(" coat", self.names + 1), "pencil")
        for name in self.columns:
            made.add(pad(HEADS[name], self._cells(name, made)), "pencil")
        return made

    def draw(self, coat: Coat, here: bool) -> Line:
        """One coat; here: whether the person stands on it."""
        strong = " bold" if here else ""
        made = Line().add(self.signs["here"] if here else " ", "ink bold reverse" if here else "ink")
        made.add(f"{pad(coat.row.id, self.names - 1, self.signs.more)} ", f"ink{strong}")
        told_from = self._told_from(coat)
        for at, name in enumerate(self.columns):
            if at == told_from:
                room = self.width - made.width
                said = self.signs.own(coat.said) if coat.said else ""
                made.add(cut(said, room, self.signs.more), "bell bold" if coat.bad else f"pencil{strong}")
                break
            self._cell(made, coat, name, strong)
        return made

    def _cells(self, name: str, made: Line) -> int:
        """Cells of a column, as far as the line goes."""
        return min(COLUMN + (MARKED if name == "last" else 0), self.width - made.width)

    def _told_from(self, coat: Coat) -> int:
        """The column at which words stand in place of moments; past the last where none do."""
        if not coat.said:
            return len(self.columns)
        at = [self.columns.index(name) for name in ("opens", "last", "sand") if name in self.columns]
        return min(at, default=len(self.columns))

    def _cell(self, made: Line, coat: Coat, name: str, strong: str) -> None:
        slot = coat.cells.get(name)
        room = self._cells(name, made)
        if slot is None:
            made.add(" " * room)
            return
        near = self.plan.moment(max(self.now, coat.row.start))
        text = column_clock(self.plan.moment(slot), near)
        role = f"pencil{strong}" if slot <= self.now else f"ink{strong}"
        if name == "last" and 0 <= slot - self.now <= SHUTS_SOON:
            made.add(f"{text}{self.signs['shutting']}", "bell reverse bold").add(" " * (room - len(text) - 1))
        else:
            made.add(pad(text, room), role)

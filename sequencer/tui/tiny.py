"""What a very small screen shows: the list of the day and nothing else."""

from __future__ import annotations

from sequencer.telling import day_name
from sequencer.tui.clocktext import now_slot
from sequencer.tui.drawing import Line, line
from sequencer.tui.drawn import Drawn
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.notice import notice_lines
from sequencer.tui.text import cut
from sequencer.tui.todo import DaySheet


def tiny_lines(model: Model, width: int) -> list[Line]:
    """Today's list as short as it goes."""
    plan, signs = model.plan, Signs(model.ascii)
    if plan is None:
        return notice_lines(model, width)
    sheet = DaySheet(plan, plan.grid.day_of(max(0, now_slot(plan, model.now))))
    lines = [line(cut(f"TO DO {day_name(sheet.date)}", width), "ink bold")]
    for todo in sheet.todo:
        lines.append(line(cut(f"{sheet.time(todo)} {todo.title}", width, signs.more)))
        if todo.by and todo.shuts:
            lines.append(line(cut(f"{signs['shutting']} {todo.by}", width, signs.more), "bell bold"))
    return lines if len(lines) > 1 else [*lines, line(cut("nothing today", width), "pencil")]


class Tiny(Drawn):
    """The list of the day."""

    model = Model()

    def show(self, model: Model) -> None:
        """Draw a new model."""
        self.model = model
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """The list."""
        return tiny_lines(self.model, width)

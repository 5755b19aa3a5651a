"""What stands in a page's place while there is nothing to show: reading, faults, no launch, no job."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual.binding import BindingType

from sequencer.errors import JobError, NoPlanError, SequencerError, UsageError, one_line, short_path
from sequencer.job import source
from sequencer.tui.drawing import Line, line
from sequencer.tui.drawn import Drawn
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.text import shown, wrap

NO_JOB = "No job was named. Leave with ctrl+q, then: sequencer MY-JOB.toml. The folder jobs has some to copy."
WAYS_OUT = {
    JobError: "Mend the file in any editor, then look again: space, again.",
    NoPlanError: "Change it here: t, then enter on the task, or b for people, weather and dates. u takes changes back.",
    UsageError: "",
}

NOT_THERE = "Begin one: space, then new job. Open another: space, then open a job. Or leave with ctrl+q."


def trouble_lines(error: SequencerError, width: int, signs: Signs) -> list[Line]:
    """The error's title, its file, each fault as a sentence, and what to do next."""
    lines = [line(title_of(error), "ink bold")]
    if error.file:
        path = short_path(error.file, width, signs.more)
        lines += [line(part, "pencil") for part in wrap(path, width, 2, signs.more)]
    lines.append(line())
    for fault in error.faults:
        parts = wrap(fault.sentence(), width - 2, 6, signs.more)
        lines += [line(("  " if n else f"{signs['waits']} ") + part) for n, part in enumerate(parts)]
    way = next((said for kind, said in WAYS_OUT.items() if isinstance(error, kind)), "")
    way = NOT_THERE if _not_there(error) else way
    if way:
        lines.append(line())
        lines += [line(part, "pencil") for part in wrap(way, width, 3, signs.more)]
    return lines


def title_of(error: SequencerError) -> str:
    """The error's heading; of a job that is not there, that; of a file beside the job, which."""
    if _not_there(error):
        return "There is no such job file"
    beside = isinstance(error, JobError) and error.file and not error.file.endswith(".toml")
    return f"Trouble with {one_line(Path(error.file).name, 30)}" if beside else error.title


def _not_there(error: SequencerError) -> bool:
    return isinstance(error, JobError) and error.file.endswith(".toml") and error.faults[0].what == source.NOT_THERE


def notice_lines(model: Model, width: int) -> list[Line]:
    """What to say for a model without a plan."""
    signs = Signs(model.ascii)
    if model.trouble is not None:
        return trouble_lines(model.trouble, width, signs)
    if model.job is None:
        return [line(signs.own("Reading the job file…"), "pencil")]
    return [line("Looking for a launch for ").add(shown(model.job.job.title)).add(signs.more)]


class Notice(Drawn):
    """Plain sentences in a page's place. ↑↓ scroll where they are many."""

    can_focus = True
    BINDINGS: ClassVar[list[BindingType]] = [("up", "scroll(-1)", "up"), ("down", "scroll(1)", "down")]
    model = Model()
    _first = 0

    def show(self, model: Model) -> None:
        """Draw a new model."""
        self.model = model
        self.redraw()

    def action_scroll(self, by: int) -> None:
        """Move the lines up or down."""
        self._first = max(0, self._first + by)
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """The sentences from the line scrolled to on."""
        lines = [Line(), *(Line([(" ", "ink"), *one.runs]) for one in notice_lines(self.model, width - 2))]
        self._first = max(0, min(self._first, len(lines) - height))
        return lines[self._first :]

"""The walk: what a task comes after, the task itself, what follows it, with arrows between."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from sequencer.job import Job
from sequencer.job.links import DONE
from sequencer.planning.plan import Plan
from sequencer.tui.drawing import Line
from sequencer.tui.marks import Signs
from sequencer.tui.text import cut, pad, width_of

ARROW = 5
"""Cells of an arrow with its blanks."""


@dataclass(frozen=True)
class Neighbour:
    """One end of a link. name: the task (or keying) there, empty for a delivery; text: as drawn."""

    name: str
    text: str
    stage: str = DONE


class Graph:
    """The links of one job, keyings of the plan among them: who comes before whom."""

    def __init__(self, job: Job, plan: Plan | None) -> None:
        self.job = job
        self.names = [task.id for task in job.task]
        self.before: dict[str, list[Neighbour]] = {task.id: [] for task in job.task}
        self.after: dict[str, list[Neighbour]] = {task.id: [] for task in job.task}
        for task in job.task:
            for link in task.after:
                self.before[task.id].append(Neighbour(link.task, str(link), link.stage))
                if link.task in self.after:
                    self.after[link.task].append(Neighbour(task.id, task.id, link.stage))
        if plan is not None and plan.job is job:
            self._keyings(plan)

    def _keyings(self, plan: Plan) -> None:
        """A keying stands between the coat and the task it clears the way for."""
        for row in plan.missed:
            self.names.insert(self.names.index(row.task.id), row.id)
            self.before[row.id] = [Neighbour(row.keys, row.keys)]
            self.after[row.id] = [Neighbour(row.task.id, row.task.id)]
            self.before[row.task.id].append(Neighbour(row.id, f"keying {row.keys}"))
            self.after[row.keys].append(Neighbour(row.id, f"keying {row.keys}"))

    def comes_after(self, name: str) -> list[Neighbour]:
        """What `name` comes after, deliveries last."""
        found = list(self.before.get(name, []))
        task = self.job.tasks.get(name)
        if task is not None and task.delivery:
            found.append(Neighbour("", f"+ {task.delivery}"))
        return found

    def follows(self, name: str) -> list[Neighbour]:
        """What follows `name`."""
        return self.after.get(name, [])

    def all_before(self, name: str) -> set[str]:
        """Everything upstream of `name`."""
        return _reach(name, self.before)

    def all_after(self, name: str) -> set[str]:
        """Everything downstream of `name`."""
        return _reach(name, self.after)


def _reach(name: str, links: dict[str, list[Neighbour]]) -> set[str]:
    found: set[str] = set()
    queue = deque([name])
    while queue:
        for neighbour in links.get(queue.popleft(), []):
            if neighbour.name not in found:
                found.add(neighbour.name)
                queue.append(neighbour.name)
    found.discard(name)
    return found


@dataclass
class Walk:
    """One task with its neighbours, and where the person stands.

    text: the task as drawn. side: -1 before, 0 here, 1 after. pick: which neighbour of that side.
    """

    name: str
    text: str
    before: list[Neighbour]
    after: list[Neighbour]
    side: int = 0
    pick: int = 0

    @property
    def chosen(self) -> str:
        """The task the person points at."""
        beside = self.before if self.side < 0 else self.after if self.side > 0 else []
        return beside[self.pick].name if self.pick < len(beside) else self.name

    def draw(self, width: int, room: int, signs: Signs) -> tuple[list[Line], list[tuple[int, int, int, int, int]]]:
        """The walk in `width` cells and at most `room` lines, and where to click: (line, begin, end, side, pick)."""
        arrow = "-->" if signs.ascii else "──►"
        lanes = self._lanes(width)
        lines: list[Line] = []
        spots: list[tuple[int, int, int, int, int]] = []
        left, mid, right = lanes
        heads = Line().add(pad("comes after", left), "pencil").add(pad("", ARROW)).add(pad("here", mid), "pencil")
        lines.append(heads.add(pad("", ARROW)).add(pad("what follows", right), "pencil"))
        shown = max(1, room - 1)
        tops = (
            _top(self.before, self.pick if self.side < 0 else 0, shown),
            _top(self.after, self.pick if self.side > 0 else 0, shown),
        )
        count = min(shown, max(len(self.before), len(self.after), 1))
        for y in range(count):
            one, two = tops[0] + y, tops[1] + y
            made = Line()
            role, text = self._side(self.before, one, -1, y == count - 1, shown)
            _tell(made, text, left, role, signs)
            points = one < len(self.before) and bool(self.before[one].name)
            made.add(f" {arrow} " if points else "     ", "ink")
            made.add(
                pad(self._here(y, mid, signs), mid), "ink bold reverse" if self.side == 0 and y == 0 else "ink bold"
            )
            made.add(f" {arrow} " if two < len(self.after) else "     ", "ink")
            role, text = self._side(self.after, two, 1, y == count - 1, shown)
            _tell(made, text, right, role, signs)
            lines.append(made)
            if one < len(self.before):
                spots.append((y + 1, 0, left, -1, one))
            if two < len(self.after):
                spots.append((y + 1, left + mid + 2 * ARROW, width, 1, two))
        return lines, spots

    def _lanes(self, width: int) -> tuple[int, int, int]:
        """Cells of the three columns; arrows take five between. Where not all fits, each gives up some."""
        room = max(9, width - 2 * ARROW)
        left = max([11, *(width_of(n.text) for n in self.before)])
        right = max([12, *(width_of(_at_stage(n)) for n in self.after)])
        mid = width_of(self.text) + 4
        if left + mid + right > room:
            mid = min(mid, max(8, room // 3))
            left = min(left, max((room - mid) // 2, room - mid - right))
        return left, mid, room - mid - left

    def _here(self, y: int, mid: int, signs: Signs) -> str:
        return f"[ {pad(self.text, mid - 4, signs.more)} ]" if y == 0 else ""

    def _side(self, listed: list[Neighbour], at: int, side: int, last: bool, shown: int) -> tuple[str, str]:
        if at >= len(listed):
            said = "nothing" if not listed and at == 0 else ""
            return "pencil", said
        more = len(listed) - at
        if last and more > 1:
            return "pencil", f"and {more} more"
        neighbour = listed[at]
        text = _at_stage(neighbour) if side > 0 else neighbour.text
        chosen = self.side == side and self.pick == at
        return ("ink bold reverse" if chosen else "ink"), text


def _at_stage(neighbour: Neighbour) -> str:
    """A follower, and the stage it waits for."""
    return neighbour.text if neighbour.stage == DONE else f"{neighbour.text}, at {neighbour.stage}"


def _tell(made: Line, text: str, room: int, role: str, signs: Signs) -> None:
    """Text in its role and the blanks after it plain, so that only the word lights up."""
    shown = cut(text, room, signs.more)
    made.add(shown, role).add(" " * (room - width_of(shown)))


def _top(listed: list[Neighbour], pick: int, shown: int) -> int:
    """The first neighbour drawn, so that the one picked is in view."""
    return max(0, min(pick - shown + 2, len(listed) - shown)) if pick >= shown - 1 else 0

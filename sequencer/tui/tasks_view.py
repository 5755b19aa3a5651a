"""The tasks, thought out: the list, the walk along the links, the card. No Textual here."""

from __future__ import annotations

from sequencer.planning.plan import Row
from sequencer.tui.card import Field, card, days_of_play, key_card
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.scrolling import follow
from sequencer.tui.text import owner_words, pad, width_of, wrap
from sequencer.tui.walk import Graph, Walk

LABEL = 11
AROUND = 2
"""Lines of the list kept in view above and below the one stood on."""
WRAPPED = 12
"""Lines one field of the card may take."""
NARROW = 48
"""Below this many cells the card has one field a line."""
BUTTONS = (("open", "enter edit"), ("app.new", "n new"), ("app.copy", "y copy"), ("app.book", "b book"))
"""What stands under the card, and the action each is for."""
WAYS = "all_the_way"


class TasksView:
    """The Tasks page for one model. Kept from model to model by :meth:`follow`."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.signs = Signs(model.ascii)
        self.graph = Graph(model.job, model.plan) if model.job is not None else None
        self.names: list[str] = self.graph.names if self.graph else []
        self.at = 0
        self.top = 0
        self.card_top = 0
        self.lit = False
        self.walk = self._walk()
        self.list_width = 0
        self._spots: list[tuple[int, int, int, int, int]] = []
        self._buttons: list[tuple[int, int, str]] = []
        self._height = 0
        self.stand(model.marked or self._due())

    def follow(self, old: TasksView, answer: bool) -> None:
        """Stand where the person stood; answer: the model only answers their own move."""
        self.top, self.lit = old.top, old.lit
        if answer or self.model.marked in ("", old.model.marked):
            self.stand(old.name)
            if self.name == old.name:
                self.walk.side, self.walk.pick = old.walk.side, old.walk.pick
                self.card_top = old.card_top
                self.walk.pick = min(self.walk.pick, max(0, len(self._beside()) - 1))

    def _due(self) -> str:
        """The task due now: the first of the plan that is not finished."""
        plan = self.model.plan
        if plan is None:
            return ""
        return next((row.id for row in plan.rows.values() if not row.finished), "")

    @property
    def name(self) -> str:
        """The task stood on; empty where there is none."""
        return self.names[self.at] if self.names else ""

    def stand(self, name: str) -> bool:
        """Stand on a task; whether that changed anything."""
        if name not in self.names:
            return False
        moved = self.names[self.at] != name
        self.at = self.names.index(name)
        self.walk, self.card_top = self._walk(), 0
        return moved

    def _walk(self) -> Walk:
        if self.graph is None or not self.names:
            return Walk("", "", [], [])
        return Walk(
            self.name, self._called(self.name), self.graph.comes_after(self.name), self.graph.follows(self.name)
        )

    def _beside(self) -> list[object]:
        return list(self.walk.before if self.walk.side < 0 else self.walk.after if self.walk.side > 0 else [])

    # -- moving -----------------------------------------------------------------------------------------------

    def move(self, by: int) -> bool:
        """Along the list, or among the neighbours on the side one stands; whether the task changed."""
        if not self.names:
            return False
        if self.walk.side:
            self.walk.pick = max(0, min(len(self._beside()) - 1, self.walk.pick + by))
            return False
        return self.stand(self.names[max(0, min(len(self.names) - 1, self.at + by))])

    def step(self, side: int) -> bool:
        """Along the links: to the neighbours on a side, and from there to the one picked; whether the task changed."""
        walk = self.walk
        if walk.side == -side:
            walk.side = walk.pick = 0
            return False
        if walk.side == side:
            moved = self.stand(walk.chosen)
            beside = self.walk.before if side < 0 else self.walk.after
            self.walk.side = side if moved and beside else 0
            return moved
        beside = walk.before if side < 0 else walk.after
        walk.side, walk.pick = (side, 0) if beside else (0, 0)
        return False

    def go(self) -> bool:
        """Go to the neighbour pointed at; whether the task changed."""
        chosen = self.walk.chosen
        self.walk.side = self.walk.pick = 0
        return self.stand(chosen)

    def hit(self, x: int, y: int) -> tuple[str, int, int] | None:
        """What lies under a click: ("list", index, 0), ("walk", side, pick) or ("card", 0, 0)."""
        wide, first = self.list_width, 1
        if x < wide:
            at = self.top + y - first
            return ("list", at, 0) if first <= y < self._height - 1 and at < len(self.names) else None
        for row, begin, end, side, pick in self._spots:
            if y == row and begin <= x - wide - 2 < end:
                return ("walk", side, pick)
        return ("card", 0, 0) if self.names and x > wide + 1 else None

    def button(self, x: int, y: int) -> str:
        """The action of the word under a click; empty for none."""
        if y != self._height - 1:
            return ""
        if x < self.list_width:
            return WAYS
        return next((action for begin, end, action in self._buttons if begin <= x - self.list_width - 2 < end), "")

    # -- drawing ----------------------------------------------------------------------------------------------

    def draw(self, width: int, height: int) -> list[Line]:
        """The page, `width` by `height` cells."""
        if not self.names:
            return self._empty(width)
        wide = self._list_width(width)
        self._height = height
        left = self._list(wide, height)
        right = self._right(width - wide - 2, height)
        bar = "|" if self.signs.ascii else "│"
        lines = []
        for y in range(height):
            made = Line(list(left[y].runs)) if y < len(left) else line(" " * wide)
            made.add(bar + " ", "pencil")
            if y < len(right):
                made.runs += right[y].runs
            lines.append(made)
        return lines

    def _empty(self, width: int) -> list[Line]:
        if self.model.job is None and self.model.trouble is not None:
            lines = [line(f"{self.model.trouble.title}.", "bell bold"), line()]
            for fault in self.model.trouble.faults:
                lines += [line(part) for part in wrap(fault.sentence(), width - 1, 6, self.signs.more)]
            return lines
        return [
            line("No tasks yet.", "ink bold"),
            line("n makes the first: what is to be done, where on the boat, how many hours."),
        ]

    def _list_width(self, width: int) -> int:
        longest = max(width_of(self._called(name)) for name in self.names) + 5
        return max(14, min(longest, width // 3 if width >= 100 else width // 4))

    def _called(self, name: str) -> str:
        row = self._row(name)
        return f"keying {row.keys}" if row is not None and row.keys else name

    def _row(self, name: str) -> Row | None:
        return self.model.plan.rows.get(name) if self.model.plan is not None else None

    def _list(self, wide: int, height: int) -> list[Line]:
        job = self.model.job
        assert job is not None
        todo = sum(task.finished is None for task in job.task)
        many = f"{len(job.task)} task{'s' if len(job.task) != 1 else ''}"
        head = f"{many}, {todo} to do"
        head = head if width_of(head) <= wide - 1 else f"{todo} of {len(job.task)} to do"
        lines = [line(pad(head, wide, self.signs.more), "pencil")]
        room = height - 2
        self.top = follow(self.top, self.at - AROUND, self.at + 1 + AROUND, room, len(self.names))
        self.list_width = wide
        before = self.graph.all_before(self.name) if self.lit and self.graph else set()
        after = self.graph.all_after(self.name) if self.lit and self.graph else set()
        shown = range(self.top, min(len(self.names), self.top + room))
        lines += [self._entry(at, wide, before, after) for at in shown]
        while len(lines) < height - 1:
            lines.append(line(" " * wide))
        ways = ("b", "f") if self.signs.ascii else ("◄", "►")
        said = f"{ways[0]} {len(before)}  {ways[1]} {len(after)}" if self.lit else "w all the way"
        return [*lines, line(pad(said, wide, self.signs.more), "pencil")]

    def _entry(self, at: int, wide: int, before: set[str], after: set[str]) -> Line:
        name = self.names[at]
        row = self._row(name)
        here = at == self.at
        path = " "
        if row is not None and row.on_path:
            path = self.signs["path"] if days_of_play(row) else self.signs["holds"]
        way = ("b" if self.signs.ascii else "◄") if name in before else " "
        way = ("f" if self.signs.ascii else "►") if name in after else way
        state = self.signs["here"] if here else self._state(name, row)
        role = "ink bold" if here or name in before or name in after else "ink"
        if row is not None and row.finished and not here:
            role = "pencil"
        made = Line().add(path, "ink bold").add(state, "ink bold reverse" if here else role)
        return made.add(way, "water bold").add(f" {pad(self._called(name), wide - 5, self.signs.more)} ", role)

    def _state(self, name: str, row: Row | None) -> str:
        """Done, under way, a keying, or still to do."""
        task = self.model.job.tasks.get(name) if self.model.job is not None else None
        if task is None:
            return self.signs["keying"]
        if task.finished is not None:
            return "v" if self.signs.ascii else "√"
        return ("h" if self.signs.ascii else "½") if task.started is not None else " "

    def _right(self, width: int, height: int) -> list[Line]:
        room = 4 if height < 24 else 8
        drawn, self._spots = self.walk.draw(width, room, self.signs)
        rule = line(("-" if self.signs.ascii else "─") * width, "pencil")
        lines = [*drawn, rule]
        lines += self._card(width, height - len(lines) - 1)
        lines += [line() for _ in range(height - 1 - len(lines))]
        return [*lines, self._words()]

    def _words(self) -> Line:
        """The keys under the card, each a button."""
        made, self._buttons = Line(), []
        for action, words in BUTTONS:
            key, _, said = words.partition(" ")
            self._buttons.append((made.width, made.width + len(words), action))
            made.add(key, "ink bold").add(f" {said}   ", "pencil")
        return made

    def _card(self, width: int, room: int) -> list[Line]:
        """The card, scrolled where it is longer than `room`."""
        lines = self._card_lines(width)
        if len(lines) <= room:
            self.card_top = 0
            return lines
        self.card_top = max(0, min(self.card_top, len(lines) - room + 1))
        shown = lines[self.card_top : self.card_top + room - 1]
        left = len(lines) - self.card_top - len(shown)
        said = f"{left} more lines: page down" if left else "page up for the rest"
        return [*shown, line(pad(said, width, self.signs.more), "pencil")]

    def _card_lines(self, width: int) -> list[Line]:
        job, plan, name = self.model.job, self.model.plan, self.name
        assert job is not None
        row, task = self._row(name), job.tasks.get(name)
        if task is None:
            fields = key_card(plan, row) if plan is not None and row is not None else []
            return [line(pad(self._called(name), width, self.signs.more), "ink bold"), *self._fields(fields, width)]
        title = wrap(f"{task.id}  {task.title}".strip(), width, WRAPPED, self.signs.more)
        fields = card(job, plan, task, row)
        return [*(line(part, "ink bold") for part in title), *self._fields(fields, width)]

    def _fields(self, fields: list[Field], width: int) -> list[Line]:
        """Fields as lines, short ones in pairs where both fit."""
        lines: list[Line] = []
        half = width // 2
        waiting: Field | None = None
        for field in fields:
            fits = field.short and width >= NARROW and LABEL + width_of(field.value) < half
            if waiting is not None and fits:
                lines.append(self._pair(waiting, field, half))
                waiting = None
                continue
            if waiting is not None:
                lines += self._field(waiting, width)
                waiting = None
            if fits:
                waiting = field
            else:
                lines += self._field(field, width)
        return lines + (self._field(waiting, width) if waiting is not None else [])

    def _plain(self, text: str) -> str:
        """Our words, the owner's among them, as this terminal can show them."""
        return self.signs.own(text, owner_words(self.model.job)) if self.model.job is not None else text

    def _pair(self, one: Field, two: Field, half: int) -> Line:
        made = line(pad(one.label, LABEL), "pencil").add(pad(self._plain(one.value), half - LABEL, self.signs.more))
        return made.add(pad(two.label, LABEL), "pencil").add(self._plain(two.value))

    def _field(self, field: Field, width: int) -> list[Line]:
        parts = wrap(self._plain(field.value), max(8, width - LABEL), WRAPPED, self.signs.more)
        labels = [field.label, *[""] * (len(parts) - 1)]
        return [line(pad(label, LABEL), "pencil").add(part) for label, part in zip(labels, parts, strict=True)]

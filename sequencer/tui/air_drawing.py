"""The Air page drawn: a line a material by the hour, the hands, the days, and what the cell stood at says."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.job import Material
from sequencer.telling import day_name
from sequencer.tui.air_cells import MARKS, Cell
from sequencer.tui.air_days import day_line, day_row, days_head
from sequencer.tui.air_told import told
from sequencer.tui.air_view import STEPS, AirView
from sequencer.tui.drawing import Cells, Line, line
from sequencer.tui.marks import BY_NAME, Signs, role_of
from sequencer.tui.notice import notice_lines, trouble_lines
from sequencer.tui.scrolling import follow
from sequencer.tui.text import cut, wrap

NAMES = (11, 22)
"""Cells left of the hours: at the least, at the most."""
LEAST_DAYS = 3
FIXED = 6
"""Lines besides materials, days and sentences: days' names, hours, hands, legend, the days' head, a blank."""
ROOMY = 26
"""From this height on a blank line sets the days off."""
LEGEND = ("cold", "warm", "damp", "rain", "wind")
TITLE = "may go on?"
NO_MATERIAL = "No material yet: Tasks (t), then n, makes one. Then its hours stand here."
SENTENCE_LINES = 3


@dataclass(frozen=True)
class Hit:
    """What a line of the drawing means to a click. spot: the material (-1: none); day: of the table (-1: none)."""

    spot: int = -1
    day: int = -1
    hours: bool = False


class AirDrawing:
    """Draws one view at one size. hits: for each line drawn, what a click on it means."""

    def __init__(self, view: AirView, width: int, height: int) -> None:
        self.view, self.width, self.height = view, width, height
        self.signs = Signs(view.model.ascii)
        longest = max((len(material.id) for material in view.materials), default=0)
        self.label = max(NAMES[0], min(NAMES[1], longest + 2, width // 4))
        self.out: list[Line] = []
        self.hits: list[Hit] = []
        self.cells: list[Cell] = []

    def lines(self) -> list[Line]:
        """The drawing, and nothing past its size."""
        view = self.view
        if view.fault is not None or view.job is None:
            return self._fault()
        self.cells = view.cells(self.width - self.label)
        said = self._told()
        many = len(view.materials) or 1
        room = self.height - FIXED - len(said) - self._gap
        shown = max(1, min(many, room - min(LEAST_DAYS, max(1, room // 2))))
        self._hours(shown)
        self._legend()
        if self._gap:
            self._put(line())
        self._days(max(0, self.height - len(self.out) - len(said) - 2))
        self._put(line())
        for one in said:
            self._put(one)
        return self.out[: self.height]

    @property
    def _gap(self) -> int:
        return int(self.height >= ROOMY)

    def _fault(self) -> list[Line]:
        """Why there is nothing to draw: faults of the weather file, of the job, or no job yet."""
        error = self.view.fault or self.view.trouble
        if error is None:
            return notice_lines(self.view.model, self.width - 1)[: self.height]
        return trouble_lines(error, self.width - 1, self.signs)[: self.height]

    def cell_at(self, x: int) -> Cell | None:
        """The cell under a screen column."""
        return next((cell for cell in self.cells if cell.x == x - self.label), None)

    def _put(self, drawn: Line, hit: Hit | None = None) -> None:
        self.out.append(drawn)
        self.hits.append(hit or Hit())

    def _row(self, label: str, role: str = "pencil") -> Cells:
        drawn = Cells(self.width)
        drawn.put(0, cut(label, self.label - 1, self.signs.more), role)
        return drawn

    # -- the hours ----------------------------------------------------------------------------------------------

    def _hours(self, shown: int) -> None:
        """The days' names, the hours, a line a material, the hands, and now."""
        view = self.view
        self._put(self._names().line(), Hit(hours=True))
        self._put(self._ruler().line(), Hit(hours=True))
        if not view.materials:
            self._put(line(cut(NO_MATERIAL, self.width - 1, self.signs.more), "ink bold"))
        else:
            at = min(view.spot, len(view.materials) - 1)
            view.top = follow(view.top, at, at + 1, shown, len(view.materials))
            for number in range(view.top, min(len(view.materials), view.top + shown)):
                self._put(self._material(number), Hit(spot=number, hours=True))
        hands = self._row(" hands")
        for cell in self.cells:
            most = view.hands(cell.begin, cell.end)
            hands.put(self.label + cell.x, str(min(9, most)) if most else " ", "ink")
        self._put(hands.line(), Hit(hours=True))

    def _names(self) -> Cells:
        drawn = self._row(TITLE)
        last = None
        for cell in self.cells:
            date = self.view.grid.date(self.view.grid.day_of(cell.begin))
            x = self.label + cell.x
            if date != last and drawn.free(x, x + 6):
                drawn.put(x, day_name(date), "ink bold")
            last = date
        return drawn

    def _ruler(self) -> Cells:
        """The hours of the clock, now, and where one stands."""
        view, zone = self.view, self.view.zone_shown()
        drawn = self._row(f" {zone.name}" if zone is not None else "", "ink bold")
        every = {2: 3, 4: 6, 8: 6, 16: 12}[STEPS[view.fine]]
        for cell in self.cells:
            moment = view.grid.moment(cell.begin)
            text = str(moment.hour)
            x = self.label + cell.x
            if moment.minute == 0 and moment.hour % every == 0 and drawn.free(x, x + len(text)):
                drawn.put(x, text, "pencil")
        now = next((cell for cell in self.cells if cell.begin <= view.now < cell.end), None)
        if now is not None:
            drawn.put(self.label + now.x, self.signs["now"], "ink bold")
        here = self._here()
        if here is not None:
            drawn.tint(self.label + here.x, self.label + here.x + 1, "reverse bold ink")
        return drawn

    def _here(self) -> Cell | None:
        return next((cell for cell in self.cells if cell.begin <= self.view.slot < cell.end), None)

    def _material(self, number: int) -> Line:
        view, signs = self.view, self.signs
        material: Material = view.materials[number]
        here = number == view.spot
        drawn = self._row(" " + material.id, "ink bold" if here else "ink")
        if here:
            drawn.put(0, signs["here"], "ink bold reverse")
        for cell in self.cells:
            kind, x = view.kind(material, cell), self.label + cell.x
            mark = MARKS.get(kind)
            staffed = view.hands(cell.begin, cell.end) > 0
            if mark is not None:
                drawn.put(x, signs[mark], role_of(mark) + (" bold" if mark == "open" and staffed else ""))
            if not staffed:
                drawn.tint(x, x + 1, "dusk")
        stood = self._here()
        if here and stood is not None:
            drawn.stand(self.label + stood.x, signs["here"])
        return drawn.line()

    def _legend(self) -> None:
        """What the marks mean."""
        view, signs = self.view, self.signs
        made = line(" ").add(signs["open"], role_of("open")).add(" yes")
        for name in LEGEND:
            word = BY_NAME[name].word
            if made.width + len(word) + 4 <= self.width:
                made.add("  ").add(signs[name], role_of(name)).add(f" {word}")
        hidden = len(view.materials) - self._shown()
        more = f"{hidden} more above and below"
        if hidden > 0 and made.width + len(more) + 3 <= self.width:
            made.add(f"   {more}", "pencil")
        self._put(made)

    def _shown(self) -> int:
        return sum(hit.spot >= 0 for hit in self.hits)

    # -- the days -----------------------------------------------------------------------------------------------

    def _days(self, room: int) -> None:
        """The days around the one stood at."""
        view = self.view
        assert view.job is not None
        assert view.tables is not None
        self._put(days_head(self.width, self.signs))
        total = view.last_day + 1
        room = min(room, total)
        today = view.grid.day_of(max(0, view.now))
        ahead = 0 if view.in_days else max(0, min(room - 1, total - 1 - view.day))
        view.top_day = follow(view.top_day, view.day, view.day + 1 + ahead, room, total)
        for day in range(view.top_day, min(total, view.top_day + room)):
            row = day_row(view.job, view.tables, day)
            marked = day == view.day
            drawn = day_line(row, self.width, self.signs, marked and view.in_days, marked, day == today)
            self._put(drawn, Hit(day=day))

    def _told(self) -> list[Line]:
        """The sentences, each in a few lines; the last give way on small screens."""
        most = 6 if self.height >= 30 else 4 if self.height >= 18 else 3
        lines: list[Line] = []
        if self.view.trouble is not None:
            most += 1
            said = self.view.trouble.faults[0].sentence()
            lines += [line(part, "bell bold") for part in wrap(said, self.width - 1, 2, self.signs.more)]
        for text, role in told(self.view):
            parts = wrap(self.signs.own(text), self.width - 1, SENTENCE_LINES, self.signs.more)
            lines += [line(part, role) for part in parts]
        return lines[:most]

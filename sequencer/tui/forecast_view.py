"""What a forecast would change, in lines: what moves first, then the days before and after. No Textual here."""

from __future__ import annotations

from sequencer.tui.air_days import rain_words
from sequencer.tui.clocktext import day_month
from sequencer.tui.drawing import Line, line
from sequencer.tui.marks import Signs
from sequencer.tui.text import cut, pad, wrap
from sequencer.tui.trying import Outcome
from sequencer.weather.forecast import MOST_DAYS, DayValues, Forecast, ForecastDay

MOST_LINES = 5
DAY = 11


class ForecastView:
    """The lines of one forecast. outcome: what a trial has told, None before it has told anything."""

    def __init__(self, forecast: Forecast, ascii_only: bool) -> None:
        self.forecast, self.signs = forecast, Signs(ascii_only)
        self.outcome: Outcome | None = None
        self.top = 0

    def scroll(self, by: int) -> None:
        """Further down or up."""
        self.top = max(0, self.top + by)

    def draw(self, width: int, height: int) -> list[Line]:
        """The lines scrolled to, filled with the form's ground."""
        lines = self.lines(width)
        self.top = max(0, min(self.top, len(lines) - height))
        shown = lines[self.top : self.top + height]
        below = len(lines) - self.top - len(shown)
        if below > 0 and shown:
            shown[-1] = line(pad(f"{below + 1} more lines below", width), "pencil dusk")
        return [_filled(one, width) for one in shown]

    def lines(self, width: int) -> list[Line]:
        """All lines."""
        return [*self._told(width), line(" ", "dusk"), *self._days(width)]

    def _told(self, width: int) -> list[Line]:
        """What would move."""
        if self.outcome is None:
            return [line(self.signs.own("Looking what would move…"), "resin dusk")]
        lines = []
        if self.outcome.bad:
            lines.append(line("With it there is no plan. It may be taken all the same:", "bell bold dusk"))
        for number, text in enumerate(self.outcome.said):
            parts = wrap(self.signs.own(text), width, MOST_LINES, self.signs.more)
            role = "ink bold dusk" if number == 0 or self.outcome.bad else "ink dusk"
            lines += [line(part, role) for part in parts]
        if not self.outcome.done:
            lines.append(line(self.signs.own("Still looking…"), "resin dusk"))
        return lines

    def _days(self, width: int) -> list[Line]:
        days, more = self.forecast.days, self.forecast.more
        count = f"{len(days)} day{'' if len(days) == 1 else 's'} of weather would be different:"
        lines = [line(count, "ink bold dusk")]
        for day in days:
            lines += self._day(day, width)
        if more:
            said = (
                f"{more} more days are left out: no more than {MOST_DAYS} are taken. For a season, name the file in "
                "the job: book (b on Tasks), weather file."
            )
            lines += [line(part, "pencil dusk") for part in wrap(said, width, 3, self.signs.more)]
        for note in self.forecast.notes:
            lines += [line(part, "pencil dusk") for part in wrap(f"{note}.", width, 3, self.signs.more)]
        return lines

    def _day(self, day: ForecastDay, width: int) -> list[Line]:
        name = pad(day_month(day.date), DAY)
        was, now = _values(day.before), _values(day.after)
        arrow = "->" if self.signs.ascii else "→"
        if len(name) + len(was) + len(now) + 4 <= width:
            return [line(name, "ink dusk").add(f"{was} {arrow} ", "pencil dusk").add(now, "ink dusk")]
        room = width - DAY
        return [
            line(name, "ink dusk").add(cut(was, room, self.signs.more), "pencil dusk"),
            line(pad(f"{arrow} ".rjust(DAY), DAY), "ink dusk").add(cut(now, room, self.signs.more), "ink dusk"),
        ]


def _values(values: DayValues) -> str:
    """A day in short."""
    if not values:
        return "not known"
    rain = values["rain"]
    wet = f"rain {rain_words(rain)}" if isinstance(rain, list) and rain else "dry"
    return f"{values['low']:g} to {values['high']:g}, dew {values['dew']:g}, {wet}, {values['wind']:g} kn"


def _filled(made: Line, width: int) -> Line:
    return Line([*made.runs, (" " * max(0, width - made.width), "dusk")])

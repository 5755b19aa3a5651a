"""The jot box: the second key says what happened; a time, hours or a day may be typed before it."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll

from sequencer.tui.asking import Dialog
from sequencer.tui.clocktext import day_time
from sequencer.tui.drawing import Line, line
from sequencer.tui.drawn import Drawn
from sequencer.tui.jots import TYPED, Jot, Jots
from sequencer.tui.marks import Signs
from sequencer.tui.model import Model
from sequencer.tui.text import cut, wrap

LETTERS = "0123456789:.,+- "
TYPED_MOST = 16
REFUSED_LINES = 6


class JotBox(Drawn):
    """What can be jotted, a line each; a click takes a line as its key would."""

    ground = "ink dusk"

    def __init__(self, model: Model) -> None:
        super().__init__(id="jots")
        self.signs = Signs(model.ascii)
        self.jots = Jots(model)
        self.typed = ""
        self.people: list[Jot] | None = None
        self.person = 0
        self.refused = ""
        self._spots: dict[int, Jot] = {}

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """As many lines as it takes."""
        return len(self.drawing(width, 99))

    def drawing(self, width: int, height: int) -> list[Line]:
        """The task it is about, what was typed, and the choices."""
        self._spots = {}
        lines = self._who(width) if self.people is not None else self._what(width)
        if self.refused:
            lines += [
                line(part, "bell bold dusk") for part in wrap(self.refused, width, REFUSED_LINES, self.signs.more)
            ]
        return lines

    def _what(self, width: int) -> list[Line]:
        jots, job = self.jots, self.jots.job
        title = job.tasks[jots.task].name if jots.task else ""
        about = f"{jots.task}: {title}" if title and title != jots.task else jots.task
        more = f"  {jots.at + 1} of {len(jots.tasks)}, up and down for another" if len(jots.tasks) > 1 else ""
        head = cut(about or "no task", max(10, width - len(more)), self.signs.more)
        lines = [line(head, "ink bold dusk").add(more, "pencil dusk")]
        lines.append(line(f"now {day_time(jots.now)}", "ink dusk").add(f"   typed: {self.typed}_", "ink bold dusk"))
        lines.append(line(cut(f"before the key: {TYPED}", width, self.signs.more), "pencil dusk"))
        lines.append(line(" ", "dusk"))
        for jot in jots.all(self.typed):
            for drawn in self._choice(jot, width):
                self._spots[len(lines)] = jot
                lines.append(drawn)
        return lines

    def _choice(self, jot: Jot, width: int) -> list[Line]:
        """Its key and what it says; where it can't be jotted, why, on a second line where need be."""
        if not jot.why_not:
            said = cut(jot.words, width - 4, self.signs.more)
            return [line(f" {jot.key}  ", "ink bold dusk").add(said, "ink dusk")]
        words = f"{jot.words.partition(':')[0]}: not now; {jot.why_not}"
        parts = wrap(words, width - 4, 2, self.signs.more)
        return [line(f" {' ' if n else jot.key}  {part}", "pencil dusk") for n, part in enumerate(parts)]

    def _who(self, width: int) -> list[Line]:
        assert self.people is not None
        lines = [line("Who can't come?", "ink bold dusk"), line(" ", "dusk")]
        if not self.people:
            return [*lines, line("Nobody is expected.", "ink dusk")]
        for number, jot in enumerate(self.people):
            here = number == self.person
            self._spots[len(lines)] = jot
            words = cut(jot.words, width - 2, self.signs.more)
            lines.append(line(("> " if here else "  ") + words, "ink bold dusk" if here else "ink dusk"))
        return lines

    # -- keys -------------------------------------------------------------------------------------------------

    def move(self, by: int) -> None:
        """To another task, or another person."""
        self.refused = ""
        if self.people:
            self.person = max(0, min(len(self.people) - 1, self.person + by))
        else:
            self.jots.move(by)
        self.changed()

    def turn(self, by: int) -> None:
        """To another stage of the coat."""
        self.jots.turn(by)
        self.changed()

    def write(self, letter: str) -> None:
        """A letter typed; empty: the last one taken back."""
        self.typed = (self.typed + letter)[:TYPED_MOST] if letter else self.typed[:-1]
        self.refused = ""
        self.changed()

    def press(self, key: str) -> None:
        """The second key."""
        jot = next((jot for jot in self.jots.all(self.typed) if jot.key == key), None)
        if jot is not None:
            self.take(jot)

    def take(self, jot: Jot) -> None:
        """Jot it, or say why not."""
        if jot.why_not:
            self.refused = f"{jot.words.partition(':')[0]}: not now; {jot.why_not}"
            self.changed()
        elif jot.change is None:
            self.people, self.person = self.jots.away(), 0
            self.changed()
        elif self.keep(jot):
            self.screen.dismiss(None)

    def keep(self, jot: Jot) -> bool:
        """Have it saved; where it can't be, say why, and leave what was typed."""
        screen = self.screen
        assert isinstance(screen, Jotting)
        if not screen.is_current:  # A second key, under way when the first one closed the box.
            return False
        why = screen.keep(jot)
        if why:
            self.refused = f"Not jotted: {why}"
            self.changed()
        return not why

    def take_person(self) -> None:
        """The person stood on can't come."""
        if self.people:
            self.take(self.people[self.person])

    def changed(self) -> None:
        """Draw anew; it may have grown."""
        self._kept = None
        self.refresh(layout=True)

    def on_click(self, event: events.Click) -> None:
        """A click takes a line."""
        jot = self._spots.get(event.y)
        if jot is not None:
            self.take(jot)


class Jotting(Dialog[None]):
    """The jot box over the page. keep: saves a jot; why it could not be, empty where it was."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "close", "back", show=False)]

    def __init__(self, model: Model, keep: Callable[[Jot], str]) -> None:
        super().__init__()
        self.model, self.keep = model, keep

    def compose(self) -> ComposeResult:
        """One box."""
        with VerticalScroll(id="explain", can_focus=False) as box:
            box.border_title = "jot what happened"
            box.border_subtitle = "escape leaves it"
            yield JotBox(self.model)

    def on_key(self, event: events.Key) -> None:
        """Arrows move, letters jot, the rest is typed."""
        box = self.query_one(JotBox)
        if event.key in ("up", "down"):
            box.move(-1 if event.key == "up" else 1)
        elif event.key in ("left", "right"):
            box.turn(-1 if event.key == "left" else 1)
        elif event.key == "backspace":
            box.write("")
        elif event.key == "enter":
            box.take_person()
        elif event.is_printable and event.character and event.character in LETTERS and box.people is None:
            box.write(event.character)
        elif event.is_printable and event.character and box.people is None:
            box.press(event.character.lower())
        else:
            return
        event.stop()

    def on_click(self, event: events.Click) -> None:
        """A click beside the box leaves it."""
        if event.widget is self:
            self.dismiss(None)

    def action_close(self) -> None:
        """Back from the people to the jots, or to the page."""
        box = self.query_one(JotBox)
        if box.people is not None:
            box.people = None
            box.changed()
        else:
            self.dismiss(None)

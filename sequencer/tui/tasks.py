"""The Tasks page: what comes after what, walked along, and a card for each task."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.binding import BindingType

from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn
from sequencer.tui.keys import bindings
from sequencer.tui.model import Model
from sequencer.tui.page import Page
from sequencer.tui.posted import Posted
from sequencer.tui.tasks_view import TasksView


class TasksPage(Page, Drawn):
    """Walks the list and the links."""

    title = "Tasks"
    takes_trouble = True
    marks = ("here", "holds", "path", "delivery", "keying")
    help = """\
At the left every task of the job file, in its order: √ done, ½ under way, / a keying the plan had
to put in. At the right the walk: what the task comes after, the task, what follows it. task@stage
waits until what was laid there has come to that stage; + is a delivery.

← and → step over to the neighbours, ↑ and ↓ choose among them, the same arrow again or enter goes
there. On the task itself enter opens its card, where every field is edited and it can be taken out.
n makes a new one, y a copy; b has the cards of materials, places, people, gear, yard and all else.
w lights up everything before (◄) and after (►) the task, all the way.
play: how much later it may start and leave the launch where it is."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings("Tasks")]

    def __init__(self) -> None:
        super().__init__(id="page-tasks")
        self.view = TasksView(Model())
        self._posted = Posted()

    def show(self, model: Model) -> None:
        """Draw `model`, standing where one stood."""
        old, self.view = self.view, TasksView(model)
        self.view.follow(old, self._posted.ours(model.marked))
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """The page in cells."""
        return self.view.draw(width, height)

    def action_move(self, by: int) -> None:
        """Along the list, or among the neighbours."""
        self._moved(self.view.move(by))

    def action_walk(self, side: int) -> None:
        """Along the links."""
        self._moved(self.view.step(side))

    def action_open(self) -> None:
        """Go to the neighbour pointed at, or open the card of the task stood on."""
        if self.view.walk.side:
            self._moved(self.view.go())
        elif self.view.name:
            self.post_message(self.Edited(self.view.name))

    def action_all_the_way(self) -> None:
        """Light up everything before and after, or stop."""
        self.view.lit = not self.view.lit
        self.redraw()

    def action_card(self, by: int) -> None:
        """Scroll the card."""
        self.view.card_top = max(0, self.view.card_top + by)
        self.redraw()

    async def on_click(self, event: events.Click) -> None:
        """A click marks a task or points at a neighbour, where one stands it opens; words do what their key does."""
        action, hit = self.view.button(event.x, event.y), self.view.hit(event.x, event.y)
        if action:
            await self.run_action(action)
        elif hit is not None and hit[0] == "list":
            self._click_list(hit[1])
        elif hit is not None and hit[0] == "walk":
            self._click_walk(hit[1], hit[2])
        elif hit is not None:
            self.view.walk.side = 0
            self.action_open()

    def _click_list(self, at: int) -> None:
        if self.view.at == at and not self.view.walk.side:
            self.action_open()
        else:
            self._moved(self.view.stand(self.view.names[at]))

    def _click_walk(self, side: int, pick: int) -> None:
        if (self.view.walk.side, self.view.walk.pick) == (side, pick):
            self.action_open()
        else:
            self.view.walk.side, self.view.walk.pick = side, pick
            self.redraw()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """The wheel walks the list, or scrolls the card."""
        event.stop()
        self._wheel(event.x, 1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The wheel walks the list, or scrolls the card."""
        event.stop()
        self._wheel(event.x, -1)

    def _wheel(self, x: int, by: int) -> None:
        if x < self.view.list_width:
            self.view.walk.side = 0
            self.action_move(by)
        else:
            self.action_card(by)

    def _moved(self, moved: bool) -> None:
        self.redraw()
        if moved:
            self._posted.tell(self.view.name)
            self.post_message(self.Marked(self.view.name))

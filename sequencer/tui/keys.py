"""Every key of the app, once: bindings, help and what space asks are all made from this list."""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding

EVERYWHERE = ""


@dataclass(frozen=True)
class Key:
    """One key: what the terminal sends, how it is shown, what it does, in which page (EVERYWHERE: all).

    page: for keys that open a page, which.
    """

    keys: str
    shown: str
    action: str
    words: str
    where: str = EVERYWHERE
    page: str = ""


def _page(letter: str, title: str, words: str) -> Key:
    return Key(letter, letter, f"page('{title}')", words, page=title)


KEYS: tuple[Key, ...] = (
    _page("s", "Stay", "Stay: the whole stay at a glance"),
    _page("d", "Day", "Day: one day by the hour, and its sheet"),
    _page("c", "Cures", "Cures: what is curing, and which windows shut"),
    _page("h", "Holds", "Holds: what holds the launch"),
    _page("t", "Tasks", "Tasks: what comes after what"),
    _page("a", "Air", "Air: when each material may go on, and the weather"),
    _page("o", "Odds", "Odds: how sure the date is, and what the stay then costs"),
    _page("l", "Levers", "Levers: what would buy a night"),
    _page("m", "Moved", "Moved: what the last change did, and what was done before"),
    Key("j", "j", "jot", "jot what happened: a second key says what"),
    Key("u", "u", "undo", "undo the last change, again and again"),
    Key("r", "r", "redo", "do again what was undone"),
    Key("p", "p", "sheet", "the sheet of the day, on paper"),
    Key("v", "v", "review", "review: what one must not forget"),
    Key("escape", "escape", "go_back", "go back to the page before"),
    Key("full_stop", ".", "to_now", "go to now, on Stay, Day, Cures and Air"),
    Key("z", "z", "closer", "closer: finer hours, on Stay, Day, Cures and Air"),
    Key("x", "x", "wider", "wider: more days, on Stay, Day, Cures and Air"),
    Key("question_mark", "?", "explain", "explain this page"),
    Key("space", "space", "ask", "ask for a page, a task or a verb"),
    Key("ctrl+q", "ctrl+q", "quit", "leave"),
    Key("left", "←", "move(-1, 0)", "a cell back", "Stay"),
    Key("right", "→", "move(1, 0)", "a cell on", "Stay"),
    Key("up", "↑", "move(0, -1)", "a lane up", "Stay"),
    Key("down", "↓", "move(0, 1)", "a lane down", "Stay"),
    Key("pageup", "page up", "move_week(-1)", "a week back", "Stay"),
    Key("pagedown", "page down", "move_week(1)", "a week on", "Stay"),
    Key("home", "home", "edge(-1)", "to the haul-out", "Stay"),
    Key("end", "end", "edge(1)", "to the launch", "Stay"),
    Key("enter", "enter", "open", "open that day", "Stay"),
    Key("left", "←", "move(-1, 0)", "half an hour back; past midnight the day before", "Day"),
    Key("right", "→", "move(1, 0)", "half an hour on; past midnight the next day", "Day"),
    Key("up", "↑", "move(0, -1)", "up the lanes and the sheet", "Day"),
    Key("down", "↓", "move(0, 1)", "down the lanes, then the sheet", "Day"),
    Key("left_square_bracket,pageup", "[ or page up", "turn(-1)", "the day before", "Day"),
    Key("right_square_bracket,pagedown", "] or page down", "turn(1)", "the next day", "Day"),
    Key("enter", "enter", "open", "open the task one stands on", "Day"),
    Key("up", "↑", "move(-1)", "up the coats", "Cures"),
    Key("down", "↓", "move(1)", "down the coats", "Cures"),
    Key("pageup", "page up", "move(-6)", "further up", "Cures"),
    Key("pagedown", "page down", "move(6)", "further down", "Cures"),
    Key("home", "home", "move(-9999)", "to the first coat", "Cures"),
    Key("end", "end", "move(9999)", "to the last coat", "Cures"),
    Key("left", "←", "hours(-6)", "the hours before", "Cures"),
    Key("right", "→", "hours(6)", "the hours after", "Cures"),
    Key("enter", "enter", "open", "open the coat's task", "Cures"),
    Key("up", "↑", "move(-1)", "up the sentences, nearer the launch", "Holds"),
    Key("down", "↓", "move(1)", "down the sentences, further back", "Holds"),
    Key("pageup", "page up", "move(-6)", "further up", "Holds"),
    Key("pagedown", "page down", "move(6)", "further down", "Holds"),
    Key("home", "home", "move(-9999)", "to the launch", "Holds"),
    Key("end", "end", "move(9999)", "back to the haul-out", "Holds"),
    Key("enter", "enter", "open", "open the task of the sentence", "Holds"),
    *(
        key
        for page, one in (("Odds", "dates"), ("Levers", "levers"))
        for key in (
            Key("up", "↑", "move(-1)", f"up the {one}", page),
            Key("down", "↓", "move(1)", f"down the {one}", page),
            Key("pageup", "page up", "move(-6)", "further up", page),
            Key("pagedown", "page down", "move(6)", "further down", page),
            Key("home", "home", "move(-9999)", f"to the first of the {one}", page),
            Key("end", "end", "move(9999)", f"to the last of the {one}", page),
        )
    ),
    Key("enter", "enter", "open", "open the task that sets the launch most often", "Odds"),
    Key("f", "f", "past", "name a file of past years to draw the weather from", "Odds"),
    Key("enter", "enter", "open", "take the lever into the job", "Levers"),
    Key("e", "e", "price", "enter what the lever costs", "Levers"),
    Key("up", "↑", "move(-1)", "up the lines", "Moved"),
    Key("down", "↓", "move(1)", "down the lines", "Moved"),
    Key("pageup", "page up", "move(-6)", "further up", "Moved"),
    Key("pagedown", "page down", "move(6)", "further down", "Moved"),
    Key("home", "home", "move(-9999)", "to the first line", "Moved"),
    Key("end", "end", "move(9999)", "to the last line", "Moved"),
    Key("enter", "enter", "open", "open the task of the line", "Moved"),
    Key("up", "↑", "move(-1)", "up the list, or among the neighbours", "Tasks"),
    Key("down", "↓", "move(1)", "down the list, or among the neighbours", "Tasks"),
    Key("left", "←", "walk(-1)", "to what it comes after", "Tasks"),
    Key("right", "→", "walk(1)", "to what follows", "Tasks"),
    Key("enter", "enter", "open", "edit the task, or go to the neighbour pointed at", "Tasks"),
    Key("n", "n", "app.new", "new: a task, material, place, person, gear, delivery, day", "Tasks"),
    Key("y", "y", "app.copy", "copy the task", "Tasks"),
    Key("b", "b", "app.book", "book: the cards of everything else in the job", "Tasks"),
    Key("w", "w", "all_the_way", "all the way: light up everything before and after", "Tasks"),
    Key("pageup", "page up", "card(-4)", "up the card", "Tasks"),
    Key("pagedown", "page down", "card(4)", "down the card", "Tasks"),
    Key("home", "home", "move(-9999)", "to the first task", "Tasks"),
    Key("end", "end", "move(9999)", "to the last task", "Tasks"),
    Key("left", "←", "move(-1, 0)", "a cell back", "Air"),
    Key("right", "→", "move(1, 0)", "a cell on", "Air"),
    Key("up", "↑", "move(0, -1)", "up the days, then the materials", "Air"),
    Key("down", "↓", "move(0, 1)", "down the materials, then the days", "Air"),
    Key("pageup", "page up", "turn(-1)", "the day before, at the same hour", "Air"),
    Key("pagedown", "page down", "turn(1)", "the next day, at the same hour", "Air"),
    Key("home", "home", "edge(-1)", "to the first day", "Air"),
    Key("end", "end", "edge(1)", "to the last day", "Air"),
    Key("tab", "tab", "cross", "from the hours to the days, or back", "Air"),
    Key("enter", "enter", "open", "edit the day one stands at", "Air"),
    Key("f", "f", "forecast", "bring in a forecast from a file", "Air"),
    Key("w", "w", "place", "where: the air of the next place", "Air"),
)
"""In the order the help shows them."""

FOOT = (
    ("move", "←↑↓→ move"),
    ("open", "enter open"),
    ("jot", "j jot"),
    ("ask", "space ask"),
    ("undo", "u undo"),
    ("explain", "? this page"),
)
"""What the foot says, and the action each word stands for; it never changes."""


def keys_of(where: str) -> list[Key]:
    """The keys of a page, or those that work everywhere."""
    return [key for key in KEYS if key.where == where]


def bindings(where: str) -> list[Binding]:
    """Bindings for a page's class, or for the app itself."""
    return [Binding(key.keys, key.action, key.words, show=False) for key in keys_of(where) if key.action != "quit"]

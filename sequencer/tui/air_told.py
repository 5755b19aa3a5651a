"""What the place one stands at says: may this go on then, why not, who is there, what it is wanted for."""

from __future__ import annotations

from sequencer.job import Material
from sequencer.telling import clock, day_name, lasting, near_clock
from sequencer.telling.applying import YES, Applying
from sequencer.tui.air_view import AirView
from sequencer.tui.clocktext import day_month
from sequencer.tui.text import cut

NAME_CELLS = 24
MOST_SPANS = 3
"""Spans of a day told of one material."""

Said = tuple[str, str]
"""A sentence and its role."""


def told(view: AirView) -> list[Said]:
    """The sentences for the cell or the day stood at."""
    if view.in_days or view.material is None:
        return _of_day(view)
    return _of_cell(view, view.material)


def _of_cell(view: AirView, material: Material) -> list[Said]:
    applying, slot = view.applying(material), view.slot
    zone = applying.use.zone
    where = f" in {cut(zone.name, NAME_CELLS)}" if view.job is not None and view.job.zone else ""
    lead = f"{material.id}{where}, {_clock(view, slot)}: "
    kind = applying.kind(slot)
    if kind == "unknown":
        return [(f"{lead}no weather is known.", "ink bold"), (HOW_TO_TELL, "ink")]
    if kind:
        no = f"{lead}no. {_join(applying.against(slot))}. {_next(view, applying)}"
        return [(no, "ink bold"), (_wanted(view, applying), "ink")]
    last = applying.last_yes(slot)
    till = "as far as is known" if last >= len(applying.kinds) else f"till {_clock(view, last, slot)}"
    margins = _join(applying.margins(slot))
    first = f"{lead}yes, {till}. {margins}." if margins else f"{lead}yes, {till}."
    return [(first, "ink bold"), (f"{_people(view, slot)} {_wanted(view, applying)}", "ink")]


HOW_TO_TELL = (
    "Enter types in the day; f brings in a forecast from a file. What a month is usually like: Tasks (t), then n, "
    "usual weather."
)


def _join(parts: list[str]) -> str:
    return "; ".join(parts)


def _next(view: AirView, applying: Applying) -> str:
    """When it may go on next, and when somebody is there for it."""
    at = applying.next_yes(view.slot)
    if at < 0:
        return "No later hour that is known suits it."
    said = f"Yes at {_clock(view, at, view.slot)}"
    assert view.tables is not None
    both = (applying.kinds == YES) & (view.tables.hands > 0)
    met = int(both[at:].argmax()) + at if both[at:].any() else -1
    if met == at:
        return f"{said}."
    return f"{said}; with hands there {_clock(view, met, view.slot)}." if met > 0 else f"{said}; nobody is there then."


def _people(view: AirView, slot: int) -> str:
    """Who is on shift in a slot, or when somebody is next."""
    assert view.tables is not None
    assert view.job is not None
    there = [person for person, mask in view.tables.shifts.items() if mask[slot]]
    if there:
        names = [cut(view.job.people[person].name, NAME_CELLS) for person in there]
        are = "are" if len(names) > 1 or names[0].lower() == "you" else "is"
        return f"{' and '.join(names[:4])}{f' and {len(names) - 4} more' if len(names) > 4 else ''} {are} there."
    ahead = view.tables.hands[slot:] > 0
    if not ahead.any():
        return "Nobody is there then, nor later."
    return f"Nobody is there before {_clock(view, slot + int(ahead.argmax()), slot)}."


def _wanted(view: AirView, applying: Applying) -> str:
    """The task it is next wanted for: when that is planned, and whether its whole work could begin here."""
    row = view.row_of(applying.use)
    plan = view.model.plan
    if row is None or plan is None:
        return "No task that is still to do uses it."
    if row.begun or row.finished:
        return f"Last used for {row.id}; no task that is still to do uses it."
    moment = plan.moment(row.start)
    said = f"Next for {row.id}: planned {near_clock(moment, plan.moment(plan.now))}, {lasting(row.worked)} of work"
    span = row.end - row.start
    if applying.kind(view.slot) == "" and row.task.one_go and span > 1:
        caught = applying.span_against(view.slot, span)
        if caught:
            return f"{said}. All of it could not begin here: {caught}."
    return f"{said}."


def _of_day(view: AirView) -> list[Said]:
    """When each material may go on that day with hands there."""
    assert view.tables is not None
    grid, day = view.grid, view.day
    begin, end = grid.day_start(day), grid.day_start(day + 1)
    name = day_month(grid.date(day))
    if not view.tables.outside.known[begin:end].any():
        return [(f"{name}: no weather is known. {HOW_TO_TELL}", "ink bold")]
    lead = f"{name}: enter edits it; f brings in a forecast from a file."
    if not view.materials:
        return [(lead, "ink bold")]
    if not (view.tables.hands[begin:end] > 0).any():
        return [(lead, "ink bold"), (f"Nobody is there on {day_name(grid.date(day))}.", "ink")]
    parts = [f"{material.id} {_hours(view, view.applying(material), begin, end)}" for material in view.materials]
    return [(lead, "ink bold"), (f"May go on with hands there: {'; '.join(parts)}.", "ink")]


def _hours(view: AirView, applying: Applying, begin: int, end: int) -> str:
    """Spans of a day in which it may go on and somebody is there: ``08:00-12:00, 13:00-17:30``."""
    assert view.tables is not None
    both = (applying.kinds[begin:end] == YES) & (view.tables.hands[begin:end] > 0)
    spans: list[list[int]] = []
    for at in both.nonzero()[0].tolist():
        if spans and spans[-1][1] == at:
            spans[-1][1] = at + 1
        else:
            spans.append([at, at + 1])
    if not spans:
        return "never"
    told_spans = spans[:MOST_SPANS]
    more = " and later" if len(spans) > MOST_SPANS else ""
    said = (f"{clock(view.grid.moment(begin + a))}-{_end(view, begin + b, end)}" for a, b in told_spans)
    return ", ".join(said) + more


def _end(view: AirView, slot: int, midnight: int) -> str:
    return "24:00" if slot == midnight else clock(view.grid.moment(slot))


def _clock(view: AirView, slot: int, near: int | None = None) -> str:
    """``Fri 16 07:00``; the clock alone on the day of `near`."""
    moment = view.grid.moment(slot)
    if near is not None and view.grid.moment(near).date() == moment.date():
        return clock(moment)
    base = view.grid.moment(view.now if near is None else near)
    return near_clock(moment, base)

"""Windows of a plan: when a coat takes the next one, by when that must start, what missing it costs."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from sequencer.errors import one_line
from sequencer.grid import PER_HOUR
from sequencer.planning.plan import Plan
from sequencer.planning.problem import Edge, Item
from sequencer.telling.figures import hours_text, lasting
from sequencer.telling.waits import called, clock_after, when
from sequencer.telling.weather import weather_reason

SHUTTING_SLOTS = 8
"""A window shuts when the last start is within two hours."""


SPARE_DAYS = 3
"""With more than this to spare, what missing a window would cost is not worth a sentence."""


@dataclass(frozen=True)
class Window:
    """The window of coat `before` for task `after`; moments are slots.

    opens, closes: between these the next coat must start. last: the last quarter hour in which its work
    can still start (people on shift, weather fit), -1 where there is none. keyed: the row that keys it where
    it was missed. met: whether the next coat starts in time. begun: whether it has begun for real.
    """

    before: str
    after: str
    stage: str
    opens: int
    closes: int
    last: int
    keyed: str = ""
    met: bool = True
    begun: bool = False


def windows(plan: Plan) -> list[Window]:
    """Every window some task of the plan wants, the soonest last start first."""
    found = [
        window
        for item in plan.problem.items
        for edge in item.edges
        if edge.closes is not None and (window := _window(plan, item, edge)) is not None
    ]
    return sorted(found, key=lambda w: (w.last if w.last >= 0 else w.closes, w.after))


def best_window(plan: Plan, row: str) -> Window | None:
    """Of the windows of coat `row`, the one to mind: not begun yet, the soonest last start."""
    mine = [w for w in windows(plan) if w.before == row]
    waiting = [w for w in mine if not w.begun]
    return next(iter(waiting or mine), None)


def next_last_start(plan: Plan, now: int) -> Window | None:
    """The window that shuts next: laid or planned, not missed, not yet taken."""
    ahead = [w for w in windows(plan) if not w.begun and not w.keyed and w.last >= now]
    return ahead[0] if ahead else None


def _window(plan: Plan, item: Item, edge: Edge) -> Window | None:
    before = plan.problem.items[edge.before]
    coat, after = plan.rows.get(before.id), plan.rows.get(item.id)
    if coat is None or after is None or edge.stage not in coat.stages or edge.stage not in coat.closes:
        return None
    opens, closes = coat.stages[edge.stage], coat.closes[edge.stage]
    key = f"{item.id}/key/{before.id}"
    begun = after.finished or after.begun
    return Window(
        before=before.id,
        after=item.id,
        stage=edge.stage,
        opens=opens,
        closes=closes,
        last=after.start if begun else last_start(item, opens, closes),
        keyed=key if key in plan.rows else "",
        met=after.start <= closes,
        begun=begun,
    )


def last_start(item: Item, opens: int, closes: int) -> int:
    """The last start of `item` in [opens, closes] by its own calendar and weather; -1 where there is none."""
    starts = item.course.starts
    at = bisect_right(starts, closes) - 1
    return starts[at] if at >= 0 and starts[at] >= opens else -1


# -- in words ----------------------------------------------------------------------------


def window_words(plan: Plan, window: Window) -> list[str]:
    """The window as sentences: when it is open, by when to start and why then, what missing it costs."""
    if window.begun:
        on = when(plan, plan.rows[window.after].start)
        return [f"{window.before} is covered: {window.after} went on {on}."]
    if window.keyed:
        return [_missed(plan, window)]
    coat, after = plan.rows[window.before], plan.rows[window.after]
    soft = " while still soft" if window.closes <= coat.stages.get("sand", -1) else ""
    until = clock_after(plan, window.opens, window.closes)
    open_from = when(plan, window.opens)
    takes = f"{coat.id} takes {after.id}" if after.task.material else f"{after.id} may start on {coat.id}"
    said = [f"{takes}{soft}: {open_from} to {until}, {lasting(after.worked)} of work."]
    if window.last < 0:
        return [*said, f"No start fits it: {_why_last(plan, window, window.closes)}."]
    if window.last < window.closes:
        said.append(f"{_why_last(plan, window, window.last)}, so start by {_by(plan, window)}.")
    else:
        said.append(f"Start by {_by(plan, window)}.")
    spare = window.last - after.start
    if spare > SPARE_DAYS * 24 * PER_HOUR:
        return [*said, f"Planned {when(plan, after.start)}: {_far(spare)} to spare."]
    return [*said, _if_missed(plan, window)]


def _by(plan: Plan, window: Window) -> str:
    return clock_after(plan, window.opens, window.last)


def _far(slots: int) -> str:
    """Hours up to four days, then whole days, rounded down."""
    days = slots // (24 * PER_HOUR)
    return f"{days} days" if days >= 4 else hours_text(slots)


def _why_last(plan: Plan, window: Window, last: int) -> str:
    """Why no later start than `last` will do although the window is still open."""
    after = plan.rows[window.after]
    item = _item(plan, window.after)
    staffed = plan.problem.tables.staffed(item.hands, item.task.who) if item.hands else None
    # The first start that no longer goes shows what stops it.
    slot = last + 1
    if staffed is not None:
        end = slot + item.work
        gone = next((s for s in range(slot, min(end, len(staffed))) if not staffed[s]), -1)
        if gone >= 0:
            back = next((s for s in range(gone, min(window.closes + 1, len(staffed))) if staffed[s]), -1)
            later = weather_reason(plan, after, back) if back >= 0 else ""
            return _leaves(plan, window, gone) + (f", and after that {later}" if later else "")
    return _capital(weather_reason(plan, after, slot) or "no later start fits")


def _leaves(plan: Plan, window: Window, gone: int) -> str:
    """Who is no longer there in slot `gone`."""
    at = clock_after(plan, window.opens, gone)
    at = f"at {at}" if at[0].isdigit() else at
    shifts = plan.problem.tables.shifts
    left = [p for p, there in shifts.items() if gone > 0 and there[gone - 1] and not there[gone]]
    names = [one_line(plan.job.people[p].name, 60) for p in left]
    if not names:
        return f"Too few hands are here from {at.removeprefix('at ')}"
    verb = "leave" if len(names) > 1 or names[0].lower() == "you" else "leaves"
    return f"{' and '.join(names)} {verb} {at}"


def _if_missed(plan: Plan, window: Window) -> str:
    """What missing it would cost."""
    edge = _edge(plan, window)
    if edge.keying is None:
        return "Missed: key it first."
    coat = plan.rows[window.before]
    sanded = coat.stages.get("sand", coat.end)
    starts = edge.keying.course.starts
    at = bisect_left(starts, max(sanded, window.last + 1, plan.now))
    dusty = ", dusty" if edge.keying.dusty else ""
    work = lasting(edge.keying.work)
    if at >= len(starts):
        return f"Missed: it must be keyed, {work}, one hand{dusty}, and no hour ahead suits that."
    begin, end = starts[at], edge.keying.course.ends[at]
    return f"Missed: key it from {when(plan, begin)}, {work}, one hand{dusty}. {_then(plan, window, end)}"


def _then(plan: Plan, window: Window, keyed: int) -> str:
    """What a keying that ends at `keyed` does to the launch, as far as the play of what follows tells."""
    item, after = _item(plan, window.after), plan.rows[window.after]
    starts, ends = item.course.starts, item.course.ends
    at = bisect_left(starts, keyed)
    if at >= len(starts):
        return f"{after.id} then finds no start."
    late = starts[at] - after.start
    if late <= 0:
        return "Nothing else moves."
    if after.id == plan.job.job.finish:
        return f"The launch slides {_far(late)}."
    for j, edge in plan.problem.followers[item.index]:
        follower = plan.rows[plan.problem.items[j].id]
        ready = ends[at] if edge.opens is None else edge.opens[min(ends[at], len(edge.opens) - 1)]
        if ready > follower.start + follower.slack:
            return f"{after.id} slides {_far(late)}, more than the play of what follows: the launch may move."
    return f"{after.id} slides {_far(late)}; what follows has the play for it."


def _missed(plan: Plan, window: Window) -> str:
    """A window the plan misses, and its keying."""
    key, after = plan.rows[window.keyed], plan.rows[window.after]
    late = hours_text(max(0, after.start - window.closes))
    dusty = ", dusty" if key.dusty else ""
    return (
        f"{after.id} misses {window.before}'s window, shut {when(plan, window.closes)}, by {late}. "
        f"{_capital(called(key))} {when(plan, key.start)}: {lasting(key.worked)}, one hand{dusty}."
    )


def _item(plan: Plan, name: str) -> Item:
    return next(item for item in plan.problem.items if item.id == name)


def _edge(plan: Plan, window: Window) -> Edge:
    return next(
        e
        for e in _item(plan, window.after).edges
        if plan.problem.items[e.before].id == window.before and e.stage == window.stage
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]

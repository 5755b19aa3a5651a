"""What is laid and how far it is: the state of every coat at every slot, and the windows that will shut.

Pure thinking about one plan; no page draws from anything else when it says wet, open or shutting.
"""

from __future__ import annotations

from functools import cached_property

from sequencer.job.links import DONE
from sequencer.planning.plan import Plan, Row
from sequencer.telling import Window, windows
from sequencer.telling.laying import last_start_for_next
from sequencer.telling.wet import dry_until
from sequencer.telling.windows import SHUTTING_SLOTS

AFLOAT_STAGES = ("immerse", "cure")
"""Stages from which a coat may be wetted, or has cured."""

Span = tuple[int, int, str]
"""[begin, end) and the name of a mark."""


class Coats:
    """The coats of one plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.keyings = {(row.keys, row.task.id): row for row in plan.rows.values() if row.keys}
        self.after: dict[str, list[tuple[Row, str]]] = {}
        for row in plan.rows.values():
            if not row.keys:
                for link in row.task.after:
                    self.after.setdefault(link.task, []).append((row, link.stage))
        for follow in self.after.values():
            follow.sort(key=lambda pair: pair[0].start)

    # -- windows ----------------------------------------------------------------------------------------------

    @cached_property
    def windows(self) -> list[Window]:
        """Every window whose next coat is not begun, the soonest last start first."""
        return [window for window in windows(self.plan) if not window.begun]

    def window_on(self, coat: str, after: str) -> Window | None:
        """The window of `coat` for `after`, if there is one still to meet."""
        return next((w for w in self.windows if w.before == coat and w.after == after), None)

    def windows_for(self, after: str) -> list[Window]:
        """The windows `after` must meet."""
        return [w for w in self.windows if w.after == after]

    def latest_today(self, row: Row) -> tuple[int, str] | None:
        """The last start of a coat on its planned day that still lets the next one meet its window, and that one.

        None where nothing that follows has a window, or any start that day would do.
        """
        return last_start_for_next(self.plan, row)

    # -- states -----------------------------------------------------------------------------------------------

    def dry(self, row: Row) -> int:
        """Until when rain, dew and dust must stay off; its end where it lays nothing."""
        return dry_until(self.plan, row)

    def gone(self, row: Row) -> int:
        """When the coat no longer shows: covered by another, or needed by nobody any more."""
        plan = self.plan
        covers = [r.start for r in plan.rows.values() if self._covers(r, row)]
        follow = self.after.get(row.id, [])
        last = max((r.start for r, _ in follow), default=plan.launch)
        return min([*covers, last, plan.launch])

    def _covers(self, upper: Row, lower: Row) -> bool:
        return bool(
            upper.task.material
            and not upper.keys
            and upper.zone == lower.zone
            and upper.start >= lower.end
            and lower.id in self._before(upper.id)
        )

    def _before(self, name: str) -> set[str]:
        """Everything a task comes after, however far back."""
        return self._ancestors[name]

    @cached_property
    def _ancestors(self) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {}
        for index in self.plan.problem.order:
            task = self.plan.problem.items[index].task
            before = {link.task for link in task.after}
            found[task.id] = before.union(*(found[name] for name in before))
        return found

    def states(self, row: Row) -> list[Span]:
        """What shows after its work, from the end on: wet, firm, open, shutting, missed, sand, cured."""
        if not row.task.material or row.keys:
            return []
        end, gone = row.end, self.gone(row)
        if gone <= end:
            # What follows starts the moment its work is done.
            return []
        events = {end, self.dry(row), *row.stages.values()}
        for closing in row.closes.values():
            events |= {closing - SHUTTING_SLOTS, closing + 1}
        for follower, _ in self.after.get(row.id, []):
            events.add(follower.start)
        events |= {r.start for (coat, _), r in self.keyings.items() if coat == row.id}
        edges = sorted(e for e in events if end <= e < gone)
        return [(b, e, self.state(row, b)) for b, e in zip(edges, [*edges[1:], gone], strict=True) if e > b]

    def state(self, row: Row, slot: int) -> str:
        """The mark of a coat at one slot after its work."""
        if slot < self.dry(row):
            return "wet"
        sanded = slot >= row.stages.get("sand", self.plan.problem.length)
        cured = any(slot >= row.stages.get(s, self.plan.problem.length) for s in AFLOAT_STAGES)
        ahead = [(r, s) for r, s in self.after.get(row.id, []) if r.start > slot]
        resting = "cured" if cured else "sand" if sanded else "firm"
        if not ahead:
            return resting
        follower, stage = ahead[0]
        if stage in row.closes and slot >= row.stages.get(stage, self.plan.problem.length):
            said = self._in_window(row, follower, row.closes[stage], slot)
            return resting if said == "open" and stage in AFLOAT_STAGES else said
        if stage in (*AFLOAT_STAGES, "sand", DONE) or slot < row.stages.get(stage, self.plan.problem.length):
            return resting
        return "open"

    def _in_window(self, row: Row, follower: Row, closes: int, slot: int) -> str:
        keyed = self.keyings.get((row.id, follower.id))
        if slot > closes:
            return "open" if keyed is not None and slot >= keyed.start else "missed"
        return "shutting" if slot >= closes - SHUTTING_SLOTS else "open"


_kept: list[Coats] = []


def coats_of(plan: Plan) -> Coats:
    """The coats of a plan; the last few are kept, since several pages ask."""
    for coats in _kept:
        if coats.plan is plan:
            return coats
    _kept.append(Coats(plan))
    del _kept[:-3]
    return _kept[-1]

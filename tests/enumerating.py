"""Small jobs solved by trying everything: the earliest launch without any of the planner's own ideas.

Every start of every task, and every start of every keying, is tried, quarter hour by quarter hour, in the order of
the graph; a try is given up only where a rule is broken or the launch would not be earlier than one already found.
So a coat held back, a window missed on purpose and keyed, a task left for a better day are all among the tries.

The rules are written down here once more, as plainly as they stand in the job file's description; nothing is shared
with the planner or with the check of plans but the models of the job file. It knows UTC, weather by the day at one
temperature with rain by the clock, and materials of one column, which is all the jobs in question have.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from sequencer.job import Job, Material, Task, Zone

DAY = 96
ORIGIN = "2027-04-12"


@dataclass(frozen=True)
class Try:
    """One start of a task or keying: when it ends, the slots worked, and what it takes up until when."""

    start: int
    end: int
    worked: tuple[int, ...]
    sets: int
    """Until when its coat must be spared dust; its start where it is no coat."""
    frees: tuple[tuple[str, int, int], ...] = ()
    """Gear, units, and when it comes free."""


@dataclass
class Found:
    """The earliest launch, the starts of tasks and keyings that give it, and how many tries it took."""

    launch: int
    starts: dict[str, int]
    tries: int


class Yard:
    """The job's people, air and cure by the slot."""

    def __init__(self, job: Job, days: int) -> None:
        self.job = job
        self.slots = days * DAY
        self.day0 = dt.date.fromisoformat(ORIGIN)
        self.there = [self._there(slot) for slot in range(self.slots)]
        self.begin = max(self.slot(job.job.hauled), self.slot(job.job.now or job.job.hauled))
        self._reached: dict[tuple[str, tuple[float, ...], int], int | None] = {}

    def slot(self, moment: dt.date | dt.datetime) -> int:
        """The grid line at or after a moment."""
        if not isinstance(moment, dt.datetime):
            moment = dt.datetime.combine(moment, dt.time())
        gone = moment - dt.datetime.combine(self.day0, dt.time())
        return -(-gone // dt.timedelta(minutes=15))

    def date(self, slot: int) -> dt.date:
        return self.day0 + dt.timedelta(days=slot // DAY)

    def _there(self, slot: int) -> frozenset[str]:
        clock, weekday = slot % DAY * 15, self.date(slot).weekday()
        return frozenset(
            person.id
            for person in self.job.crew
            for line in person.hours
            if line.days is not None and weekday in line.days and line.start <= clock < line.end
        )

    # -- air

    def temp(self, slot: int) -> float:
        """°C outdoors: the day's by hand, else the month's."""
        day = next((d for d in self.job.weather.day if d.date == self.date(slot)), None)
        return day.low if day else self.job.weather.normal[0].low

    def rain(self, zone: Zone, slot: int) -> bool:
        if zone.shelter != "open":
            return False
        day = next((d for d in self.job.weather.day if d.date == self.date(slot)), None)
        clock = slot % DAY * 15
        return any(begin < clock + 15 and clock < end for begin, end in day.rain) if day else False

    def fit(self, task: Task, slot: int) -> bool:
        """Whether the air suits the work."""
        if task.zone is None:
            return True
        zone = self.job.zones[task.zone]
        least = self.job.materials[task.material].apply.min_temp if task.material else None
        if least is not None and self.temp(slot) < least:
            return False
        return not (task.dry and self.rain(zone, slot))

    # -- cure

    def reached(self, material: Material, hours: tuple[float, ...], begin: int) -> int | None:
        """The first grid line at which the shares of a stage since `begin` add up to 1."""
        which = (material.id, hours, begin)
        if which not in self._reached:
            self._reached[which] = self._dose(material, hours, begin)
        return self._reached[which]

    def _dose(self, material: Material, hours: tuple[float, ...], begin: int) -> int | None:
        done = 0.0
        for slot in range(begin, self.slots):
            temp = self.temp(slot)
            if material.no_cure_below is None or temp >= material.no_cure_below - 1e-6:
                done += 0.25 / (hours[0] * 2 ** ((material.temps[0] - temp) / 10))
            if done >= 1 - 1e-9:
                return slot + 1
        return None

    def stage(self, task: Task, name: str, end: int) -> int | None:
        """When a stage is reached, the work ending at `end`."""
        if name == "done":
            return end
        material = self.job.materials[task.material or ""]
        return self.reached(material, material.stages[name].opens, end)

    def closing(self, task: Task, name: str, start: int) -> int | None:
        """When the window of a stage closes, the work starting at `start`; None where it never does."""
        if name == "done":
            return None
        material = self.job.materials[task.material or ""]
        closes = material.stages[name].closes
        return None if closes is None else self.reached(material, closes, start)

    # -- work

    def can(self, task: Task, slot: int) -> bool:
        """Whether the task's own calendar lets it be worked in a slot."""
        there = self.there[slot]
        return len(there) >= task.people and there.issuperset(task.who) and self.fit(task, slot)

    def attempt(self, task: Task, start: int) -> Try | None:
        """The task begun at `start`, on its own in the yard; None where it can't be."""
        if task.finished is not None:
            return self._logged(task)
        quarters = -int(-task.hours * 4 // 1)
        if task.wait is not None:
            return Try(start, start + quarters, (), start)
        if not self.can(task, start):
            return None
        worked: list[int] = []
        at = start
        while len(worked) < quarters:
            if at >= self.slots:
                return None
            if self.can(task, at):
                worked.append(at)
            at += 1
        one_date = self.date(start) == self.date(at)
        if task.one_go and not (one_date and all(self.fit(task, slot) for slot in range(start, at))):
            return None
        sets: int | None = start
        if task.material:
            material, zone = self.job.materials[task.material], self.job.zones[task.zone or ""]
            dry = self.stage(task, material.dry_until, at) if material.dry_until != "none" else start
            if dry is None or any(self.rain(zone, slot) for slot in range(start, dry)):
                return None
            sets = self.stage(task, "set", at)
        frees = [(use.id, use.units, self.stage(task, use.until or "done", at)) for use in task.gear]
        if sets is None or any(free is None for _, _, free in frees):
            return None
        return Try(start, at, tuple(worked), sets, tuple((name, units, free or 0) for name, units, free in frees))

    def _logged(self, task: Task) -> Try:
        """What is finished stands as logged; its coat and its gear go on from there."""
        assert task.finished is not None
        start, end = self.slot(task.started or task.finished), self.slot(task.finished)
        sets = self.stage(task, "set", end) if task.material else start
        frees = [(use.id, use.units, self.stage(task, use.until or "done", end) or end) for use in task.gear]
        return Try(start, end, (), sets or end, tuple(frees))

    def keying(self, before: Task, hours: float, start: int) -> Try | None:
        """A coat keyed from `start` on: one pair of hands, dry, where the coat is."""
        zone = self.job.zones[before.zone or ""]
        worked: list[int] = []
        for at in range(start, self.slots):
            if self.there[at] and not self.rain(zone, at):
                worked.append(at)
            elif at == start:
                return None
            if len(worked) == max(1, -int(-hours * 4 // 1)):
                return Try(start, at + 1, tuple(worked), start)
        return None


class Enumeration:
    """Tries everything. upto: launches at or after this slot are of no interest."""

    def __init__(self, job: Job, upto: int) -> None:
        self.job = job
        self.yard = Yard(job, upto // DAY + 12)
        self.tasks = self._in_order()
        self.best = upto
        self.answer: dict[str, int] | None = None
        self.tries = 0
        self.attempts = {task.id: self._attempts(task, upto) for task in self.tasks}
        self.keyings: dict[tuple[str, str], list[Try]] = {}
        self.tail = self._tails()
        self.placed: dict[str, Try] = {}
        self.hands: dict[int, int] = {}

    def _in_order(self) -> list[Task]:
        """Each task after all it comes after."""
        left, done = list(self.job.task), list[Task]()
        while left:
            ready = next(t for t in left if all(link.task in {d.id for d in done} for link in t.after))
            left.remove(ready)
            done.append(ready)
        return done

    def _attempts(self, task: Task, upto: int) -> list[Try]:
        yard = self.yard
        if task.finished is not None:
            logged = yard.attempt(task, yard.slot(task.started or task.finished))
            return [] if logged is None else [logged]
        first = yard.begin
        if task.not_before is not None:
            first = max(first, yard.slot(task.not_before))
        if task.delivery is not None:
            first = max(first, yard.slot(self.job.deliveries[task.delivery].due))
        tries = (yard.attempt(task, start) for start in range(first, upto + 1) if self._lift(task, start))
        return [found for found in tries if found is not None]

    def _lift(self, task: Task, start: int) -> bool:
        """Whether the task's slots let it start there, both ends included."""
        clock, weekday = start % DAY * 15, self.yard.date(start).weekday()
        return not task.slots or any(
            line.days is not None and weekday in line.days and line.start <= clock <= line.end for line in task.slots
        )

    def _tails(self) -> dict[str, int]:
        """By task a number of slots that surely lie between its start and the launch: work alone, on the longest
        way through the graph."""
        tail = {self.job.job.finish: 0}
        for task in reversed(self.tasks):
            quarters = -int(-task.hours * 4 // 1)
            later = [tail[t.id] for t in self.tasks if any(link.task == task.id for link in t.after)]
            if task.id != self.job.job.finish:
                tail[task.id] = quarters + max(later, default=0)
        return tail

    # -- what is in the way

    def _clashes(self, one: Try, hands: int, who: tuple[str, ...], air: str, dusty: bool) -> bool:
        """Whether a try meets what lies already: people, gear, dust on wet coats either way."""
        there = self.yard.there
        if hands and any(self.hands.get(slot, 0) + hands > len(there[slot]) for slot in one.worked):
            return True
        for name, other in self.placed.items():
            task = self.job.tasks.get(name)
            if task is not None and set(who) & set(task.who) and set(one.worked) & set(other.worked):
                return True
            if air and air == self._air(name):
                if dusty and any(other.start <= slot < other.sets for slot in one.worked):
                    return True
                if self._dusty(name) and any(one.start <= slot < one.sets for slot in other.worked):
                    return True
        return any(self._gear_short(one, name) for name, _, _ in one.frees)

    def _air(self, name: str) -> str:
        """The air a row is in; a keying is where the coat is."""
        task = self.job.tasks[name.rpartition("/")[2]]
        return self.job.zones[task.zone].air_id if task.zone else ""

    def _dusty(self, name: str) -> bool:
        later, _, before = name.partition("/key/")
        return self._if_missed(self.job.tasks[later], before)[1] if before else self.job.tasks[name].dusty

    def _gear_short(self, one: Try, gear: str) -> bool:
        """Whether, at any slot it is held, more of the gear would be held than there is."""
        count = self.job.gears[gear].count
        users = [*self.placed.values(), one]
        for line in {user.start for user in users}:
            held = sum(
                units
                for user in users
                for name, units, free in user.frees
                if name == gear and user.start <= line < free
            )
            if held > count:
                return True
        return False

    def _if_missed(self, later: Task, before: str) -> tuple[float, bool]:
        """Hours of keying a coat for a later task, and whether that is dusty."""
        stage = next(link.stage for link in later.after if link.task == before)
        missed = self.job.materials[self.job.tasks[before].material or ""].stages[stage].if_missed
        return missed.work, missed.dust

    def sooner(self, starts: dict[str, int], name: str) -> list[int]:
        """The earlier starts a task could have in a plan, all else left where it is and windows left aside."""
        task = self.job.tasks[name]
        self.placed, self.hands = {}, {}
        for row, start in starts.items():
            if row != name:
                one = self._row(row, start)
                self.placed[row] = one
                for slot in one.worked:
                    hands = self.job.tasks[row].people if row in self.job.tasks else 1
                    self.hands[slot] = self.hands.get(slot, 0) + hands
        ready = self._ready(task) or 0
        return [
            one.start
            for one in self.attempts[name]
            if ready <= one.start < starts[name]
            and not self._clashes(one, task.people, task.who, self._air(name), task.dusty)
        ]

    def _row(self, row: str, start: int) -> Try:
        later, _, before = row.partition("/key/")
        hours = self._if_missed(self.job.tasks[later], before)[0] if before else 0.0
        task = self.job.tasks[before or row]
        one = self.yard.keying(task, hours, start) if before else self.yard.attempt(task, start)
        assert one is not None
        return one

    def windows(self) -> list[tuple[str, str, str]]:
        """Each link to a stage that closes: the later task, the coat, the stage."""
        return [
            (task.id, link.task, link.stage)
            for task in self.tasks
            for link in task.after
            if link.stage != "done"
            and self.job.materials[self.job.tasks[link.task].material or ""].stages[link.stage].closes is not None
        ]

    # -- trying

    def run(self) -> Found | None:
        """The earliest launch before `upto`; None where there is none."""
        self._next(0)
        return None if self.answer is None else Found(self.best, self.answer, self.tries)

    def _next(self, depth: int) -> None:
        if depth == len(self.tasks):
            self.best = self.placed[self.job.job.finish].start
            self.answer = {name: one.start for name, one in self.placed.items()}
            return
        task = self.tasks[depth]
        if task.finished is not None:
            self._with(task.id, self.attempts[task.id][0], 0, lambda: self._next(depth + 1))
            return
        ready = self._ready(task)
        if ready is None:
            return
        for one in self.attempts[task.id]:
            if one.start < ready:
                continue
            if one.start + self.tail[task.id] >= self.best:
                return
            self.tries += 1
            air = self._air(task.id)
            if not self._clashes(one, task.people, task.who, air, task.dusty):
                self._key(task, one, self._missed(task, one.start), depth)
            if task.wait is not None:
                # A wait starts as soon as it may.
                return

    def _ready(self, task: Task) -> int | None:
        moments = [
            self.yard.stage(self.job.tasks[link.task], link.stage, self.placed[link.task].end) for link in task.after
        ]
        known = [moment for moment in moments if moment is not None]
        return max(known, default=0) if len(known) == len(moments) else None

    def _missed(self, task: Task, start: int) -> list[str]:
        """The coats whose windows a start has missed."""
        found = []
        for link in task.after:
            closing = self.yard.closing(self.job.tasks[link.task], link.stage, self.placed[link.task].start)
            if closing is not None and start > closing:
                found.append(link.task)
        return found

    def _key(self, task: Task, one: Try, missed: list[str], depth: int) -> None:
        """Key each missed coat, in every way there is, then lay the task down and go on."""
        if not missed:
            if not self._clashes(one, task.people, task.who, self._air(task.id), task.dusty):
                self._with(task.id, one, task.people, lambda: self._next(depth + 1))
            return
        before = self.job.tasks[missed[0]]
        hours, dusty = self._if_missed(task, before.id)
        sanded = "sand" if "sand" in self.job.materials[before.material or ""].stages else "done"
        ready = self.yard.stage(before, sanded, self.placed[before.id].end)
        if ready is None:
            return
        for key in self._keyings(task, before, hours):
            if key.start < ready or key.end > one.start:
                continue
            if one.start + self.tail[task.id] >= self.best:
                return
            self.tries += 1
            name = f"{task.id}/key/{before.id}"
            if not self._clashes(key, 1, (), self._air(before.id), dusty):
                self._with(name, key, 1, lambda: self._key(task, one, missed[1:], depth))

    def _keyings(self, task: Task, before: Task, hours: float) -> list[Try]:
        which = (task.id, before.id)
        if which not in self.keyings:
            last = max((one.start for one in self.attempts[task.id]), default=0)
            tries = (self.yard.keying(before, hours, start) for start in range(self.yard.begin, last))
            self.keyings[which] = [found for found in tries if found is not None]
        return self.keyings[which]

    def _with(self, name: str, one: Try, hands: int, go_on: Callable[[], None]) -> None:
        """Lay a row down, go on from there, and take it up again."""
        self.placed[name] = one
        for slot in one.worked:
            self.hands[slot] = self.hands.get(slot, 0) + hands
        go_on()
        for slot in one.worked:
            self.hands[slot] -= hands
        del self.placed[name]

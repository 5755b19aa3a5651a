"""What the cell one stands on says: who, what, when and why, in a sentence or three."""

from __future__ import annotations

from sequencer.planning.plan import Plan, Row, Step
from sequencer.telling import clock, count_hands, hours_text
from sequencer.tui.clocktext import day_time, when
from sequencer.tui.lanes import A_DAY, Lane, Lanes
from sequencer.tui.marks import Signs
from sequencer.tui.stay_view import StayView
from sequencer.tui.text import cut
from sequencer.tui.why import name, why_waiting


def reading(view: StayView, signs: Signs) -> list[str]:
    """Up to three sentences about the cell; the first names the place and the time."""
    plan = view.plan
    begin, end = view.columns.span(view.cell)
    lead = f"{cut(view.here.name, 30)}, {view.columns.name(view.cell)}: "
    if begin >= plan.launch:
        return [lead + "afloat."]
    if begin <= plan.launch < end:
        return [lead + f"she launches {day_time(plan.launched)}."]
    said = [lead + what(view.lanes, view.here, begin, end)]
    step = step_at(plan, begin, end)
    if step is not None:
        said.append(f"{signs[_step_sign(plan, step)]} {holding(plan, step, begin)}")
        row = plan.rows[step.row]
        if not row.finished and row.slack >= A_DAY:
            said.append(f"{signs['path']} same path, {hours_text(row.slack)} of play in {name(row.id)}.")
    return said


def _step_sign(plan: Plan, step: Step) -> str:
    row = plan.rows[step.row]
    return "path" if row.finished or row.slack >= A_DAY else "holds"


def what(lanes: Lanes, lane: Lane, begin: int, end: int) -> str:
    """What goes on in a lane in [begin, end)."""
    plan = lanes.plan
    at_work = lanes.at_work(lane, begin, end)
    if at_work:
        return "; ".join(doing(plan, row) for row in at_work[:3]) + "."
    shown = lanes.coat(lane, begin, end)
    if shown is not None:
        row, mark, until = shown
        return coat_sentence(lanes, row, mark, max(row.end, min(begin, until - 1)))
    coming = lanes.coming(lane, begin)
    if coming is None or coming[0].id == lanes.finish:
        return "nothing more to do here."
    row, starts = coming
    lead = f"{name(row.id)} {'goes on' if row.start < starts else 'is on'} "
    lead += f"{when(plan.moment(starts), plan.moment(begin).date())}; till then "
    there = plan.problem.tables.hands[begin:end]
    if not there.any():
        return lead + "nobody on shift."
    at = begin + int((there > 0).argmax())
    return lead + (f"{why_waiting(plan, row, at)}." if row.start >= starts else "it pauses.")


def doing(plan: Plan, row: Row) -> str:
    """One row at work: ``antifoul-1 14:45-15:30, First antifouling, you``."""
    begin, end = plan.moment(row.start), plan.moment(row.end)
    span = f"{clock(begin)}-{clock(end)}" if begin.date() == end.date() else f"{day_time(begin)} to {day_time(end)}"
    said = f"{name(row.id)} {span}"
    if row.keys:
        return f"key {name(row.keys)} for {name(row.task.id)} {span}"
    if row.task.title:
        said += f", {cut(row.task.title, 44)}"
    if row.task.wait is not None:
        return f"{said}, hours that just pass"
    return f"{said}, {hands(plan, row)}" if row.hands else said


def hands(plan: Plan, row: Row) -> str:
    """Who is on it: names where the task wants them, else how many."""
    who = [cut(plan.job.people[p].name, 16) for p in row.task.who]
    if who and not row.keys:
        more = row.hands - len(who)
        return " and ".join(who) + (f" and {more} more" if more else "")
    return count_hands(row.hands)


def coat_sentence(lanes: Lanes, row: Row, mark: str, slot: int) -> str:
    """How far a coat is at a slot and what that means."""
    plan, coats = lanes.plan, lanes.coats
    seen = plan.moment(slot).date()
    lead = f"{name(row.id)} "
    ahead = [(r, s) for r, s in coats.after.get(row.id, []) if r.start > slot]
    if mark == "wet":
        return f"{lead}is wet till {when(plan.moment(coats.dry(row)), seen)}: keep off rain, dew and dust."
    if mark == "missed":
        return f"{lead}is left too long for {name(ahead[0][0].id) if ahead else 'the next'}: key it first."
    if not ahead:
        return f"{lead}{ {'sand': 'can be sanded', 'cured': 'has cured'}.get(mark, 'is firm') }."
    after, stage = ahead[0]
    opens = row.stages.get(stage, plan.problem.length)
    if slot < opens:
        return f"{lead}is {RESTING[mark]}; {name(after.id)} may follow at {stage}, {when(plan.moment(opens), seen)}."
    window = coats.window_on(row.id, after.id)
    start = when(plan.moment(after.start), seen)
    if window is None or window.last < 0:
        return f"{lead}is ready for {name(after.id)}, {start}; it waits: {why_waiting(plan, after, slot)}."
    last = when(plan.moment(window.last), seen)
    return f"{lead}takes {name(after.id)}, planned {start}, on by {last} at the latest."


RESTING = {"firm": "firm", "sand": "hard enough to sand", "cured": "cured", "open": "open", "shutting": "shutting"}


def step_at(plan: Plan, begin: int, end: int) -> Step | None:
    """The span of the path that fills most of [begin, end)."""
    best, most = None, 0
    for step in plan.steps:
        overlap = min(end, step.end) - max(begin, step.begin)
        if overlap > most:
            best, most = step, overlap
    return best


def holding(plan: Plan, step: Step, slot: int | None = None) -> str:
    """What the launch waits for in a span of its path, seen from a slot of it (its first where none is given)."""
    row = plan.rows[step.row]
    at = max(step.begin, min(step.end - 1, max(plan.now, step.begin if slot is None else slot)))
    said, until = name(row.id), when(plan.moment(step.end), plan.moment(at).date())
    if step.cause == "work":
        return f"holds her: {said} at work till {until}."
    if step.cause == "cure" and row.start <= at:
        return f"holds her: {said} curing till {until}."
    if step.cause == "wait":
        return f"holds her: {said} till {until}."
    if row.start <= at:
        pause = PAUSES.get(step.cause, "")
        return f"holds her: {said} goes on {until}" + (f"; {pause}." if pause else ".")
    return f"holds her: {said} waits: {why_waiting(plan, row, at)}."


PAUSES = {"off-shift": "nobody on shift", "weather": "the weather", "people": "short of hands"}

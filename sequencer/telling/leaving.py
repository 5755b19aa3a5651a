"""What could be thought of on a day but must not be started yet, and why."""

from __future__ import annotations

from sequencer.planning.plan import Plan, Row
from sequencer.telling.causes import main_cause, why_row


def leave_alone(plan: Plan, end: int, most: int) -> list[tuple[Row, str]]:
    """At most `most` rows let go by slot `end` and not begun before it, each with what it waits for.

    What only waits for tomorrow's shift needs no warning.
    """
    found: list[tuple[Row, str]] = []
    for row in plan.rows.values():
        let_go = row.held.ready <= end or not row.held.task
        if row.finished or row.start < end or not let_go or row.id == plan.job.job.finish:
            continue
        if row.held.spans and main_cause(row)[0] not in ("start", "off-shift"):
            # It stands after the task's name and a colon.
            found.append((row, why_row(plan, row).replace(": ", ", ", 1)))
        if len(found) == most:
            break
    return found

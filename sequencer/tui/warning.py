"""Windows about to shut: what to say, once, while there is time to act."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.tui.clocktext import ahead, now_slot, when
from sequencer.tui.coats import coats_of
from sequencer.tui.headline import next_shut
from sequencer.tui.model import Model
from sequencer.tui.why import name

LEADS = (120, 60, 15)
"""Minutes before the last start at which one is warned."""


@dataclass(frozen=True)
class Alarm:
    """A window about to shut. key: the row and how close; words: one sentence."""

    key: tuple[str, int]
    words: str


def next_warning(model: Model) -> Alarm | None:
    """The warning due now; None where nothing shuts within the longest lead."""
    plan, now = model.plan, model.now
    if plan is None or now is None or model.trouble is not None or plan.rows[plan.job.job.finish].finished:
        return None
    slot = now_slot(plan, now)
    shut = next_shut(plan, coats_of(plan), slot)
    if shut is None:
        return None
    moment = plan.moment(shut.slot)
    left = (moment - now).total_seconds() / 60
    if left < 0:
        return None
    close = [lead for lead in LEADS if left <= lead]
    if not close:
        return None
    words = f"Start {name(shut.row)} by {when(moment, now.date())}, {ahead(left)}, or {shut.otherwise}."
    return Alarm((f"{shut.row} {shut.slot}", min(close)), words)

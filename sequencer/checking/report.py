"""What a check finds: one sentence a broken rule, naming the task, the moment and the rule."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.errors import one_line

RULES = (
    "shape",  # a field is missing or is not what it should be
    "grid",  # a moment lies between two grid lines
    "tasks",  # every task once, none unknown
    "log",  # what has happened stands as logged
    "pieces",  # the spans worked, from the start to the end
    "work",  # as many quarter hours as the work takes
    "pause",  # no workable quarter hour is skipped
    "people",  # enough hands on shift, nobody in two places
    "weather",  # the air suits the work
    "one-go",  # one local date, the air suits it throughout
    "wet",  # open zones: no rain, no dew until dry_until
    "dust",  # none on a coat that has not set
    "gear",  # no more in use than there is
    "after",  # what comes before has reached its stage
    "keying",  # a missed window is keyed, a met one is not
    "hauled",  # nothing before the boat is on the stands
    "now",  # nothing new in the past
    "not-before",
    "delivery",
    "slots",
    "wait",  # a wait starts as soon as it may and lasts its hours
    "launch",  # the start of the finish
    "stages",
    "nights",
    "cost",
    "stay",
    "bound",  # proved and no_earlier_than
    "path",  # on_path and held_by
    "slack",
)
"""The names a finding's rule may have."""


@dataclass(frozen=True)
class Finding:
    """One rule a plan breaks.

    rule: one of :data:`RULES`. task: the id of the plan's row (``TASK/key/PREDECESSOR`` for a keying), empty
    where the plan as a whole is meant. sentence: which task, when, which rule.
    """

    rule: str
    task: str
    sentence: str


class Report:
    """Collects findings in the order they are met."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []

    def add(self, rule: str, task: str, what: str) -> None:
        """Note that `task` (or the plan, if empty) breaks `rule`; `what` goes on after the task's name."""
        assert rule in RULES
        sentence = one_line(f"{task or 'the plan'} {what} (rule: {rule})", 600) + "."
        self.findings.append(Finding(rule, one_line(task), sentence))

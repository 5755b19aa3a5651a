"""Links between tasks, written ``task`` or ``task@stage``."""

from __future__ import annotations

from dataclasses import dataclass

DONE = "done"
"""The stage every task reaches at the end of its work."""


@dataclass(frozen=True)
class Link:
    """One entry of ``after``: the task before, and the stage its material must have reached."""

    task: str
    stage: str = DONE

    def __str__(self) -> str:
        return self.task if self.stage == DONE else f"{self.task}@{self.stage}"


def parse_link(text: str) -> Link:
    """Read ``task`` or ``task@stage``; an empty side is kept as it stands, for the faults to name."""
    task, at, stage = text.partition("@")
    return Link(task.strip(), stage.strip() if at else DONE)

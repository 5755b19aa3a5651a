"""Cautions by what a task does: what to mind, why, from where, and who has the last word."""

from sequencer.cautions.catalogue import CATALOGUE, Caution
from sequencer.cautions.doing import Doings, doings_of, doings_of_keying
from sequencer.job import Job, Task

__all__ = ["CATALOGUE", "Caution", "cautions_for", "cautions_for_keying"]


def cautions_for(job: Job, task: Task) -> list[Caution]:
    """The cautions at a task, the gravest first; a wait has none."""
    return _picked(doings_of(job, task))


def cautions_for_keying(job: Job, coat: Task) -> list[Caution]:
    """The cautions at the keying of an earlier coat."""
    return _picked(doings_of_keying(job, coat))


def _picked(doings: Doings) -> list[Caution]:
    return [caution for name, caution in CATALOGUE.items() if name in doings]

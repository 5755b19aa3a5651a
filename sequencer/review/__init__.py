"""Checks of the trade: what a practitioner would ask about a job, each with its reason, its source and its cure.

The job file says little of what a task is, so most checks read titles and material names by whole words, and every
finding says on what it rests. What the author has answered stays answered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from sequencer.job import Job
from sequencer.planning.plan import Plan
from sequencer.review import coats, hull, people, timing
from sequencer.review.answers import answer_finding, answers_file, left_over, read_answers
from sequencer.review.finding import Finding
from sequencer.review.picture import Picture

__all__ = ["CHECKS", "Finding", "answer_finding", "answers_file", "left_over", "read_answers", "review"]

CHECKS: tuple[Callable[[Picture], Iterator[Finding]], ...] = (
    hull.left_open,
    hull.unwatched,
    hull.stands_moved,
    hull.unbooked,
    hull.pads_bare,
    people.alone,
    people.sparks_by_solvent,
    people.closed_space,
    people.batteries_before_dust,
    coats.styrene_on_epoxy,
    coats.mat_in_epoxy,
    coats.structural_for_fairing,
    coats.fairing_unsealed,
    coats.antifouling_on_bare_epoxy,
    coats.copper_by_aluminium,
    coats.coat_over_blush,
    timing.load_on_uncured,
    timing.window_only_just,
)
"""All checks, in the order they are told: what sinks or falls, what hurts people, what spoils work, what is tight."""


def review(job: Job, plan: Plan | None = None, answers: Mapping[str, str] | None = None) -> list[Finding]:
    """Everything the checks find in a job; with a plan of it also what only a plan can tell.

    answers: the author's reasons by finding id; a finding with one carries it and comes after those without.
    """
    picture, reasons = Picture(job, plan), answers or {}
    found = {finding.id: finding for check in CHECKS for finding in check(picture)}
    told = [replace(finding, answered=reasons.get(finding.id, "")) for finding in found.values()]
    return sorted(told, key=lambda finding: bool(finding.answered))

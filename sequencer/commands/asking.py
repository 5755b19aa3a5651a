"""Commands that ask something of a job: `review`."""

from __future__ import annotations

import argparse
import datetime as dt
from typing import Any

from sequencer.commands.shared import (
    FINDINGS,
    OK,
    add_command,
    add_job,
    add_json,
    add_now,
    add_seconds,
    print_json,
    say,
)
from sequencer.errors import Fault, NoPlanError, UsageError


def add(commands: Any) -> None:
    """The commands."""
    command = add_command(commands, "review", "checks of the trade: what one must not forget, and what to change")
    add_job(command)
    command.add_argument(
        "--answer", nargs=2, metavar=("FINDING", "REASON"), help="answer a finding; no reason takes the answer back"
    )
    add_json(command, "the findings as one JSON list")
    add_now(command)
    add_seconds(command)
    command.set_defaults(run=_review)


def _review(args: argparse.Namespace) -> int:
    from sequencer.job import read_job
    from sequencer.paper.review_text import review_json, review_text
    from sequencer.planning.planner import plan_job
    from sequencer.review import answer_finding, read_answers, review

    job = read_job(args.job)
    plan = None
    try:
        plan = plan_job(job, args.now, args.seconds, clock=dt.datetime.now(dt.UTC))
    except NoPlanError:
        say("There is no plan, so windows and loads are not looked at; sequencer plan says why.")
    findings = review(job, plan, read_answers(args.job))
    if args.answer:
        name, reason = args.answer
        if name not in {finding.id for finding in findings}:
            raise UsageError([Fault("", f"there is no finding {name}", "take its name from the list")], str(args.job))
        answer_finding(args.job, name, reason)
        findings = review(job, plan, read_answers(args.job))
    if args.json:
        print_json(review_json(findings))
    else:
        print(review_text(findings), end="")
    return FINDINGS if any(not finding.answered for finding in findings) else OK

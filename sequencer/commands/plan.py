"""`plan` and `check`: the plan of a job, and a plan held against the rules."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from sequencer.commands.shared import (
    FINDINGS,
    OK,
    add_command,
    add_job,
    add_json,
    add_now,
    add_seconds,
    planned,
    print_json,
    say,
)
from sequencer.errors import Fault, UsageError, one_line

MOST_BYTES = 20_000_000
"""A plan of a thousand tasks has about one; more is some other file."""


def add(commands: Any) -> None:
    """Both commands."""
    command = add_command(commands, "plan", "print the plan of a job")
    add_job(command)
    add_json(command)
    add_now(command)
    add_seconds(command)
    command.set_defaults(run=_plan)
    command = add_command(commands, "check", "hold a plan against the rules of its job")
    add_job(command)
    command.add_argument("plan", metavar="PLAN.json", type=Path, help='what "sequencer plan JOB.toml --json" printed')
    add_json(command, "the findings as one JSON list")
    add_now(command)
    command.set_defaults(run=_check)


def _plan(args: argparse.Namespace) -> int:
    from sequencer.paper.jsonplan import plan_object
    from sequencer.paper.textplan import text_plan

    _, plan = planned(args)
    if args.json:
        print_json(plan_object(plan))
    else:
        print(text_plan(plan), end="")
    return OK


def _check(args: argparse.Namespace) -> int:
    from sequencer.checking import check_plan
    from sequencer.job import read_job

    job = read_job(args.job)
    findings = check_plan(job, _read_plan(args.plan), args.now)
    if args.json:
        print_json([vars_of(f) for f in findings])
    elif findings:
        for finding in findings:
            print(one_line(finding.sentence, 400))
    if findings:
        say(f"{len(findings)} rule{'s' if len(findings) > 1 else ''} broken.")
        return FINDINGS
    say("Every rule is kept.")
    return OK


def vars_of(finding: Any) -> dict[str, str]:
    """A finding as a JSON-ready object."""
    return {"rule": finding.rule, "task": finding.task, "sentence": finding.sentence}


def _read_plan(path: Path) -> dict[str, Any]:
    from sequencer.job.source import no_file

    if (no_plain := no_file(path)) is not None:
        raise UsageError([no_plain], str(path))
    try:
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
        if len(raw) > MOST_BYTES:
            raise UsageError([Fault("", "is too large for a plan", "check that it is the right file")], str(path))
        found = json.loads(raw.decode("utf-8"))
    except OSError as error:
        fault = Fault("", f"can't be read ({(error.strerror or 'no access').lower()})", "check the name")
        raise UsageError([fault], str(path)) from None
    except (ValueError, RecursionError):
        fault = Fault("", "is no JSON", 'make it with "sequencer plan JOB.toml --json"')
        raise UsageError([fault], str(path)) from None
    if not isinstance(found, dict):
        fault = Fault("", "is no plan: one JSON object is wanted", 'make it with "sequencer plan JOB.toml --json"')
        raise UsageError([fault], str(path))
    return found

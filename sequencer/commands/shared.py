"""What the commands have in common: arguments, and how data is printed."""

from __future__ import annotations

import argparse
import contextlib
import datetime as dt
import json
import os
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from sequencer.errors import one_line

if TYPE_CHECKING:
    from sequencer.job import Job
    from sequencer.planning.plan import Plan

OK = 0
"""Done as asked; nothing found."""
FINDINGS = 1
"""`check` found rules the plan breaks, or `review` something to look at."""
FAULT = 2
"""A bad file, a job that can't be planned, or words that were not understood."""

CLOSING = """\
What it prints on standard output is data; what it has to say about it goes to standard error.
Exit code 0: done. 1: check or review found something. 2: a fault in a file, no possible plan, or a word not understood.
No engineering approval: your data sheets, the yard's rules, local codes and licensed trades have the last word.
"""


def add_command(commands: Any, name: str, about: str) -> argparse.ArgumentParser:
    """A command with its line of help."""
    made: argparse.ArgumentParser = commands.add_parser(name, help=about, description=about, epilog=CLOSING)
    return made


def add_job(command: argparse.ArgumentParser) -> None:
    """The job file."""
    command.add_argument("job", metavar="JOB.toml", type=Path, help="the job file")


def add_json(command: argparse.ArgumentParser, about: str = "one JSON object instead of text to read") -> None:
    """Data for other programs."""
    command.add_argument("--json", action="store_true", help=about)


def add_now(command: argparse.ArgumentParser) -> None:
    """From when to plan."""
    command.add_argument(
        "--now", type=moment, metavar="TIME", help="plan from this moment, such as 2027-04-15T18:00 (the yard's time)"
    )


def add_seconds(command: argparse.ArgumentParser) -> None:
    """How long to search."""
    command.add_argument(
        "--seconds", type=seconds, default=5.0, metavar="N", help="search at most so long (default 5); less if proved"
    )


def moment(text: str) -> dt.datetime:
    """A moment as ISO 8601 has it."""
    try:
        found = dt.datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or not 1970 <= found.year <= 2100:
        raise argparse.ArgumentTypeError(f"{one_line(text, 40)!r} is no moment like 2027-04-15T18:00")
    return found


def day(text: str) -> dt.date:
    """A date as ISO 8601 has it."""
    try:
        found = dt.date.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or not 1970 <= found.year <= 2100:
        raise argparse.ArgumentTypeError(f"{one_line(text, 40)!r} is no date like 2027-04-15")
    return found


def seconds(text: str) -> float:
    """Seconds, none to some days."""
    try:
        found = float(text)
    except ValueError:
        found = -1.0
    if not 0 <= found <= 1e6:
        raise argparse.ArgumentTypeError(f"{one_line(text, 40)!r} is no number of seconds")
    return found


def whole(least: int, most: int) -> Any:
    """A reader of whole numbers from `least` to `most`."""

    def read(text: str) -> int:
        try:
            found = int(text)
        except ValueError:
            found = least - 1
        if not least <= found <= most:
            raise argparse.ArgumentTypeError(f"{one_line(text, 40)!r} is no whole number from {least} to {most}")
        return found

    return read


_NOT_PLAIN = re.compile(r"[^ -~\n]")


def print_json(data: object) -> None:
    """Data as JSON; letters that the terminal can't show, or would obey, are spelled in JSON's own way."""
    ascii_only = (sys.stdout.encoding or "ascii").lower().replace("-", "") not in ("utf8", "utf16", "utf32")
    text = json.dumps(data, ensure_ascii=ascii_only, indent=1)
    print(_NOT_PLAIN.sub(lambda found: found[0] if found[0].isprintable() else json.dumps(found[0])[1:-1], text))


def say(words: str) -> None:
    """Talk, apart from the data; where nobody can hear it, there is none."""
    try:
        print(words, file=sys.stderr, flush=True)
    except OSError:
        into_nothing(sys.stderr)


def into_nothing(stream: TextIO) -> None:
    """Let what is still to be written to a stream go nowhere, and what Python writes there on its way out."""
    with contextlib.suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def planned(args: argparse.Namespace) -> tuple[Job, Plan]:
    """The job a command names, and its plan. Raises JobError, NoPlanError."""
    from sequencer.job import read_job
    from sequencer.planning.planner import plan_job

    job = read_job(args.job)
    plan = plan_job(job, args.now, args.seconds, clock=dt.datetime.now(dt.UTC))
    if plan.stopped:
        say("The search was stopped by the clock; --seconds gives it longer.")
    return job, plan

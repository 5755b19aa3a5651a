"""`new`: a job file begun."""

from __future__ import annotations

import argparse
import datetime as dt
from pathlib import Path
from typing import Any

from sequencer.commands.shared import OK, add_command, moment, say
from sequencer.errors import Fault, UsageError, one_line


def add(commands: Any) -> None:
    """The command."""
    command = add_command(commands, "new", "write a new job file, with comments that teach the format")
    command.add_argument("job", metavar="FILE.toml", nargs="?", type=Path, help="the file to write; it must not exist")
    command.add_argument("--blocks", action="store_true", help="list the building blocks, a line each")
    source = command.add_mutually_exclusive_group()
    source.add_argument("--from", dest="source", metavar="JOB.toml", type=Path, help="copy this job, without its log")
    source.add_argument(
        "--block", metavar="NAME", nargs="+", action="extend", default=[], help="begin with these blocks"
    )
    command.add_argument("--title", help="what the stay is about")
    command.add_argument("--boat", help="her name, and what she is")
    command.add_argument(
        "--timezone", metavar="ZONE", help="the yard's, such as Europe/London (default: this computer's)"
    )
    command.add_argument(
        "--hauled",
        type=_hauled,
        metavar="DATE",
        help="when she is on the stands, with an hour or at ten (default: today)",
    )
    command.set_defaults(run=_new)


def _hauled(text: str) -> dt.datetime:
    """A date alone is taken at ten o'clock."""
    found = moment(text)
    return found if len(text) > len("2027-04-12") else found.replace(hour=10)


def _new(args: argparse.Namespace) -> int:
    if args.blocks:
        from sequencer.blocks import block_about, block_names

        for name in block_names():
            print(f"{name:<18} {block_about(name)}")
        return OK
    if args.job is None:
        hint = "name it: sequencer new JOB.toml; or list the building blocks: sequencer new --blocks"
        raise UsageError([Fault("", "there is no file to write", hint)])
    from sequencer.starting import begin_job, copy_job, own_timezone

    given = {"title": args.title, "boat": args.boat, "timezone": args.timezone, "hauled": args.hauled}
    given = {name: value for name, value in given.items() if value is not None}
    if args.source is not None:
        copy_job(args.job, args.source, given)
        advice = "What had happened is left out. Look through hauled, weather, deliveries and days away"
    else:
        timezone = given.setdefault("timezone", own_timezone())
        begin_job(args.job, **given, blocks=args.block)
        mend = "Put your hours, people, weather and data sheets in it" if args.block else "Put your own tasks in it"
        advice = f"Its time zone is {one_line(timezone)}. {mend}"
    name = one_line(str(args.job))
    say(f"Written: {name}. {advice}, then: sequencer plan {name}")
    return OK

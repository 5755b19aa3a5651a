"""`sheet`: a day on paper."""

from __future__ import annotations

import argparse
from typing import Any

from sequencer.commands.shared import (
    OK,
    add_command,
    add_job,
    add_json,
    add_now,
    add_seconds,
    day,
    planned,
    print_json,
    whole,
)


def add(commands: Any) -> None:
    """The command."""
    command = add_command(commands, "sheet", "the sheet of a day: what to do in order, checks, windows, cautions")
    add_job(command)
    command.add_argument("date", metavar="DATE", nargs="?", type=day, help="such as 2027-04-15 (default: today)")
    command.add_argument("--for", dest="person", metavar="NAME", help="for one of the crew alone, by short name")
    command.add_argument("--width", type=whole(30, 200), default=60, metavar="N", help="columns of text (default 60)")
    shape = command.add_mutually_exclusive_group()
    shape.add_argument("--markdown", action="store_true", help="as Markdown")
    shape.add_argument("--html", action="store_true", help="as a page that prints on one sheet")
    add_json(shape)  # type: ignore[arg-type]
    add_now(command)
    add_seconds(command)
    command.set_defaults(run=_sheet)


def _sheet(args: argparse.Namespace) -> int:
    from sequencer.paper.sheet import day_sheet, sheet_json
    from sequencer.paper.sheet_html import sheet_html
    from sequencer.paper.sheet_markdown import sheet_markdown
    from sequencer.paper.sheet_text import sheet_text

    _, plan = planned(args)
    sheet = day_sheet(plan, args.date or plan.moment(plan.now).date(), args.person)
    if args.json:
        print_json(sheet_json(sheet))
    elif args.markdown or args.html:
        print(sheet_markdown(sheet) if args.markdown else sheet_html(sheet), end="")
    else:
        print(sheet_text(sheet, args.width), end="")
    return OK

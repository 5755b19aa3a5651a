"""Commands that hand the plan to other programs, and take weather in: `calendar`, `table`, `supplies`, `weather`."""

from __future__ import annotations

import argparse
import datetime as dt
import io
import sys
from pathlib import Path
from typing import Any

from sequencer.commands.shared import (
    OK,
    add_command,
    add_job,
    add_json,
    add_now,
    add_seconds,
    planned,
    print_json,
    say,
    whole,
)


def add(commands: Any) -> None:
    """The commands."""
    _add_calendar(commands)
    _add_table(commands)
    _add_supplies(commands)
    _add_weather(commands)


def _add_calendar(commands: Any) -> None:
    command = add_command(commands, "calendar", "the plan as a calendar to import: work, windows, the lift, deliveries")
    add_job(command)
    command.add_argument(
        "--before", metavar="OLD.ics", type=Path, help="the calendar imported last; what is no more is cancelled in it"
    )
    _add_lead(command)
    add_now(command)
    add_seconds(command)
    command.set_defaults(run=_calendar)


def _calendar(args: argparse.Namespace) -> int:
    from sequencer.job.source import read_text
    from sequencer.paper.calendar import plan_calendar
    from sequencer.supplies import lead_of, supplies

    lead = lead_of(args.lead)
    before = read_text(args.before) if args.before is not None else ""
    _, plan = planned(args)
    orders = supplies(plan, lead) if args.lead else ()
    _write(plan_calendar(plan, dt.datetime.now(dt.UTC), orders, before))
    return OK


def _add_table(commands: Any) -> None:
    command = add_command(commands, "table", "the plan as a table, in Markdown or for a spreadsheet")
    add_job(command)
    command.add_argument("--csv", action="store_true", help="CSV for a spreadsheet instead of Markdown")
    add_now(command)
    add_seconds(command)
    command.set_defaults(run=_table)


def _table(args: argparse.Namespace) -> int:
    from sequencer.paper.tables import plan_csv, plan_markdown

    _, plan = planned(args)
    _write(plan_csv(plan) if args.csv else plan_markdown(plan))
    return OK


def _add_supplies(commands: Any) -> None:
    command = add_command(commands, "supplies", "parts and materials: when each is needed, when to order, what holds")
    add_job(command)
    _add_lead(command)
    command.add_argument("--markdown", action="store_true", help="one Markdown table instead of text")
    add_json(command)
    add_now(command)
    add_seconds(command)
    command.set_defaults(run=_supplies)


def _supplies(args: argparse.Namespace) -> int:
    from sequencer.paper.supplies_paper import supplies_json, supplies_markdown, supplies_text
    from sequencer.supplies import lead_of, supplies

    lead = lead_of(args.lead)
    _, plan = planned(args)
    found = supplies(plan, lead)
    if args.json:
        print_json(supplies_json(found))
    else:
        _write(supplies_markdown(found) if args.markdown else supplies_text(found))
    return OK


def _add_weather(commands: Any) -> None:
    command = add_command(commands, "weather", "turn weather of another layout into the hourly file a job names")
    command.add_argument("source", metavar="IN", type=Path, help="a table, an EPW file, or a forecast saved as JSON")
    command.add_argument(
        "out", metavar="OUT.csv", type=Path, nargs="?", help="the file to write; it must not exist; left out, printed"
    )
    command.add_argument(
        "--column",
        action="append",
        default=[],
        metavar="temp=TT",
        help="what a column is called: time, date, temp, dew, humidity, rain, wind; rain=none where it has none",
    )
    command.add_argument(
        "--unit",
        action="append",
        default=[],
        metavar="temp=F",
        help="temp, dew: C F K; rain: mm cm in; wind: kn m/s km/h mph; time: UTC, +01:00 or a zone; date: d/m/y",
    )
    command.add_argument(
        "--year", type=whole(1970, 2100), metavar="Y", help="lay the hours of a typical year on this one"
    )
    command.set_defaults(run=_weather)


def _weather(args: argparse.Namespace) -> int:
    from sequencer.weather.bringing import converted, words_of, write_new
    from sequencer.weather.formats import spanned

    text, read = converted(
        args.source, words_of(args.column, "--column"), words_of(args.unit, "--unit"), year=args.year
    )
    if args.out is not None:
        write_new(args.out, text)
    else:
        _write(text)
    first, last = spanned(read.rows)
    count = f"{len(read.rows)} hour{'s' if len(read.rows) != 1 else ''}"
    say(f"{read.layout}: {count}, {first.isoformat()} to {last.isoformat()}.")
    for note in read.notes:
        say(f"{note}.")
    return OK


def _add_lead(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--lead",
        nargs="+",
        action="extend",
        default=[],
        metavar="ID=DAYS",
        help="calendar days from order to delivery; a number alone is for all else",
    )


def _write(text: str) -> None:
    """Print a text with the line ends it has, whatever the system's own."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(newline="")
    print(text, end="")

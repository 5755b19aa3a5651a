"""The command line: stdout is data, stderr is talk, exit codes in one place."""

from __future__ import annotations

import argparse
import datetime as dt
import io
import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn

from sequencer import __version__
from sequencer.errors import Fault, SequencerError, UsageError, one_line

OK = 0
"""Done as asked; `check` found nothing."""
FINDINGS = 1
"""`check` found rules the plan breaks."""
FAULT = 2
"""A bad file, a job that can't be planned, or words that were not understood."""

DEMO = "dunlin-pod.toml"
TELL = 'Try "sequencer --help".'

ABOUT = """\
Plans a haul-out: what cures when, who is there, what the weather allows, and when she goes back in.

  sequencer                        open the app on the demo job
  sequencer JOB.toml               open the app on a job of yours
  sequencer plan JOB.toml          print the plan: launch, nights, cost, what holds her, then the days
  sequencer plan JOB.toml --json   the same as one JSON object, for other programs
  sequencer new JOB.toml           begin a job: from nothing, from --block NAME ..., or --from another job
  sequencer check JOB.toml P.json  hold a plan against every rule of its job, by an independent check
"""

CLOSING = """\
What it prints on standard output is data; what it has to say about it goes to standard error.
Exit code 0: done. 1: check found a rule broken. 2: a fault in a file, no possible plan, or a word not understood.
No engineering approval: your data sheets, the yard's rules, local codes and licensed trades have the last word.
"""


class _Parser(argparse.ArgumentParser):
    """An argument parser whose faults are sentences like all others."""

    def error(self, message: str) -> NoReturn:
        raise UsageError([Fault("", one_line(message, 200), TELL.rstrip("."))])


def run(argv: list[str]) -> int:
    """Run one command; returns the exit code. Nothing but SystemExit of --help and --version leaves it."""
    for stream in (sys.stdout, sys.stderr):
        # A letter the terminal can't show is spelled out, never a traceback.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        args = _parser().parse_args(_with_command(argv))
        command: Callable[[argparse.Namespace], int] = args.run
        code = command(args)
        sys.stdout.flush()
        return code
    except SequencerError as error:
        print(error.text(), file=sys.stderr)
        return FAULT
    except BrokenPipeError:
        # Whoever read the output has left; say nothing more to them.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK
    except OSError as error:
        print(
            f"The output can't be written ({(error.strerror or 'no access').lower()}); make room and try again.",
            file=sys.stderr,
        )
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAULT
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return FAULT


def _with_command(argv: list[str]) -> list[str]:
    """`sequencer JOB` and `sequencer` alone open the app."""
    known = {"open", "plan", "check", "new"}
    if argv and (argv[0] in known or argv[0] in ("-h", "--help", "--version")):
        return argv
    return ["open", *argv]


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="sequencer", description=ABOUT, epilog=CLOSING, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--version", action="version", version=f"sequencer {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True, parser_class=_Parser)
    _add_open(commands)
    _add_plan(commands)
    _add_check(commands)
    _add_new(commands)
    return parser


def _add_open(commands: Any) -> None:
    command = commands.add_parser("open", help="open the app (also without the word)", epilog=CLOSING)
    command.add_argument("job", metavar="JOB.toml", nargs="?", type=Path, help="the job file; left out, the demo job")
    _add_now(command)
    _add_seconds(command)
    command.set_defaults(run=_open)


def _add_plan(commands: Any) -> None:
    command = commands.add_parser("plan", help="print the plan of a job", epilog=CLOSING)
    command.add_argument("job", metavar="JOB.toml", type=Path, help="the job file")
    command.add_argument("--json", action="store_true", help="one JSON object instead of text to read")
    _add_now(command)
    _add_seconds(command)
    command.set_defaults(run=_plan)


def _add_check(commands: Any) -> None:
    command = commands.add_parser("check", help="hold a plan against the rules of its job", epilog=CLOSING)
    command.add_argument("job", metavar="JOB.toml", type=Path, help="the job file")
    command.add_argument("plan", metavar="PLAN.json", type=Path, help='what "sequencer plan JOB.toml --json" printed')
    command.add_argument("--json", action="store_true", help="the findings as one JSON list")
    _add_now(command)
    command.set_defaults(run=_check)


def _add_new(commands: Any) -> None:
    command = commands.add_parser(
        "new", help="write a new job file, with comments that teach the format", epilog=CLOSING
    )
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


def _add_now(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--now", type=_moment, metavar="TIME", help="plan from this moment, such as 2027-04-15T18:00 (the yard's time)"
    )


def _add_seconds(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--seconds", type=_seconds, default=5.0, metavar="N", help="search at most so long (default 5); less if proved"
    )


def _ascii_only() -> bool:
    """Whether standard output can't take every letter; JSON then spells the others in its own way."""
    return (sys.stdout.encoding or "ascii").lower().replace("-", "") not in ("utf8", "utf16", "utf32")


def _moment(text: str) -> dt.datetime:
    try:
        found = dt.datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or not 1970 <= found.year <= 2100:
        raise argparse.ArgumentTypeError(f"{one_line(text, 40)!r} is no moment like 2027-04-15T18:00")
    return found


def _hauled(text: str) -> dt.datetime:
    """A date alone is taken at ten o'clock."""
    found = _moment(text)
    return found if len(text) > len("2027-04-12") else found.replace(hour=10)


def _seconds(text: str) -> float:
    try:
        found = float(text)
    except ValueError:
        found = -1.0
    if not 0 <= found <= 1e6:
        raise argparse.ArgumentTypeError(f"{one_line(text, 40)!r} is no number of seconds")
    return found


def demo_job() -> Path:
    """The demo job: in jobs/ beside the package, as in a clone."""
    return Path(__file__).resolve().parent.parent / "jobs" / DEMO


def _open(args: argparse.Namespace) -> int:
    if args.job is None and not demo_job().is_file():
        raise UsageError([Fault("", "the demo job is not installed here", "name a job: sequencer JOB.toml")])
    from sequencer.tui.app import run_app

    run_app(args.job if args.job is not None else demo_job(), args.now, args.seconds)
    return OK


def _plan(args: argparse.Namespace) -> int:
    from sequencer.job import read_job
    from sequencer.paper.jsonplan import plan_object
    from sequencer.paper.textplan import text_plan
    from sequencer.planning.planner import plan_job

    job = read_job(args.job)
    plan = plan_job(job, args.now, args.seconds, clock=dt.datetime.now(dt.UTC))
    if args.json:
        print(json.dumps(plan_object(plan), ensure_ascii=_ascii_only(), indent=1))
    else:
        print(text_plan(plan), end="")
    if plan.stopped:
        print("The search was stopped by the clock; --seconds gives it longer.", file=sys.stderr)
    return OK


def _check(args: argparse.Namespace) -> int:
    from sequencer.checking import check_plan
    from sequencer.job import read_job

    job = read_job(args.job)
    findings = check_plan(job, _read_plan(args.plan), args.now)
    if args.json:
        print(json.dumps([vars_of(f) for f in findings], ensure_ascii=_ascii_only(), indent=1))
    elif findings:
        for finding in findings:
            print(one_line(finding.sentence, 400))
    if findings:
        print(f"{len(findings)} rule{'s' if len(findings) > 1 else ''} broken.", file=sys.stderr)
        return FINDINGS
    print("Every rule is kept.", file=sys.stderr)
    return OK


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
    print(f"Written: {name}. {advice}, then: sequencer plan {name}", file=sys.stderr)
    return OK


def vars_of(finding: Any) -> dict[str, str]:
    """A finding as a JSON-ready object."""
    return {"rule": finding.rule, "task": finding.task, "sentence": finding.sentence}


def _read_plan(path: Path) -> dict[str, Any]:
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
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

"""The command line: stdout is data, stderr is talk, exit codes in one place."""

from __future__ import annotations

import argparse
import errno
import io
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn

from sequencer import __version__
from sequencer.commands import asking, new, papers, plan, sheet, shells
from sequencer.commands.misread import no_command, usage_fault
from sequencer.commands.shared import CLOSING, FAULT, OK, add_command, add_now, add_seconds, into_nothing, say
from sequencer.errors import Fault, SequencerError, UsageError

DEMO = "dunlin-pod.toml"

ABOUT = """\
Plans a haul-out: what cures when, who is there, what the weather allows, and when she goes back in.

  sequencer                        open the app on the demo job
  sequencer JOB.toml               open the app on a job of yours
  sequencer plan JOB.toml          print the plan: launch, nights, cost, what holds her, then the days
  sequencer odds JOB.toml          how sure the date is: the chance of being afloat by each date, and the cost
  sequencer levers JOB.toml        what would buy a night, each help tried for real
  sequencer sheet JOB.toml [DATE]  the sheet of a day, for a printer or a phone; --for NAME: for a helper alone
  sequencer review JOB.toml        checks of the trade, each with its reason and what to change
  sequencer calendar JOB.toml      the plan as a calendar to import; again after a change, and it updates
  sequencer table JOB.toml         the plan as a table, in Markdown or for a spreadsheet
  sequencer supplies JOB.toml      what is needed when, and by when it must be ordered
  sequencer weather IN OUT.csv     hours of weather in other layouts made ours: --column, --unit
  sequencer new JOB.toml           begin a job: from nothing, from --block NAME ..., or --from another job
  sequencer check JOB.toml P.json  hold a plan against every rule of its job, by an independent check
  sequencer serve JOB.toml         the app in a browser on this computer
  sequencer completion SHELL       a script that lets the shell complete these words

Every command that answers takes --json, for other programs; calendar, table and weather write their formats as it is.
"""


COMMANDS = (
    *("plan", "odds", "levers", "sheet", "review", "calendar", "table", "supplies"),
    *("weather", "new", "check", "serve", "completion"),
)
"""The words that are no job file."""


class _Parser(argparse.ArgumentParser):
    """An argument parser whose faults are sentences like all others."""

    _mixing = False

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """An option may stand between a file and what follows it: ``sheet JOB.toml --html 2027-04-14``."""
        if self._mixing or self._subparsers is not None:
            return super().parse_known_args(args, namespace)
        self._mixing = True
        try:
            found, rest = self.parse_known_intermixed_args(args, namespace)
            if rest:
                self.error(f"unrecognized arguments: {' '.join(rest)}")
            return found, rest
        finally:
            self._mixing = False

    def error(self, message: str) -> NoReturn:
        raise usage_fault(message, self.prog)

    def _print_message(self, message: str, file: Any = None) -> None:
        """Help that can't be written is told of, which argparse would not."""
        print(message, end="", file=file, flush=True)


class _Closed(io.TextIOBase):
    """Standard output that was closed before we came."""

    def write(self, _text: str) -> int:
        raise OSError(errno.EBADF, "standard output is closed")


def run(argv: list[str]) -> int:
    """Run one command; returns the exit code. Nothing but SystemExit of --help and --version leaves it."""
    _ready_streams()
    try:
        args = _parser().parse_args(_with_command(argv))
        command: Callable[[argparse.Namespace], int] = args.run
        code = command(args)
        sys.stdout.flush()
        return code
    except SequencerError as error:
        say(error.text())
        return FAULT
    except BrokenPipeError:
        # Whoever read the output has left; say nothing more to them.
        into_nothing(sys.stdout)
        return OK
    except OSError as error:
        hint = "make room and try again" if error.errno in (errno.ENOSPC, errno.EDQUOT) else "see where it should go"
        say(f"The output can't be written ({(error.strerror or 'no access').lower()}); {hint}.")
        into_nothing(sys.stdout)
        return FAULT
    except KeyboardInterrupt:
        say("Stopped.")
        return FAULT


def _ready_streams() -> None:
    """No letter and no closed stream is a traceback: what the terminal can't show is spelled out."""
    for handle in (0, 1, 2):
        try:
            os.fstat(handle)
        except OSError:
            # Taken, lest a file opened later come to stand where others write.
            os.open(os.devnull, os.O_RDWR)
    if sys.stdout is None:
        sys.stdout = _Closed()
    if sys.stderr is None:
        sys.stderr = Path(os.devnull).open("w")  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _with_command(argv: list[str]) -> list[str]:
    """`sequencer JOB` and `sequencer` alone open the app."""
    known = {"open", *COMMANDS}
    if argv and (argv[0] in known or argv[0] in ("-h", "--help", "--version")):
        return argv
    if argv and not argv[0].startswith("-") and not Path(argv[0]).suffix and not Path(argv[0]).exists():
        raise no_command(argv[0], COMMANDS)
    return ["open", *argv]


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="sequencer", description=ABOUT, epilog=CLOSING, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--version", action="version", version=f"sequencer {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True, parser_class=_Parser)
    _add_open(commands)
    for add in (plan.add, asking.add, sheet.add, papers.add, new.add):
        add(commands)
    shells.add(commands, parser)
    return parser


def _add_open(commands: Any) -> None:
    command = add_command(commands, "open", "open the app (also without the word)")
    command.add_argument("job", metavar="JOB.toml", nargs="?", type=Path, help="the job file; left out, the demo job")
    add_now(command)
    add_seconds(command)
    command.set_defaults(run=_open)


def demo_job() -> Path:
    """The demo job: in jobs/ beside the package, as in a clone."""
    return Path(__file__).resolve().parent.parent / "jobs" / DEMO


def _on_terminal() -> bool:
    """Whether keys come from a terminal and what is drawn goes to one; in a browser neither does."""
    drawn_on = sys.__stderr__ if os.name == "posix" else sys.__stdout__
    return all(stream is not None and stream.isatty() for stream in (sys.__stdin__, drawn_on))


def _open(args: argparse.Namespace) -> int:
    if args.job is None and not demo_job().is_file():
        raise UsageError([Fault("", "the demo job is not installed here", "name a job: sequencer JOB.toml")])
    if not (_on_terminal() or os.environ.get("TEXTUAL_DRIVER")):
        hint = "run it in one, or print the plan: sequencer plan JOB.toml"
        raise UsageError([Fault("", "the app wants a terminal to draw on and a keyboard", hint)])
    from sequencer.tui.app import run_app

    run_app(args.job if args.job is not None else demo_job(), args.now, args.seconds)
    return OK

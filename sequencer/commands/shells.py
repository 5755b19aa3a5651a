"""`serve` and `completion`: the app in a browser, and the shell's help with words."""

from __future__ import annotations

import argparse
import shlex
import sys
from pathlib import Path
from typing import Any

from sequencer.commands.shared import OK, add_command, say, whole
from sequencer.errors import Fault, UsageError

SHELLS = ("bash", "zsh", "tcsh")


def add(commands: Any, root: argparse.ArgumentParser) -> None:
    """Both commands. root: the parser of the whole command line, whose words are completed."""
    command = add_command(commands, "serve", "the app in a browser on this computer; wants the extra `web`")
    command.add_argument("job", metavar="JOB.toml", nargs="?", type=Path, help="the job file; left out, the demo job")
    command.add_argument("--port", type=whole(1, 65535), default=8000, metavar="N", help="(default 8000)")
    command.set_defaults(run=_serve)
    command = add_command(commands, "completion", "a script that lets the shell complete words of this command")
    command.add_argument("shell", choices=SHELLS, help="for which shell; add what is printed to its start-up file")
    command.set_defaults(run=lambda args: _completion(args, root))


def _serve(args: argparse.Namespace) -> int:
    """Serves to this computer alone: whoever can open the page can edit the job."""
    try:
        from textual_serve.server import Server
    except ImportError:
        hint = "install the extra: .venv/bin/pip install -c .requirements.lock -e '.[web]'"
        raise UsageError([Fault("", "the page can't be served without the package textual-serve", hint)]) from None
    if args.job is not None and not args.job.is_file():
        raise UsageError([Fault("", "there is no such job file", "check the name")], str(args.job))
    # Nothing is imported from the folder one stands in (-P): it may be a stranger's.
    words = [sys.executable, "-P", "-m", "sequencer", *([str(args.job.resolve())] if args.job is not None else [])]
    say(f"Open http://localhost:{args.port} in a browser on this computer; ctrl+c ends it.")
    Server(shlex.join(words), host="localhost", port=args.port, title="sequencer").serve()
    return OK


def _completion(args: argparse.Namespace, root: argparse.ArgumentParser) -> int:
    import shtab

    print(shtab.complete(root, shell=args.shell))
    return OK

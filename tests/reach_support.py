"""What the program touches outside of itself, by Python's audit events (PEP 578), in processes of its own.

A copy of this file is put before a child's path as ``sitecustomize``: it is loaded before anything else, in the child
and in every Python process that one starts, and writes what it hears into a log. Here the log is read and judged.
"""

from __future__ import annotations

import ast
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

LOG, FOLDER, CANARY = "REACH_LOG", "REACH_FOLDER", "reach-canary"
"""Environment: where the log goes; the job's folder. CANARY: what the job's own texts are known by."""

WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
CHANGES = (
    *("os.remove", "os.rename", "os.link", "os.symlink", "os.mkdir", "os.rmdir", "os.truncate", "os.chmod"),
    *("os.chown", "os.utime", "os.setxattr", "os.removexattr", "os.chflags", "shutil.move", "shutil.rmtree"),
    *("shutil.copyfile", "tempfile.mkstemp", "tempfile.mkdtemp", "sqlite3.connect"),
)
"""Events that change what is on the disk; their texts are paths."""
NETWORK = (
    "socket.",
    "urllib.",
    "http.",
    "ftplib.",
    "smtplib.",
    "poplib.",
    "imaplib.",
    "nntplib.",
    "telnetlib.",
    "ssl.",
)
PROCESSES = ("subprocess.", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "os.fork", "pty.", "webbrowser.")
CODE = ("compile", "exec", "import")
WATCHED = (*CHANGES, *NETWORK, *PROCESSES, *CODE, "open", "pickle.find_class", "ctypes.dlopen", "reach.")


@dataclass(frozen=True)
class Event:
    """One thing that was done. step: in which part of the run; name: the audit event; told: what of, as texts."""

    process: int
    step: str
    name: str
    told: tuple[str, ...]


# -- in the process that is watched ----------------------------------------------------------------------


def watch() -> None:
    """Write down what this process does from now on, each thing once a step."""
    log = os.open(os.environ[LOG], os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    folder, quiet = os.environ[FOLDER], _quiet()
    seen: set[tuple[str, ...]] = set()
    step = ["start"]

    def hear(name: str, args: tuple[Any, ...]) -> None:
        if not name.startswith(WATCHED):
            return
        if name == "reach.step":
            step[0] = args[0]
        told = _told(name, args, folder, quiet)
        if told and (key := (step[0], name, *told)) not in seen:
            seen.add(key)
            os.write(log, f"{(os.getpid(), step[0], name, told)!r}\n".encode())

    started = (" ".join(sys.orig_argv), f"safe path: {bool(sys.flags.safe_path)}")
    os.write(log, f"{(os.getpid(), 'start', 'reach.process', started)!r}\n".encode())
    sys.addaudithook(hear)


def _quiet() -> tuple[str, ...]:
    """Where Python, its packages and the program itself are read from."""
    places = (sys.prefix, sys.base_prefix, sys.base_exec_prefix, *os.environ["REACH_QUIET"].split(os.pathsep))
    return tuple(f"{place.rstrip('/')}/" for place in {*places, *map(os.path.realpath, places)})


def _told(name: str, args: tuple[Any, ...], folder: str, quiet: tuple[str, ...]) -> tuple[str, ...]:
    """What there is to write down of an event; nothing where it is the program reading itself."""
    if name == "open":
        return _opened(args, quiet)
    if name in ("compile", "exec", "import"):
        return _code(name, args, folder)
    if name == "socket.__new__":
        return (f"family {int(args[1])}",)
    if name.startswith(CHANGES):
        return tuple(os.path.realpath(os.fsdecode(a)) for a in args if isinstance(a, str | bytes | os.PathLike))
    return tuple(os.fsdecode(a) if isinstance(a, str | bytes | os.PathLike) else repr(a) for a in args)


def _opened(args: tuple[Any, ...], quiet: tuple[str, ...]) -> tuple[str, ...]:
    path, _, flags = args
    if not isinstance(path, str | bytes | os.PathLike):
        return ()
    real = os.path.realpath(os.fsdecode(path))
    kind = "write" if flags & WRITES else "read"
    return () if kind == "read" and real.startswith(quiet) else (kind, real)


def _code(name: str, args: tuple[Any, ...], folder: str) -> tuple[str, ...]:
    """Code that comes from the job's folder or is made of the job's own texts."""
    if name == "compile":
        source, file = args
        text = os.fsdecode(source) if isinstance(source, str | bytes) else ""
        return (str(file), text[:200]) if CANARY in text or str(file).startswith(folder) else ()
    file = getattr(args[0], "co_filename", "") if name == "exec" else args[1] or ""
    return (str(file),) if str(file).startswith("/") and os.path.realpath(str(file)).startswith(folder) else ()


# -- in the test -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Reach:
    """What a watched process did. folder: the job's; code: its exit code; out, err: what it said."""

    folder: Path
    code: int
    out: str
    err: str
    events: tuple[Event, ...]

    def named(self, *names: str) -> list[Event]:
        """The events whose names begin so."""
        return [event for event in self.events if event.name.startswith(names)]

    def network(self) -> list[Event]:
        """Everything that reaches for a network.

        A socket of the family 1 (AF_UNIX) that nothing is bound or connected with is one half of ``socketpair``:
        asyncio wakes itself through one, and it leads nowhere.
        """
        return [e for e in self.named(*NETWORK) if (e.name, e.told) != ("socket.__new__", ("family 1",))]

    def written_elsewhere(self) -> list[Event]:
        """Files opened for writing, or changed in another way, outside of the job's folder; nothing counts as one."""
        opened = [e for e in self.named("open") if e.told[0] == "write" and e.told[1] != os.devnull]
        changed = [event for event in self.events if event.name in CHANGES]
        inside = (str(self.folder), f"{self.folder}/")
        return [e for e in opened if not _within(e.told[1], inside)] + [
            e for e in changed if not all(_within(path, inside) for path in e.told)
        ]

    def read_elsewhere(self) -> list[Event]:
        """Files opened outside of the job's folder that are neither Python's, its packages' nor the program's."""
        opened = self.named("open")
        return [e for e in opened if not _within(e.told[1], (str(self.folder), f"{self.folder}/", *SYSTEM))]

    def opened(self, path: Path) -> list[Event]:
        """Where a file was opened, by its real place."""
        return [e for e in self.named("open") if e.told[1] == os.path.realpath(path)]

    def ran(self) -> list[Event]:
        """Programs started, code run that the job's folder or its texts brought, libraries loaded from outside."""
        loaded = [e for e in self.named("ctypes.dlopen") if e.told[0] not in ("None", "")]
        return [*self.named(*PROCESSES, *CODE), *loaded]

    def helpers(self) -> list[Event]:
        """The Python processes that were started, but for the first."""
        return self.named("reach.process")[1:]


SYSTEM = (os.devnull, "/usr/share/zoneinfo/", "/usr/lib/", "/etc/localtime", "/proc/self/", "/proc/cpuinfo", "/sys/")
"""What Python and its packages look up in a system."""


def _within(path: str, places: Iterable[str]) -> bool:
    return any(path == place or (place.endswith("/") and path.startswith(place)) for place in places)


def watched(
    folder: Path,
    script: str,
    *words: str,
    aside: Path,
    bare: bool = False,
    feed: Callable[[], object] | None = None,
) -> Reach:
    """Run a Python script in a process of its own that stands in `folder`, the job's, and tell what it did.

    words: its arguments. aside: a folder for the script and the log, outside of the job's. bare: without the folder
    of the tests on its path.
    """
    home, tests = folder.resolve(), Path(__file__).resolve().parent
    aside.mkdir(parents=True, exist_ok=True)
    shutil.copy(__file__, aside / "sitecustomize.py")
    (aside / "script").mkdir(exist_ok=True)
    file, log = aside / "script" / "run.py", aside / "log"
    file.write_text(script, encoding="utf-8")
    log.unlink(missing_ok=True)
    path = [str(aside), str(tests.parent), *([] if bare else [str(tests)])]
    env = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "REACH", "COV_"))}
    egg = str(tests.parent / "sequencer.egg-info")
    env |= {
        "PYTHONPATH": os.pathsep.join(path),
        "PYTHONDONTWRITEBYTECODE": "1",
        LOG: str(log),
        FOLDER: str(home),
        "REACH_QUIET": os.pathsep.join((str(tests), str(tests.parent / "sequencer"), egg, str(aside))),
    }
    done = subprocess.run(
        [sys.executable, str(file), *words], cwd=home, env=env, capture_output=True, text=True, timeout=120, check=False
    )
    lines = log.read_text("utf-8").splitlines()
    return Reach(home, done.returncode, done.stdout, done.stderr, tuple(Event(*ast.literal_eval(n)) for n in lines))


COMMANDS = """\
import json, sys
import sequencer.odds.telling
from sequencer.cli import run

if __name__ == "__main__":
    sequencer.odds.telling.WORTH_HELP_SECONDS = 0.0  # Helpers at once, however few the futures.
    codes = {}
    for name, *argv in json.loads(sys.argv[1]):
        sys.audit("reach.step", name)
        try:
            codes[name] = run(argv)
        except SystemExit as left:
            codes[name] = left.code
        sys.stdout.flush()
    sys.audit("reach.step", "end")
    print("CODES", json.dumps(codes))
"""
"""Commands one after another, each a step: a JSON list of lists, the name of the step and then its words."""


def codes_of(reach: Reach) -> dict[str, int]:
    """The exit codes of COMMANDS by step."""
    assert "CODES " in reach.out, reach.out + reach.err
    found: dict[str, int] = ast.literal_eval(reach.out.rpartition("CODES ")[2].strip())
    return found


def steps_of(events: Sequence[Event]) -> set[str]:
    """The steps these events were in."""
    return {event.step for event in events}


if __name__ == "sitecustomize":
    watch()

"""Mutated job and weather files through the command line: a plan the check accepts, or a sentence; never a traceback.

.venv/bin/python tests/mutants.py [FILES] [SEED]    # the long form: ten thousand files

Most files are planned with little search, one in a hundred at full; one in ten goes through a second command as well.
"""

from __future__ import annotations

import contextlib
import io
import json
import random
import re
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

from sequencer.checking import check_plan
from sequencer.cli import run
from sequencer.job import read_job

ROOT = Path(__file__).resolve().parent.parent
JOBS = ("dunlin-pod", "knot-bottom-job", "osprey-small", "plover-catamaran")
SLOW = 5.0
"""Seconds of processor time, the search's own aside, after which a file counts as hung."""
SHARES = ((0.01, 5.0), (0.1, 0.3), (1.0, 0.05))
"""Seconds of search: what share of the files has at least so many."""
OTHERS: tuple[tuple[str, ...], ...] = (
    *(("review", "--json"), ("sheet",), ("sheet", "--html"), ("table",), ("supplies",), ("calendar",), ("plan",)),
    *(("sheet", "--json"), ("supplies", "--json"), ("table", "--csv"), ("odds", "--runs", "10", "--cores", "1")),
)
"""The second command of some files."""
VALUES = (
    *("3", "-1", "0", "0.25", "1e9", "1e308", "nan", "inf", '"x"', '""', "true", "false", "[]", "{}", "[[]]"),
    *(
        "2027-04-14",
        "1999-01-01T00:00:00Z",
        "2027-03-28T01:30:00",
        "9999-12-31",
        '["set"]',
        '"set"',
        '"none"',
        '"done"',
    ),
    *('"Mon-Fri"', '"24:00"', "[1, 2, 3]", "[3, 2, 1]", '"FREQ=DAILY"', '"\\u001b[2J"', '"' + "x" * 400 + '"'),
)


def mutated(text: str, rng: random.Random) -> str:
    """One to four changes: lines dropped, doubled, moved; values and names swapped; letters changed."""
    lines = text.split("\n")
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 4))):
        at = rng.randrange(len(lines))
        dice = rng.random()
        if dice < 0.15:
            del lines[at]
        elif dice < 0.25:
            lines.insert(rng.randrange(len(lines)), lines[at])
        elif dice < 0.45 and "=" in lines[at]:
            lines[at] = f"{lines[at].partition('=')[0]}= {rng.choice(VALUES)}"
        elif dice < 0.6:
            lines[at] = re.sub(r"\d+(\.\d+)?", lambda found: _other(found[0], rng), lines[at])
        elif dice < 0.8:
            lines[at] = _names_swapped(lines[at], text, rng)
        else:
            lines[at] = _letters(lines[at], rng)
        lines = lines or [""]
    return _tables("\n".join(lines), rng) if rng.random() < 0.15 else "\n".join(lines)


def _tables(text: str, rng: random.Random) -> str:
    """A table gone, doubled, or with the lines of another in it."""
    tables = re.split(r"(?m)^(?=\[)", text)
    at, other = rng.randrange(len(tables)), rng.choice(tables)
    made = rng.choice(("", tables[at] + tables[at], tables[at].rstrip() + "\n" + other.partition("\n")[2]))
    return "".join((*tables[:at], made, *tables[at + 1 :]))


def _other(number: str, rng: random.Random) -> str:
    return rng.choice(
        (number, "0", "1", str(round(float(number) * rng.choice((0.1, 0.5, 2, 10, 100)), 3)), f"-{number}")
    )


def _names_swapped(line: str, text: str, rng: random.Random) -> str:
    """A quoted word in the place of another: links to other tasks and stages, other places and people."""
    words = re.findall(r'"([a-z0-9@/:-]+)"', text)
    return re.sub(r'"[a-z0-9@/:-]+"', lambda found: f'"{rng.choice(words)}"' if rng.random() < 0.5 else found[0], line)


def _letters(line: str, rng: random.Random) -> str:
    at = rng.randrange(len(line) + 1)
    put = rng.choice(("", "", "\x00", "\x1b[31m", "é", "\u202e", '"', "'", "#", "[", "]", "=", "\t", "🛥", "\ud7ff"))
    return line[:at] + put + line[at + rng.randrange(3) :]


def bytes_mutated(raw: bytes, rng: random.Random) -> bytes:
    """Bytes changed, cut off, doubled."""
    made = bytearray(raw)
    for _ in range(rng.randrange(1, 5)):
        at = rng.randrange(len(made) + 1)
        dice = rng.random()
        if dice < 0.4 and at < len(made):
            made[at] = rng.randrange(256)
        elif dice < 0.6:
            del made[at : at + rng.randrange(40)]
        elif dice < 0.8:
            made[at:at] = bytes(rng.randrange(256) for _ in range(rng.randrange(6)))
        else:
            made = made[:at] or bytearray(b"x")
    return bytes(made)


@dataclass
class Tally:
    """What a run of files gave. codes: exit codes; bad: what should not be, each with how to make it again."""

    codes: Counter[int] = field(default_factory=Counter)
    bad: list[str] = field(default_factory=list)
    slowest: float = 0.0


class Hung(BaseException):
    """Raised inside a command that works for too long."""


def _hung(_number: int, _frame: FrameType | None) -> None:
    raise Hung


def put(folder: Path, rng: random.Random) -> Path:
    """Copies of the demo jobs and their weather in an emptied folder, one file mutated; returns the job to plan."""
    for path in folder.iterdir():
        path.unlink()
    for path in (ROOT / "jobs").iterdir():
        if path.is_file() and not path.name.startswith("."):
            shutil.copy(path, folder)
    target = folder / f"{rng.choice(JOBS)}.toml"
    weather = sorted(folder.glob("*.csv"))
    victim = rng.choice(weather) if weather and rng.random() < 0.25 else target
    if rng.random() < 0.2:
        victim.write_bytes(bytes_mutated(victim.read_bytes(), rng))
    else:
        victim.write_text(mutated(victim.read_text("utf-8"), rng), "utf-8", errors="replace")
    return target


def ran(argv: list[str], allowed: float) -> tuple[int, str, str, float]:
    """Exit code, both outputs and seconds of processor time of a command; Hung where it takes more than `allowed`."""
    out, err = io.StringIO(), io.StringIO()
    began = time.process_time()
    before = signal.signal(signal.SIGPROF, _hung)
    signal.setitimer(signal.ITIMER_PROF, allowed)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = run(argv)
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
    return code, out.getvalue(), err.getvalue(), time.process_time() - began


def one(folder: Path, seed: int, tally: Tally, seconds: float | None = None) -> None:
    """One mutated file: job or weather, text or bytes. seconds: of search; left out, by SHARES."""
    rng = random.Random(seed)
    target = put(folder, rng)
    dice = rng.random()
    search = next(s for share, s in SHARES if dice < share) if seconds is None else seconds
    others = [rng.choice(OTHERS)] if rng.random() < 0.1 else []
    for name, *options in [("plan", "--json"), *others]:
        # The general solver works in two threads.
        allowed = SLOW + 2 * search
        try:
            code, out, err, spent = ran([name, str(target), *options, "--seconds", str(search)], allowed)
        except BaseException:
            tally.bad.append(f"seed {seed}, {name}: {traceback.format_exc(limit=-3)}")
            return
        tally.slowest = max(tally.slowest, spent - 2 * search)
        first = (name, *options) == ("plan", "--json")
        tally.codes[code] += first
        fault = _fault_of(code, target, out, err) if first else _wrong_talk(code, out, err, (*options, name))
        if fault:
            tally.bad.append(f"seed {seed}, {name}: {fault}")


def _fault_of(code: int, target: Path, out: str, err: str) -> str:
    """What is wrong with the answer of `plan --json`; empty where it is a sound plan, or sentences."""
    if code == 0:
        findings = check_plan(read_job(target), json.loads(out))
        return f"the check finds {findings[0].sentence}" if findings else ""
    return _no_sentence(out, err) if code == 2 else f"exit code {code}"


def _wrong_talk(code: int, out: str, err: str, words: tuple[str, ...]) -> str:
    """What is wrong with the answer of another command; empty where it is data, or sentences."""
    if code not in ((0, 1, 2) if "review" in words else (0, 2)):
        return f"exit code {code}"
    if code == 2:
        return _no_sentence(out, err)
    if "--json" in words:
        with contextlib.suppress(ValueError):
            json.loads(out)
            return ""
        return "no JSON"
    kept = "\n\r" if "calendar" in words or "--csv" in words else "\n"
    odd = {letter for letter in out if not letter.isprintable() and letter not in kept}
    return f"prints {odd!r}" if odd else ""


def _no_sentence(out: str, err: str) -> str:
    """What is wrong with the telling of a fault."""
    if out or not err.strip():
        return "a fault with data, or without a sentence"
    wrong = [line for line in err.splitlines() if not line.isprintable() or not line.rstrip().endswith((".", "?", "!"))]
    return f"no plain sentence: {wrong[0][:200]!r}" if wrong or "Traceback" in err else ""


def many(files: int, seed: int) -> Tally:
    """So many files, from a seed on."""
    tally = Tally()
    with tempfile.TemporaryDirectory() as folder:
        for number in range(files):
            one(Path(folder), seed + number, tally)
    return tally


def main() -> None:
    """Many files, and what came of them."""
    files = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    tally = many(files, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    print(f"{files} files: {tally.codes[0]} plans the check accepts, {tally.codes[2]} refused in sentences;", end=" ")
    print(f"slowest {tally.slowest:.1f} s; {len(tally.bad)} wrong")
    print("\n".join(tally.bad[:20]))
    sys.exit(1 if tally.bad else 0)


if __name__ == "__main__":
    main()

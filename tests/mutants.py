"""Mutated job and weather files through the command line: a plan the check accepts, or a sentence; never a traceback.

.venv/bin/python tests/mutants.py [FILES] [SEED]    # the long form: ten thousand files
"""

from __future__ import annotations

import contextlib
import io
import json
import random
import re
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from sequencer.checking import check_plan
from sequencer.cli import run
from sequencer.job import read_job

ROOT = Path(__file__).resolve().parent.parent
JOBS = ("dunlin-pod", "knot-bottom-job", "osprey-small", "plover-catamaran")
SLOW = 5.0
"""Seconds of work after which a file counts as hung."""
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
    return "\n".join(lines)


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


def one(folder: Path, seed: int, tally: Tally, seconds: str = "0.3") -> None:
    """One mutated file: job or weather, text or bytes."""
    rng = random.Random(seed)
    name = rng.choice(JOBS)
    for path in folder.iterdir():
        path.unlink()
    for path in (ROOT / "jobs").iterdir():
        if path.is_file() and not path.name.startswith("."):
            shutil.copy(path, folder)
    target = folder / f"{name}.toml"
    weather = sorted(folder.glob("*.csv"))
    victim = rng.choice(weather) if weather and rng.random() < 0.25 else target
    if rng.random() < 0.2:
        victim.write_bytes(bytes_mutated(victim.read_bytes(), rng))
    else:
        victim.write_text(mutated(victim.read_text("utf-8"), rng), "utf-8", errors="replace")
    out, err = io.StringIO(), io.StringIO()
    began = time.process_time()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = run(["plan", str(target), "--json", "--seconds", seconds])
    except BaseException:
        tally.bad.append(f"seed {seed}: {traceback.format_exc(limit=-3)}")
        return
    spent = time.process_time() - began
    tally.slowest = max(tally.slowest, spent)
    tally.codes[code] += 1
    fault = _fault_of(code, target, out.getvalue(), err.getvalue())
    if fault or spent > SLOW + float(seconds):
        tally.bad.append(f"seed {seed}: {fault or f'took {spent:.1f} s'}")


def _fault_of(code: int, target: Path, out: str, err: str) -> str:
    """What is wrong with an answer; empty where it is a sound plan, or sentences."""
    if code == 0:
        findings = check_plan(read_job(target), json.loads(out))
        return f"the check finds {findings[0].sentence}" if findings else ""
    if code != 2:
        return f"exit code {code}"
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

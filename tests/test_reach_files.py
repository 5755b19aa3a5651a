"""Files that a stranger's job names: outside of its folder nothing is even opened, no pipe is waited at, and each is
refused in a sentence."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

from reach_support import COMMANDS, Reach, codes_of, watched
from tui_support import COATS, HEAD, NORMALS, RELAUNCH, zone

SECRET = "time,temp_c,humidity,rain_mm,wind_kn\n2027-06-06T00:00,12,60,0,4\n"
"""Sound weather, so that only where it lies is wrong with it."""

SMALL = HEAD + NORMALS + zone("bottom", "Bottom") + COATS + RELAUNCH
QUICK = ("--seconds", "0", "--now", "2027-06-07T07:00")


def job_with(more: str = "", swap: tuple[str, str] = ("", "")) -> str:
    """A small job with a ``[weather]`` table of these lines, and one text swapped for another."""
    text = SMALL.replace(*swap) if swap[0] else SMALL
    assert not swap[0] or SMALL.count(swap[0]) == 1
    return text.replace("[[crew]]", f"[weather]\n{more}\n\n[[crew]]") if more else text


# -- what a job names


def absolute(folder: Path) -> str:
    return str(folder.parent / "secret.csv")


def above(_: Path) -> str:
    return "../secret.csv"


def round_about(_: Path) -> str:
    return "below/../../secret.csv"


def linked(folder: Path) -> str:
    (folder / "link.csv").symlink_to("../secret.csv")
    return "link.csv"


def linked_twice(folder: Path) -> str:
    (folder / "first.csv").symlink_to("second.csv")
    (folder / "second.csv").symlink_to(folder.parent / "secret.csv")
    return "first.csv"


def folder_linked(folder: Path) -> str:
    (folder / "out").symlink_to("..")
    return "out/secret.csv"


def zeros(_: Path) -> str:
    return "/dev/zero"


def zeros_linked(folder: Path) -> str:
    (folder / "zeros.csv").symlink_to("/dev/zero")
    return "zeros.csv"


def surroundings(_: Path) -> str:
    return "/proc/self/environ"


def pipe(folder: Path) -> str:
    os.mkfifo(folder / "pipe.csv")
    return "pipe.csv"


def directory(_: Path) -> str:
    return "below"


def itself(_: Path) -> str:
    return "."


def huge(folder: Path) -> str:
    with (folder / "huge.csv").open("wb") as file:
        file.truncate(1 << 40)
    return "huge.csv"


def local_address(folder: Path) -> str:
    return f"file://{folder.parent / 'secret.csv'}"


def web_address(_: Path) -> str:
    return "http://127.0.0.1:9/secret.csv"


def share(_: Path) -> str:
    return "//127.0.0.1/share/secret.csv"


def at_home(_: Path) -> str:
    return "~/secret.csv"


def no_name(_: Path) -> str:
    return "a\0b.csv"


OUT = "lies outside of the job's own folder"
NONE = "there is no such file"
KINDS: dict[Callable[[Path], str], str] = {
    absolute: OUT,
    above: OUT,
    round_about: OUT,
    linked: OUT,
    linked_twice: OUT,
    folder_linked: OUT,
    zeros: OUT,
    zeros_linked: OUT,
    surroundings: OUT,
    pipe: "is no plain file but a pipe or a device",
    directory: "is a folder, not a file",
    itself: "is a folder, not a file",
    huge: "has 1,099,511,627,776 bytes",
    local_address: NONE,
    web_address: NONE,
    share: OUT,
    at_home: NONE,
    no_name: "is no name of a file",
}
"""Ways to name what must not be read, and what is said of each."""


def place(tmp_path: Path) -> Path:
    """The job's folder, beside it a file that is nobody's business."""
    folder = tmp_path / "job"
    (folder / "below").mkdir(parents=True)
    (tmp_path / "secret.csv").write_text(SECRET, "utf-8")
    return folder


def told_by_step(reach: Reach) -> dict[str, str]:
    """What each step of the commands said on standard error, by the marks the script sets between them."""
    parts = reach.err.split("STEP ")[1:]
    return {part.partition("\n")[0]: part.partition("\n")[2] for part in parts}


MARKED = COMMANDS.replace(
    'sys.audit("reach.step", name)', 'sys.audit("reach.step", name); print("STEP", name, file=sys.stderr)'
)


def assert_left_alone(reach: Reach, folder: Path, *asked_for: Path) -> None:
    """No file but the job's own was opened, none written but where the command line said, no network reached for."""
    assert reach.opened(folder.parent / "secret.csv") == []
    places = tuple(f"{path}/" for path in asked_for)
    elsewhere = [*reach.read_elsewhere(), *reach.written_elsewhere()]
    assert [event for event in elsewhere if not f"{event.told[1]}/".startswith(places or ("none",))] == []
    assert reach.network() == []
    assert reach.ran() == []
    for never in ("/dev/zero", "/proc/self/environ", folder / "pipe.csv", folder / "huge.csv"):
        assert reach.opened(Path(never)) == [], never


def test_a_file_that_a_job_names_is_looked_at_before_it_is_opened(tmp_path: Path) -> None:
    folder, steps = place(tmp_path), []
    (folder / "plan.json").write_text("{}", "utf-8")
    for kind in KINDS:
        name = json.dumps(kind(folder))
        for field, commands in (("file", ("plan", "check", "new")), ("past", ("odds",))):
            job = f"{kind.__name__}-{field}.toml"
            (folder / job).write_text(job_with(f"{field} = {name}"), "utf-8")
            words = {
                "plan": [job, *QUICK],
                "check": [job, "plan.json"],
                "odds": [job, "--runs", "2", *QUICK],
                "new": [f"../new/{job}", "--from", job],
            }
            steps += [(f"{command} {job}", command, *words[command]) for command in commands]
    (tmp_path / "new").mkdir()
    reach = watched(folder, MARKED, json.dumps(steps), aside=tmp_path / "aside")
    codes, told = codes_of(reach), told_by_step(reach)
    for kind, said in KINDS.items():
        for step in (s for s in codes if f" {kind.__name__}-" in s):
            if step.startswith("new") and said == NONE:
                continue  # What is not there is not copied, and told of when the copy is planned.
            assert codes[step] == 2, (step, told[step])
            lines = [line for line in told[step].strip().splitlines() if not line.startswith("The search was stopped")]
            assert len(lines) == 1, (step, lines)
            assert said in lines[0] or (step.startswith("check") and "weather, file" in lines[0]), step
            assert lines[0].isprintable()
            assert "Traceback" not in told[step]
    made = {path.name for path in (tmp_path / "new").iterdir()}
    assert made == {f"{kind.__name__}-file.toml" for kind, said in KINDS.items() if said == NONE}
    assert_left_alone(reach, folder, tmp_path / "new")


# -- what is named on the command line


NAMED = (zeros, pipe, directory, huge, local_address, web_address, no_name)


def test_a_word_of_the_command_line_that_is_no_file_is_told_of_in_a_sentence(tmp_path: Path) -> None:
    folder, steps = place(tmp_path), []
    (folder / "job.toml").write_text(SMALL, "utf-8")
    for kind in NAMED:
        name, mark = kind(folder), kind.__name__
        steps += [
            (f"plan {mark}", "plan", name, *QUICK),
            (f"check {mark}", "check", "job.toml", name),
            (f"calendar {mark}", "calendar", "job.toml", "--before", name, *QUICK),
            (f"weather {mark}", "weather", name, "air.csv"),
            (f"new {mark}", "new", "new.toml", "--from", name),
            (f"review {mark}", "review", name),
            (f"levers {mark}", "levers", name),
        ]
    reach = watched(folder, MARKED, json.dumps(steps), aside=tmp_path / "aside")
    codes, told = codes_of(reach), told_by_step(reach)
    assert set(codes.values()) == {2}
    for step, said in told.items():
        assert len(said.strip().splitlines()) == 1, (step, said)
        assert said.strip().isprintable()
        assert "Traceback" not in said
    for kind in (zeros, pipe):
        assert all(
            "is no plain file but a pipe or a device" in told[step] for step in told if step.endswith(kind.__name__)
        )
    # A file that is too large is read up to what a job, or a plan, may have; the others are not even opened.
    assert {event.step.partition(" ")[2] for event in reach.opened(folder / "huge.csv")} <= {"huge"}
    for never in ("/dev/zero", folder / "pipe.csv"):
        assert reach.opened(Path(never)) == []
    assert [event for event in reach.read_elsewhere() if event.told[1] != str(folder)] == []
    assert reach.written_elsewhere() == reach.network() == reach.ran() == []


def test_a_pipe_that_the_shell_makes_is_read(tmp_path: Path) -> None:
    """`sequencer plan <(...)`: bash names it /dev/fd/63; it ends by itself."""
    folder = place(tmp_path)
    (folder / "job.toml").write_text(SMALL, "utf-8")
    script = (
        "import os, sys\nfrom sequencer.cli import run\nends = os.pipe()\n"
        "os.write(ends[1], open('job.toml', 'rb').read())\nos.close(ends[1])\n"
        "sys.exit(run(['plan', f'/dev/fd/{ends[0]}', *sys.argv[1:]]))\n"
    )
    reach = watched(folder, script, *QUICK, aside=tmp_path / "aside")
    assert reach.code == 0, reach.err
    assert "launch" in reach.out

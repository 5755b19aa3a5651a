"""What the program touches outside of the job's folder: nothing, and no network; and no code but its own is run."""

from __future__ import annotations

import json
import os
import shlex
import shutil
import subprocess
import sys
import types
from pathlib import Path

import pytest
from reach_support import COMMANDS, Reach, codes_of, steps_of, watched

from sequencer.cli import run

JOBS = Path(__file__).resolve().parent.parent / "jobs"
APP = Path(__file__).resolve().parent / "reach_app.py"
"""A walk through the whole app, as a script."""
QUICK = ("--seconds", "0.1")

EVERY_COMMAND = (
    ("plan", "plan", "job.toml", *QUICK),
    ("plan json", "plan", "job.toml", "--json", *QUICK),
    ("check", "check", "job.toml", "plan.json"),
    ("odds", "odds", "job.toml", "--runs", "60", "--cores", "2", *QUICK),
    ("levers", "levers", "job.toml", "--no-odds", "--seconds", "0.5"),
    ("sheet", "sheet", "job.toml", *QUICK),
    ("sheet html", "sheet", "job.toml", "--html", *QUICK),
    ("sheet markdown", "sheet", "job.toml", "--markdown", *QUICK),
    ("review", "review", "job.toml", *QUICK),
    ("calendar", "calendar", "job.toml", "--lead", "14", *QUICK),
    ("calendar again", "calendar", "job.toml", "--before", "old.ics", *QUICK),
    ("table", "table", "job.toml", *QUICK),
    ("table csv", "table", "job.toml", "--csv", *QUICK),
    ("supplies", "supplies", "job.toml", "--lead", "14", *QUICK),
    ("weather", "weather", "knot-march.csv", "out.csv"),
    ("new", "new", "fresh.toml", "--block", "antifouling"),
    ("new from", "new", "below/copy.toml", "--from", "job.toml"),
    ("blocks", "new", "--blocks"),
    ("completion", "completion", "bash"),
    ("help", "--help"),
    ("app", "job.toml"),
    ("no job", "plan", "none.toml"),
)
"""Every command but `serve`, which is there to be reached from a browser; the app itself has its own run."""


def folder_with_job(folder: Path) -> Path:
    """A folder with a demo job, its weather, past years, and what the commands read."""
    folder.mkdir()
    (folder / "below").mkdir()
    shutil.copy(JOBS / "knot-march.csv", folder)
    text = (JOBS / "knot-bottom-job.toml").read_text("utf-8")
    assert text.count('file = "knot-march.csv"') == 1
    (folder / "job.toml").write_text(text.replace('file = "knot', 'past = "knot-march.csv"\nfile = "knot'), "utf-8")
    (folder / "plan.json").write_text("{}", "utf-8")
    (folder / "old.ics").write_text("", "utf-8")
    return folder


def assert_kept_to_itself(reach: Reach) -> None:
    """Nothing of a network, nothing written or read elsewhere, no program and no code but its own."""
    assert reach.network() == []
    assert reach.written_elsewhere() == []
    assert reach.read_elsewhere() == []
    assert reach.ran() == []
    for helper in reach.helpers():
        # Our own processes of the odds: this very Python, told to look for no modules where it stands.
        assert helper.told[0].partition(" -c ")[2].startswith("from multiprocessing."), helper
        assert helper.told[1] == "safe path: True", helper
    unpickled = {event.told[0].partition(".")[0] for event in reach.named("pickle.find_class")}
    assert unpickled <= OURS_PICKLED if reach.helpers() else not unpickled


OURS_PICKLED = {"sequencer", "numpy", "multiprocessing", "concurrent", "builtins", "datetime", "zoneinfo", "pathlib"}
"""Modules of what goes through the pipes between the odds' processes; no file is ever unpickled."""


def test_every_command_keeps_to_the_folder_and_reaches_for_no_network(tmp_path: Path) -> None:
    folder = folder_with_job(tmp_path / "job")
    reach = watched(folder, COMMANDS, json.dumps(EVERY_COMMAND), aside=tmp_path / "aside")
    codes = codes_of(reach)
    assert {name for name, code in codes.items() if code == 2} == {"app", "no job"}, reach.err
    assert {name for name, code in codes.items() if code == 1} == {"check", "review"}
    assert steps_of(reach.events) == {"start", *codes, "end"}
    assert_kept_to_itself(reach)
    assert reach.helpers()
    assert steps_of([event for event in reach.named("open") if event.told[0] == "write"]) == {
        "weather",
        "new",
        "new from",
    }
    assert sorted(path.name for path in folder.iterdir()) == sorted(
        ["below", "job.toml", "knot-march.csv", "plan.json", "old.ics", "out.csv", "fresh.toml"]
    )


def test_the_app_keeps_to_the_folder_and_reaches_for_no_network(tmp_path: Path) -> None:
    folder = folder_with_job(tmp_path / "job")
    reach = watched(folder, APP.read_text("utf-8"), aside=tmp_path / "aside")
    assert "DONE" in reach.out, reach.out + reach.err
    assert_kept_to_itself(reach)
    written = {Path(event.told[1]).name for event in reach.named("open") if event.told[0] == "write"}
    assert {".job.toml.journal", ".job.toml.saving", ".job.prices.toml.saving", "another.toml"} <= written
    assert not {"knot-march.csv", "plan.json"} & written


# -- the watch itself, and modules in the job's folder ----------------------------------------------------


NOSY = """\
import os, pickle, socket, subprocess, sys, urllib.request
from pathlib import Path
from reach_support import CANARY

sys.audit("reach.step", "nosy")
other = Path(sys.argv[1])
(other / "left.txt").write_text("x")
(other / "left.txt").replace(other / "moved.txt")
(other / "moved.txt").read_text()
Path("linked.txt").symlink_to(other / "moved.txt")
Path("linked.txt").read_text()
socket.socketpair()
with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
    probe.connect(("127.0.0.1", 9))
try:
    urllib.request.urlopen("file:///none/there")
except OSError:
    pass
pickle.loads(pickle.dumps(os.getpid))
eval(f"'{CANARY}'")
subprocess.run([sys.executable, "-c", f"open({str(other / 'helped.txt')!r}, 'w')"])
"""


def test_the_watch_sees_what_it_is_there_for(tmp_path: Path) -> None:
    folder, other = tmp_path / "job", tmp_path / "other"
    folder.mkdir()
    other.mkdir()
    (folder / "planted.py").write_text("x = 1\n", "utf-8")
    reach = watched(
        folder, NOSY + f"sys.path.insert(0, {str(folder)!r})\nimport planted\n", str(other), aside=tmp_path / "aside"
    )
    assert reach.code == 0, reach.err
    wrote = {(event.name, Path(event.told[-1]).name) for event in reach.written_elsewhere()}
    assert wrote >= {
        ("open", "left.txt"),
        ("os.rename", "moved.txt"),
        ("open", "helped.txt"),
        ("os.symlink", "linked.txt"),
    }
    assert reach.opened(other / "moved.txt")
    assert len(reach.opened(folder / "linked.txt")) == 1, "a link is told by where it leads"
    assert {event.name for event in reach.network()} >= {"socket.__new__", "socket.connect", "urllib.Request"}
    ran = {event.name for event in reach.ran()}
    assert ran >= {"subprocess.Popen", "compile", "exec"}
    assert any(event.told[0].endswith("planted.py") for event in reach.ran())
    assert [event.told for event in reach.named("pickle.find_class")] == [("posix", "getpid")]
    assert [event.told[1] for event in reach.helpers()] == ["safe path: False"]


PLANTED = (
    *("argparse", "ast", "asyncio", "csv", "concurrent", "icalendar", "json", "multiprocessing", "networkx", "numpy"),
    *("pathlib", "pickle", "pydantic", "queue", "random", "selectors", "shtab", "signal", "socket", "sitecustomize"),
    *("struct", "tempfile", "textual", "threading", "tomlkit", "tomllib", "tzdata", "usercustomize", "zoneinfo"),
)
"""Modules that the program or a helper of it imports, and which Python would look for where it stands."""


def folder_with_modules(folder: Path) -> Path:
    """A small job among files that are named like modules; whoever imports one of them leaves a file behind."""
    folder.mkdir()
    shutil.copy(JOBS / "osprey-small.toml", folder / "job.toml")
    for name in PLANTED:
        text = f"from os import open, O_CREAT\nopen({str(folder / f'ran-{name}')!r}, O_CREAT)\n"
        (folder / f"{name}.py").write_text(text, "utf-8")
    return folder


def test_modules_in_the_folder_one_stands_in_are_not_run_by_the_helpers_of_the_odds(tmp_path: Path) -> None:
    folder = folder_with_modules(tmp_path / "job")
    odds = [("odds", "odds", "job.toml", "--runs", "60", "--cores", "2", *QUICK)]
    reach = watched(folder, COMMANDS, json.dumps(odds), aside=tmp_path / "aside", bare=True)
    assert codes_of(reach) == {"odds": 0}, reach.err
    assert reach.helpers()
    assert not list(folder.glob("ran-*"))
    assert_kept_to_itself(reach)


def test_modules_in_the_folder_one_stands_in_are_not_run_by_python_m(tmp_path: Path) -> None:
    folder = folder_with_modules(tmp_path / "job")
    # What "python -m" itself needs before any line of ours is run is Python's own to find.
    env = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    env |= {"PYTHONPATH": str(JOBS.parent), "PYTHONDONTWRITEBYTECODE": "1"}
    words = [sys.executable, "-m", "sequencer", "plan", "job.toml", *QUICK]
    done = subprocess.run(words, cwd=folder, env=env, capture_output=True, text=True, check=False)
    assert not list(folder.glob("ran-*"))
    assert done.returncode == 0, done.stderr
    assert "launch" in done.stdout


def test_the_page_in_a_browser_is_served_by_a_process_that_imports_nothing_from_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    class Server:
        def __init__(self, command: str, host: str, **_: object) -> None:
            asked.extend((command, host))

        def serve(self) -> None:
            pass

    module = types.ModuleType("textual_serve.server")
    module.Server = Server  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "textual_serve", types.ModuleType("textual_serve"))
    monkeypatch.setitem(sys.modules, "textual_serve.server", module)
    job = tmp_path / "it's a job $(x).toml"
    shutil.copy(JOBS / "osprey-small.toml", job)
    assert run(["serve", str(job)]) == 0
    assert asked[1] == "localhost"
    assert shlex.split(asked[0]) == [sys.executable, "-P", "-m", "sequencer", str(job)]

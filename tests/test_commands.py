"""The commands that put a plan on paper or ask something of it: data, exit codes, plain refusals."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from pathlib import Path

import pytest

from sequencer.cli import COMMANDS, run
from sequencer.commands.shared import FAULT, FINDINGS, OK

ROOT = Path(__file__).resolve().parent.parent
JOBS = ROOT / "jobs"
NOW = ["--now", "2027-04-14T07:40", "--seconds", "2"]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A copy of the demo job, and of what lies beside it."""
    for path in JOBS.iterdir():
        if path.is_file() and not path.name.startswith("."):
            shutil.copy(path, tmp_path)
    return tmp_path / "dunlin-pod.toml"


def test_the_sheet_in_every_shape(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    day = [str(job), "2027-04-14", *NOW]
    assert run(["sheet", *day]) == OK
    text = capsys.readouterr().out
    assert "TO DO" in text
    assert max(len(line) for line in text.splitlines()) <= 60
    assert run(["sheet", *day, "--json"]) == OK
    sheet = json.loads(capsys.readouterr().out)
    assert sheet["date"] == "2027-04-14"
    assert run(["sheet", *day, "--markdown"]) == OK
    assert capsys.readouterr().out.startswith("# ")
    assert run(["sheet", *day, "--html"]) == OK
    assert capsys.readouterr().out.lower().startswith("<!doctype html>")
    assert run(["sheet", *day, "--for", "wil"]) == OK
    assert "for Wil" in capsys.readouterr().out


def test_the_sheet_is_refused_in_plain_words(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for wrong in (["2027-04-32"], ["2031-01-01"], ["--for", "nobody-here"]):
        assert run(["sheet", str(job), *wrong, *NOW]) == FAULT
        told = capsys.readouterr()
        assert not told.out
        assert told.err.rstrip().endswith((".", "?"))
        assert "Traceback" not in told.err


def test_a_finding_is_told_answered_and_asked_again(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = job.with_name("knot-bottom-job.toml")
    assert run(["review", str(job), "--seconds", "2", "--json"]) == FINDINGS
    findings = json.loads(capsys.readouterr().out)
    open_ones = [finding["id"] for finding in findings if not finding["answered"]]
    assert open_ones
    for name in open_ones:
        run(["review", str(job), "--seconds", "2", "--answer", name, "the yard has looked at it"])
    capsys.readouterr()
    assert run(["review", str(job), "--seconds", "2"]) == OK
    assert "the yard has looked at it" in capsys.readouterr().out
    assert run(["review", str(job), "--seconds", "2", "--answer", open_ones[0], ""]) == FINDINGS
    assert run(["review", str(job), "--answer", "no-such", "x"]) == FAULT
    assert "there is no finding no-such" in capsys.readouterr().err


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        run(["--help"])
    told = capsys.readouterr().out
    readme = (ROOT / "README.md").read_text("utf-8")
    for name in COMMANDS:
        assert f"sequencer {name} " in told, name
        assert f"sequencer {name} " in readme, name
        with pytest.raises(SystemExit):
            run([name, "--help"])
        assert "usage: " in capsys.readouterr().out


def test_the_readmes_keys_are_the_apps_keys_and_the_reverse() -> None:
    from sequencer.tui.keys import EVERYWHERE, KEYS

    readme = (ROOT / "README.md").read_text("utf-8")
    told = readme[readme.index("Keys: ") :].partition("\n\n")[0]
    marked = set(re.findall(r"`([^`\s])`", told))
    letters = {key.shown for key in KEYS if key.where == EVERYWHERE and len(key.shown) == 1}
    own = {key.shown for key in KEYS if key.where != EVERYWHERE}
    assert letters <= marked
    assert marked <= letters | own
    for word in ("enter", "escape", "space", "ctrl+q"):
        assert word in told
        assert any(key.shown == word for key in KEYS)


def test_every_command_line_of_the_readme_is_understood() -> None:
    from sequencer.cli import _parser, _with_command

    readme = (ROOT / "README.md").read_text("utf-8")
    lines = re.findall(r"^    \.venv/bin/sequencer (.*)$", readme, re.MULTILINE)
    seen = set()
    for line in lines:
        words = shlex.split(re.split(r"\s>|\s#", line)[0])
        args = _parser().parse_args(_with_command(words))
        assert args.run
        seen.add(_with_command(words)[0])
        assert all((ROOT / word).is_file() for word in words if word.startswith("jobs/"))
    assert seen == {"open", *COMMANDS}

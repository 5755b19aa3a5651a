"""While a command works: progress on a terminal alone, and ctrl-C that ends it with the answer there is."""

from __future__ import annotations

import io
import json
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from tui_support import SMALL

from sequencer.cli import run
from sequencer.commands.waiting import Progress
from sequencer.odds import telling, workers

ODDS = ("--seconds", "2", "--runs", "60", "--cores", "1")


class Terminal(io.StringIO):
    """Standard error as a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A small job; growing odds are told after every batch."""
    monkeypatch.setattr(telling, "PROGRESS_SECONDS", 0.0)
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    return str(path)


@pytest.fixture(autouse=True)
def interruptible() -> Iterator[None]:
    """What a shell starts in the background is deaf to ctrl-C; here it is heard however the tests were started."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def on_terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """Make standard error a terminal. Called in the test itself: between fixtures and test pytest sets it anew."""
    found = Terminal()
    monkeypatch.setattr(sys, "stderr", found)
    return found


def interrupt_at(words: str, monkeypatch: pytest.MonkeyPatch, times: int = 1) -> None:
    """Press ctrl-C once progress tells of `words`."""
    tell: Callable[[Progress, str], None] = Progress.tell

    def told(self: Progress, said: str) -> None:
        tell(self, said)
        if said.startswith(words):
            for _ in range(times):
                signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(Progress, "tell", told)


def test_on_a_terminal_the_odds_tell_how_far_they_are(
    job: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    terminal = on_terminal(monkeypatch)
    assert run(["odds", job, *ODDS, "--json"]) == 0
    told = [words.rstrip() for words in terminal.getvalue().split("\r")]
    assert [words.partition(":")[0] for words in told] == [
        "planning",
        "0 of 60 tries",
        "20 of 60 tries",
        "40 of 60 tries",
        "60 of 60 tries",
        "",  # The line is left empty.
        "",
    ]
    assert all(" in 100 afloat as planned" in words for words in told[2:5])
    assert json.loads(capsys.readouterr().out)["runs"] == 60


def test_elsewhere_nothing_is_told_and_the_answer_is_the_same(
    job: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(["odds", job, *ODDS]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    on_terminal(monkeypatch)
    assert run(["odds", job, *ODDS]) == 0
    assert capsys.readouterr().out == told.out


def test_a_terminal_that_is_gone_ends_nothing(
    job: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    class Gone(Terminal):
        def write(self, _text: str) -> int:
            raise OSError(5, "Input/output error")

    monkeypatch.setattr(sys, "stderr", Gone())
    assert run(["odds", job, *ODDS, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["runs"] == 60


def test_interrupted_the_odds_are_those_of_the_tries_made(
    job: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = signal.getsignal(signal.SIGINT)
    interrupt_at("40 of", monkeypatch)
    assert run(["odds", job, *ODDS, "--json"]) == 0
    told = capsys.readouterr()
    assert told.err == "Stopped after 40 of 60 tries; the odds are of those.\n"
    odds = json.loads(told.out)
    assert odds["runs"] == 40
    assert signal.getsignal(signal.SIGINT) is before
    # The first tries are the same whatever comes after them.
    monkeypatch.undo()
    assert run(["odds", job, "--seconds", "2", "--runs", "40", "--cores", "1", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == odds


@pytest.mark.parametrize(("at", "times"), [("planning", 1), ("0 of", 1), ("20 of", 2)])
def test_interrupted_before_there_is_an_answer_or_twice_it_just_ends(
    at: str, times: int, job: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = signal.getsignal(signal.SIGINT)
    interrupt_at(at, monkeypatch, times)
    assert run(["odds", job, *ODDS]) != 0
    told = capsys.readouterr()
    assert (told.out, told.err) == ("", "Stopped.\n")
    assert signal.getsignal(signal.SIGINT) is before


def test_a_helper_is_deaf_to_ctrl_c_from_its_first_moment() -> None:
    """The interrupt goes to every process of the terminal; a helper still reading its modules would print a trace."""
    ask = "import signal; print(signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, []))"
    with workers.deaf_to_ctrl_c():
        within = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    after = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert (within.stdout.strip(), after.stdout.strip()) == ("True", "False")

"""Letters that mean something to a terminal or to markup, in every title and note of a job: data is kept to the
letter, and what is printed to read holds nothing a terminal would obey."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planned import normals

from sequencer.checking import check_plan
from sequencer.cli import FAULT, OK, run
from sequencer.errors import short_path
from sequencer.job import Job, parse_job
from sequencer.paper.jsonplan import plan_object
from sequencer.paper.textplan import text_plan
from sequencer.planning.planner import plan_job

HOSTILE = {
    "a closing tag": "[/red]",
    "an opening tag": "[bold]x",
    "a link": "[@click=app.quit]leave[/]",
    "a handler": "@click",
    "braces": "{0} {x} %s %(y)d $HOME `id`",
    "a family": "\U0001f468‍\U0001f469‍\U0001f467 ⛵",
    "flags": "\U0001f1f3\U0001f1f1 ☠️",
    "right to left": "שלום למים",
    "an override": "gnp.\u202etxet\u202c",
    "combining marks": "z̸̢̛̘͖̈́a̷l̶g̵o̴ e\u0301",
    "wide letters": "船を水に戻す",
    "three hundred letters": "Wasserlinienfarbe" * 18,
    "no space at all": "x" * 2000,
    "colour": "\x1b[31mred\x1b[0m",
    "clear the screen": "\x1b[2J\x1b[H",
    "a title for the window": "\x1b]0;owned\x07",
    "one-byte controls": "\x9b31m \x84 \x7f",
    "bell and backspace": "\a\b\b",
    "lines": "one\ntwo\r\nthree\rfour\vfive\ffive\u2028six\u2029seven\x85eight",
    "tabs": "\tone\ttwo",
    "a null": "a\0b",
    "a byte order mark": "\ufeffmark",
    "nothing to see": "\u200b\u2060\u00ad",
    "spaces": "   ",
}
hostile = pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())

FORM = """
[job]
title = TEXT
boat = TEXT
note = TEXT
timezone = "Europe/London"
hauled = 2027-04-12T10:00:00
now = 2027-04-12T10:00:00
finish = "launch"

[yard]
title = TEXT
note = TEXT
currency = TEXT
night = 38.0
fixed = 10.5

[weather]
title = TEXT
note = TEXT

[[crew]]
id = "owner"
title = TEXT
note = TEXT
hours = [ { days = "Mon-Sat", from = "08:00", to = "17:00" } ]

[[zone]]
id = "bay"
title = TEXT
note = TEXT

[[gear]]
id = "jack"
title = TEXT
note = TEXT

[[delivery]]
id = "part"
title = TEXT
note = TEXT
due = 2027-04-13

[[material]]
id = "epoxy"
title = TEXT
note = TEXT
temps = [20]
set = 2
recoat = { opens = 2, closes = 12 }

[[task]]
id = "one"
title = TEXT
note = TEXT
part = TEXT
zone = "bay"
work = 1
material = "epoxy"
started = 2027-04-12T08:00:00
finished = 2027-04-12T09:00:00

[[task]]
id = "two"
title = TEXT
note = TEXT
part = TEXT
zone = "bay"
work = 1
material = "epoxy"
gear = ["jack"]
delivery = "part"
after = ["one@recoat"]

[[task]]
id = "rest"
title = TEXT
wait = 30
after = ["two@set"]

[[task]]
id = "launch"
title = TEXT
note = TEXT
work = 1
who = ["owner"]
after = ["rest"]
"""
"""A job with a missed window, a wait, a delivery, gear and costs; ``TEXT`` stands for the text."""


def toml(text: str) -> str:
    """`text` as a TOML string: what can't stand there as itself is escaped."""
    escaped = "".join(f"\\u{ord(c):04x}" if ord(c) < 32 or c in '"\\\x7f' else c for c in text)
    return f'"{escaped}"'


def text_of(text: str) -> str:
    """The job with this text in every title and note."""
    return FORM.replace("TEXT", toml(text)) + normals()


def texts_in(job: Job) -> set[str]:
    """Every title and note, as read."""
    named = (*job.crew, *job.zone, *job.gear, *job.delivery, *job.material, *job.task)
    parts = [job.job.boat, job.job.note, job.weather.title, job.weather.note, *(t.part for t in job.task if t.part)]
    assert job.yard is not None
    notes = [thing.note for thing in named if thing.note]
    return {job.job.title, job.yard.title, job.yard.note, job.yard.currency, *(n.title for n in named), *notes, *parts}


def harmless(told: str) -> bool:
    """Whether every letter is one a terminal shows and does not obey; ends of lines aside."""
    return all(letter.isprintable() or letter == "\n" for letter in told)


@hostile
def test_every_text_is_read_and_told_letter_for_letter(text: str) -> None:
    job = parse_job(text_of(text))
    assert texts_in(job) == {text}
    plan = plan_job(job, seconds=1)
    for ascii_only in (True, False):
        told = json.loads(json.dumps(plan_object(plan), ensure_ascii=ascii_only))
        assert told["job"] == text
        assert told["cost"]["currency"] == text
        assert check_plan(job, told) == []


@hostile
def test_the_plan_to_read_holds_nothing_a_terminal_obeys(text: str) -> None:
    plan = plan_job(parse_job(text_of(text)), seconds=1)
    assert plan.missed
    for width in (20, 60, 96, 200):
        told = text_plan(plan, width)
        assert harmless(told)
        assert "launch" in told


@settings(max_examples=40, deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=60))
def test_any_text_at_all_is_kept_as_data_and_made_harmless_to_read(text: str) -> None:
    job = parse_job(text_of(text))
    plan = plan_job(job, seconds=0.2)
    assert json.loads(json.dumps(plan_object(plan)))["job"] == text
    assert harmless(text_plan(plan))


@hostile
def test_the_command_line_prints_such_a_job_without_a_traceback(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(text_of(text), encoding="utf-8", newline="")
    assert run(["plan", str(path), "--seconds", "1"]) == OK
    told = capsys.readouterr()
    assert harmless(told.out + told.err)
    assert run(["plan", str(path), "--json", "--seconds", "1"]) == OK
    assert json.loads(capsys.readouterr().out)["job"] == text


# -- where the text is no title but must be something else: the fault is told harmlessly


PLACES = [
    ('id = "two"', "id = TEXT"),
    ('finish = "launch"', "finish = TEXT"),
    ('timezone = "Europe/London"', "timezone = TEXT"),
    ('delivery = "part"', "delivery = TEXT"),
    ('after = ["one@recoat"]', "after = [TEXT]"),
    ('after = ["rest"]', 'after = ["one", TEXT]'),
    ('days = "Mon-Sat"', "days = TEXT"),
    ('from = "08:00"', "from = TEXT"),
    ('days = "Mon-Sat"', 'since = "2027-04-01", rule = TEXT'),
    ("hauled = 2027-04-12T10:00:00", "hauled = TEXT"),
    ("set = 2", "set = 2\nTEXT = 3"),
    ('gear = ["jack"]', 'gear = [ { id = "jack", until = TEXT } ]'),
    ("work = 1\nwho", "work = 1\nTEXT = 1\nwho"),
]


@hostile
@pytest.mark.parametrize(("old", "new"), PLACES, ids=[new.replace("\n", " ") for _, new in PLACES])
def test_a_fault_that_quotes_such_text_is_one_harmless_sentence(
    text: str, old: str, new: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    form = FORM.replace("TEXT", '"x"')
    assert form.count(old) == 1
    path = tmp_path / "job.toml"
    path.write_text(form.replace(old, new.replace("TEXT", toml(text))) + normals(), encoding="utf-8", newline="")
    code = run(["plan", str(path), "--seconds", "0"])
    told = capsys.readouterr()
    # A stage of a strange name or spaces around a name may even be allowed; then there is a plan.
    assert code in (OK, FAULT)
    if code == FAULT:
        assert told.out == ""
        assert told.err.startswith(f"{path}: ")
        assert all(len(line) < 900 for line in told.err.splitlines())
    assert harmless(told.out + told.err)
    assert "Traceback" not in told.err


@hostile
def test_words_of_the_command_line_that_make_no_sense_are_told_harmlessly(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(text_of("x"), encoding="utf-8")
    for argv in (
        ["plan", text],
        ["plan", str(tmp_path / "no" / text)],
        ["plan", str(path), "--now", text],
        ["plan", str(path), "--seconds", text],
        ["plan", str(path), text],
        ["check", str(path), text],
    ):
        assert run(argv) == FAULT
        told = capsys.readouterr()
        assert told.out == ""
        assert told.err
        assert harmless(told.err)


@hostile
def test_a_plan_file_full_of_such_text_is_found_fault_with_harmlessly(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, plan = tmp_path / "job.toml", tmp_path / "plan.json"
    path.write_text(text_of("x"), encoding="utf-8")
    rows = [{"id": text, "start": text, "end": text, "pieces": text}, {"id": "two", "start": text, "pieces": [[text]]}]
    plan.write_text(json.dumps({"job": text, "launch": text, "tasks": rows, "stay": text, "cost": text}), "utf-8")
    assert run(["check", str(path), str(plan)]) == 1
    told = capsys.readouterr()
    assert harmless(told.out + told.err)
    assert run(["check", str(path), str(plan), "--json"]) == 1
    assert json.loads(capsys.readouterr().out)


def test_of_a_long_path_the_end_is_kept() -> None:
    path = "/".join(["", *["folder"] * 20, "job.toml"])
    assert short_path(path, 20) == "…" + path[-19:]
    assert short_path(path, 20, "...") == "..." + path[-17:]
    assert short_path("job.toml", 20) == "job.toml"
    assert short_path("job\n.toml", 20) == "job\\n.toml"

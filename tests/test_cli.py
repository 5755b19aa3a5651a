"""The command line: what goes to standard output, what to standard error, and the exit codes.

Sentences, never a traceback. Run in this process but for what needs a process of its own.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from planned import crew, days, gear, head, material, normals, task, zone

from sequencer import __version__
from sequencer.checking import check_plan
from sequencer.cli import demo_job, run
from sequencer.commands.shared import FAULT, FINDINGS, OK
from sequencer.job import read_job
from sequencer.planning.planner import plan_job

ROOT = Path(__file__).resolve().parent.parent

YARD = '\n[yard]\ncurrency = "EUR"\nnight = 30\nfixed = 100\n'
DAYTIME = '{ days = "Mon-Sun", from = "08:00", to = "16:00" }'
TASKS = (
    task("coat-1", zone='"bay"', material='"coat"')
    + task("coat-2", "coat-1@recoat", zone='"bay"', material='"coat"')
    + task("launch", "coat-2@set")
)
STUFF = material([20], "set = 4\nrecoat = { opens = 4, closes = 30 }\n")
SOUND = head(timezone="Europe/London") + YARD + normals() + crew(DAYTIME) + zone() + gear("jack") + STUFF + TASKS
"""Coat 1 Monday 12 April 2027 08:00 to 09:00, coat 2 13:00 to 14:00, set 18:00: the launch is Tuesday 08:00."""


class Told:
    """What a command printed and its exit code."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err

    @property
    def faults(self) -> list[str]:
        """The lines of standard error, each a plain sentence."""
        for line in self.err.splitlines():
            assert line.endswith((".", "?", "!")), line
            assert line.isprintable()
            assert not any(word in line for word in ("Traceback", "Error", "None", "pydantic", "Errno", "\\n")), line
        return self.err.splitlines()


class Shell:
    """Runs commands in a folder with a sound job."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys
        self.job = self.file("job.toml", SOUND)

    def file(self, name: str, text: str) -> Path:
        path = self.folder / name
        path.write_text(text, encoding="utf-8", newline="")
        return path

    def __call__(self, *argv: str | Path) -> Told:
        self.capsys.readouterr()
        code = run([str(word) for word in argv])
        told = self.capsys.readouterr()
        return Told(code, told.out, told.err)

    def faulty(self, *argv: str | Path) -> list[str]:
        """The sentences of a command that must end in a fault and print no data."""
        told = self(*argv)
        assert told.code == FAULT
        assert told.out == ""
        assert told.faults
        return told.faults


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(tmp_path, capsys)


# -- plan


def test_plan_prints_text_to_read_and_nothing_on_standard_error(shell: Shell) -> None:
    told = shell("plan", shell.job)
    assert (told.code, told.err) == (OK, "")
    assert "Tue 13 Apr 08:00" in told.out
    assert "Proved" in told.out
    assert "coat-2" in told.out
    assert "€130" in told.out
    assert told.out.endswith("have the last word.\n")


def test_plan_json_prints_one_object_that_keeps_every_rule(shell: Shell) -> None:
    told = shell("plan", shell.job, "--json")
    assert (told.code, told.err) == (OK, "")
    plan = json.loads(told.out)
    assert plan["job"] == "test"
    assert plan["launch"] == plan["no_earlier_than"] == "2027-04-13T08:00:00+01:00"
    assert (plan["nights"], plan["proved"]) == (1, True)
    assert plan["cost"] == {"currency": "EUR", "total": 130}
    assert {row["id"] for row in plan["tasks"]} == {"coat-1", "coat-2", "launch"}
    assert set(plan["tasks"][0]) >= {"id", "start", "end", "pieces", "stages", "slack_hours", "on_path", "held_by"}
    assert sum(entry["hours"] for entry in plan["stay"]) == 24
    assert check_plan(read_job(shell.job), plan) == []


def test_now_on_the_command_line_goes_before_the_jobs_own(shell: Shell) -> None:
    for now in ("2027-04-20T12:00", "2027-04-20 12:00:00", "2027-04-20T12:00+01:00", "2027-04-20T11:00Z"):
        plan = json.loads(shell("plan", shell.job, "--json", "--now", now).out)
        assert min(row["start"] for row in plan["tasks"]) == "2027-04-20T12:00:00+01:00"


def test_without_now_the_clock_says_when_the_plan_begins(shell: Shell) -> None:
    today = dt.datetime.now(dt.UTC)
    hauled = f"{today - dt.timedelta(days=3):%Y-%m-%dT%H:%M:%S}"
    text = SOUND.replace("2027-04-12T08:00:00", hauled, 1).replace("now = 2027-04-12T08:00:00\n", "")
    plan = json.loads(shell("plan", shell.file("open.toml", text), "--json").out)
    first = min(dt.datetime.fromisoformat(row["start"]) for row in plan["tasks"])
    assert first >= today - dt.timedelta(minutes=1)


def test_a_job_hauled_in_the_future_is_planned_from_its_haul_out(shell: Shell) -> None:
    later = f"{dt.datetime.now(dt.UTC) + dt.timedelta(days=40):%Y-%m-%dT08:00:00}"
    text = SOUND.replace("2027-04-12T08:00:00", later, 1).replace("now = 2027-04-12T08:00:00\n", "")
    plan = json.loads(shell("plan", shell.file("later.toml", text), "--json").out)
    assert min(row["start"] for row in plan["tasks"])[:16] == later[:16]


def test_no_seconds_still_give_a_plan_and_an_honest_word(shell: Shell) -> None:
    told = shell("plan", shell.job, "--json", "--seconds", "0")
    assert told.code == OK
    plan = json.loads(told.out)
    assert plan["no_earlier_than"] <= plan["launch"]
    assert check_plan(read_job(shell.job), plan) == []
    assert plan["proved"] or told.faults == ["The search was stopped by the clock; --seconds gives it longer."]


def test_the_demo_jobs_are_planned_and_checked(shell: Shell) -> None:
    jobs = sorted(demo_job().parent.glob("*.toml"))
    assert demo_job() in jobs
    for job in jobs:
        told = shell("plan", job, "--json", "--seconds", "1")
        assert told.code == OK, told.err
        plan = shell.file("plan.json", told.out)
        assert shell("check", job, plan).code == OK


# -- check


def test_check_is_silent_on_standard_output_where_every_rule_is_kept(shell: Shell) -> None:
    plan = shell.file("plan.json", shell("plan", shell.job, "--json").out)
    told = shell("check", shell.job, plan)
    assert (told.code, told.out, told.faults) == (OK, "", ["Every rule is kept."])
    assert json.loads(shell("check", shell.job, plan, "--json").out) == []


def test_check_tells_what_a_plan_breaks_a_line_a_rule(shell: Shell) -> None:
    plan = json.loads(shell("plan", shell.job, "--json").out)
    row = next(row for row in plan["tasks"] if row["id"] == "coat-2")
    # An hour sooner than the window opens.
    row |= {"start": "2027-04-12T12:00:00+01:00", "end": "2027-04-12T13:00:00+01:00"}
    row["pieces"] = [[row["start"], row["end"]]]
    del row["stages"]
    broken = shell.file("plan.json", json.dumps(plan))
    told = shell("check", shell.job, broken)
    assert told.code == FINDINGS
    assert "coat-2 starts Mon 12 Apr 2027 12:00, but coat-1 only Mon 12 Apr 2027 13:00 reaches recoat" in told.out
    assert told.faults == ["1 rule broken."]
    found = json.loads(shell("check", shell.job, broken, "--json").out)
    assert [(f["rule"], f["task"]) for f in found] == [("after", "coat-2")]


def test_check_takes_now_into_account(shell: Shell) -> None:
    plan = shell.file("plan.json", shell("plan", shell.job, "--json").out)
    told = shell("check", shell.job, plan, "--now", "2027-04-12T10:00")
    assert told.code == FINDINGS
    assert "coat-1 starts Mon 12 Apr 2027 08:00, before now" in told.out


@pytest.mark.parametrize("text", ["{}", '{"tasks": 3}', '{"tasks": [3, {"id": "launch"}]}', '{"launch": []}'])
def test_check_of_a_plan_that_lacks_its_parts_finds_fault_with_them(shell: Shell, text: str) -> None:
    told = shell("check", shell.job, shell.file("plan.json", text))
    assert told.code == FINDINGS
    assert told.out
    assert told.faults


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is no JSON"),
        ("{", "is no JSON"),
        ("[" * 100_000, "is no JSON"),
        ("[]", "one JSON object is wanted"),
        ("3", "one JSON object is wanted"),
        ('"plan"', "one JSON object is wanted"),
    ],
)
def test_check_of_what_is_no_plan_is_a_fault(shell: Shell, text: str, says: str) -> None:
    plan = shell.file("plan.json", text)
    (sentence,) = shell.faulty("check", shell.job, plan)
    assert sentence.startswith(f"{plan}: ")
    assert says in sentence


def test_check_of_a_plan_that_is_not_there_or_no_text_is_a_fault(shell: Shell) -> None:
    (sentence,) = shell.faulty("check", shell.job, shell.folder / "none.json")
    assert "none.json: can't be read (no such file or directory)" in sentence
    (sentence,) = shell.faulty("check", shell.job, shell.folder)
    assert "is a directory" in sentence
    raw = shell.folder / "raw.json"
    raw.write_bytes(b"\xff\xfe\x00{")
    (sentence,) = shell.faulty("check", shell.job, raw)
    assert "is no JSON" in sentence


# -- faults, exit 2


def test_a_job_file_that_is_not_there_names_one_that_is(shell: Shell) -> None:
    (sentence,) = shell.faulty("plan", shell.folder / "jop.toml")
    assert sentence.endswith("jop.toml: there is no such file; did you mean job.toml?")
    (sentence,) = shell.faulty("plan", shell.folder / "none" / "job.toml")
    assert "there is no folder" in sentence


def test_a_folder_is_no_job(shell: Shell) -> None:
    (sentence,) = shell.faulty("plan", shell.folder)
    assert "this is a folder, not a file" in sentence


BAD_FILES = {
    "": "the file is empty",
    "[job\ntitle = 1": "line 1, column 5: the table's name is not closed",
    'title = "no table"': "there is no table title",
    SOUND.replace(
        'finish = "launch"', 'finish = "lunch"'
    ): 'job, finish: there is no task called "lunch"; did you mean',
    SOUND.replace('"coat-1@recoat"', '"coat-1@recaot"'): "recoat",
    SOUND.replace("2027-04-12T08:00:00", '"noon"', 1): "hauled must be a date or a moment",
    SOUND.replace("Europe/London", "Europe/Lundon"): 'did you mean "Europe/London"?',
    SOUND.replace("night = 30", "night = -1"): "night must be 0 or more",
    SOUND.replace('"coat-2@set"', '"launch"'): "it comes after itself",
}


@pytest.mark.parametrize(("text", "says"), BAD_FILES.items(), ids=range(len(BAD_FILES)))
def test_a_bad_job_file_is_told_with_its_place(shell: Shell, text: str, says: str) -> None:
    path = shell.file("bad.toml", text)
    commands: list[list[str | Path]] = [["plan", path], ["plan", path, "--json"], ["check", path, shell.job]]
    for argv in commands:
        sentences = shell.faulty(*argv)
        assert all(sentence.startswith(f"{path}: ") for sentence in sentences)
        assert any(says in sentence for sentence in sentences)


def test_a_job_file_that_is_no_text_is_a_fault(shell: Shell) -> None:
    path = shell.folder / "raw.toml"
    path.write_bytes(b'[job]\ntitle = "\xff"\n')
    (sentence,) = shell.faulty("plan", path)
    assert "line 2: the byte 0xff is not UTF-8 text; save the file as UTF-8." in sentence


UNPLANNABLE = {
    # More hands than there are people.
    SOUND.replace('[[task]]\nid = "launch"', '[[task]]\nid = "launch"\nhands = 3'): ("launch", "3 hands"),
    # Nobody is ever there.
    SOUND.replace(DAYTIME, ""): ("coat-1", "never on shift"),
    # Ten hours in one go, in shifts of eight.
    SOUND.replace('id = "coat-2"', 'id = "coat-2"\none_go = true').replace("work = 1\nzone", "work = 10\nzone"): (
        "coat-1",
        "10 h in one go",
    ),
    # No weather but for two days, and a coat that takes longer.
    SOUND.replace(normals(), days("2027-04-12", [20, 20])).replace("set = 4", "set = 400"): (
        "weather",
        "14 April 2027",
    ),
    # The lift never comes.
    SOUND + 'slots = [ { rule = "FREQ=DAILY;COUNT=1", since = "2027-04-01", from = "09:00", to = "10:00" } ]\n': (
        "launch",
        "slots",
    ),
}


@pytest.mark.parametrize(("text", "says"), UNPLANNABLE.items(), ids=range(len(UNPLANNABLE)))
def test_a_job_that_cannot_be_planned_names_the_task_or_the_days_and_what_to_do(
    shell: Shell, text: str, says: tuple[str, str]
) -> None:
    path = shell.file("hopeless.toml", text)
    sentences = shell.faulty("plan", path, "--seconds", "1")
    assert all(sentence.startswith(f"{path}: ") and "; " in sentence for sentence in sentences)
    assert any(all(word in sentence for word in says) for sentence in sentences), sentences


def test_the_hopeless_examples_say_why(shell: Shell) -> None:
    hopeless = sorted((demo_job().parent / "unplannable").glob("*.toml"))
    assert hopeless
    for job in hopeless:
        assert shell.faulty("plan", job, "--seconds", "1")


WEATHER = {
    None: "there is no such file",
    "": "column time, temp_c, rain_mm, wind_kn, humidity (or dew_c) is missing",
    "time,temp_c,humidity,rain_mm,wind_kn\n": "the file has no hours",
    "time,temp_c,rain_mm,wind_kn\n2027-04-12T08:00,20,0,5\n": "column humidity (or dew_c) is missing",
    "time,temp_c,humidity,rain_mm,wind_kn\n2027-04-12T08:00,warm,50,0,5\n": "line 2: temp_c 'warm' is no number",
    "time,temp_c,humidity,rain_mm,wind_kn\n2027-04-12T08:00,20,500,0,5\n": "line 2: humidity is 500",
    "time,temp_c,humidity,rain_mm,wind_kn\nyesterday,20,50,0,5\n": "line 2: time 'yesterday' is no moment",
    "time,temp_c,humidity,rain_mm,wind_kn\n2027-04-12T08:00,20\n": "line 2: has neither humidity nor dew_c",
    "time,temp_c,humidity,rain_mm,wind_kn\n2027-04-12T08:00,20,nan,0,inf\n": "line 2: humidity 'nan' is no number",
}


@pytest.mark.parametrize(("rows", "says"), WEATHER.items(), ids=range(len(WEATHER)))
def test_a_bad_weather_file_is_told_with_its_name_and_line(shell: Shell, rows: str | None, says: str) -> None:
    path = shell.file("job.toml", SOUND.replace(YARD, YARD + '\n[weather]\nfile = "air.csv"\n'))
    if rows is not None:
        shell.file("air.csv", rows)
    sentences = shell.faulty("plan", path)
    assert all("air.csv" in sentence for sentence in sentences)
    assert any(says in sentence for sentence in sentences), sentences
    # The independent check reads the file by itself, and less strictly; where it can't, that is a sentence too.
    told = shell("check", path, shell.file("plan.json", "{}"))
    assert told.code in (FINDINGS, FAULT)
    assert told.faults


def test_a_weather_file_of_nothing_but_faults_is_not_recited_whole(shell: Shell) -> None:
    path = shell.file("job.toml", SOUND.replace(YARD, YARD + '\n[weather]\nfile = "air.csv"\n'))
    shell.file("air.csv", "time,temp_c,humidity,rain_mm,wind_kn\n" + "2027-04-12T08:00,x,50,0,5\n" * 900)
    sentences = shell.faulty("plan", path)
    assert 5 < len(sentences) < 30
    assert "888 more lines have faults" in sentences[-1]


@pytest.mark.parametrize("name", [".", "..", "air", "/dev/null/x", "a" * 300])
def test_a_weather_file_that_is_no_file_is_a_fault(shell: Shell, name: str) -> None:
    (shell.folder / "air").mkdir(exist_ok=True)
    path = shell.file("job.toml", SOUND.replace(YARD, YARD + f'\n[weather]\nfile = "{name}"\n'))
    assert "weather, file" in shell.faulty("plan", path)[0]


MISUSES = [
    ["plan"],
    ["check"],
    ["check", "job.toml"],
    ["plan", "job.toml", "more.toml"],
    ["plan", "--unheard"],
    ["plan", "job.toml", "--now"],
    ["plan", "job.toml", "--now", "tomorrow"],
    ["plan", "job.toml", "--now", "1492-10-12T09:00"],
    ["plan", "job.toml", "--now", "2027-04-12T08:00+99:00"],
    ["plan", "job.toml", "--seconds", "-1"],
    ["plan", "job.toml", "--seconds", "nan"],
    ["plan", "job.toml", "--seconds", "inf"],
    ["plan", "job.toml", "--seconds", "soon"],
    ["--unheard"],
    ["plan", "job.toml", "--json=3"],
    ["plan", "job.toml", "another.toml"],
    ["sheet", "job.toml", "--h"],
    ["odds", "job.toml", "--answer", "x"],
    ["completion", "fish"],
]


@pytest.mark.parametrize("argv", MISUSES, ids=" ".join)
def test_what_is_not_understood_is_one_sentence_that_points_to_help(shell: Shell, argv: list[str]) -> None:
    (sentence,) = shell.faulty(*argv)
    assert re.search(r"try \"sequencer( [a-z]+)? --help\"\.$|it is one of bash, zsh, tcsh\.$", sentence)
    assert "argument" not in sentence


def test_a_log_of_the_future_is_a_fault(shell: Shell) -> None:
    text = SOUND.replace('id = "coat-1"', 'id = "coat-1"\nstarted = 2027-04-12T08:00:00').replace(
        "now = 2027-04-12T08:00:00", "now = 2027-04-12T12:00:00"
    )
    path = shell.file("log.toml", text)
    assert shell("plan", path).code == OK
    (sentence,) = shell.faulty("plan", path, "--now", "2027-04-12T07:00")
    assert "task coat-1, started: started 2027-04-12 08:00 is later than now, 2027-04-12 07:00" in sentence


# -- help


@pytest.mark.parametrize("argv", [["--help"], ["-h"], ["plan", "--help"], ["check", "--help"], ["open", "--help"]])
def test_help_goes_to_standard_output(argv: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        run(argv)
    told = capsys.readouterr()
    assert left.value.code == 0
    assert told.err == ""
    assert told.out.startswith("usage: sequencer")
    assert "Exit code 0: done." in told.out
    assert "the yard's rules, local codes and licensed trades have the last word" in " ".join(told.out.split())


def test_help_names_every_command_and_every_option(capsys: pytest.CaptureFixture[str]) -> None:
    told = {}
    for command in ("", "plan", "check", "open"):
        with pytest.raises(SystemExit):
            run([*command.split(), "--help"])
        told[command] = capsys.readouterr().out
    assert all(word in told[""] for word in ("open", "plan", "check", "--version"))
    assert all(word in told["plan"] for word in ("JOB.toml", "--json", "--now TIME", "--seconds N"))
    assert all(word in told["check"] for word in ("JOB.toml", "PLAN.json", "--json", "--now TIME"))


def test_the_version_is_the_packages(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        run(["--version"])
    assert capsys.readouterr().out == f"sequencer {__version__}\n"


# -- as a process


def process(*argv: str | Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The command as a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "sequencer", *map(str, argv)],
        capture_output=True,
        env={**os.environ, **environment},
        check=False,
        timeout=60,
        cwd=ROOT,
    )


def test_the_process_leaves_with_the_commands_exit_code(shell: Shell) -> None:
    done = process("plan", shell.job, "--json")
    assert (done.returncode, done.stderr) == (OK, b"")
    assert json.loads(done.stdout)["nights"] == 1
    plan = shell.folder / "plan.json"
    plan.write_bytes(done.stdout.replace(b'"nights": 1', b'"nights": 9'))
    assert process("check", shell.job, plan).returncode == FINDINGS
    assert process("plan", shell.folder / "none.toml").returncode == FAULT


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
@pytest.mark.parametrize("options", [[], ["--json"]], ids=["text", "json"])
def test_an_output_that_cannot_show_a_letter_is_no_traceback(shell: Shell, encoding: str, options: list[str]) -> None:
    job = shell.file("letters.toml", SOUND.replace('title = "test"', 'title = "Überholung ⛵ 船"'))
    done = process("plan", job, *options, PYTHONIOENCODING=encoding)
    assert done.returncode == OK, done.stderr
    assert done.stderr == b""
    if options:
        assert json.loads(done.stdout.decode(encoding))["job"] == "Überholung ⛵ 船"
    # The faults of a file with such letters, too.
    wrong = shell.file("船.toml", SOUND.replace('finish = "launch"', 'finish = "laünch"'))
    done = process("plan", wrong, PYTHONIOENCODING=encoding)
    assert done.returncode == FAULT
    assert b"Traceback" not in done.stderr


def test_a_reader_who_leaves_early_hears_no_complaint(shell: Shell) -> None:
    command = [sys.executable, "-m", "sequencer", "plan", str(shell.job), "--json"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        assert running.stderr.read() == b""
        assert running.wait(60) == OK


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device here that is always full")
def test_a_full_disk_is_a_sentence(shell: Shell) -> None:
    command = [sys.executable, "-m", "sequencer", "plan", str(shell.job)]
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, cwd=ROOT, check=False, timeout=60)
    assert done.returncode == FAULT
    assert b"Traceback" not in done.stderr
    assert done.stderr.decode().strip().endswith(".")


def test_both_faces_give_the_same_plan(shell: Shell) -> None:
    """The command line prints the plan that a program of one's own gets from the planner."""
    plan = plan_job(read_job(shell.job))
    told = json.loads(shell("plan", shell.job, "--json").out)
    assert told["launch"] == plan.launched.isoformat()
    assert [row["id"] for row in told["tasks"]] == list(plan.rows)


def test_a_word_that_is_no_command_and_no_job_is_told_and_not_opened(shell: Shell) -> None:
    for word, hint in (("plann", "did you mean plan?"), ("frobnicate", 'try "sequencer --help".')):
        told = shell(word)
        assert told.code == FAULT
        assert told.faults == [f"there is no command and no job {word}; {hint}"]
        assert shell(word, shell.job, "--now").faults == told.faults


def test_what_is_not_understood_is_told_with_the_help_of_its_command(shell: Shell) -> None:
    assert shell.faulty("plan", shell.job, "--lead", "x") == ['not understood: --lead x; try "sequencer plan --help".']
    assert shell.faulty("plan", "--json") == ['missing: JOB.toml; try "sequencer plan --help".']
    assert shell.faulty("completion", "fish") == ["shell can't be 'fish'; it is one of bash, zsh, tcsh."]
    (sentence,) = shell.faulty("plan", shell.job, "\x1b[31mx" * 90)
    assert "\x1b" not in sentence
    assert len(sentence) < 300


def test_an_option_may_stand_between_what_a_command_is_given(shell: Shell) -> None:
    between = shell("sheet", shell.job, "--html", "2027-04-12")
    after = shell("sheet", shell.job, "2027-04-12", "--html")
    assert between.code == after.code == OK
    assert between.out == after.out
    assert "coat-1" in between.out

"""Changes to a job's text: what is meant changes, every other line stays; what would be faulty is refused."""

from __future__ import annotations

import datetime as dt
import difflib
import random
import re
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import TypeVar

import pytest

from sequencer.blocks import Taken, block_names, block_text
from sequencer.errors import JobError
from sequencer.job import Job, parse_job
from sequencer.job.book import Book
from sequencer.job.layout import KINDS, SINGLE, field_order, key_of
from sequencer.job.writing import (
    AddItem,
    AddText,
    Change,
    CopyItem,
    Delete,
    Rename,
    RenameStage,
    SetField,
    Several,
    apply_change,
    dependents,
    free_name,
)

T = TypeVar("T")
JOBS = sorted((Path(__file__).parent.parent / "jobs").glob("*.toml"))
TEXTS = {path.stem: path.read_bytes().decode() for path in JOBS}
DUNLIN = TEXTS["dunlin-pod"]

every_job = pytest.mark.parametrize("name", TEXTS)


def change(text: str, *changes: Change) -> str:
    for one in changes:
        text = apply_change(text, one).text
    return text


def refused(text: str, one: Change) -> str:
    with pytest.raises(JobError) as caught:
        apply_change(text, one)
    return str(caught.value)


def lines_changed(before: str, after: str) -> tuple[list[str], list[str]]:
    """Lines taken out and lines put in."""
    diff = list(difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm=""))[2:]
    return [d[1:] for d in diff if d.startswith("-")], [d[1:] for d in diff if d.startswith("+")]


def some(items: Sequence[T], most: int = 10) -> Sequence[T]:
    """Up to `most` of many, from first to last."""
    return items[:: max(1, len(items) // most)]


# -- nothing changes -------------------------------------------------------------------------------------------------


@every_job
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_a_job_that_is_not_changed_is_the_same_to_the_byte(name: str, ends: str, mark: str) -> None:
    text = mark + TEXTS[name].replace("\n", ends)
    assert Book(text).finished() == text


@every_job
def test_setting_every_field_to_what_it_is_changes_nothing(name: str) -> None:
    book = Book(TEXTS[name])
    for kind in KINDS:
        for table_name in book.names(kind):
            for field, value in list(book.find(kind, table_name).items()):
                if f"{kind}.{field}" not in KINDS:
                    book.put(kind, table_name, field, value)
    assert book.finished() == TEXTS[name]


@every_job
def test_a_field_taken_out_touches_only_its_own_lines(name: str) -> None:
    text = TEXTS[name] if name == "dunlin-pod" else TEXTS[name].replace("\n", "\r\n")
    whole = Book(text)
    for kind in KINDS:
        for table_name in some(whole.names(kind), 2):
            for field in whole.find(kind, table_name):
                if field == key_of(kind) or f"{kind}.{field}" in KINDS:
                    continue
                book = Book(text)
                book.put(kind, table_name, field, None)
                gone, come = lines_changed(text, book.finished())
                assert not come
                assert re.match(rf"\s*{field}\s*=", gone[0])
                assert not [line for line in gone[1:] if re.match(r"\w+\s*=|\[\[", line)]


@pytest.mark.parametrize("seed", range(6))
def test_random_changes_say_what_was_meant_and_leave_no_blank_lines_behind(seed: int) -> None:
    """`finished` reads the text again and holds it against data that were changed beside it."""
    dice = random.Random(seed)
    values = [1, 2.5, True, 'x"y\\', [1, 2], ["a", "b@set"], {"a": 1, "b": [2]}, None, [{"id": "q"}, "z"], "two\nlines"]
    for _ in range(40):
        text = TEXTS[dice.choice(list(TEXTS))]
        book = Book(text)
        for _ in range(dice.randint(1, 5)):
            kind = dice.choice(list(KINDS))
            names, what = book.names(kind), dice.random()
            if what < 0.6 and names:
                fields = [f for f in (*field_order(kind), "needs.dry", "recoat.closes") if f"{kind}.{f}" not in KINDS]
                field = dice.choice(fields)
                if field != key_of(kind):
                    book.put(kind, dice.choice(names), field, dice.choice(values))
            elif kind not in SINGLE and what < 0.75:
                book.add(kind, {key_of(kind): f"n{dice.random()}"}, dice.choice([*names, ""]))
            elif kind not in SINGLE and what < 0.85 and names:
                book.copy(kind, dice.choice(names), f"n{dice.random()}", ("title",))
            elif kind not in SINGLE and names:
                book.remove(kind, dice.choice(names))
        assert "\n\n\n" not in book.finished()


# -- one field -------------------------------------------------------------------------------------------------------


def test_a_value_changes_where_it_stands_and_the_comment_behind_it_stays() -> None:
    after = change(DUNLIN, SetField("yard", "", "night", 42.5))
    assert lines_changed(DUNLIN, after) == (
        ["night = 38.0                      # a night on the stands"],
        ["night = 42.5                      # a night on the stands"],
    )


def test_a_new_field_takes_its_usual_place() -> None:
    after = change(DUNLIN, SetField("task", "drive-out", "hands", 3), SetField("task", "drive-out", "makes", "dust"))
    assert lines_changed(DUNLIN, after) == (["hands = 2"], ["hands = 3", 'makes = "dust"'])
    assert 'hands = 3\nmakes = "dust"\ngear = ["trolley-jack"]' in after


def test_a_field_within_a_field_is_made_changed_and_taken_out() -> None:
    made = change(DUNLIN, SetField("task", "trim-pad", "needs.max_wind", 15))
    assert lines_changed(DUNLIN, made) == ([], ["needs = { max_wind = 15 }"])
    more = change(made, SetField("task", "trim-pad", "needs.dry", True))
    assert "needs = { max_wind = 15, dry = true }" in more
    less = change(more, SetField("task", "trim-pad", "needs.max_wind", None))
    assert lines_changed(DUNLIN, less) == ([], ["needs = { dry = true }"])
    assert change(made, SetField("task", "trim-pad", "needs.max_wind", None)) == DUNLIN


def test_a_plain_stage_becomes_a_window_and_its_comment_stays() -> None:
    after = change(DUNLIN, SetField("material", "barrier", "sand.closes", [72, 48, 30, 20]))
    line = "sand = { opens = [24, 18, 9, 5], closes = [72, 48, 30, 20] }             # common practice, no source"
    assert lines_changed(DUNLIN, after) == (["sand = [24, 18, 9, 5]             # common practice, no source"], [line])


def test_lists_over_several_lines_keep_the_comments_of_what_stays() -> None:
    text = DUNLIN.replace(
        'after = ["lay-pad@demould"]', 'after = [\n  "lay-pad@demould", # out of the mould\n  "wax-mould", # too\n]', 1
    )
    after = change(text, SetField("task", "trim-pad", "after", ["lay-pad@demould", "drive-out"]))
    assert 'after = [\n  "lay-pad@demould", # out of the mould\n  "drive-out", # too\n]' in after


def test_a_table_there_is_none_of_is_made_in_its_place() -> None:
    text = change(DUNLIN, Delete("yard", ""))
    assert "[yard]" not in text
    assert "# ----" in text
    after = change(text, SetField("yard", "", "night", 20))
    assert after.index("[job]") < after.index("[yard]\nnight = 20\n") < after.index("[weather]")
    assert parse_job(after).yard is not None


def test_words_tell_what_was_and_what_is() -> None:
    assert apply_change(DUNLIN, SetField("task", "taper", "hands", 2)).words == "taper: hands 2"
    assert apply_change(DUNLIN, SetField("yard", "", "night", 40)).words == "yard: night 40, was 38"
    assert apply_change(DUNLIN, SetField("job", "", "now", None)).words == "job: now taken out, was Wed 14 Apr 07:40"


@pytest.mark.parametrize(
    ("one", "sentence"),
    [
        (SetField("task", "trim-pad", "hands", 0.5), "task trim-pad: hands must be a whole number, not 0.5"),
        (SetField("task", "trim-pad", "work", float("nan")), "task trim-pad: work must be"),
        (SetField("task", "trim-pad", "wait", 4), "task trim-pad: work and wait both stand here; keep one of the two"),
        (SetField("task", "trim-pd", "hands", 2), "there is no task trim-pd; did you mean trim-pad?"),
        (SetField("tsk", "trim-pad", "hands", 2), "there is no table tsk; did you mean task?"),
        (SetField("task", "trim-pad", "hnds", 2), "task trim-pad: there is no field hnds; did you mean hands?"),
        (SetField("weather", "", "day", []), "weather, day: these are tables of their own; change one of them"),
        (SetField("task", "trim-pad", "title", "\ud800"), "holds half a letter; type it anew"),
        (SetField("task", "drive-out", "after", ["wire-pod"]), "these tasks wait for each other: drive-out → "),
        (SetField("task", "drive-out", "after", ["drive-out"]), "it comes after itself"),
        (SetField("task", "drive-out", "after", ["taper@set"]), '"taper@set" names a stage, and taper has no material'),
        (SetField("task", "trim-pad", "after", ["lay-pad@sad"]), "lay-up-epoxy does not have: it lists set, recoat"),
    ],
)
def test_what_would_make_the_file_faulty_is_refused(one: Change, sentence: str) -> None:
    assert sentence in refused(DUNLIN, one)


def test_what_needs_two_fields_at_once_is_one_change() -> None:
    task = next(t for t in parse_job(DUNLIN).task if t.id == "trim-plate")
    assert task.work is not None
    fields = {"work": None, "wait": 5, "gear": None, "makes": None}
    both = Several(tuple(SetField("task", "trim-plate", f, v) for f, v in fields.items()), "trim-plate just waits")
    done = apply_change(DUNLIN, both)
    assert (done.job.tasks["trim-plate"].wait, done.words) == (5, "trim-plate just waits")


# -- whole tables ----------------------------------------------------------------------------------------------------


def test_a_new_task_stands_after_the_one_beside_it_before_the_next_heading() -> None:
    after = change(DUNLIN, AddItem("task", {"id": "tea", "work": 0.5, "title": "Tea"}, "trim-plate"))
    assert 'after = ["lay-plate@demould"]\n\n[[task]]\nid = "tea"\ntitle = "Tea"\nwork = 0.5\n\n# ---- Close' in after
    assert lines_changed(DUNLIN, after)[0] == []


def test_a_first_of_its_kind_goes_where_its_kind_belongs() -> None:
    day = {"date": dt.date(2027, 4, 15), "low": 3, "high": 9, "dew": 1}
    after = change(DUNLIN, AddItem("weather.day", day))
    assert after.index("[weather]") < after.index("[[weather.day]]\ndate") < after.index("[[weather.normal]]")
    assert change(after, Delete("weather.day", "2027-04-15")) == DUNLIN


@every_job
def test_what_is_added_or_copied_and_deleted_again_leaves_the_file_as_it_was(name: str) -> None:
    text = TEXTS[name]
    job = parse_job(text)
    for task in some(job.task):
        if task.id != job.job.finish:
            copied = change(text, CopyItem("task", task.id, "a-copy"))
            assert parse_job(copied).tasks["a-copy"].started is None
            assert change(copied, Delete("task", "a-copy")) == text
    for kind in ("crew", "zone", "gear", "material"):
        for item in some(getattr(job, kind), 2):
            assert change(text, CopyItem(kind, item.id, "a-copy"), Delete(kind, "a-copy")) == text


def test_a_copy_keeps_comments_and_leaves_the_log() -> None:
    done = apply_change(DUNLIN, CopyItem("task", "lay-pad", "lay-pad-2"))
    copied = done.text.split('id = "lay-pad-2"')[1].split("[[task]]")[0]
    assert "# the mould is taken until the pad comes off it" in copied
    assert "started" not in copied
    assert done.words == "lay-pad-2 is new, a copy of lay-pad"
    assert "there is one of that name already" in refused(DUNLIN, CopyItem("task", "lay-pad", "taper"))


@every_job
def test_every_block_can_be_added_to_every_job(name: str) -> None:
    for block in block_names():
        job = parse_job(TEXTS[name])
        added = apply_change(TEXTS[name], AddText(block_text(block, Taken.of(job)), f"block {block}"))
        assert lines_changed(TEXTS[name], added.text)[0] == []
        assert len(added.job.task) > len(job.task)
        assert added.words == f"block {block} added"


def test_added_text_must_be_tables() -> None:
    assert "only tables in double brackets" in refused(DUNLIN, AddText("[yard]\nnight = 3\n", "x"))


# -- names -----------------------------------------------------------------------------------------------------------


def ids(job: Job) -> list[tuple[str, str]]:
    kinds = ("task", "crew", "zone", "gear", "delivery", "material")
    return [(kind, item.id) for kind in kinds for item in getattr(job, kind)]


@every_job
def test_a_rename_and_back_is_the_same_to_the_byte_and_all_links_follow(name: str) -> None:
    text = TEXTS[name]
    job = parse_job(text)
    for kind, old in some(ids(job), 16):
        renamed = apply_change(text, Rename(kind, old, "new-name"))
        assert not [line for line in lines_changed(text, renamed.text)[1] if f'"{old}"' in line and kind == "task"]
        assert len(dependents(renamed.text, kind, "new-name")) == len(dependents(text, kind, old))
        assert change(renamed.text, Rename(kind, "new-name", old)) == text
        assert len(renamed.job.task) == len(job.task)


def test_the_finish_and_links_with_stages_follow_a_rename() -> None:
    job = apply_change(DUNLIN, Rename("task", "relaunch", "splash")).job
    assert job.job.finish == "splash"
    job = apply_change(DUNLIN, SetField("task", "lay-pad", "id", "first-pad")).job
    assert str(job.tasks["trim-pad"].after[0]) == "first-pad@demould"


@every_job
def test_a_stage_renamed_and_back_is_the_same_to_the_byte(name: str) -> None:
    text = TEXTS[name]
    for material in parse_job(text).material:
        for stage in material.stages:
            if stage != "set":
                renamed = change(text, RenameStage(material.id, stage, "other"))
                assert change(renamed, RenameStage(material.id, "other", stage)) == text


def test_a_stage_keeps_its_comment_links_and_gear_when_renamed() -> None:
    done = apply_change(DUNLIN, RenameStage("lay-up-epoxy", "demould", "pull"))
    assert "pull = [40, 16, 7]             # a stage of the owner's own" in done.text
    assert str(done.job.tasks["trim-pad"].after[0]) == "lay-pad@pull"
    assert done.job.tasks["lay-pad"].gear[0].until == "pull"
    assert "set is missing" in refused(DUNLIN, RenameStage("filler", "set", "hard"))
    assert "there is no stage pull" in refused(DUNLIN, RenameStage("filler", "pull", "hard"))
    assert "there is a sand already" in refused(DUNLIN, RenameStage("filler", "cure", "sand"))


def test_a_name_that_is_taken_or_no_name_is_refused() -> None:
    assert "there is one of that name already" in refused(DUNLIN, Rename("task", "taper", "lay-pad"))
    assert "must be a short name" in refused(DUNLIN, Rename("task", "taper", "Big Taper"))


def test_a_place_renamed_goes_on_sharing_its_air_and_shares_no_other() -> None:
    text = DUNLIN.replace('air = "under-hull"', 'air = "bench"', 1)
    job = apply_change(text, Rename("zone", "bench", "shed")).job
    assert job.zones["shed"].air_id == job.zones["drive-bay"].air_id
    assert "under-hull is the air of drive-bay and bottom" in refused(DUNLIN, Rename("zone", "bench", "under-hull"))


def test_free_names_are_made_of_titles() -> None:
    assert free_name("Fair, round two", ["a"]) == "fair-round-two"
    assert free_name("Fair", ["fair", "fair-2"]) == "fair-3"
    assert free_name("Épaté Ölzeug", []) == "epate-olzeug"
    assert free_name("日本 🚤", []) == "new"


# -- deleting --------------------------------------------------------------------------------------------------------


@every_job
def test_whatever_is_deleted_nothing_names_it_any_more(name: str) -> None:
    text = TEXTS[name]
    for kind, old in some(ids(parse_job(text)), 16):
        if kind == "zone" or old == parse_job(text).job.finish:
            # A place can't go from under a coat, nor the task that ends the stay at all.
            continue
        done = apply_change(text, Delete(kind, old))
        assert not re.search(rf'\[\[{kind}\]\]\nid = "{old}"', done.text)
        assert dependents_of(done.text, kind, old) == []


def dependents_of(text: str, kind: str, name: str) -> list[str]:
    """What still names something that is gone; an air may have a place's name without the place."""
    return [str(use) for use in dependents(text, kind, name) if use.field != "air"]


def test_a_deletion_tells_what_depended_on_it() -> None:
    done = apply_change(DUNLIN, Delete("task", "lay-plate"))
    assert done.words == "lay-plate deleted; trim-plate no longer comes after it"
    assert done.job.tasks["trim-plate"].after == ()
    assert [str(use) for use in dependents(DUNLIN, "gear", "pad-mould")] == ["lay-pad", "lay-plate"]
    assert "it ends the stay; let another task end the stay first" in refused(DUNLIN, Delete("task", "relaunch"))
    assert "zone is missing, and a task with a material needs one" in refused(DUNLIN, Delete("zone", "bench"))


def test_without_its_material_a_task_is_followed_when_its_work_is_done() -> None:
    done = apply_change(DUNLIN, Delete("material", "lay-up-epoxy"))
    assert str(done.job.tasks["trim-pad"].after[0]) == "lay-pad"
    assert done.job.tasks["lay-pad"].gear[0].until is None


def test_headings_between_tables_stay_when_what_is_around_them_goes() -> None:
    gone, come = lines_changed(DUNLIN, change(DUNLIN, Delete("task", "open-dry")))
    assert not come
    assert not [line for line in gone if line.startswith("# ----")]
    assert "# ---- Pad and plate: two parts from one mould\n\n[[task]]" in change(DUNLIN, Delete("task", "open-dry"))


# -- layouts ---------------------------------------------------------------------------------------------------------

SPREAD = """\
# A file in another hand.
[job]
timezone = "Europe/London"
hauled = 2027-04-12T10:00:00
finish = "go"

[[crew]]
id = "me"
[[crew.hours]]   # weekdays
days = "Mon-Fri"
from = "08:00"
to = "16:00"

[[zone]]
id = "bay"

[[task]]
  id = "wash"
  zone = "bay"
  work = 2
  needs.dry = true   # or it never dries
  needs.max_wind = 20
  [task.reached]

[[task]]
id = "go"
after = ['wash']
work = 1"""


def test_fields_in_tables_of_their_own_and_in_dotted_lines_are_changed_in_place() -> None:
    after = change(SPREAD, SetField("task", "wash", "needs.dry", False))
    assert lines_changed(SPREAD, after)[1] == ["  needs.dry = false   # or it never dries"]
    after = change(SPREAD, SetField("task", "wash", "needs.max_temp", 30))
    assert parse_job(after).tasks["wash"].needs.max_temp == 30
    after = change(SPREAD, SetField("task", "wash", "hands", 1))
    assert lines_changed(SPREAD, after)[1] == ["  hands = 1"]
    hours = [{"days": "Sat", "from": "09:00", "to": "12:00"}]
    assert len(parse_job(change(SPREAD, SetField("crew", "me", "hours", hours))).people["me"].hours) == 1
    after = change(SPREAD, SetField("task", "go", "part", "Afloat"))
    assert after.endswith('work = 1\npart = "Afloat"\n')
    assert change(SPREAD, SetField("task", "go", "after", ["wash"])) == SPREAD
    assert parse_job(change(SPREAD, Rename("task", "wash", "hose"))).tasks["go"].after[0].task == "hose"


def test_a_new_table_at_the_end_of_a_file_without_a_last_line_end() -> None:
    after = change(SPREAD, AddItem("task", {"id": "wax", "work": 1}))
    assert after.endswith('work = 1\n\n[[task]]\nid = "wax"\nwork = 1\n')
    assert change(after, Delete("task", "wax")) == SPREAD + "\n"


def test_a_layout_that_is_out_of_reach_is_refused_in_words() -> None:
    head = SPREAD.replace("# A file in another hand.\n", 'crew = [{ id = "me", hours = [] }]\n')
    inline = re.sub(r"\[\[crew\]\]\n.*?\n\n", "", head, flags=re.DOTALL)
    assert "write it as [[crew]], its fields below" in refused(inline, SetField("crew", "me", "title", "Me"))
    apart = SPREAD.replace("  [task.reached]\n", "[yard]\n[task.reached]\n")
    assert "stand in two places" in refused(apart, SetField("task", "wash", "hands", 1))


# -- hostile text ----------------------------------------------------------------------------------------------------

HOSTILE = [
    "[bold]red[/] [/] @click $x {y} %s",
    "\"\"\" ''' \\ \\n \\u0041",
    '"\n[[task]]\nid = "x"\n',
    "# no comment",
    "tab\there, bell\x07, nul\x00, del\x7f, esc\x1b[31m",
    "\u202egnirts\u202c \u2028 \u0085 \ufeff",
    "🚤 e\u0301 漢字 \U0010ffff",
    "\r\n\r",
    " ",
    "x" * 5000,
]


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("hostile", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_is_saved_letter_for_letter_in_every_text_field(hostile: str, ends: str) -> None:
    text = DUNLIN.replace("\n", ends)
    places = [("job", "", f) for f in ("title", "boat", "note")] + [("yard", "", "currency"), ("weather", "", "note")]
    places += [
        (kind, name, f)
        for kind, name in [
            ("crew", "wil"),
            ("zone", "bench"),
            ("gear", "grinder"),
            ("delivery", "pod"),
            ("material", "filler"),
            ("task", "taper"),
        ]
        for f in ("title", "note")
    ]
    places += [("task", "taper", "part"), ("zone", "bench", "air"), ("weather.normal", "4", "title")]
    for said in (hostile, hostile + "!"):
        # The second time such a text stands there already.
        text = change(text, Several(tuple(SetField(*where, said) for where in places)))
        held = Book(text)
        assert all(held.find(kind, name)[field] == said for kind, name, field in places)
    assert tomllib.loads(change(text, AddItem("task", {"id": "q", "work": 1, "title": hostile})).removeprefix("\ufeff"))

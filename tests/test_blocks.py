"""Building blocks and new jobs: they parse, plan and keep every rule; every number tells its source."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from planned import assert_kept

from sequencer.blocks import (
    Taken,
    block_about,
    block_names,
    block_text,
    material_names,
    material_text,
    new_job_text,
)
from sequencer.blocks.pieces import quoted, read_text
from sequencer.errors import UsageError
from sequencer.job import parse_job
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job

JOBS = sorted((Path(__file__).resolve().parent.parent / "jobs").glob("*.toml"))
SPRING = dt.datetime(2027, 4, 12, 10)
SOURCE = re.compile(
    "data sheets|class table|UFGS 09971|ISO 8502-4|contract specifications|laboratory papers"
    "|common practice|from memory"
)


def planned_new(*blocks: str, timezone: str = "Europe/London", hauled: dt.datetime = SPRING) -> Plan:
    """The plan of a new job of these blocks; it keeps every rule by the independent check."""
    job = parse_job(new_job_text("Work", "Tern", timezone, hauled, blocks))
    plan = plan_job(job, seconds=1)
    assert_kept(job, plan)
    return plan


# -- numbers and words ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", material_names())
def test_every_number_of_a_material_tells_its_source(name: str) -> None:
    text = material_text(name)
    lines = text.splitlines()
    assert "your own data sheet first" in text.lower()
    for above, line in zip(["", *lines], lines, strict=False):
        field, _, comment = line.partition("#")
        if re.search(r"\d", re.sub(r'"[^"]*"', "", field)):
            assert SOURCE.search(comment) or SOURCE.search(above.partition("#")[2]), line


def test_materials_are_kinds_of_stuff_not_products() -> None:
    job = parse_job(new_job_text() + "".join(map(material_text, material_names())))
    assert len(job.material) == len(material_names())
    for material in job.material:
        # A name of a product would be written with a capital.
        assert not re.search(r" [A-Z]|[®™]", material.title), material.title


def test_the_usual_classes_are_there() -> None:
    assert {"laminating-epoxy", "laminating-epoxy-slow", "bonding-epoxy", "fairing-filler", "structural-filler"} <= set(
        material_names()
    )
    assert {"barrier-coat", "underwater-primer", "hard-antifouling", "ablative-antifouling"} <= set(material_names())
    assert {"polyurethane-sealant", "polysulfide-sealant", "vinyl-ester"} <= set(material_names())


def test_class_tables_are_as_read() -> None:
    """Class tables of data sheets: barrier coat at 10/15/25/35 °C, epoxy-tar primer at 5/15/23/35 °C, polysulfide."""
    text = new_job_text() + "".join(map(material_text, ("barrier-coat", "underwater-primer", "polysulfide-sealant")))
    known = parse_job(text).materials
    barrier, primer = known["barrier-coat"].stages, known["underwater-primer"].stages
    assert barrier["recoat"].opens == (5, 4, 3, 2)
    assert barrier["recoat"].closes == (14 * 24,) * 4
    assert (barrier["overpaint"].opens, barrier["overpaint"].closes) == ((7, 6, 5, 3), (9, 8, 7, 5))
    assert (primer["recoat"].opens, primer["recoat"].closes) == ((6, 3, 2, 2), (240, 144, 72, 72))
    assert (primer["overpaint"].opens, primer["overpaint"].closes) == ((24, 10, 8, 6), (336, 168, 96, 72))
    assert known["polysulfide-sealant"].stages["cure"].opens == (14 * 24, 7 * 24)


def test_what_can_hurt_carries_a_note() -> None:
    job = parse_job(new_job_text(blocks=block_names()))
    notes = {task.id: task.note.lower() for task in job.task}
    for task in job.task:
        note = notes[task.id]
        if task.dusty:
            assert "mask" in note, task.id
            assert "eyes" in note, task.id
        if task.material is not None:
            assert "gloves" in note, task.id
    assert "collect" in notes["af-scrub"]
    assert "never shift a stand yourself" in notes["stands-shift"]
    assert "nobody under" in notes["relaunch"]
    assert "licensed electrician" in notes["pod-wire"]
    assert "peroxide" in material_text("vinyl-ester").lower()


def test_each_block_says_what_it_is_in_a_line() -> None:
    assert len(set(block_names())) == len(block_names())
    for name in block_names():
        assert 10 < len(block_about(name)) < 120
        assert "\n" not in block_about(name)


# -- plans ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", block_names())
def test_a_block_alone_plans(name: str) -> None:
    plan = planned_new(name)
    assert plan.proved
    assert not plan.missed


def test_a_job_from_nothing_plans_and_teaches() -> None:
    plan = planned_new()
    assert list(plan.rows) == ["look-over", "relaunch"]
    text = new_job_text()
    for field in ("hands", "who", "makes", "needs", "material", "wait", "after", "night", "away", "rain"):
        assert re.search(rf"(?m)^# {field} = ", text), field


def test_all_blocks_together_join_into_one_stay() -> None:
    plan = planned_new(*block_names())
    links = {task.id: {str(link.task) + "@" + link.stage for link in task.after} for task in plan.job.task}
    assert "barrier-4@overpaint" in links["af-1"]
    assert "af-scrub@done" in links["barrier-prep"]
    assert "repair-sand@done" in links["fair-1"]
    assert "af-prime" not in links
    assert "barrier-4@immerse" not in links["relaunch"]
    assert "af-2@immerse" in links["relaunch"]
    # The window onto the soft coat, shorter than a working day, is met.
    assert not plan.missed


def test_blocks_join_whatever_the_order_they_are_named_in() -> None:
    names = ("antifouling", "barrier-coats", "lift", "fairing")
    assert new_job_text(hauled=SPRING, blocks=names) == new_job_text(hauled=SPRING, blocks=tuple(reversed(names)))


def test_a_block_twice_is_two_chains() -> None:
    plan = planned_new("through-hull", "through-hull", "moulded-part", "moulded-part")
    assert {"th-bed", "th-bed-2", "part-lay", "part-lay-2"} <= set(plan.rows)
    after = {task.id: [link.task for link in task.after] for task in plan.job.task}
    assert after["th-bed-2"] == ["th-dress-2"]
    assert len(plan.job.gear) == 2


@pytest.mark.parametrize(
    ("timezone", "hauled"),
    [
        ("Europe/London", dt.datetime(2027, 1, 11, 10)),
        ("Australia/Hobart", dt.datetime(2027, 11, 8, 10)),
        ("UTC", dt.datetime(2027, 10, 30, 10)),
    ],
)
def test_other_seasons_and_places_plan(timezone: str, hauled: dt.datetime) -> None:
    plan = planned_new("structural-repair", "barrier-coats", "antifouling", timezone=timezone, hauled=hauled)
    assert plan.launched > plan.moment(plan.hauled)


def test_southern_months_are_turned_round() -> None:
    north, south = (
        {n.month: n.high for n in parse_job(new_job_text(timezone=zone)).weather.normal}
        for zone in ("Europe/London", "Australia/Hobart")
    )
    assert all(south[month] == north[(month + 5) % 12 + 1] for month in range(1, 13))


# -- into a job that is there -----------------------------------------------------------------------------------


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_every_block_can_be_added_to_every_job_twice(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    for name in block_names():
        once = f"{text}\n{block_text(name, Taken.of(parse_job(text, path)))}"
        twice = f"{once}\n{block_text(name, Taken.of(parse_job(once, path)))}"
        known, grown = parse_job(text, path), parse_job(twice, path)
        assert len(grown.task) > len(known.task)
        assert grown.task[: len(known.task)] == known.task
        assert grown.material[: len(known.material)] == known.material


def test_an_owners_material_of_that_name_without_the_stages_stays_as_it_is() -> None:
    own = '[[material]]\nid = "laminating-epoxy"\ntemps = [20]\nset = 3\n'
    text = f"{new_job_text()}\n{own}"
    grown = parse_job(f"{text}\n{block_text('moulded-part', Taken.of(parse_job(text)))}")
    assert grown.materials["laminating-epoxy"].stages.keys() == {"set"}
    assert grown.tasks["part-lay"].material == "laminating-epoxy-2"
    assert "demould" in grown.materials["laminating-epoxy-2"].stages
    again = parse_job(f"{new_job_text()}\n{material_text('barrier-coat', Taken.of(grown))}")
    assert "barrier-coat" in again.materials


def test_an_unknown_block_or_material_names_the_nearest_and_the_list() -> None:
    with pytest.raises(
        UsageError, match=r"no block fairring; the nearest is fairing; there are remove-fitting, .*lift\."
    ):
        block_text("fairring")
    with pytest.raises(UsageError, match="no block zzz; there are remove-fitting"):
        new_job_text(blocks=("zzz",))
    with pytest.raises(UsageError, match="no material barrier-cote; the nearest is barrier-coat"):
        material_text("barrier-cote")


@pytest.mark.parametrize(
    "hostile", ['a "b" \\ c', "[red]x[/foo]", "line\nbreak\ttab", "\x00\x1b[2J\x7f", "’é漢🚢", "'''", ""]
)
def test_hostile_words_are_kept_as_they_are(hostile: str) -> None:
    job = parse_job(new_job_text(title=hostile, boat=hostile))
    assert (job.job.title, job.job.boat) == (hostile, hostile)


def test_half_a_letter_becomes_a_question_mark() -> None:
    assert quoted("\udcff") == '"?"'


def test_texts_are_plain_and_short() -> None:
    for name in (*block_names(), "materials", "places", "first-task"):
        for line in read_text(name).splitlines():
            assert line == line.rstrip()
            assert "\t" not in line

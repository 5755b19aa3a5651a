"""Cautions: what a task does, read from its fields and words, and what that brings."""

from __future__ import annotations

import pytest
from planned import head, material, task, zone

from sequencer.cautions import CATALOGUE, cautions_for, cautions_for_keying
from sequencer.cautions.catalogue import SHORT
from sequencer.cautions.doing import doings_of
from sequencer.cautions.stuff import stuff_of
from sequencer.cautions.words import clauses_with, found, stated
from sequencer.job import Job, parse_job

PLACES = zone("bay") + zone("cabin", "inside") + zone("shed", "inside", 'title = "Bench in the shed"')
WARM = zone("tent", "covered", "heat_to = 15")
GEAR = '\n[[gear]]\nid = "jack"\ntitle = "Trolley jack"\n'
LAUNCH = task("launch", zone='"bay"')


def stuff(name: str, title: str) -> str:
    """A material of this title."""
    return material([20], f'title = "{title}"\nset = 2', name)


STUFF = (
    stuff("epoxy", "Laminating epoxy")
    + stuff("polyester", "Polyester resin")
    + stuff("stripe", "Two-part polyurethane")
    + stuff("copper", "Hard antifouling")
    + stuff("goo", "Polyurethane sealant")
    + stuff("thing", "Something new")
)


def job_of(**fields: object) -> Job:
    """A job with one task ``it`` of these fields, in the open bay unless told otherwise."""
    given: dict[str, object] = {"zone": '"bay"'} | fields
    return parse_job("\n".join([head(), PLACES, WARM, GEAR, STUFF, task("it", **given), LAUNCH]))


def names(**fields: object) -> set[str]:
    """The cautions at that task, by name."""
    job = job_of(**fields)
    return {caution.id for caution in cautions_for(job, job.tasks["it"])}


@pytest.mark.parametrize(
    ("name", "fires", "quiet"),
    [
        ("dust", {"makes": '"dust"', "title": '"Grind the taper"'}, {"title": '"Look at the taper"'}),
        ("antifouling-dust", {"makes": '"dust"', "title": '"Wet-sand the bottom"'}, {"makes": '"dust"'}),
        ("mains", {"makes": '"dust"'}, {}),
        ("epoxy", {"material": '"epoxy"'}, {"material": '"goo"'}),
        ("hot-pot", {"material": '"epoxy"'}, {"material": '"copper"'}),
        ("styrene", {"material": '"polyester"'}, {"material": '"epoxy"'}),
        ("peroxide", {"material": '"polyester"'}, {"material": '"epoxy"'}),
        ("isocyanate", {"material": '"stripe"'}, {"material": '"goo"'}),
        ("sealant", {"material": '"goo"'}, {"material": '"stripe"'}),
        ("antifouling", {"material": '"copper"'}, {"title": '"Look at the antifouling"'}),
        ("solvent", {"title": '"Scrape and degrease it"'}, {"title": '"Scrape it"'}),
        ("solvent", {"material": '"copper"'}, {"material": '"epoxy"'}),
        ("closed-space", {"material": '"epoxy"', "zone": '"cabin"'}, {"material": '"epoxy"', "zone": '"shed"'}),
        ("heater", {"zone": '"tent"'}, {"zone": '"bay"'}),
        ("heavy", {"title": '"Hang the pod"'}, {"title": '"Look at the pod"'}),
        ("heavy", {"gear": '["jack"]'}, {}),
        ("stands", {"title": '"Yard shifts the stands"'}, {"note": '"Touch no stand."'}),
        ("fitting", {"title": '"New seacock, bedded"'}, {"title": '"New hose"'}),
        ("fuel", {"title": '"Old diesel out"'}, {"title": '"Old seat out"'}),
        ("current", {"title": '"Pull the heavy cables"'}, {"title": '"Pull the old carpet"'}),
        ("lithium", {"title": '"Batteries in"'}, {"title": '"Batteries in"', "note": '"They are lead acid."'}),
        ("lithium", {"title": '"Cells in"', "note": '"LiFePO4, 48 V."'}, {"title": '"Battery trays"'}),
        ("height", {"zone": '"cabin"'}, {"zone": '"shed"'}),
        ("height", {"title": '"Paint the topsides"'}, {"title": '"Paint the keel"'}),
        ("lift", {"title": '"Into the slings"'}, {"title": '"Paint the keel"'}),
    ],
)
def test_a_caution_is_there_where_the_task_does_it_and_only_there(
    name: str, fires: dict[str, object], quiet: dict[str, object]
) -> None:
    assert name in names(**fires)
    assert name not in names(**quiet)


def test_every_doing_has_its_caution_and_every_caution_defers() -> None:
    assert {caution.id for caution in CATALOGUE.values()} == set(CATALOGUE)
    for caution in CATALOGUE.values():
        assert caution.title.endswith(".")
        assert caution.why.endswith(".")
        assert caution.source
        assert caution.last_word == SHORT[caution.defers]


def test_half_cured_dust_is_warned_of_where_it_was_laid_shortly_before() -> None:
    parts = [head(), PLACES, STUFF, task("lay", zone='"bay"', material='"epoxy"')]
    sanding = {"zone": '"bay"', "makes": '"dust"'}
    job = parse_job("\n".join([*parts, task("green", "lay@set", **sanding), task("old", **sanding), LAUNCH]))
    assert "green-dust" in {c.id for c in cautions_for(job, job.tasks["green"])}
    assert "green-dust" not in {c.id for c in cautions_for(job, job.tasks["old"])}


def test_the_launch_is_a_lift_and_a_wait_asks_nothing() -> None:
    job = job_of(wait=12, title='"Let the batteries rest in the slings"')
    assert cautions_for(job, job.tasks["it"]) == []
    assert [c.id for c in cautions_for(job, job.tasks["launch"])] == ["lift"]


def test_keying_old_antifouling_is_poison_and_keying_epoxy_is_not() -> None:
    copper, epoxy = job_of(material='"copper"'), job_of(material='"epoxy"')
    assert [c.id for c in cautions_for_keying(copper, copper.tasks["it"])] == ["antifouling-dust", "mains"]
    assert [c.id for c in cautions_for_keying(epoxy, epoxy.tasks["it"])] == ["dust", "mains"]


def test_each_doing_says_what_it_was_read_from() -> None:
    job = job_of(title='"New seacock"', material='"goo"', makes='"dust"', zone='"cabin"')
    read = doings_of(job, job.tasks["it"])
    assert read["fitting"] == 'the word "seacock" in its title'
    assert read["sealant"] == "its material, Polyurethane sealant"
    assert read["dust"] == 'makes = "dust"'
    assert all(read.values())


@pytest.mark.parametrize(
    ("title", "family", "chemistry", "structural"),
    [
        ("Laminating epoxy, medium hardener", "resin", "epoxy", False),
        ("Underwater epoxy primer", "primer", "epoxy", False),
        ("Epoxy barrier coat, high build", "barrier", "epoxy", False),
        ("Structural filler, epoxy with fibre", "filler", "epoxy", True),
        ("Fairing filler, epoxy", "filler", "epoxy", False),
        ("Vinyl ester laminating resin", "resin", "styrene", False),
        ("Polysulfide sealant, two parts", "sealant", "", False),
        ("Tie coat", "tie-coat", "", False),
        ("Two-part polyurethane, brushed", "paint", "polyurethane", False),
        ("Ablative antifouling", "antifouling", "", False),
        ("Something new", "", "", False),
    ],
)
def test_what_a_material_is(title: str, family: str, chemistry: str, structural: bool) -> None:
    job = parse_job("\n".join([head(), stuff("it", title), LAUNCH, PLACES]))
    known = stuff_of(job.materials["it"])
    assert (known.family, known.chemistry, known.structural) == (family, chemistry, structural)


def test_words_are_whole_and_denials_do_not_count() -> None:
    assert found("A Grinder-with vacuum", ["grind"]) == ""
    assert found("GRIND, then wash", ["grind"]) == "grind"
    assert found("peel-ply over it", ["peel ply"]) == "peel ply"
    assert stated("Peel ply over it. No copper near it.", ["copper"]) == ""
    assert stated("No copper near it, peel ply over it.", ["peel ply"]) == "peel ply"
    assert clauses_with("Shut it. Look at it in the slings.", ["slings"], ["look"]) == "Look at it in the slings"
    assert clauses_with("Look at it. In the slings, paint.", ["slings"], ["look"]) == ""

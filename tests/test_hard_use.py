"""The short forms of the hard-use runs: mutated files, random keys. The long ones are commands, see DEVELOPERS.md."""

from __future__ import annotations

from pathlib import Path

import pytest
from clocks import across, occasions
from monkey import copy_of, monkey
from mutants import ROOT, many


@pytest.mark.parametrize("seed", [1000, 2000])
def test_mutated_files_give_a_sound_plan_or_a_sentence(seed: int) -> None:
    tally = many(12, seed)
    assert not tally.bad, tally.bad[:3]
    assert tally.codes[0] + tally.codes[2] == 12


@pytest.mark.parametrize(("name", "seed"), [("osprey-small", 5), ("knot-bottom-job", 6)])
async def test_random_keys_clicks_and_resizes_crash_nothing(tmp_path: Path, name: str, seed: int) -> None:
    tally = await monkey(copy_of(ROOT / "jobs" / f"{name}.toml", tmp_path), 60, seed)
    assert tally.steps == 60


def test_haul_outs_across_clock_changes_of_every_zone_keep_the_rules() -> None:
    found = list(occasions())
    assert len(found) > 120
    for seed, (name, date) in list(enumerate(found))[::12]:
        assert not across(name, date, seed), (name, date, seed)

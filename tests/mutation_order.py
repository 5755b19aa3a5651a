"""A plugin of pytest for ``mutation.py``: the quickest tests first, and no more of them than is worth the time.

Every test function goes with its quickest example first, then each with its next, up to `BUDGET` seconds' worth of
tests as mutmut has measured them: while it maps them they take about four times as long as by themselves.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from pathlib import Path

import pytest

BUDGET = 50.0


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Order the tests that a mutant is tried by, and leave out the last; runs of another kind stay as they are."""
    measured = Path("mutmut-stats.json")
    if os.environ.get("MUTANT_UNDER_TEST") in ("stats", "fail", "mutant_generation") or not measured.exists():
        return
    seconds: dict[str, float] = json.loads(measured.read_text())["duration_by_test"]
    seen: Counter[str] = Counter()
    ranked = []
    for item in sorted(items, key=lambda item: seconds.get(item.nodeid, 0.0)):
        name = item.nodeid.partition("[")[0]
        ranked.append((seen[name], seconds.get(item.nodeid, 0.0), item))
        seen[name] += 1
    ranked.sort(key=lambda one: one[:2])
    spent, kept = 0.0, []
    for _, cost, item in ranked:
        spent += cost
        if kept and spent > BUDGET:
            break
        kept.append(item)
    items[:] = kept

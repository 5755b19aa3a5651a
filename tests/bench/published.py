"""Resource-limited instances of PSPLIB (Kolisch and Sprecher, European Journal of Operational Research 96, 1997,
205-216) as job files: a period is an hour, an activity needs no hands, its resources are gear.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Instance:
    """One instance: by activity its duration, requests and successors (numbered from 1); capacities."""

    name: str
    durations: dict[int, int]
    requests: dict[int, tuple[int, ...]]
    successors: dict[int, tuple[int, ...]]
    capacities: tuple[int, ...]


def read_instance(path: Path) -> Instance:
    """Read a single-mode file of the library's ``.sm`` layout."""
    lines = path.read_text(encoding="ascii", errors="replace").splitlines()

    def after(title: str, skip: int) -> list[list[int]]:
        at = next(k for k, line in enumerate(lines) if line.startswith(title)) + skip
        rows = []
        for line in lines[at:]:
            if not re.match(r"\s*\d", line):
                break
            rows.append([int(word) for word in line.split()])
        return rows

    links = after("PRECEDENCE RELATIONS", 2)
    wants = after("REQUESTS/DURATIONS", 3)
    room = after("RESOURCEAVAILABILITIES", 2)[0]
    return Instance(
        path.stem,
        {row[0]: row[2] for row in wants},
        {row[0]: tuple(row[3:]) for row in wants},
        {row[0]: tuple(row[3:]) for row in links},
        tuple(room),
    )


def job_text(instance: Instance) -> str:
    """The instance as a job file; its makespan is the hours from `hauled` to the start of `finish`."""
    lines = [
        f'[job]\ntitle = "{instance.name}"\ntimezone = "UTC"\nhauled = 2027-01-04T00:00:00\n'
        'now = 2027-01-04T00:00:00\nfinish = "finish"\n'
    ]
    lines += [f'[[gear]]\nid = "r{k}"\ncount = {count}\n' for k, count in enumerate(instance.capacities)]
    before: dict[int, list[int]] = {}
    for name, following in instance.successors.items():
        for other in following:
            before.setdefault(other, []).append(name)
    real = [name for name, hours in instance.durations.items() if hours]

    def real_before(name: int) -> set[int]:
        found: set[int] = set()
        for other in before.get(name, []):
            found |= {other} if instance.durations[other] else real_before(other)
        return found

    for name in real:
        gear = ", ".join(f'{{ id = "r{k}", units = {u} }}' for k, u in enumerate(instance.requests[name]) if u)
        after = ", ".join(f'"a{other}"' for other in sorted(real_before(name)))
        lines.append(
            f'[[task]]\nid = "a{name}"\nwork = {instance.durations[name]}\nhands = 0\n'
            f"gear = [{gear}]\nafter = [{after}]\n"
        )
    every = ", ".join(f'"a{name}"' for name in real)
    lines.append(f'[[task]]\nid = "finish"\nwork = 0.25\nhands = 0\nafter = [{every}]\n')
    return "\n".join(lines)

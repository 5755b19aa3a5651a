"""Screenshots of every page: ``python -m sequencer.tui.shots [FOLDER] [JOB]`` writes screenshots/*.svg.

The clock is the job's own, so the same job gives the same pictures.
"""

from __future__ import annotations

import asyncio
import datetime as dt
import re
import shutil
import sys
import tempfile
from pathlib import Path

from textual.pilot import Pilot

from sequencer.tui.app import SequencerApp
from sequencer.tui.theme import LIGHT

JOB = Path("jobs/dunlin-pod.toml")
FOLDER = Path("screenshots")
SIZES = ((80, 24), (120, 40))
SEARCH_SECONDS = 20.0
FROZEN = dt.datetime(2027, 4, 14, 6, 40, tzinfo=dt.UTC)


def standing_alone(svg: str) -> str:
    """A screenshot that fetches no fonts, and whose lines keep the blanks they begin with in every viewer."""
    svg = re.sub(r"@font-face\s*{.*?}\s*", "", svg, flags=re.DOTALL).replace("Fira Code", "DejaVu Sans Mono")
    return svg.replace("<svg ", '<svg xml:space="preserve" ', 1)


async def settled(app: SequencerApp, pilot: Pilot[None]) -> None:
    """Wait until the search is over and the page drawn."""
    while app.model.looking or (app.model.plan is None and app.model.trouble is None):
        await pilot.pause(0.05)
    await pilot.pause()


async def answered(app: SequencerApp, pilot: Pilot[None]) -> None:
    """Wait until the question of the page in front is answered."""
    await pilot.pause(0.2)
    while app.model.answers.asking:
        await pilot.pause(0.1)
    await pilot.pause()


async def shoot(job: Path, folder: Path, size: tuple[int, int]) -> list[Path]:
    """Every page at one size; at the larger one also the light theme, the help and what space asks."""
    app = SequencerApp(job, clock=lambda: FROZEN, seconds=SEARCH_SECONDS, ascii=False)
    written = []

    def save(name: str) -> None:
        target = folder / f"{name}-{size[0]}x{size[1]}.svg"
        target.write_text(standing_alone(app.export_screenshot(title="sequencer")), encoding="utf-8")
        written.append(target)

    async with app.run_test(size=size) as pilot:
        await settled(app, pilot)
        for title in app.pages:
            if title == "Moved":
                continue
            await pilot.press(title[0].lower())
            await answered(app, pilot)
            save(title.lower())
        await pilot.press("s", "question_mark")
        await pilot.pause(0.1)
        save("help")
        await pilot.press("escape", "t", "enter")
        await pilot.pause(0.2)
        save("card")
        await pilot.press("escape", "j")
        await pilot.pause(0.2)
        save("jot")
        await pilot.press("r")
        await pilot.pause(0.2)
        await settled(app, pilot)
        save("moved")
        await pilot.press("u")
        await settled(app, pilot)
        if size == SIZES[-1]:
            await pilot.press("s")
            app.theme = LIGHT
            await pilot.pause(0.2)
            save("stay-light")
            await pilot.press("space")
            await pilot.pause(0.5)
            save("ask-light")
    return written


def main(arguments: list[str]) -> None:
    """Write the screenshots and name them."""
    folder = Path(arguments[0]) if arguments else FOLDER
    job = Path(arguments[1]) if len(arguments) > 1 else JOB
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        # A copy: one of the pictures is of a change.
        for beside in job.parent.iterdir():
            if beside.is_file() and not beside.name.startswith("."):
                shutil.copy(beside, place)
        for size in SIZES:
            for target in asyncio.run(shoot(Path(place) / job.name, folder, size)):
                print(target)


if __name__ == "__main__":
    main(sys.argv[1:])

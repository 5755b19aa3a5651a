"""What cures at this minute, live with the clock."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

from tui_support import FROZEN, app_on, job_file, lines_of, running, settled, text_of

from sequencer.job.jotting import Finished
from sequencer.tui.clocktext import ahead
from sequencer.tui.cures_now import curing_now


async def test_what_cures_now_counts_down_with_the_clock(tmp_path: Path) -> None:
    clock = [FROZEN]
    app = app_on(job_file(tmp_path), clock=lambda: clock[0])
    async with running(app) as pilot:
        await pilot.press("c")
        await pilot.pause()
        assert "curing now" not in text_of(app)
        clock[0] = dt.datetime(2027, 6, 7, 12, 30, tzinfo=dt.UTC)
        app.change(Finished("scrape", dt.datetime(2027, 6, 7, 9)))
        app.change(Finished("coat-1", dt.datetime(2027, 6, 7, 12), dt.datetime(2027, 6, 7, 10)))
        await settled(app, pilot)
        await pilot.press("c")
        plan = app.model.plan
        assert plan is not None
        stages = plan.rows["coat-1"].stages
        first = plan.moment(min(stages.values()))
        told = []
        for minutes in (90, 60, 30):
            now = first - dt.timedelta(minutes=minutes)
            app.show_model(replace(app.model, now=now))
            await pilot.pause()
            shown = lines_of(app)
            told.append(shown[shown.index(" curing now") + 1])
            assert "coat-1 " in told[-1]
            assert f" {ahead(minutes)}, {first:%H:%M}" in told[-1]
            (curing,) = curing_now(plan, now)
            assert curing.row.id == "coat-1"
            assert curing.minutes == minutes
        assert [line.count("_") for line in told] == sorted(line.count("_") for line in told)
        assert told[0] != told[-1]

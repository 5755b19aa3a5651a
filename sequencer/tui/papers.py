"""Papers in the app: the sheet of a day to read and to keep as a page, the review to read and to answer."""

from __future__ import annotations

import datetime as dt

from textual import work

from sequencer.errors import SequencerError
from sequencer.job.saving import replace_text
from sequencer.job.sidefiles import check_side
from sequencer.paper.review_text import review_text
from sequencer.paper.sheet import day_sheet
from sequencer.paper.sheet_html import sheet_html
from sequencer.paper.sheet_text import sheet_text
from sequencer.review import answer_finding, read_answers, review
from sequencer.tui.asking import Say
from sequencer.tui.forms import Option, Pick, Write
from sequencer.tui.keeping import NO_FILE
from sequencer.tui.marks import Signs
from sequencer.tui.questions import Questions
from sequencer.tui.reader import Reader
from sequencer.tui.text import shown

NO_PLAN = "There is no plan to make a sheet of. Holds says why."
COLUMNS = 66


class Papers(Questions):
    """An app that shows them."""

    def day_looked_at(self) -> dt.date | None:
        """The date the page in front shows; None where it shows none."""
        raise NotImplementedError

    @work(exclusive=True, group="asking")
    async def action_sheet(self) -> None:
        """The sheet of the day looked at, for all or for one of the crew; it can be kept as a page to print."""
        plan = self.model.plan
        if plan is None or self.job_path is None:
            self.push_screen(Say(NO_PLAN))
            return
        date, person = self.day_looked_at() or plan.moment(plan.now).date(), None
        while True:
            try:
                sheet = day_sheet(plan, date, person)
            except SequencerError as error:
                self.push_screen(Say(error))
                return
            keys = {"n": "next day", "b": "day before", "f": "for one alone", "k": "keep it"}
            pressed = await self.push_screen_wait(Reader(f"{date}", self._plain(sheet_text(sheet, COLUMNS)), keys))
            if pressed is None:
                return
            if pressed in "nb":
                step = dt.timedelta(days=1 if pressed == "n" else -1)
                date = min(max(date + step, plan.moment(plan.hauled).date()), plan.launched.date())
            elif pressed == "f":
                options = [Option("", "everybody"), *(Option(p.id, p.name) for p in plan.job.crew)]
                person = await self.push_screen_wait(Pick("a sheet for whom?", options)) or None
            else:
                await self._keep(f"{self.job_path.stem}-{date}{f'-{person}' if person else ''}.html", sheet_html(sheet))

    async def _keep(self, name: str, page: str) -> None:
        """Write a page beside the job."""
        assert self.job_path is not None
        path = self.job_path.with_name(name)
        try:
            check_side(path)
            replace_text(path, page, lambda: None, create=True)
        except SequencerError as error:
            await self.push_screen_wait(Say(error, title=f"{shown(name)}: not kept"))
        else:
            self.notify(f"Kept as {shown(name)}, beside the job.", markup=False)

    def _plain(self, text: str) -> str:
        """A text of our words and the owner's as this terminal can show it."""
        return Signs(self.model.ascii).own(text, self.job_text)

    @work(exclusive=True, group="asking")
    async def action_review(self) -> None:
        """What a practitioner would ask about the job; each can be answered and then stays answered."""
        job = self.model.job
        if job is None or self.job_path is None:
            self.push_screen(Say(NO_FILE))
            return
        while True:
            plan = self.model.plan if self.model.trouble is None else None
            try:
                findings = review(job, plan, read_answers(self.job_path))
            except SequencerError as error:
                self.push_screen(Say(error))
                return
            keys = {"a": "answer one"} if findings else {}
            pressed = await self.push_screen_wait(Reader("review", self._plain(review_text(findings, COLUMNS)), keys))
            if pressed is None:
                return
            options = [Option(f.id, f.what, f"answered: {f.answered}" if f.answered else f.where) for f in findings]
            picked = await self.push_screen_wait(Pick("answer which?", options))
            if picked is not None:
                before = next(f.answered for f in findings if f.id == picked)
                await self._answer(picked, before)

    async def _answer(self, finding: str, before: str) -> None:
        assert self.job_path is not None
        path = self.job_path

        def check(text: str) -> str:
            try:
                answer_finding(path, finding, text)
            except SequencerError as error:
                return " ".join(fault.sentence() for fault in error.faults)
            return ""

        about = "why it is all right as it is; empty asks again"
        await self.push_screen_wait(Write("answer", about, before, check))

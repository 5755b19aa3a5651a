"""What a check of the trade has found."""

from __future__ import annotations

from dataclasses import dataclass

PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Finding:
    """One finding; all its texts are sentences without a full stop, but for `id`, `where` and `answered`.

    id: the check and what it is about, ``load-uncured:fit-pod+tab-3``: the same from run to run, so that an answer
    stays. where: the task or material to look at. what: what is wrong. why: what comes of it. source: where that is
    from. change: what to do. rests: what in the file it was read from. answered: the author's reason, empty while
    there is none.
    """

    id: str
    where: str
    what: str
    why: str
    source: str
    change: str
    rests: str = ""
    answered: str = ""

    @property
    def check(self) -> str:
        """The check that found it, such as ``load-uncured``."""
        return self.id.partition(":")[0]

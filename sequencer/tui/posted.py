"""Which marks a page has told the app of and not yet heard back about."""

from __future__ import annotations


class Posted:
    """The rows a page has posted as marked.

    The app answers every mark with a model. Answers come late when keys come fast: without this a page would jump
    back to where it stood a moment ago.
    """

    def __init__(self) -> None:
        self._rows: list[str] = []

    def tell(self, row: str) -> None:
        """`row` is on its way to the app."""
        self._rows.append(row)

    def ours(self, row: str) -> bool:
        """Whether a model with `row` marked is only an answer; what was told before it is then forgotten."""
        if row not in self._rows:
            return False
        del self._rows[: self._rows.index(row) + 1]
        return True

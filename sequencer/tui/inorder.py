"""Keys one after another: a key waits until what the one before it opens is open.

The library hands each key to whatever has the keys when it is read. Where several are read at once (a slow line to the
boatyard, a hand faster than the screen), those behind the first would else go to the page it is about to cover, and
mean something else there.
"""

from __future__ import annotations

import asyncio
from collections import deque
from enum import Enum, auto

from textual import events
from textual.app import App, ReturnType, ScreenStackError
from textual.message_pump import MessagePump
from textual.widgets import Input

MOVES = frozenset({"up", "down", "left", "right", "pageup", "pagedown", "home", "end"})
ROUNDS = 2
"""Rounds through those who pass messages on without anything new in front: one hears the key, one what came of it."""
LONGEST = 3.0
"""Seconds a key waits for the one before at most: something that never answers must not take the keys away."""


class _Kind(Enum):
    """What a key may do to the ones behind it."""

    MOVE = auto()
    """It moves on the page in front: more of them may follow at once, as when it is held down."""
    LETTER = auto()
    """A letter of a line being typed: so may the letters behind it."""
    OPENS = auto()
    """It may bring something else to the front, or take it away."""


class InOrder(App[ReturnType]):
    """An app in which a key is heard once all that the key before it did is done."""

    def __init__(self) -> None:
        super().__init__()
        self._held: deque[events.Key | events.Paste] = deque()
        self._after: _Kind | None = None
        self._heard = 0
        self._following: asyncio.Task[None] | None = None

    @property
    def all_heard(self) -> bool:
        """Whether every key so far is heard, and what it did is done."""
        return not self._held and self._following is None

    async def on_event(self, event: events.Event) -> None:
        """Hold what is typed while what was typed before is under way; the rest as always."""
        if not isinstance(event, events.Key | events.Paste) or event.is_forwarded:
            await super().on_event(event)
        elif self._held or self._must_wait(event):
            self._held.append(event)
        else:
            await self._hear(event)

    def _kind_of(self, event: events.Key | events.Paste) -> _Kind:
        typing = isinstance(self.focused, Input)
        if isinstance(event, events.Paste):
            return _Kind.LETTER if typing else _Kind.OPENS
        if event.key in MOVES:
            return _Kind.MOVE
        return _Kind.LETTER if typing and event.is_printable else _Kind.OPENS

    def _must_wait(self, event: events.Key | events.Paste) -> bool:
        after = self._after
        return after is not None and (after is _Kind.OPENS or self._kind_of(event) is not after)

    async def _hear(self, event: events.Key | events.Paste) -> None:
        self._after = self._kind_of(event)
        self._heard += 1
        way = self._way()
        await super().on_event(event)
        if self._following is None:
            self._following = asyncio.create_task(self._follow(way), name="keys in order")

    def _way(self) -> list[MessagePump]:
        """Those through whom a key goes, in their order: from what has the focus outwards to the app."""
        return list((self.focused or self.screen).ancestors_with_self)

    async def _follow(self, way: list[MessagePump]) -> None:
        """Come back once the keys heard, and the messages that came of them, are dealt with."""
        try:
            async with asyncio.timeout(LONGEST):
                quiet = 0
                while quiet < ROUNDS:
                    front, heard = self.screen, self._heard
                    for pump in way:
                        await _reached(pump)
                    quiet = quiet + 1 if self.screen is front and self._heard == heard else 0
                    way = self._way()
        except ScreenStackError:
            return  # The app is on its way out.
        except TimeoutError:
            pass
        self.call_next(self._go_on)

    async def _go_on(self) -> None:
        """Hear the keys that had to wait, as far as they need not wait for each other."""
        self._after = self._following = None
        while self._held and not self._must_wait(self._held[0]):
            await self._hear(self._held.popleft())

    def on_unmount(self) -> None:
        """Nobody hears keys any more."""
        self._held.clear()
        if self._following is not None:
            self._following.cancel()


async def _reached(pump: MessagePump) -> None:
    """Come back once `pump` has dealt with all that lay before it now."""
    reached = asyncio.Event()
    if pump.call_later(reached.set):
        await reached.wait()

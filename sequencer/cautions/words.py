"""Whole words and phrases found in what the owner wrote; clauses that deny what they name do not count."""

from __future__ import annotations

import re
from collections.abc import Iterable

_CLAUSE = re.compile(r"[.;:,!?()]|\bbut\b")
_LETTERS = re.compile(r"[^\w']+|_")
_DENYING = frozenset(["no", "not", "never", "without", "nothing", "nobody", "don't", "isn't", "instead"])
"""A clause with one of these says what is not done: "No copper near aluminium" lays no copper."""


def plain(text: str) -> str:
    """`text` in small letters, a blank before, between and after its words; hyphens part words."""
    return f" {_LETTERS.sub(' ', text.lower()).strip()} "


def found(text: str, words: Iterable[str]) -> str:
    """The first of `words` (each a word or a phrase in small letters) that stands in `text`; empty where none does."""
    known = plain(text)
    return next((word for word in words if f" {word} " in known), "")


def stated(text: str, words: Iterable[str]) -> str:
    """As :func:`found`, in a clause that does not deny it: "peel ply over it" counts, "no peel ply" does not."""
    wanted = tuple(words)
    for clause in _CLAUSE.split(text.lower()):
        word = found(clause, wanted)
        if word and not _DENYING & set(plain(clause).split()):
            return word
    return ""


def clauses_with(text: str, words: Iterable[str], also: Iterable[str]) -> str:
    """The first sentence of `text` that holds one of `words` and one of `also`; empty where none does."""
    wanted, others = tuple(words), tuple(also)
    sentences = (part.strip() for part in re.split(r"[.!?;]", text))
    return next((part for part in sentences if found(part, wanted) and found(part, others)), "")

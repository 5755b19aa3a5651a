"""Values written as TOML, and changed where they stand with the owner's quoting, spacing and comments kept."""

from __future__ import annotations

import copy
import datetime as dt
import difflib
import math
import re
from collections.abc import Mapping, MutableMapping, Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Array, InlineTable, Item

from sequencer.errors import Fault, JobError
from sequencer.job.links import Link
from sequencer.job.wording import show

Value = str | int | float | dt.date | dt.time | Link | Sequence["Value"] | Mapping[str, "Value"]
"""What a field may hold; a Link is written as its text."""

ERRORS = (TOMLKitError, LookupError, TypeError, ValueError, AttributeError)
"""What tomlkit raises for shapes it can't change in place."""

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+\Z")


def plain(value: object) -> Any:
    """The value as reading the file will give it. Raises JobError for what no TOML file can hold."""
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, Link):
        return str(value)
    if isinstance(value, str):
        try:
            value.encode()
        except UnicodeEncodeError:
            raise JobError([Fault("", f"{show(value)} holds half a letter", "type it anew")]) from None
        return value
    if isinstance(value, bool | int | float | dt.date | dt.time):
        return value
    raise JobError([Fault("", f"a file can't hold {show(value)}", "give text, a number, a date or a list")])


def same(one: object, other: object) -> bool:
    """Whether two plain values mean the same; 2 is 2.0, and true is not 1."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, dt.date) or isinstance(other, dt.date):
        return type(one) is type(other) and one == other
    if isinstance(one, float) and isinstance(other, float) and math.isnan(one):
        # Not a number is unlike itself; that the file may not have it is told by its own rules.
        return math.isnan(other)
    return isinstance(one, bool) == isinstance(other, bool) and one == other


def written(value: Any, like: str = "") -> str:
    """A plain value as TOML on one line; text in the quotes that `like`, the value there was, stands in."""
    if isinstance(value, dict):
        inside = ", ".join(f"{key_text(key)} = {written(item)}" for key, item in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, list):
        return f"[{', '.join(written(item) for item in value)}]"
    if isinstance(value, str):
        return _text(value, like)
    return str(tomlkit.item(value).as_string())


def _text(value: str, like: str) -> str:
    lines = all(c.isprintable() or c == "\n" for c in value)
    if like.startswith("'") and not like.startswith("'''") and lines and not {"'", "\n"} & set(value):
        return f"'{value}'"
    if like.startswith('"""') and "\n" in value and lines and not {'"', "\\"} & set(value):
        return f'"""\n{value}"""'
    return tomlkit.string(value).as_string()


def key_text(key: str) -> str:
    """A key, in quotes where it needs them."""
    return key if _BARE_KEY.match(key) else written(key)


def changed(fragment: str, path: Sequence[str | int], value: Any) -> str:
    """A fragment of TOML with the value at `path` set to `value`, or taken out where that is None.

    path: keys, and positions in lists of tables; all but the last must be there. What did not change stays as it is.
    """
    document: Any = tomlkit.parse(fragment)
    _put(document, list(path), value)
    return tomlkit.dumps(document)


def _put(container: Any, path: list[str | int], value: Any) -> None:
    key, rest = path[0], path[1:]
    if rest and not isinstance(container[key], InlineTable):
        _put(container[key], rest, value)
    elif rest:
        whole = copy.deepcopy(container[key].unwrap())
        put_plain(whole, rest, value)
        _change(container, key, whole)
    elif value is None:
        del container[key]
    elif key in container:
        _change(container, key, value)
    else:
        container[key] = tomlkit.value(written(value))


def put_plain(table: Any, path: Sequence[str | int], value: Any) -> None:
    """Set, or take out, a value in plain tables; tables on the way that are not there are made."""
    for part in path[:-1]:
        table = table[part] if isinstance(part, int) else table.setdefault(part, {})
    if value is None:
        del table[path[-1]]
    else:
        table[path[-1]] = value


def _change(container: Any, key: Any, value: Any) -> None:
    """Set what is there to `value`, part by part where both are lists or tables."""
    old = container[key]
    if isinstance(old, Array) and isinstance(value, list):
        _change_list(old, value)
    elif isinstance(old, InlineTable) and isinstance(value, dict):
        _change_inline(container, key, value)
    elif isinstance(old, MutableMapping) and isinstance(value, dict):
        for name in [name for name in old if name not in value]:
            del old[name]
        for name, item in value.items():
            if name in old:
                _change(old, name, item)
            else:
                old[name] = tomlkit.value(written(item))
    elif not same(_bare(old), value):
        container[key] = tomlkit.value(written(value, old.as_string() if isinstance(old, Item) else ""))


def _change_inline(container: Any, key: Any, value: dict[str, Any]) -> None:
    """Set a table in braces; with other fields in it than before it is written anew, what stays letter for letter."""
    old = container[key]
    for name, item in value.items():
        if name in old:
            _change(old, name, item)
    if list(old) != list(value):
        parts = [
            f"{key_text(name)} = {old[name].as_string() if isinstance(old.get(name), Item) else written(item)}"
            for name, item in value.items()
        ]
        container[key] = tomlkit.value(f"{{ {', '.join(parts)} }}" if parts else "{}")


def _change_list(old: Array, value: list[Any]) -> None:
    """Take out, put in and change only the elements that differ."""
    before, after = [repr(_bare(item)) for item in old], [repr(item) for item in value]
    for what, i, j, k, m in reversed(difflib.SequenceMatcher(None, before, after, autojunk=False).get_opcodes()):
        if what == "equal":
            continue
        paired = min(j - i, m - k)
        for at in reversed(range(i + paired, j)):
            del old[at]
        for at in range(paired):
            _change(old, i + at, value[k + at])
        for at in range(paired, m - k):
            old.insert(i + at, tomlkit.value(written(value[k + at])))


def _bare(item: Any) -> Any:
    return item.unwrap() if isinstance(item, Item) else item

"""Tables of the file read field by field, so that one fault hides no other.

pydantic stops asking a table's own rules as soon as one field is wrong, and knows nothing of its
neighbours. Here each field is read by itself; what could be read is kept in an :class:`Entry`, which
remembers what is unsure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from types import UnionType
from typing import Annotated, Any, Generic, TypeVar, Union, get_args, get_origin

from pydantic import TypeAdapter, ValidationError
from pydantic_core import PydanticUndefined

from sequencer.errors import Fault
from sequencer.job.tables import FROM_FILE, Table
from sequencer.job.values import BadValueError
from sequencer.job.wording import EXAMPLES, listing, nearest, ordinal, said, show, shown

MAX_FAULTS = 200
"""Faults told at once; a file with more has one cause that shows in the first."""

T = TypeVar("T", bound=Table)


@dataclass(frozen=True)
class Entry(Generic[T]):
    """A table as far as it could be read.

    place: how sentences name it, such as ``task fit-pod``; id: as written, empty where there is none;
    table: the model, with defaults for what could not be read (and nothing where there is no default);
    unsure: the fields that are missing or, in part or whole, not as the owner meant them.
    """

    place: str
    id: str
    table: T
    unsure: frozenset[str] = frozenset()

    def sure(self, *fields: str) -> bool:
        """Whether all these fields are as the owner wrote them."""
        return self.unsure.isdisjoint(fields)

    @property
    def usable(self) -> bool:
        """Whether every field that has no default could be read."""
        fields = type(self.table).model_fields
        return not any(fields[name].is_required() for name in self.unsure)


@dataclass(frozen=True)
class _Shape:
    """What a field holds: ``one``, a ``list`` or a ``dict``, of tables or of values that `values` reads."""

    kind: str
    table: type[Table] | None
    values: TypeAdapter[Any] | None


def _bare(hint: Any) -> Any:
    """A type without None beside it and without annotations."""
    if get_origin(hint) is Annotated:
        return _bare(get_args(hint)[0])
    if get_origin(hint) in (Union, UnionType):
        others = [h for h in get_args(hint) if h is not type(None)]
        return _bare(others[0]) if len(others) == 1 else hint
    return hint


def _shape_of(kind: str, hint: Any) -> _Shape:
    bare = _bare(hint)
    if isinstance(bare, type) and issubclass(bare, Table):
        return _Shape(kind, bare, None)
    return _Shape(kind, None, TypeAdapter(hint))


@cache
def _shape(model: type[Table], name: str) -> _Shape:
    field = model.model_fields[name]
    hint: Any = field.annotation
    origin, inner = get_origin(hint), get_args(hint)
    # A field with a reader of its own (such as temps) is one value, whatever it holds.
    if origin is tuple and inner[-1] is Ellipsis and not field.metadata:
        return _shape_of("list", inner[0])
    if origin is dict:
        return _shape_of("dict", inner[1])
    return _shape_of("one", Annotated[(hint, *field.metadata)] if field.metadata else hint)


class Reader:
    """Reads tables, and collects the faults on the way."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    @property
    def full(self) -> bool:
        """Whether there are more faults than anybody would read; what is left need not be read then."""
        return len(self.faults) > MAX_FAULTS

    def table(self, model: type[T], raw: object, place: str, called: str = "") -> Entry[T] | None:
        """Read one table; None where there is nothing of a table.

        called: what the owner would call the field if he wrote the table's short form (``recoat = 8``).
        """
        wide = model.widen(raw)
        if not isinstance(wide, dict):
            self.faults.append(Fault(place, f"this must be a table in braces, not {show(raw)}"))
            return None
        fields = model.gather(wide)
        values: dict[str, Any] = {}
        unsure: set[str] = set()
        known = {info.alias or name: name for name, info in model.model_fields.items()}
        slips = {near for key in fields if key not in known and (near := nearest(key, known))}
        for key, name in known.items():
            if key not in fields:
                # What a misspelt field was meant for is no more known than what could not be read.
                if key in slips:
                    unsure.add(name)
                elif model.model_fields[name].is_required():
                    unsure.add(name)
                    self._missing(place, key)
                continue
            value, good = self._field(model, name, fields[key], place, key if wide is raw else called)
            if value is not PydanticUndefined:
                values[name] = value
            if not good:
                unsure.add(name)
        self._unknown(fields, known, place)
        table = model.model_construct(**values)
        self._own_rules(table, frozenset(unsure), place)
        return Entry(place, _id(fields), table, frozenset(unsure))

    def _missing(self, place: str, key: str) -> None:
        example = f"add {key} = {EXAMPLES[key]}" if key in EXAMPLES else f"add {key}"
        self.faults.append(Fault(place, f"{key} is missing", example))

    def _unknown(self, fields: dict[str, Any], known: Iterable[str], place: str) -> None:
        for key in fields:
            if key not in known and not self.full:
                near = nearest(key, known)
                hint = f"did you mean {near}?" if near else f"the fields here are {listing(known, 30)}"
                self.faults.append(Fault(place, f"there is no field {shown(key)}", hint))

    def _own_rules(self, table: Table, unsure: frozenset[str], place: str) -> None:
        for flaw in table.flaws(unsure):
            where = f"{place}, {flaw.field}" if flaw.field else place
            self.faults.append(Fault(where, flaw.what, flaw.hint))

    def _field(self, model: type[Table], name: str, raw: object, place: str, key: str) -> tuple[Any, bool]:
        """The field's value as far as it could be read, and whether that is the whole of it.

        PydanticUndefined stands for nothing at all, since None is a value.
        """
        shape = _shape(model, name)
        if shape.kind == "list":
            return self._list(shape, raw, place, key)
        if shape.kind == "dict":
            return self._dict(shape, raw, place, key)
        if shape.table is not None:
            return self._inner(shape.table, raw, f"{place}, {key}", key)
        return self._value(shape, raw, place, key)

    def _value(self, shape: _Shape, raw: object, place: str, subject: str) -> tuple[Any, bool]:
        assert shape.values is not None
        try:
            return shape.values.validate_python(raw, context=FROM_FILE), True
        except ValidationError as error:
            for found in error.errors(include_url=False):
                inside = [part for part in found["loc"] if isinstance(part, int)]
                about = f"the {ordinal(inside[0] + 1)} of {subject}" if inside else subject
                context = found.get("ctx", {})
                cause = context.get("error")
                if not isinstance(cause, BadValueError):
                    cause = BadValueError(said(found["type"], found["input"], context))
                self.faults.append(Fault(place, f"{about} {cause.what}", cause.hint))
            return PydanticUndefined, False

    def _inner(self, model: type[Table], raw: object, place: str, key: str) -> tuple[Any, bool]:
        before = len(self.faults)
        entry = self.table(model, raw, place, key)
        return entry.table if entry else PydanticUndefined, len(self.faults) == before

    def _list(self, shape: _Shape, raw: object, place: str, key: str) -> tuple[Any, bool]:
        before = len(self.faults)
        if not isinstance(raw, list):
            hint = f"write [[{place}.{key}]]" if place == "weather" else "put square brackets around it"
            self.faults.append(Fault(place, f"{key} must be a list, not {show(raw)}", hint))
            if not isinstance(raw, dict if shape.table is not None else str):
                return PydanticUndefined, False
            raw = [raw]
        kept = []
        for position, item in enumerate(raw, 1):
            if self.full:
                break
            if shape.table is not None:
                entry = self.table(shape.table, item, self._item_place(place, key, position, item))
                if entry and entry.usable:
                    kept.append(entry.table)
            else:
                value, good = self._value(shape, item, place, f"the {ordinal(position)} of {key}")
                kept += [value] if good else []
        return tuple(kept), len(self.faults) == before

    @staticmethod
    def _item_place(place: str, key: str, position: int, item: object) -> str:
        if place == "weather":
            label = {"day": "date", "normal": "month"}.get(key, "")
            mark = item.get(label) if isinstance(item, dict) else None
            if mark is not None and not isinstance(mark, dict | list):
                return f"weather {key} {show(mark).strip(chr(34))}"
            return f"the {ordinal(position)} weather {key}"
        return f"{place}, the {ordinal(position)} of {key}"

    def _dict(self, shape: _Shape, raw: object, place: str, key: str) -> tuple[Any, bool]:
        if not isinstance(raw, dict):
            self.faults.append(Fault(place, f"{key} must be a table in braces, not {show(raw)}"))
            return PydanticUndefined, False
        before = len(self.faults)
        kept = {}
        for name, item in raw.items():
            if shape.table is not None:
                inside = f"{place}, {shown(name)}" if isinstance(item, dict) else place
                value, _ = self._inner(shape.table, item, inside, shown(name))
            else:
                value, _ = self._value(shape, item, place, f"{key} {shown(name)}")
            if value is not PydanticUndefined:
                kept[name] = value
        return kept, len(self.faults) == before


def _id(fields: dict[str, Any]) -> str:
    given = fields.get("id")
    return given if isinstance(given, str) else ""

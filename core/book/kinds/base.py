"""The common base of every record kind and the description of its fields that the rest of the house reads."""

from __future__ import annotations

import types
import typing
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, ClassVar, Literal, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field

from core.book.kinds.fields import Cell
from core.days import Moment

_PLAIN: dict[Any, Cell] = {date: Cell("day"), Moment: Cell("moment")}


@dataclass(frozen=True, slots=True)
class FieldInfo:
    """One field as storage, CSV and forms see it.

    Attributes:
        name: attribute name, and the CSV column before its unit suffix.
        cell: what sort of value it is.
        required: whether it must be given.
        default: value when it is left out.
        choices: allowed words for a "choice".
        label: words for a form; ``hint`` says more.
    """

    name: str
    cell: Cell
    required: bool
    default: Any
    choices: tuple[str, ...]
    label: str
    hint: str


class Record(BaseModel):
    """Something that was written down. Immutable; a correction is a new record in a change set.

    Class attributes:
        KIND: the kind's name, also its table and CSV file name.
        TITLE: the kind in words, singular.
        KEY: fields that together say which record this is.
        SLOT: for effective-dated kinds (with ``since`` and ``until``): the key without ``since``; versions of
            one slot never overlap. ``until`` is the first day it no longer holds; None means still in force.
        HELP: one sentence for templates and forms.
    """

    # defer_build: what reads a book validates nothing, and building all validators takes a fifth of a second
    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True, defer_build=True)

    KIND: ClassVar[str]
    TITLE: ClassVar[str]
    KEY: ClassVar[tuple[str, ...]]
    SLOT: ClassVar[tuple[str, ...]] = ()
    HELP: ClassVar[str] = ""

    def key(self) -> tuple[Any, ...]:
        """The natural key's values, in the order of KEY."""
        return tuple(getattr(self, name) for name in self.KEY)

    def differs_from(self, other: Record) -> list[str]:
        """Names of fields whose values differ from another record of the kind.

        The same instant written in another offset, or the same measure in another unit, is no difference.
        """
        return [f.name for f in fields_of(type(self)) if not _same(getattr(self, f.name), getattr(other, f.name))]


@cache
def fields_of(kind: type[Record]) -> tuple[FieldInfo, ...]:
    """The fields of a record kind: those of its key first, then the others as declared."""
    order = [*kind.KEY, *(name for name in kind.model_fields if name not in kind.KEY)]
    return tuple(_describe(name, kind.model_fields[name]) for name in order)


def labelled(label: str, hint: str = "", default: Any = ..., **limits: Any) -> Any:
    """A pydantic field with the words a form shows and, where given, a default and limits."""
    return Field(default, title=label, description=hint, **limits)


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, Moment) and isinstance(other, Moment):
        return one.utc == other.utc and one.exact == other.exact
    return bool(one == other)


def _describe(name: str, info: Any) -> FieldInfo:
    annotation = info.annotation
    found = [m for m in info.metadata if isinstance(m, Cell)]
    if get_origin(annotation) in (types.UnionType, typing.Union):
        annotation = next(a for a in get_args(annotation) if a is not type(None))
    if get_origin(annotation) is typing.Annotated:
        found += [m for m in get_args(annotation)[1:] if isinstance(m, Cell)]
        annotation = get_args(annotation)[0]
    choices: tuple[str, ...] = ()
    if get_origin(annotation) is Literal:
        choices = tuple(str(a) for a in get_args(annotation))
        cell = Cell("choice")
    else:
        cell = found[0] if found else _PLAIN[annotation]
    return FieldInfo(
        name=name,
        cell=cell,
        required=info.is_required(),
        default=None if info.is_required() else info.default,
        choices=choices,
        label=info.title or name.replace("_", " ").capitalize(),
        hint=info.description or "",
    )

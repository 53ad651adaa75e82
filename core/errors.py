"""The errors a person can meet, each written as a sentence that says what was wrong and what was expected."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

LONG = 80  # letters of somebody's text that a sentence quotes


class RillbookError(Exception):
    """Base of everything Rillbook raises on purpose. ``str(error)`` is a sentence for the screen."""


class EntryError(RillbookError):
    """A value typed by a person cannot be taken as it stands."""


class BookError(RillbookError):
    """The book file cannot be opened, is newer than this program, is locked or damaged."""


class UndoError(RillbookError):
    """A change set cannot be undone because something later rests on it."""


class NotFoundError(RillbookError):
    """No record has this code, id or month."""


@dataclass(eq=False)
class ConflictError(RillbookError):
    """A record with the same key is already in the book with other values; nothing is overwritten silently.

    Attributes:
        kind: name of the record kind.
        record: the record in words: ``meter reading main, 2026-07-14 07:30-06:00``.
        key: its natural key.
        there: id of the record already in the book, 0 when it is another record of what is being stored.
        differs: by field name, the value already there and the value given.
    """

    kind: str
    record: str
    key: tuple[Any, ...]
    there: int
    differs: dict[str, tuple[Any, Any]] = field(default_factory=dict)

    def __str__(self) -> str:
        pairs = [
            f"{name.replace('_', ' ')} is {_say(old)} there, {_say(new)} here"
            for name, (old, new) in self.differs.items()
        ]
        return f"{first_up(self.record)} is already there with other values: {'; '.join(pairs)}. Nothing was stored."


@dataclass(eq=False)
class OverlapError(RillbookError):
    """Two versions of the same thing would hold on the same days.

    Attributes:
        kind: name of the record kind.
        record: the record that does not fit, in words; ``in_the_way`` the version that is there, with its days.
        there: id of the version in the way.
    """

    kind: str
    record: str
    in_the_way: str
    there: int

    def __str__(self) -> str:
        return (
            f"{first_up(self.record)} would hold on days when {self.in_the_way} holds already. "
            "Say that one changed on a day, or end it first. Nothing was stored."
        )


class StaleError(RillbookError):
    """What was to be corrected has been changed by somebody else since it was read."""


class InUseError(RillbookError):
    """A record cannot be removed while others refer to it."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong with one cell of what was brought in.

    ``row`` counts as a spreadsheet does (the header is row 1); 0 means the whole file.
    """

    file: str
    row: int
    column: str
    value: str
    expected: str

    def sentence(self) -> str:
        where = f"{self.file}, row {self.row}" if self.row else self.file
        column = f", column {shown(self.column)}" if self.column else ""
        value = f": “{shown(self.value)}”" if self.value else ": empty"
        return f"{where}{column}{value}. Expected {self.expected}."


@dataclass
class RefusedError(RillbookError):
    """A file or form was refused as a whole; nothing was stored."""

    problems: list[Problem] = field(default_factory=list)

    def __str__(self) -> str:
        shown = " ".join(p.sentence() for p in self.problems[:3])
        more = len(self.problems) - 3
        tail = f" And {more} more." if more > 0 else ""
        return f"{shown}{tail} Nothing was stored."


def shown(text: str) -> str:
    """Somebody's text within a sentence: on one line, cut where it is long, with nothing that steers a terminal."""
    line = "".join(c if c.isprintable() else " " if c.isspace() else "\ufffd" for c in text[: LONG + 1])
    return f"{line[: LONG - 1]}…" if len(text) > LONG else line


def _say(value: Any) -> str:
    if value is None or value == "":
        return "empty"
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def first_up(text: str) -> str:
    """Words as the beginning of a sentence."""
    return text[:1].upper() + text[1:]

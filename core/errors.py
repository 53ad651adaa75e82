"""The errors a person can meet, each written as a sentence that says what was wrong and what was expected."""

from __future__ import annotations

from dataclasses import dataclass, field


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
        column = f", column {self.column}" if self.column else ""
        value = f": “{self.value}”" if self.value else ": empty"
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

"""The Book: one household's records in one SQLite file."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd

from core.book import backup as copies
from core.book import files, frames, journal, lookup
from core.book.change import Change, Counts
from core.book.comparing import Comparison, compare
from core.book.frames import Frames
from core.book.journal import ChangeSet
from core.book.kinds import KINDS, Home, Record
from core.book.lookup import Stored
from core.book.rows import R
from core.book.undo import undo
from core.days import time_zone
from core.errors import BookError

__all__ = ["Book", "Change", "ChangeSet", "Comparison", "Counts", "Frames", "Stored"]


class Book:
    """A book that exists. It holds no connection: every call opens one and closes it, so it may be kept anywhere."""

    def __init__(self, path: Path) -> None:
        """Use :meth:`create` or :meth:`open`."""
        self.path = path

    @classmethod
    def create(cls, path: str | os.PathLike[str], home: Home) -> Book:
        """Makes a new book for a home.

        Raises:
            BookError: the path exists or cannot be written.
        """
        book = cls(Path(path).expanduser().absolute())

        def begin(connection: sqlite3.Connection) -> None:
            Change(connection, "began the book").add(home)

        files.make(book.path, begin)
        return book

    @classmethod
    def open(cls, path: str | os.PathLike[str]) -> Book:
        """Opens a book; one made by an older program is copied beside itself and brought up to date.

        Raises:
            BookError: there is none, it is something else, damaged, in use, or of a newer program.
        """
        book = cls(Path(path).expanduser().absolute())
        with files.reaching(book.path):
            if not book.path.exists():
                raise BookError(f"There is no book at {book.path}.")
            if not book.path.is_file():
                raise BookError(f"{book.path} is not a file.")
        with files.connected(book.path) as connection:
            files.check_is_book(connection, book.path)
            if files.pending(connection):
                copies.keep(book.path, "before-update")
                files.bring_up(connection)
        return book

    @staticmethod
    def restore(src: str | os.PathLike[str], dest: str | os.PathLike[str]) -> Path | None:
        """Puts a backup in place of a book; see :func:`core.book.backup.restore`. Returns where the old one is kept."""
        return copies.restore(Path(src).expanduser().absolute(), Path(dest).expanduser().absolute())

    def backup(self, dest: str | os.PathLike[str]) -> Path:
        """A copy of the book, in use or not; see :func:`core.book.backup.backup`. Returns where it is.

        A ``dest`` that ends in a slash is a folder that is there already.
        """
        path = Path(dest).expanduser().absolute()
        if os.fspath(dest).endswith(("/", os.sep)):
            copies.check_folder(path)
        return copies.backup(self.path, path)

    # reading

    def home(self) -> Home:
        """The home the book is about."""
        homes = self.records(Home)
        if not homes:
            raise BookError(f"{self.path} has lost its home. Bring back a backup with restore.")
        return homes[0].record

    def home_as_begun(self) -> Home:
        """The home as it was first written down, before anything of it was changed."""
        with files.connected(self.path) as connection:
            return journal.first_written(connection, Home) or self.home()

    @property
    def zone_info(self) -> ZoneInfo:
        """The home's time zone."""
        return time_zone(self.home().timezone)

    def number(self) -> int:
        """Number of the latest change set; with the path, the key of whatever is cached."""
        with files.connected(self.path) as connection:
            return journal.latest_number(connection)

    def records(self, kind: type[R], **equal: Any) -> list[Stored[R]]:
        """Records of a kind whose fields have the given values, in the order of their keys."""
        with files.connected(self.path) as connection:
            return lookup.matching(connection, kind, equal)

    def latest(self, kind: type[R], limit: int = 10) -> list[Stored[R]]:
        """The records of a kind that were written or changed last, newest first."""
        with files.connected(self.path) as connection:
            return lookup.latest(connection, kind, limit)

    def get(self, kind: type[R], row_id: int) -> Stored[R]:
        """The record with this id.

        Raises:
            NotFoundError: there is none (any more).
        """
        with files.connected(self.path) as connection:
            return lookup.by_id(connection, kind, row_id)

    def find(self, kind: type[R], *key: Any) -> Stored[R] | None:
        """The record with this natural key, in the order of the kind's KEY; None when there is none."""
        with files.connected(self.path) as connection:
            return lookup.by_natural_key(connection, kind, key)

    def compare(self, records: Sequence[Record]) -> Comparison:
        """Which of these records, all of one kind, are new, there already, or there with other values."""
        with files.connected(self.path) as connection:
            return compare(connection, records)

    def frame(self, kind_name: str, as_of: datetime | None = None) -> pd.DataFrame:
        """The records of a kind as a table; see :mod:`core.book.frames`. ``as_of`` is an aware instant."""
        return self.frames(as_of)[kind_name]

    def frames(self, as_of: datetime | None = None) -> Frames:
        """All tables by kind, each read when first asked for."""
        zone = None if as_of is None else self.zone_info

        def load(kind_name: str) -> pd.DataFrame:
            with files.connected(self.path) as connection:
                connection.execute("BEGIN")  # what is read in several steps is one state of the book
                return frames.frame(connection, KINDS[kind_name], as_of, zone)

        return Frames(load)

    def change_sets(self, limit: int = 50) -> list[ChangeSet]:
        """The latest actions, newest first."""
        with files.connected(self.path) as connection:
            return journal.change_sets(connection, limit)

    # writing

    @contextmanager
    def change(self, what: str) -> Iterator[Change]:
        """One action in words and all it writes: stored whole when the block ends, not at all on any error.

        The book is held for writing from the first moment, so what is read within the block stays true.

        Raises:
            BookError: another program held the book too long, or the disk refused.
        """
        with files.connected(self.path) as connection, files.writing(connection):
            change = Change(connection, what)
            yield change
            change.finish()

    def undo(self, number: int) -> int:
        """Takes a change set back, as a change set of its own whose number is returned.

        Raises:
            NotFoundError: no change set has this number.
            UndoError: it was undone already, or something later rests on it, which the sentence names.
        """
        with files.connected(self.path) as connection, files.writing(connection):
            return undo(connection, number)

"""Writing: the verbs of one change set.

A verb that raises has changed nothing, so a caller may catch its error, tell of it and go on with the next.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from pydantic import ValidationError

from core.book.comparing import compare
from core.book.journal import Journal
from core.book.kinds import KINDS, Home, Meter, Planting, Record, Zone
from core.book.lookup import (
    Stored,
    by_id,
    by_key,
    by_natural_key,
    code_is_there,
    matching,
    named_in,
    naming,
    referring,
    version_in_the_way,
)
from core.book.rows import R, Row, in_words, key_columns, names_of, referrers_of, refs_of, row_of
from core.errors import ConflictError, EntryError, InUseError, NotFoundError, OverlapError, StaleError, first_up


@dataclass(frozen=True, slots=True)
class Counts:
    """What came of adding many: how many were ``added``, how many were ``there`` already with the same values."""

    added: int = 0
    there: int = 0


class Change:
    """One action's writes, made by ``Book.change``. ``number`` is None until something was written."""

    def __init__(self, connection: sqlite3.Connection, what: str) -> None:
        self._connection = connection
        self._journal = Journal(connection, what)
        self._later_refs: list[tuple[str, str, str]] = []

    @property
    def number(self) -> int | None:
        """Number of the change set, None when nothing was changed."""
        return self._journal.number

    # reading what this change has written so far

    def get(self, kind: type[R], row_id: int) -> Stored[R]:
        """As ``Book.get``, within this change."""
        return by_id(self._connection, kind, row_id)

    def find(self, kind: type[R], *key: Any) -> Stored[R] | None:
        """As ``Book.find``, within this change."""
        return by_natural_key(self._connection, kind, key)

    def records(self, kind: type[R], **equal: Any) -> list[Stored[R]]:
        """As ``Book.records``, within this change."""
        return matching(self._connection, kind, equal)

    # the verbs

    def add(self, record: Record) -> int:
        """Writes a record down and returns its id; one that is there with the same values is left as it is.

        Raises:
            ConflictError: its key is there with other values.
            OverlapError: another version holds on some of its days.
            NotFoundError: it refers to a code that is not in the book.
        """
        kind, row = type(record), row_of(record)
        there = by_key(self._connection, kind, _key_of(kind, row))
        if there is not None:
            differs = there.record.differs_from(record)
            if not differs:
                return there.id
            raise _conflict(record, there, differs)
        self._check_refs(record, row)
        self._check_versions(record, row)
        return self._journal.insert(kind, row)

    def add_many(self, records: Iterable[Record], rows: Sequence[Row] | None = None) -> Counts:
        """Writes many records down at once, quickly; as ``add`` for each, but all or none.

        Args:
            rows: the SQL rows of the records, in order, where ``Book.compare`` has made them already.

        Raises:
            ConflictError, OverlapError, NotFoundError: as ``add``, for the first record that does not fit.
        """
        added = there = place = 0
        for _, group in groupby(records, key=type):
            batch = list(group)
            kind, made = type(batch[0]), None if rows is None else list(rows[place : place + len(batch)])
            place += len(batch)
            if kind.SLOT:
                known = {stored.id for stored in self.records(kind)}
                fresh = {self.add(record) for record in batch} - known
                added, there = added + len(fresh), there + len(batch) - len(fresh)
                continue
            outcome = compare(self._connection, batch, made)
            if outcome.conflicts:
                raise outcome.conflicts[0][1]
            self._check_many_refs(kind, [batch[i] for i in outcome.new])
            new = [outcome.rows[i] for i in outcome.new]
            if len(new) == 1:
                self._journal.insert(kind, new[0])
            elif new:
                self._journal.insert_block(kind, new)
            added, there = added + len(new), there + len(outcome.there)
        return Counts(added, there)

    def correct(self, row_id: int, record: Record, seen: int | None = None) -> None:
        """Says that a record was wrong all along and what it should have said.

        ``seen`` is the change set of what was read before correcting: if the record has been touched since,
        the correction is refused.

        Raises:
            NotFoundError, StaleError, ConflictError, OverlapError: it cannot be put like this.
            EntryError, InUseError: the code of something others refer to would change.
        """
        kind, row = type(record), row_of(record)
        old = self._seen(kind, row_id, seen)
        old_row = row_of(old.record)
        if row == old_row:
            return
        if kind.KEY == ("code",) and record.key() != old.record.key():
            raise EntryError(f"A {kind.TITLE}'s code never changes: “{old.record.key()[0]}” stays. Change its name.")
        if isinstance(record, Planting) and record.key()[:2] != old.record.key()[:2]:
            users = naming(self._connection, old.record, row_id)
            if users:
                raise InUseError(
                    f"{first_up(in_words(old.record))} cannot get another zone or code: {_some(users)} to it. "
                    f"Change its name, or remove {_those(users)} first."
                )
        other = by_key(self._connection, kind, _key_of(kind, row))
        if other is not None and other.id != row_id:
            raise _conflict(record, other, other.record.differs_from(record))
        self._check_refs(record, row)
        self._check_versions(record, row, row_id)
        self._journal.alter(kind, row_id, row)

    def change_from(self, row_id: int, day: date, record: R, seen: int | None = None) -> int:
        """Says that something changed on a day: its version ends there and a new one begins.

        ``record`` is the new version; its ``since`` becomes ``day``, and where it has no end it takes over the
        end of the version it follows. Returns the id of the new version. Said twice, it is stored once.

        Raises:
            EntryError: the kind has no versions, the day is not within the version, or it is another thing's.
            NotFoundError, StaleError, ConflictError, OverlapError: as ``correct``.
        """
        kind = type(record)
        if not kind.SLOT:
            raise EntryError(f"A {kind.TITLE} has no versions by date. Correct it instead.")
        old = self._seen(kind, row_id, seen)
        was: Any = old.record
        if any(getattr(record, name) != getattr(was, name) for name in kind.SLOT):
            raise EntryError(
                f"{first_up(in_words(record))} does not follow {in_words(was)}: it is another {kind.TITLE}."
            )
        given: Any = record
        new = _with(record, since=day, until=None)
        begun = self.find(kind, *new.key())
        if begun is not None and begun.id != row_id and not _but_until(begun.record, new):
            return begun.id
        if day == was.since:
            raise EntryError(
                f"{first_up(in_words(was))} begins on {day} itself. If it was wrong from the start, correct it instead."
            )
        if day < was.since or (was.until is not None and day >= was.until):
            raise EntryError(f"{day} is not within the days of {_days_in_words(was)}. Choose a day within them.")
        end = given.until if given.until is not None and given.until > day else was.until
        new = _with(new, until=end)
        if not _but_until(_with(was, since=day), new):
            return row_id
        row, closed = row_of(new), _with(was, until=day)
        in_the_way = version_in_the_way(self._connection, kind, row, (row_id,))
        if in_the_way is not None:
            raise _overlap(new, in_the_way)
        self._check_refs(new, row)
        self._journal.alter(kind, row_id, row_of(closed))
        return self._journal.insert(kind, row)

    def remove(self, row_id: int, kind: type[Record] | str, seen: int | None = None) -> None:
        """Takes a record out of the book.

        Raises:
            NotFoundError, StaleError: it is not there, or has been touched since it was read.
            InUseError: others refer to it; the sentence names them.
        """
        kind = KINDS[kind] if isinstance(kind, str) else kind
        old = self._seen(kind, row_id, seen)
        if kind is Home:
            raise InUseError("The home is what the whole book is about; it cannot be removed.")
        users = referring(self._connection, kind, old.record.key()[0]) if referrers_of(kind) else []
        users += naming(self._connection, old.record, row_id)
        if users:
            raise InUseError(
                f"{first_up(in_words(old.record))} cannot be removed: {_some(users)} to it. "
                f"Remove {_those(users)} first, or give it a last day."
            )
        self._journal.remove(kind, row_id)

    def finish(self) -> None:
        """Checks what could only be checked once everything was written."""
        for to, code, words in self._later_refs:
            if not code_is_there(self._connection, to, code):
                raise _missing(to, code, words)
            self._check_not_behind_itself(code, words)

    # the rules

    def _seen(self, kind: type[R], row_id: int, seen: int | None) -> Stored[R]:
        stored = by_id(self._connection, kind, row_id)
        if seen is not None and stored.change_set not in (seen, self.number):
            words = first_up(in_words(stored.record))
            raise StaleError(f"{words} has been changed since you read it. Look at it again. Nothing was stored.")
        return stored

    def _check_refs(self, record: Record, row: Row) -> None:
        kind = type(record)
        for named, key in named_in(record):  # a planting may come later, a zone may not
            if named is Zone and not code_is_there(self._connection, Zone.KIND, str(key["code"])):
                raise _missing(Zone.KIND, str(key["code"]), in_words(record))
        for name, to in refs_of(kind):
            code = row[names_of(kind).index(name)]
            if code is None:
                continue
            if to == kind.KIND:  # a meter may be written before the meter it is behind
                self._later_refs.append((to, code, in_words(record)))
            elif not code_is_there(self._connection, to, code):
                raise _missing(to, code, in_words(record))

    def _check_not_behind_itself(self, code: str, words: str) -> None:
        passed: set[str] = set()
        at: str | None = code
        while at is not None:
            if at in passed:
                raise EntryError(f"{first_up(words)} would be behind itself. Nothing was stored.")
            passed.add(at)
            meter = self.find(Meter, at)
            at = meter.record.downstream_of if meter else None

    def _check_many_refs(self, kind: type[Record], records: list[Record]) -> None:
        for name, to in refs_of(kind):
            users = {code: record for record in records if (code := getattr(record, name)) is not None}
            for code, record in users.items():
                if to == kind.KIND:
                    self._later_refs.append((to, code, in_words(record)))
                elif not code_is_there(self._connection, to, code):
                    raise _missing(to, code, in_words(record))

    def _check_versions(self, record: Record, row: Row, own_id: int | None = None) -> None:
        own = () if own_id is None else (own_id,)
        in_the_way = version_in_the_way(self._connection, type(record), row, own)
        if in_the_way is not None:
            raise _overlap(record, in_the_way)


def _key_of(kind: type[Record], row: Row) -> Row:
    names = names_of(kind)
    return tuple(row[names.index(c.name)] for c in key_columns(kind))


def _with(record: R, **values: Any) -> R:
    try:
        return type(record)(**{**dict(record), **values})
    except ValidationError as error:
        raise EntryError(
            f"{first_up(in_words(record))}: {error.errors()[0]['msg'].removeprefix('Value error, ')}."
        ) from error


def _but_until(one: Record, other: Record) -> list[str]:
    return [name for name in one.differs_from(other) if name != "until"]


def _conflict(record: Record, there: Stored[Any], differs: list[str]) -> ConflictError:
    values = {name: (getattr(there.record, name), getattr(record, name)) for name in differs}
    return ConflictError(record.KIND, in_words(record), record.key(), there.id, values)


def _overlap(record: Record, there: Stored[Any]) -> OverlapError:
    return OverlapError(record.KIND, in_words(record), _days_in_words(there.record), there.id)


def _missing(to: str, code: str, words: str) -> NotFoundError:
    return NotFoundError(f"There is no {KINDS[to].TITLE} “{code}” in the book; {words} refers to it.")


def _days_in_words(version: Any) -> str:
    if version.until is None:
        return f"{in_words(version)} (still in force)"
    return f"{in_words(version)} (until {version.until})"


def _some(users: list[Stored[Record]]) -> str:
    names = [in_words(user.record) for user in users[:3]]
    return ", ".join(names) + (" and others" if len(users) > 3 else "") + (" refer" if len(users) > 1 else " refers")


def _those(users: list[Stored[Record]]) -> str:
    return "those" if len(users) > 1 else "that"

"""Taking a change set back: its entries are run backwards as a change set of their own.

It goes through only while every row still is as the change set left it and nothing else has come to rest on it.
A row carries the number of the change set that last touched it, and an undo gives it its earlier number back,
so id and number together say whether a row is untouched.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any

from core.book.journal import ChangeSet, Entry, Journal, change_sets, entries_of, whole_rows
from core.book.kinds import KINDS, Home, Planting, Record
from core.book.lookup import (
    NAMERS,
    Stored,
    by_key,
    code_is_there,
    matching,
    named_in,
    naming,
    referring,
    select_sql,
    version_in_the_way,
)
from core.book.rows import in_words, key_columns, names_of, record_of, referrers_of, refs_of
from core.errors import NotFoundError, UndoError, first_up


def undo(connection: sqlite3.Connection, number: int) -> int:
    """Undoes a change set within the running transaction and returns the number of the undo.

    Raises:
        NotFoundError: no change set has this number.
        UndoError: it was undone already, or something later rests on it, which the sentence names.
    """
    chain, asked = _chain(connection, number)
    latest = chain[-1]  # the one that made the asked-for change set hold the last time
    entries = entries_of(connection, latest.number)
    if not entries:
        raise UndoError(f"{first_up(_quoted(asked))} wrote nothing that could be undone.")
    if any(e.kind is Home and e.op == "add" for e in entries):
        raise UndoError(f"{first_up(_quoted(asked))} began the book; it cannot be undone.")
    what = f"{'undid' if len(chain) % 2 else 'did again'}: {chain[0].what}"
    journal = Journal(connection, what, undoes=latest.number)
    back = _Back(connection, journal, asked, since=latest.number)
    for entry in reversed(entries):
        back.run(entry)
    back.check_what_rests()
    assert journal.number is not None  # noqa: S101 - there was at least one entry
    for distance, link in enumerate(reversed(chain)):  # each undo turns over whether those before it hold
        undone_by = journal.number if distance % 2 == 0 else None
        connection.execute("UPDATE change_set SET undone_by = ? WHERE number = ?", (undone_by, link.number))
    return journal.number


@dataclass
class _Back:
    """Runs entries back. ``asked`` is what to undo, for the sentences; ``since`` the change set that is run back."""

    connection: sqlite3.Connection
    journal: Journal
    asked: ChangeSet
    since: int

    def __post_init__(self) -> None:
        self.taken: list[tuple[type[Record], dict[str, Any]]] = []
        self.put: list[tuple[type[Record], list[dict[str, Any]]]] = []

    def run(self, entry: Entry) -> None:
        kind = entry.kind
        if entry.op == "add":
            rows = self._rows(entry)
            self.journal.take_out(kind, rows)
            self.taken += [(kind, row) for row in rows] if kind is Planting or referrers_of(kind) else []
        elif entry.op == "alter":
            was = self._rows(entry)
            earlier = entry.before or {}
            self._check_key(kind, earlier)
            self.journal.put_back_values(kind, earlier)
            self.put.append((kind, [earlier]))
            self.taken += [(kind, row) for row in was] if kind is Planting else []  # its code may have been another
        else:
            rows = whole_rows(entry)
            try:
                self.journal.put_in(kind, rows)
            except sqlite3.IntegrityError:
                for row in rows:
                    self._check_key(kind, row)
                raise
            self.put.append((kind, rows))

    def check_what_rests(self) -> None:
        """Once all entries are run back: references into what is gone, references and versions put back."""
        for kind, row in self.taken:
            users = [user for user in naming(self.connection, _record(kind, row)) if self._came_later(user)]
            if referrers_of(kind) and not code_is_there(self.connection, kind.KIND, row["code"]):
                users += referring(self.connection, kind, row["code"])
            if users:
                self._refuse(f"{_row_words(kind, row)} is used by {self._told(users[0])}")
        for kind, rows in self.put:
            for name, to in refs_of(kind):
                for code, row in {row[name]: row for row in rows if row[name] is not None}.items():
                    if not code_is_there(self.connection, to, code):
                        self._refuse(f"{_row_words(kind, row)} needs {KINDS[to].TITLE} “{code}”, which is gone")
            for row in rows if kind.SLOT else ():
                other = version_in_the_way(self.connection, kind, _own(kind, row), (row["id"],))
                if other is not None:
                    self._refuse(f"{_row_words(kind, row)} would hold on the days of {self._told(other)}")
            for record in [_record(kind, row) for row in rows] if kind in NAMERS else ():
                for planting_or_zone, key in named_in(record):
                    self._check_named(record, planting_or_zone, key)

    def _check_named(self, record: Record, kind: type[Record], key: dict[str, str]) -> None:
        """What a record put back names by a code that no foreign key holds went later; it may never have been there."""
        if matching(self.connection, kind, key):
            return
        later = self.connection.execute(
            "SELECT DISTINCT change_set FROM \"change\" WHERE kind = ? AND op != 'add' AND change_set > ?"
            " ORDER BY change_set DESC",
            (kind.KIND, self.since),
        )
        for (number,) in later.fetchall():
            entries = [e for e in entries_of(self.connection, number) if e.kind is kind and e.op != "add"]
            rows = [row for entry in entries for row in whole_rows(entry)]
            if any(all(row[name] == code for name, code in key.items()) for row in rows):
                what, by = f"{kind.TITLE} {', '.join(key.values())}", change_sets(self.connection, 1, number)[0]
                self._refuse(f"{in_words(record)} needs {what}, which went with {_quoted(by)}")

    def _came_later(self, user: Stored[Record]) -> bool:
        """Whether it was touched since what is run back; else it named what was not there yet, and does so again."""
        last = self.connection.execute(
            'SELECT max(change_set) FROM "change" WHERE kind = ? AND row_id <= ? AND row_id + row_count > ?',
            (user.record.KIND, user.id, user.id),
        ).fetchone()
        return last[0] is not None and int(last[0]) > self.since

    def _rows(self, entry: Entry) -> list[dict[str, Any]]:
        """The rows of an entry as they stand, if they are as it left them."""
        kind, last = entry.kind, entry.row_id + entry.row_count - 1
        left = (entry.after or {})["change_set"]
        found = self.connection.execute(
            f'{select_sql(kind)} WHERE "id" BETWEEN ? AND ? ORDER BY "id"',
            (entry.row_id, last),
        ).fetchall()
        there = {row[0]: row for row in found if row[1] == left}
        for row_id in range(entry.row_id, last + 1):
            if row_id not in there:
                self._refuse_touched(kind, row_id)
        names = ("id", "change_set", *names_of(kind))
        return [dict(zip(names, row, strict=True)) for row in found]

    def _check_key(self, kind: type[Record], row: dict[str, Any]) -> None:
        holder = by_key(self.connection, kind, tuple(row[c.name] for c in key_columns(kind)))
        if holder is not None and holder.id != row["id"]:
            self._refuse(f"in its place there is now {self._told(holder)}")

    def _told(self, stored: Stored[Record]) -> str:
        by = change_sets(self.connection, 1, stored.change_set)[0]
        return f"{in_words(stored.record)}, written by {_quoted(by)}"

    def _refuse_touched(self, kind: type[Record], row_id: int) -> None:
        later = self.connection.execute(
            'SELECT change_set, op, "before" FROM "change" WHERE kind = ? AND row_id <= ? AND row_id + row_count > ?'
            " AND change_set > ? ORDER BY id DESC LIMIT 1",
            (kind.KIND, row_id, row_id, self.since),
        ).fetchone()
        if later is None:
            self._refuse(f"a {kind.TITLE} it wrote was changed outside Rillbook")
        by = change_sets(self.connection, 1, later[0])[0]
        entry = next(
            e for e in entries_of(self.connection, by.number) if e.kind is kind and 0 <= row_id - e.row_id < e.row_count
        )
        row = next((r for r in whole_rows(entry) if r.get("id") == row_id), None)
        words = _row_words(kind, row) if row else f"a {kind.TITLE}"
        verb = "removed" if later[1] == "remove" else "changed"
        self._refuse(f"{words} was {verb} later by {_quoted(by)}")

    def _refuse(self, because: str) -> None:
        raise UndoError(
            f"{first_up(_quoted(self.asked))} cannot be undone: {because}. Undo that first. Nothing was changed."
        )


def _chain(connection: sqlite3.Connection, number: int) -> tuple[list[ChangeSet], ChangeSet]:
    """An action, its undo, the undo of that, ... to the latest, and the one of them with this number.

    Only the latest is ever undone, so the chain never branches: undoing an action that was undone and done again
    undoes the doing again.
    """
    found = change_sets(connection, 1, number)
    if not found:
        raise NotFoundError(f"There is no change set {number} in the book.")
    asked = found[0]
    if asked.undone_by is not None:
        by = _quoted(change_sets(connection, 1, asked.undone_by)[0])
        raise UndoError(f"{first_up(_quoted(asked))} was undone already by {by}. To bring it back, undo that.")
    chain = found
    while chain[0].undoes is not None:
        chain = [*change_sets(connection, 1, chain[0].undoes), *chain]
    while later := connection.execute("SELECT number FROM change_set WHERE undoes = ?", (chain[-1].number,)).fetchone():
        chain += change_sets(connection, 1, later[0])
    return chain, asked


def _quoted(change_set: ChangeSet) -> str:
    return f"change set {change_set.number} (“{change_set.what}”)"


def _own(kind: type[Record], row: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(row[name] for name in names_of(kind))


def _record(kind: type[Record], row: dict[str, Any]) -> Record:
    return record_of(kind, _own(kind, row))


def _row_words(kind: type[Record], row: dict[str, Any]) -> str:
    return in_words(_record(kind, row))

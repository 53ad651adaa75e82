"""The journal: every write to a record table goes through here and leaves what it takes to undo it.

A *change set* is all that one action wrote. Its entries say, in order, which rows it added, altered or removed;
``before`` and ``after`` are whole rows as JSON. Rows added in bulk share one entry: ``row_id`` is the first,
``row_count`` how many, ``after`` only the change set they carry (the rows themselves are in their table); when
such rows are taken out again, ``before`` holds ``{"columns": [...], "rows": [[...], ...]}``.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from itertools import chain, count
from typing import Any, Literal

from core.book.kinds import KINDS, Record
from core.book.lookup import select_sql
from core.book.rows import R, Row, names_of, record_of

Op = Literal["add", "alter", "remove"]
BLOCK = 10_000  # rows in one journal entry of a bulk addition
TOGETHER = 100  # rows in one INSERT: more than twice as quick as one by one


@dataclass(frozen=True, slots=True)
class ChangeSet:
    """All that one action wrote.

    Attributes:
        number: counts up; never used twice.
        at: when, in UTC.
        what: the action in words.
        undone_by: number of the change set that undid it, None while it holds.
        undoes: number of the change set it undid, when it is an undo.
        counts: how many rows of each kind it touched.
    """

    number: int
    at: datetime
    what: str
    undone_by: int | None
    undoes: int | None
    counts: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the journal as stored."""

    id: int
    kind: type[Record]
    op: Op
    row_id: int
    row_count: int
    before: dict[str, Any] | None
    after: dict[str, Any] | None


class Journal:
    """Writes rows and notes them under one change set, which comes into being with the first write."""

    def __init__(self, connection: sqlite3.Connection, what: str, undoes: int | None = None) -> None:
        self.connection = connection
        self.what = what
        self.undoes = undoes
        self.number: int | None = None

    def insert(self, kind: type[Record], row: Row) -> int:
        """Adds one row and returns its id."""
        number = self._number()
        cursor = self.connection.execute(_insert_sql(kind, _all_names(kind)), (None, number, *row))
        row_id = int(cursor.lastrowid or 0)
        self._note(kind, "add", row_id, after=_named(kind, (row_id, number, *row)))
        return row_id

    def insert_block(self, kind: type[Record], rows: Sequence[Row]) -> None:
        """Adds many rows under one entry for each ten thousand."""
        number = self._number()
        for start in range(0, len(rows), BLOCK):
            part = rows[start : start + BLOCK]
            last = self.connection.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (kind.KIND,)).fetchone()
            first = (last[0] if last else 0) + 1
            numbered = [(row_id, number, *row) for row_id, row in zip(count(first), part, strict=False)]
            self._insert(kind, _all_names(kind), numbered)
            self._note(kind, "add", first, len(part), after={"change_set": number})

    def alter(self, kind: type[Record], row_id: int, row: Row) -> None:
        """Puts other values in a row."""
        self.put_back_values(kind, _named(kind, (row_id, self._number(), *row)))

    def remove(self, kind: type[Record], row_id: int) -> None:
        """Takes a row out."""
        self.take_out(kind, [self.row(kind, row_id)])

    # The three below write whole rows, change set included, as an undo needs them.

    def put_back_values(self, kind: type[Record], row: dict[str, Any]) -> None:
        """Puts a whole row in place of the one with its id."""
        before = self.row(kind, row["id"])
        sets = ", ".join(f'"{name}" = ?' for name in row if name != "id")
        values = [value for name, value in row.items() if name != "id"]
        self.connection.execute(f'UPDATE "{kind.KIND}" SET {sets} WHERE "id" = ?', (*values, row["id"]))  # noqa: S608
        self._note(kind, "alter", row["id"], before=before, after=row)

    def take_out(self, kind: type[Record], rows: Sequence[dict[str, Any]]) -> None:
        """Takes out whole rows whose ids follow each other."""
        first, n = rows[0]["id"], len(rows)
        self.connection.execute(
            f'DELETE FROM "{kind.KIND}" WHERE "id" BETWEEN ? AND ?',  # noqa: S608
            (first, first + n - 1),
        )
        before = rows[0] if n == 1 else {"columns": list(rows[0]), "rows": [list(row.values()) for row in rows]}
        self._note(kind, "remove", first, n, before=before)

    def put_in(self, kind: type[Record], rows: Sequence[dict[str, Any]]) -> None:
        """Puts whole rows in again under the ids they had; the ids follow each other."""
        self._insert(kind, tuple(rows[0]), [tuple(row.values()) for row in rows])
        after = rows[0] if len(rows) == 1 else {"change_set": rows[0]["change_set"]}
        self._note(kind, "add", rows[0]["id"], len(rows), after=after)

    def row(self, kind: type[Record], row_id: int) -> dict[str, Any]:
        """A whole row as it stands."""
        found = self.connection.execute(f'{select_sql(kind)} WHERE "id" = ?', (row_id,)).fetchone()
        return _named(kind, found)

    def _insert(self, kind: type[Record], names: tuple[str, ...], rows: Sequence[Row]) -> None:
        whole = len(rows) - len(rows) % TOGETHER
        self.connection.executemany(
            _insert_sql(kind, names, TOGETHER),
            (tuple(chain.from_iterable(rows[at : at + TOGETHER])) for at in range(0, whole, TOGETHER)),
        )
        self.connection.executemany(_insert_sql(kind, names), rows[whole:])

    def _number(self) -> int:
        if self.number is None:
            cursor = self.connection.execute(
                "INSERT INTO change_set (at_utc, what, undoes) VALUES (?, ?, ?)",
                (datetime.now(UTC).isoformat(timespec="seconds"), self.what, self.undoes),
            )
            self.number = int(cursor.lastrowid or 0)
        return self.number

    def _note(
        self,
        kind: type[Record],
        op: Op,
        row_id: int,
        n: int = 1,
        before: dict[str, Any] | None = None,
        after: dict[str, Any] | None = None,
    ) -> None:
        self.connection.execute(
            'INSERT INTO "change" (change_set, kind, op, row_id, row_count, "before", "after") VALUES (?,?,?,?,?,?,?)',
            (self._number(), kind.KIND, op, row_id, n, _json(before), _json(after)),
        )


def entries_of(connection: sqlite3.Connection, number: int) -> list[Entry]:
    """The entries of a change set in the order they were made, their rows with every column that the kind has today."""
    rows = connection.execute(
        'SELECT id, kind, op, row_id, row_count, "before", "after" FROM "change" WHERE change_set = ? ORDER BY id',
        (number,),
    )
    return [
        Entry(r[0], KINDS[r[1]], r[2], r[3], r[4], _brought_up(KINDS[r[1]], r[5]), json.loads(r[6] or "null"))
        for r in rows
    ]


def _brought_up(kind: type[Record], text: str | None) -> dict[str, Any] | None:
    """What ``before`` holds; columns that a later migration gave the kind are empty, as the table has them."""
    before: dict[str, Any] | None = json.loads(text or "null")
    if before is None or "rows" not in before:
        return before and {**dict.fromkeys(_all_names(kind)), **before}
    new = [name for name in _all_names(kind) if name not in before["columns"]]
    rows = [[*row, *[None] * len(new)] for row in before["rows"]]
    return {**before, "columns": [*before["columns"], *new], "rows": rows}


def change_sets(connection: sqlite3.Connection, limit: int = 50, number: int | None = None) -> list[ChangeSet]:
    """The latest change sets, newest first, or the one with a number."""
    where, values = ("WHERE number = ?", (number, limit)) if number is not None else ("", (limit,))
    rows = connection.execute(
        f"SELECT number, at_utc, what, undone_by, undoes FROM change_set {where} ORDER BY number DESC LIMIT ?",  # noqa: S608
        values,
    ).fetchall()
    return [ChangeSet(r[0], datetime.fromisoformat(r[1]), r[2], r[3], r[4], _counts(connection, r[0])) for r in rows]


def latest_number(connection: sqlite3.Connection) -> int:
    """Number of the latest change set."""
    return int(connection.execute("SELECT ifnull(max(number), 0) FROM change_set").fetchone()[0])


def first_written(connection: sqlite3.Connection, kind: type[R]) -> R | None:
    """The first record of a kind as it was when it was added, whatever became of it; None when there never was one.

    Columns that a later migration gave the kind are empty.
    """
    found = connection.execute(
        """SELECT "after" FROM "change" WHERE kind = ? AND op = 'add' AND row_count = 1 ORDER BY id LIMIT 1""",
        (kind.KIND,),
    ).fetchone()
    if found is None:
        return None
    row = json.loads(found[0])
    return record_of(kind, tuple(row.get(name) for name in names_of(kind)))


def whole_rows(entry: Entry) -> list[dict[str, Any]]:
    """The rows a "remove" entry took out, or the one an "alter" entry found."""
    before = entry.before or {}
    if "rows" in before:
        return [dict(zip(before["columns"], row, strict=True)) for row in before["rows"]]
    return [before]


def _counts(connection: sqlite3.Connection, number: int) -> dict[str, int]:
    rows = connection.execute(
        """SELECT kind, sum(n) FROM (
             SELECT kind, max(row_count) AS n FROM "change" WHERE change_set = ? GROUP BY kind, row_id
           ) GROUP BY kind ORDER BY kind""",
        (number,),
    )
    return dict(rows.fetchall())


def _json(row: dict[str, Any] | None) -> str | None:
    return None if row is None else json.dumps(row, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _named(kind: type[Record], row: Row) -> dict[str, Any]:
    return dict(zip(_all_names(kind), row, strict=True))


@cache
def _all_names(kind: type[Record]) -> tuple[str, ...]:
    return ("id", "change_set", *names_of(kind))


@cache
def _insert_sql(kind: type[Record], names: tuple[str, ...], together: int = 1) -> str:
    columns = ", ".join(f'"{name}"' for name in names)
    marks = ", ".join([f"({', '.join('?' * len(names))})"] * together)
    return f'INSERT INTO "{kind.KIND}" ({columns}) VALUES {marks}'  # noqa: S608 - names come from declarations

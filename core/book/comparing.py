"""Which records are new, which are in the book already, which are there with other values."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, field

from core.book.kinds import Record
from core.book.lookup import Stored, by_key, select_sql
from core.book.rows import Row, in_words, key_columns, names_of, record_of, row_of, rows_of
from core.errors import ConflictError

FEW = 300  # up to so many keys are looked up one by one; beyond that reading the table once is quicker


@dataclass(slots=True)
class Comparison:
    """Positions, in the sequence compared, of records that are new, there with the same values, or in conflict.

    A key that comes twice in the sequence with the same values counts as there the second time; with other
    values it is a conflict. ``rows`` are the SQL rows of all, in order.
    """

    new: list[int] = field(default_factory=list)
    there: list[int] = field(default_factory=list)
    conflicts: list[tuple[int, ConflictError]] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)


def compare(connection: sqlite3.Connection, records: Sequence[Record], rows: list[Row] | None = None) -> Comparison:
    """Compares records of one kind with the book by their natural keys.

    Args:
        rows: the SQL rows of the records where an earlier comparison made them; they take longest.

    Raises:
        EntryError: a day or instant outside the years a book holds.
    """
    result = Comparison()
    if not records:
        return result
    kind = type(records[0])
    result.rows = rows_of(kind, records) if rows is None else rows
    at = tuple(names_of(kind).index(c.name) for c in key_columns(kind))
    keys = [tuple([row[i] for i in at]) for row in result.rows]
    known = _rows_there(connection, kind, keys, at)
    if known.keys().isdisjoint(keys) and len(set(keys)) == len(keys):
        result.new = list(range(len(keys)))
        return result
    for position, (record, row, key) in enumerate(zip(records, result.rows, keys, strict=True)):
        there = known.get(key)
        if there is None:
            known[key] = (0, row)
            result.new.append(position)
            continue
        row_id, old_row = there
        if old_row == row:
            result.there.append(position)
            continue
        old = record_of(kind, old_row)
        differs = old.differs_from(record)
        if differs:
            values = {name: (getattr(old, name), getattr(record, name)) for name in differs}
            error = ConflictError(kind.KIND, in_words(record), record.key(), row_id, values)
            result.conflicts.append((position, error))
        else:
            result.there.append(position)
    return result


def _rows_there(
    connection: sqlite3.Connection, kind: type[Record], keys: list[Row], at: tuple[int, ...]
) -> dict[Row, tuple[int, Row]]:
    if len(keys) <= FEW:
        found: dict[Row, tuple[int, Row]] = {}
        for key in keys:
            stored: Stored[Record] | None = by_key(connection, kind, key)
            if stored is not None:
                found[key] = (stored.id, row_of(stored.record))
        return found
    rows = connection.execute(select_sql(kind))
    return {tuple(row[2 + i] for i in at): (row[0], row[2:]) for row in rows}

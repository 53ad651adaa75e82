"""Finding records on an open connection."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Generic

from core.book.kinds import EmitterGroup, FactorMonth, OtherUse, Pause, Planting, Record, Zone
from core.book.rows import R, Row, equal_cell, key_cells, key_columns, names_of, record_of, referrers_of, slot_columns
from core.errors import NotFoundError
from core.notation import parse_shares

Named = tuple[type[Record], dict[str, str]]
NAMERS: tuple[type[Record], ...] = (EmitterGroup, FactorMonth, OtherUse, Pause)


@dataclass(frozen=True, slots=True)
class Stored(Generic[R]):
    """A record as it stands in the book.

    Attributes:
        id: its row, never used again for another record of its kind.
        record: what was written down.
        change_set: number of the change set that last touched it; hand it back as ``seen`` when correcting.
    """

    id: int
    record: R
    change_set: int


def by_id(connection: sqlite3.Connection, kind: type[R], row_id: int) -> Stored[R]:
    """The record with this id.

    Raises:
        NotFoundError: there is none (any more).
    """
    found = _stored(connection, kind, '"id" = ?', (row_id,))
    if not found:
        raise NotFoundError(f"There is no {kind.TITLE} number {row_id} (any more).")
    return found[0]


def by_key(connection: sqlite3.Connection, kind: type[R], key: Row) -> Stored[R] | None:
    """The record whose key has these cells, if there is one."""
    found = _stored(connection, kind, _where_key(kind), key)
    return found[0] if found else None


def by_natural_key(connection: sqlite3.Connection, kind: type[R], key: tuple[Any, ...]) -> Stored[R] | None:
    """The record with this natural key (codes, days, moments), if there is one."""
    return by_key(connection, kind, key_cells(kind, key))


def matching(connection: sqlite3.Connection, kind: type[R], equal: dict[str, Any]) -> list[Stored[R]]:
    """Records whose fields have the given values, in the order of their keys."""
    cells = [equal_cell(kind, name, value) for name, value in equal.items()]
    where = " AND ".join(f'"{column}" IS ?' for column, _ in cells) or "1"
    return _stored(connection, kind, where, [cell for _, cell in cells])


def latest(connection: sqlite3.Connection, kind: type[R], limit: int) -> list[Stored[R]]:
    """The records written or changed last, newest first."""
    sql = f'{select_sql(kind)} ORDER BY "change_set" DESC, "id" DESC LIMIT {int(limit)}'
    return [Stored(row[0], record_of(kind, row[2:]), row[1]) for row in connection.execute(sql)]


def version_in_the_way(
    connection: sqlite3.Connection, kind: type[R], row: Row, own_ids: Sequence[int] = ()
) -> Stored[R] | None:
    """A version of the same slot that holds on a day on which this row would hold, or None.

    A version holds from ``since`` up to but not including ``until``; an empty ``until`` never ends.
    """
    slot = slot_columns(kind)
    if not slot:
        return None
    cells = dict(zip(names_of(kind), row, strict=True))
    where = " AND ".join(f'"{name}" IS ?' for name in slot)
    where += ' AND (? IS NULL OR "since" < ?) AND ("until" IS NULL OR "until" > ?)'
    where += f' AND "id" NOT IN ({", ".join("?" * len(own_ids))})'
    values = [*(cells[name] for name in slot), cells["until"], cells["until"], cells["since"], *own_ids]
    found = _stored(connection, kind, where, values)
    return found[0] if found else None


def referring(connection: sqlite3.Connection, kind: type[Record], code: str) -> list[Stored[Record]]:
    """Some records that refer to a code of a kind: up to two of each kind that does."""
    found: list[Stored[Record]] = []
    for child, column in referrers_of(kind):
        found += _stored(connection, child, f'"{column}" = ?', (code,), limit=2)
    return found


def naming(connection: sqlite3.Connection, record: Record, row_id: int = 0) -> list[Stored[Any]]:
    """The records that name a planting or a zone by a code that no foreign key holds, see :func:`named_in`.

    Nothing does while another version of the planting than the one with this id is there.
    """
    if isinstance(record, Planting):
        named: Named = (Planting, {"zone": record.zone, "code": record.code})
    elif isinstance(record, Zone):
        named = (Zone, {"code": record.code})
    else:
        return []
    if any(version.id != row_id for version in matching(connection, *named)):
        return []
    users = [user for kind in NAMERS for user in matching(connection, kind, {})]
    return [user for user in users if named in named_in(user.record)]


def named_in(record: Record) -> list[Named]:
    """What a record names by a code that no foreign key can hold: plantings, which are known by zone and code over
    all their versions, and the zone of a pause, which may be all of them.
    """
    if isinstance(record, EmitterGroup):
        return [(Planting, {"zone": record.zone, "code": code}) for code, _ in parse_shares(record.waters).parts]
    if isinstance(record, FactorMonth | OtherUse) and record.zone and record.planting:
        return [(Planting, {"zone": record.zone, "code": record.planting})]
    if isinstance(record, Pause) and record.scope != "all":
        return [(Zone, {"code": record.scope})]
    return []


def code_is_there(connection: sqlite3.Connection, kind_name: str, code: str) -> bool:
    """Whether a kind has a record with this code."""
    return connection.execute(f'SELECT 1 FROM "{kind_name}" WHERE "code" = ?', (code,)).fetchone() is not None  # noqa: S608


@cache
def select_sql(kind: type[Record]) -> str:
    """SELECT of id, change set and all own columns of a kind."""
    columns = ", ".join(f'"{name}"' for name in ("id", "change_set", *names_of(kind)))
    return f'SELECT {columns} FROM "{kind.KIND}"'  # noqa: S608 - names come from declarations


@cache
def _where_key(kind: type[Record]) -> str:
    # the very expression of the unique index where a part may be empty
    return " AND ".join(
        f"ifnull(\"{c.name}\", '') = ifnull(?, '')" if c.nullable else f'"{c.name}" = ?' for c in key_columns(kind)
    )


@cache
def _order(kind: type[Record]) -> str:
    return ", ".join(f'"{c.name}"' for c in key_columns(kind))


def _stored(
    connection: sqlite3.Connection, kind: type[R], where: str, values: Sequence[Any], limit: int = -1
) -> list[Stored[R]]:
    sql = f"{select_sql(kind)} WHERE {where} ORDER BY {_order(kind)} LIMIT {limit}"
    rows = connection.execute(sql, tuple(values))
    return [Stored(row[0], record_of(kind, row[2:]), row[1]) for row in rows]

"""Records as SQL rows and back: one plan per kind, made from its declaration.

A measured value keeps what was typed beside its metric base, an instant its UTC text beside the offset and
exactness it was written with, so that everything comes out of the book as it went in.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar

from core.book.kinds import KINDS, FieldInfo, Measured, Record, fields_of
from core.days import Moment, check_year
from core.errors import EntryError
from core.units import quantity

R = TypeVar("R", bound=Record)
Row = tuple[Any, ...]
"""A stored row without ``id`` and ``change_set``, in the order of :func:`columns_of`."""


@dataclass(frozen=True, slots=True)
class Column:
    """One SQL column: its name, STRICT type, whether it may be NULL, its CHECK and the kind it refers to."""

    name: str
    sql: str
    nullable: bool
    check: str = ""
    to: str = ""


@dataclass(frozen=True, slots=True)
class _Field:
    """How one field becomes columns: ``put`` makes the cell (or cells) of a value, ``take`` the value of the cells."""

    name: str
    columns: tuple[Column, ...]
    put: Callable[[Any], Any] | None
    take: Callable[..., Any] | None


_Single = tuple[str, str, Callable[[Any], Any] | None, Callable[..., Any] | None]  # SQL type, CHECK, put, take


@cache
def columns_of(kind: type[Record]) -> tuple[Column, ...]:
    """The SQL columns of a kind's own fields."""
    return tuple(column for part in _plan(kind) for column in part.columns)


@cache
def names_of(kind: type[Record]) -> tuple[str, ...]:
    """Names of :func:`columns_of`."""
    return tuple(c.name for c in columns_of(kind))


@cache
def key_columns(kind: type[Record]) -> tuple[Column, ...]:
    """The columns that make the natural key; an instant counts by its UTC alone."""
    return tuple(part.columns[0] for part in _plan(kind) if part.name in kind.KEY)


@cache
def slot_columns(kind: type[Record]) -> tuple[str, ...]:
    """The columns that say which versions follow each other; empty for kinds without versions."""
    return tuple(part.columns[0].name for part in _plan(kind) if part.name in kind.SLOT)


@cache
def refs_of(kind: type[Record]) -> tuple[tuple[str, str], ...]:
    """Each column of a kind that holds another kind's code, with that kind's name."""
    return tuple((c.name, c.to) for c in columns_of(kind) if c.to)


@cache
def referrers_of(kind: type[Record]) -> tuple[tuple[type[Record], str], ...]:
    """Each kind and column that may hold a code of this kind."""
    return tuple((k, name) for k in KINDS.values() for name, to in refs_of(k) if to == kind.KIND)


def row_of(record: Record) -> Row:
    """The SQL row of a record.

    Raises:
        EntryError: a day or instant outside the years a book holds.
    """
    cells: list[Any] = []
    values = record.__dict__
    for name, put, several in _puts(type(record)):
        if put is None:
            cells.append(values[name])
        elif several:
            cells.extend(put(values[name]))
        else:
            cells.append(put(values[name]))
    return tuple(cells)


def rows_of(kind: type[Record], records: Sequence[Record]) -> list[Row]:
    """As :func:`row_of` for many records of one kind: field by field, which takes half the time.

    Raises:
        EntryError: as :func:`row_of`.
    """
    values = [record.__dict__ for record in records]
    columns: list[Sequence[Any]] = []
    for name, put, several in _puts(kind):
        cells = [each[name] for each in values]
        if put is None:
            columns.append(cells)
        elif several:
            columns.extend(zip(*map(put, cells), strict=True))
        else:
            columns.append(list(map(put, cells)))
    return list(zip(*columns, strict=True))


def record_of(kind: type[R], row: Row) -> R:
    """The record of an SQL row. What was valid when it was stored is not judged again."""
    values: dict[str, Any] = {}
    at = 0
    for name, width, take in _takes(kind):
        values[name] = row[at] if take is None else take(*row[at : at + width])
        at += width
    return kind.model_construct(**values)


def key_cells(kind: type[Record], key: tuple[Any, ...]) -> Row:
    """The cells of a natural key given as the record would hold it (codes, days, moments, numbers)."""
    by_name = {part.name: part for part in _plan(kind)}
    return tuple(_first_cell(by_name[name], value) for name, value in zip(kind.KEY, key, strict=True))


def equal_cell(kind: type[Record], name: str, value: Any) -> tuple[str, Any]:
    """The column, and the cell to look for in it, that find records whose field has the value."""
    part = {p.name: p for p in _plan(kind)}[name]
    return part.columns[0].name, _first_cell(part, value)


def in_words(record: Record) -> str:
    """A record in words for a sentence: its title and its key."""
    parts = [str(getattr(record, name)) for name in record.KEY if _telling(record, name)]
    return f"{record.TITLE} {', '.join(parts)}" if parts else record.TITLE


def _telling(record: Record, name: str) -> bool:
    value = getattr(record, name)
    return value not in (None, "") and not (name == "nth" and value == 1) and value != record.TITLE


def _first_cell(part: _Field, value: Any) -> Any:
    if isinstance(value, datetime) and part.columns[0].name.endswith("_utc"):
        return value.astimezone(UTC).isoformat()
    cell = value if part.put is None else part.put(value)
    return cell[0] if len(part.columns) > 1 else cell


@cache
def _puts(kind: type[Record]) -> tuple[tuple[str, Callable[[Any], Any] | None, bool], ...]:
    return tuple((part.name, part.put, len(part.columns) > 1) for part in _plan(kind))


@cache
def _takes(kind: type[Record]) -> tuple[tuple[str, int, Callable[..., Any] | None], ...]:
    return tuple((part.name, len(part.columns), part.take) for part in _plan(kind))


@cache
def _plan(kind: type[Record]) -> tuple[_Field, ...]:
    return tuple(_field(info) for info in fields_of(kind))


def _field(info: FieldInfo) -> _Field:
    name, cell = info.name, info.cell
    empty = not info.required and info.default is None

    def column(sql: str, end: str = "", check: str = "", to: str = "") -> Column:
        return Column(name + end, sql, empty, check.format(f'"{name}{end}"'), to)

    if cell.form == "measured":
        columns = (column("REAL", f"_{quantity(cell.quantity).base}"), column("TEXT", "_typed"))
        return _Field(name, columns, _put_measured, _take_measured(cell.quantity))
    if cell.form == "moment":
        exact = column("TEXT", "_exact", "{0} IN ('minute', 'hour', 'day')")
        written = (column("TEXT", "_utc"), column("INTEGER", "_offset_min"), exact)
        return _Field(name, written, _put_moment, _take_moment)
    sql, check, put, take = _SINGLE.get(cell.form, _AS_IT_IS)
    if info.choices:
        check = "{{0}} IN ({})".format(", ".join(f"'{word}'" for word in info.choices))
    return _Field(name, (column(sql, check=check, to=cell.to),), put, take)


def _put_measured(value: Measured | None) -> Row:
    return (None, None) if value is None else (value.base, f"{value.typed} {value.unit}")


def _take_measured(name: str) -> Callable[[float | None, str | None], Measured | None]:
    def take(_base: float | None, text: str | None) -> Measured | None:
        if text is None:
            return None
        typed, _, unit = text.rpartition(" ")
        return Measured(typed, unit, name)

    return take


def _put_moment(value: Moment | None) -> Row:
    if value is None:
        return (None, None, None)
    if value.utc.tzinfo is None:
        raise EntryError(f"“{value.utc}” has no offset from UTC, so it is no instant.")
    utc = value.utc if value.utc.tzinfo is UTC else value.utc.astimezone(UTC)
    check_year(utc, value)
    # isoformat keeps the order of instants as text, with and without fractions of a second
    return (utc.isoformat(), value.offset_minutes, value.exact)


def _take_moment(utc: str | None, offset: int, exact: Any) -> Moment | None:
    return None if utc is None else Moment(datetime.fromisoformat(utc), offset, exact)


def _put_day(value: date | None) -> str | None:
    if value is None:
        return None
    check_year(value, value)
    return value.isoformat()


def _take_day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _put_decimal(value: Decimal | None) -> str | None:
    return None if value is None else str(value)


def _take_decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def _put_yesno(value: bool | None) -> int | None:
    return None if value is None else int(value)


def _take_yesno(value: int | None) -> bool | None:
    return None if value is None else bool(value)


_AS_IT_IS: _Single = ("TEXT", "", None, None)
_SINGLE: dict[str, _Single] = {
    "day": ("TEXT", "{0} IS date({0}, '+0 days')", _put_day, _take_day),
    "decimal": ("TEXT", "", _put_decimal, _take_decimal),
    "yesno": ("INTEGER", "{0} IN (0, 1)", _put_yesno, _take_yesno),
    "whole": ("INTEGER", "", None, None),
    "number": ("REAL", "", None, None),
}

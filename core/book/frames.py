"""Records as tables for the accounts: metric, in UTC, with the right types even when there is nothing.

Column names are field names, except: a measured value is ``<name>_<metric unit>``; an instant is ``<name>`` (UTC)
with ``<name>_offset_min`` and ``<name>_exact``, a day alone as its noon, but in metered use as the midnight it stands
for (:mod:`core.book.whole_days`). Text is held as Python strings, None where nothing was written.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.book.kinds import KINDS, FieldInfo, MeteredUse, Record, fields_of
from core.book.rows import key_columns, names_of
from core.book.whole_days import with_midnights
from core.days import time_zone
from core.units import quantity

HAPPENS = {
    "clock_check": "at",
    "planting": "since",
    "emitter_group": "since",
    "program": "since",
    "pause": "since",
    "meter_reading": "at",
    "metered_use": "end",
    "run": "at",
    "rain": "end",
    "weather": "day",
    "other_use": "start",
    "household": "since",
    "flow_test": "at",
    "catch_test": "at",
    "leak_test": "at",
    "tariff": "since",
    "bill": "until",
    "upkeep": "day",
    "checklist_step": "day",
    "decision": "decided_at",
    "told": "told_at",
}
"""The field that says when a record came about: a total over a span once the span was over. Kinds that are not
named (home, supply, meter, controller, zone, factor_month, normal, task) are what the rest refers to or rests on
and are never hidden."""

_UNIT = pd.date_range("2026-01-01", periods=1).unit  # "ns" before pandas 3, "us" since
_SECONDS = "unixepoch({0})" if sqlite3.sqlite_version_info >= (3, 38) else "CAST(strftime('%s', {0}) AS INTEGER)"
_NO_WHOLE = "-9223372036854775807 - 1"  # the whole number numpy holds to be no time
FEW_WORDS = 40


class Frames(Mapping[str, pd.DataFrame]):
    """The frames of a book by kind, each read when first asked for and kept. They are shared: do not change them."""

    def __init__(self, load: Callable[[str], pd.DataFrame]) -> None:
        self._load = load
        self._held: dict[str, pd.DataFrame] = {}

    def __getitem__(self, kind_name: str) -> pd.DataFrame:
        if kind_name not in self._held:
            if kind_name not in KINDS:
                raise KeyError(kind_name)
            self._held[kind_name] = self._load(kind_name)
        return self._held[kind_name]

    def __iter__(self) -> Iterator[str]:
        return iter(KINDS)

    def __len__(self) -> int:
        return len(KINDS)


def frame(
    connection: sqlite3.Connection, kind: type[Record], as_of: datetime | None = None, zone: ZoneInfo | None = None
) -> pd.DataFrame:
    """All records of a kind, in the order of their keys, as they could be known at an instant.

    Hidden are events after ``as_of``. A day counts as begun once ``as_of`` is past its local midnight, and so
    does an instant known only to the day. Later corrections of what had happened do count. ``zone`` is the
    home's and goes with ``as_of``.
    """
    parts: list[Joined | Single] = [Joined("id", '"id"', np.asarray)]
    for info in fields_of(kind):
        parts += _parts(connection, info)
    where, values = _known_by(kind, as_of, zone) if as_of and zone and kind.KIND in HAPPENS else ("1", ())
    cells = _joined_cells(connection, kind, [part for part in parts if isinstance(part, Joined)], where, values)
    ids = cells["id"]
    for part in parts:
        if isinstance(part, Single):
            cells[part.name] = _single_cells(connection, kind, part, ids)
    rows = pd.DataFrame({part.name: part.finish(cells[part.name]) for part in parts})
    return with_midnights(rows, zone or _home_zone(connection)) if kind is MeteredUse and len(rows) else rows


def _home_zone(connection: sqlite3.Connection) -> ZoneInfo:
    return time_zone(connection.execute('SELECT "timezone" FROM "home"').fetchone()[0])


def _joined_cells(
    connection: sqlite3.Connection, kind: type[Record], parts: Sequence[Joined], where: str, values: tuple[str, ...]
) -> dict[str, Any]:
    """Columns by name, in the order of the keys, which group_concat keeps from the rows it is given."""
    wanted = ", ".join(f"{part.sql} AS c{place}" for place, part in enumerate(parts))  # no name that hides a column
    texts = ", ".join(f"group_concat(c{place})" for place in range(len(parts)))
    order = ", ".join(f'"{c.name}"' for c in key_columns(kind))
    sql = f'SELECT {texts} FROM (SELECT {wanted} FROM "{kind.KIND}" WHERE {where} ORDER BY {order})'  # noqa: S608
    found = connection.execute(sql, values).fetchone()
    return {
        part.name: np.fromstring(text, dtype="i8", sep=",") if text else np.empty(0, dtype="i8")
        for part, text in zip(parts, found, strict=True)
    }


def _single_cells(connection: sqlite3.Connection, kind: type[Record], part: Single, ids: Any) -> Any:
    """One column in the order of ``ids``."""
    sql = f'SELECT "id", {part.sql} FROM "{kind.KIND}" WHERE {part.sql} IS NOT {part.empty_sql}'  # noqa: S608
    found = np.fromiter(connection.execute(sql), dtype=[("id", "i8"), ("cell", part.dtype)])
    found = found[np.isin(found["id"], ids)]  # without those hidden
    column = np.full(len(ids), part.empty, dtype=part.dtype)
    by_id = np.argsort(ids)
    column[by_id[np.searchsorted(ids, found["id"], sorter=by_id)]] = found["cell"]
    return column


def _known_by(kind: type[Record], as_of: datetime, zone: ZoneInfo) -> tuple[str, tuple[str, ...]]:
    """The condition, and its values, that a record had come about by an instant."""
    if as_of.tzinfo is None:
        raise ValueError("as_of needs its offset from UTC")
    name = HAPPENS[kind.KIND]
    last_day = (as_of - timedelta(microseconds=1)).astimezone(zone).date().isoformat()
    if kind is MeteredUse:  # of whole days: known as the last of them is over
        ends, starts = (f'date("{n}_utc", "{n}_offset_min" || \' minutes\')' for n in ("end", "start"))
        over = f"CASE WHEN {ends} > {starts} THEN {ends} ELSE date({ends}, '+1 day') END"
        return (
            f'CASE "end_exact" WHEN \'day\' THEN {over} <= ? ELSE "end_utc" <= ? END',
            (as_of.astimezone(zone).date().isoformat(), as_of.astimezone(UTC).isoformat()),
        )
    if f"{name}_utc" in names_of(kind):
        day = f'date("{name}_utc", "{name}_offset_min" || \' minutes\')'
        return (
            f'CASE "{name}_exact" WHEN \'day\' THEN {day} <= ? ELSE "{name}_utc" <= ? END',
            (last_day, as_of.astimezone(UTC).isoformat()),
        )
    if name == "until":  # the first day no longer covered: what was summed up to it is known when it begins
        return '"until" <= ?', (as_of.astimezone(zone).date().isoformat(),)
    return f'"{name}" <= ?', (last_day,)


@dataclass(frozen=True, slots=True)
class Joined:
    """A column SQLite hands out as whole numbers: instants as microseconds, words as positions in their list.

    It comes as one text for the whole column, since a Python object for each cell takes five times as long. ``sql``
    is never NULL; ``finish`` makes the column of the numbers.
    """

    name: str
    sql: str
    finish: Callable[[Any], Any]


@dataclass(frozen=True, slots=True)
class Single:
    """A column read cell by cell, without those that are ``empty``: of the notes hardly one is written."""

    name: str
    sql: str
    dtype: str
    empty: Any
    empty_sql: str
    finish: Callable[[Any], Any]


def _parts(connection: sqlite3.Connection, info: FieldInfo) -> list[Joined | Single]:
    optional = not info.required and info.default is None
    name, form, column = info.name, info.cell.form, f'"{info.name}"'
    if form == "moment":
        exact = _word(f"{name}_exact", ("minute", "hour", "day"))
        return [Joined(name, _micros(f'"{name}_utc"'), _instants), _whole(f"{name}_offset_min", optional), exact]
    if form == "day":
        return [Joined(name, f"ifnull({_SECONDS.format(column)} / 86400, {_NO_WHOLE})", _days)]
    if form in ("measured", "number", "decimal"):
        return [_number(f"{name}_{quantity(info.cell.quantity).base}" if form == "measured" else name)]
    if form in ("whole", "yesno"):
        return [_whole(name, optional) if form == "whole" else _yes_or_no(name, optional)]
    words = info.choices if form == "choice" else _codes(connection, info.cell.to) if form == "ref" else ()
    if 0 < len(words) <= FEW_WORDS:
        return [_word(name, words)]
    empty, empty_sql = (None, "NULL") if optional else ("", "''")
    return [Single(name, column, "O", empty, empty_sql, _text)]


def _micros(utc: str) -> str:
    """Microseconds of an instant as it is stored, with or without a fraction of a second."""
    whole = _SECONDS.format(f"substr({utc}, 1, 19)")  # SQLite rounds fractions of a second, so without them
    fraction = f"CAST(substr({utc}, 21, 6) AS INTEGER)"
    plain = f"{_SECONDS.format(utc)} * 1000000"
    found = f"CASE WHEN length({utc}) > 25 THEN {whole} * 1000000 + {fraction} ELSE {plain} END"
    return f"ifnull({found}, {_NO_WHOLE})"


def _number(name: str) -> Single:
    return Single(name, f'CAST("{name}" AS REAL)', "f8", np.nan, "NULL", np.asarray)


def _whole(name: str, optional: bool) -> Joined:
    def finish(values: Any) -> Any:
        if not optional:
            return values
        empty = values == np.iinfo("i8").min
        return pd.arrays.IntegerArray(np.where(empty, 0, values), empty)

    return Joined(name, f'ifnull("{name}", {_NO_WHOLE})', finish)


def _yes_or_no(name: str, optional: bool) -> Joined:
    def finish(values: Any) -> Any:
        return pd.arrays.BooleanArray(values == 1, values < 0) if optional else values == 1

    return Joined(name, f'ifnull("{name}", -1)', finish)


def _word(name: str, words: Sequence[str]) -> Joined:
    quoted = (word.replace("'", "''") for word in words)
    cases = " ".join(f"WHEN '{word}' THEN {position}" for position, word in enumerate(quoted))
    listed = np.array([*words, None], dtype=object)  # position -1 is the None at the end
    return Joined(name, f'CASE "{name}" {cases} ELSE -1 END', lambda positions: _text(listed[positions]))


def _codes(connection: sqlite3.Connection, kind_name: str) -> tuple[str, ...]:
    """The codes a reference can hold."""
    return tuple(row[0] for row in connection.execute(f'SELECT "code" FROM "{kind_name}"'))  # noqa: S608


def _text(values: Any) -> Any:
    return pd.Series(values, dtype=object)  # before and since pandas 3 alike, where bare text would lose its None


def _instants(values: Any) -> Any:
    return pd.DatetimeIndex(values.view("M8[us]").astype(f"M8[{_UNIT}]")).tz_localize("UTC")


def _days(values: Any) -> Any:
    return pd.DatetimeIndex(values.view("M8[D]").astype(f"M8[{_UNIT}]"))

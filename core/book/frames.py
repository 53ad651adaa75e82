"""Records as tables for the accounts: metric, in UTC, with the right types even when there is nothing.

Column names are field names, except: a measured value is ``<name>_<metric unit>``; an instant is ``<name>`` (UTC)
with ``<name>_offset_min`` and ``<name>_exact``. Text is held as Python strings, None where nothing was written.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.book.kinds import KINDS, FieldInfo, Record, fields_of
from core.book.rows import key_columns, names_of
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
_NO_NUMBER = "-9e999"  # minus infinity, which no record holds
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
    parts = [Part("id", '"id"', "i8", np.ascontiguousarray)]
    for info in fields_of(kind):
        parts += _parts(connection, info)
    where, values = _known_by(kind, as_of, zone) if as_of and zone and kind.KIND in HAPPENS else ("1", ())
    wanted = ", ".join(part.sql for part in parts)
    order = ", ".join(f'"{c.name}"' for c in key_columns(kind))
    sql = f'SELECT {wanted} FROM "{kind.KIND}" WHERE {where} ORDER BY {order}'  # noqa: S608
    cells = np.fromiter(connection.execute(sql, values), dtype=[(part.name, part.dtype) for part in parts])
    return pd.DataFrame({part.name: part.finish(cells[part.name]) for part in parts})


def _known_by(kind: type[Record], as_of: datetime, zone: ZoneInfo) -> tuple[str, tuple[str, ...]]:
    """The condition, and its values, that a record had come about by an instant."""
    if as_of.tzinfo is None:
        raise ValueError("as_of needs its offset from UTC")
    name = HAPPENS[kind.KIND]
    last_day = (as_of - timedelta(microseconds=1)).astimezone(zone).date().isoformat()
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
class Part:
    """One column of a frame: what to select, as what numpy type it is read, and how that becomes the column.

    SQLite hands out numbers wherever it can (instants as microseconds, words as positions in their list), for
    they are read several times faster than text.
    """

    name: str
    sql: str
    dtype: str
    finish: Callable[[Any], Any]


def _parts(connection: sqlite3.Connection, info: FieldInfo) -> list[Part]:
    optional = not info.required and info.default is None
    name, form, column = info.name, info.cell.form, f'"{info.name}"'
    if form == "moment":
        utc = f'"{name}_utc"'
        exact = _word(f"{name}_exact", ("minute", "hour", "day"))
        whole = _SECONDS.format(f"substr({utc}, 1, 19)")  # SQLite rounds fractions of a second, so without them
        micros = f"{whole} * 1000000"
        micros += f" + CASE WHEN length({utc}) > 25 THEN CAST(substr({utc}, 21, 6) AS INTEGER) ELSE 0 END"
        instant = Part(name, f"ifnull({micros}, {_NO_WHOLE})", "M8[us]", _instants)
        return [instant, _whole(f"{name}_offset_min", optional), exact]
    if form == "day":
        return [Part(name, f"ifnull({_SECONDS.format(column)} / 86400, {_NO_WHOLE})", "M8[D]", _days)]
    if form in ("measured", "number", "decimal"):
        return [_number(f"{name}_{quantity(info.cell.quantity).base}" if form == "measured" else name)]
    if form == "whole":
        return [_whole(name, optional)]
    if form == "yesno":
        return [Part(name, f"ifnull({column}, -1)", "i8", partial(_yes_or_no, optional=optional))]
    words = info.choices if form == "choice" else _codes(connection, info.cell.to) if form == "ref" else ()
    return [_word(name, words) if 0 < len(words) <= FEW_WORDS else Part(name, column, "O", _text)]


def _number(name: str) -> Part:
    return Part(
        name, f'ifnull(CAST("{name}" AS REAL), {_NO_NUMBER})', "f8", lambda a: np.where(a == -np.inf, np.nan, a)
    )


def _whole(name: str, optional: bool) -> Part:
    def finish(values: Any) -> Any:
        if not optional:
            return np.ascontiguousarray(values)
        empty = values == np.iinfo("i8").min
        return pd.arrays.IntegerArray(np.where(empty, 0, values), empty)

    return Part(name, f'ifnull("{name}", {_NO_WHOLE})', "i8", finish)


def _word(name: str, words: Sequence[str]) -> Part:
    quoted = (word.replace("'", "''") for word in words)
    cases = " ".join(f"WHEN '{word}' THEN {position}" for position, word in enumerate(quoted))
    listed = np.array([*words, None], dtype=object)  # position -1 is the None at the end
    return Part(name, f'CASE "{name}" {cases} ELSE -1 END', "i8", lambda positions: _text(listed[positions]))


def _codes(connection: sqlite3.Connection, kind_name: str) -> tuple[str, ...]:
    """The codes a reference can hold."""
    return tuple(row[0] for row in connection.execute(f'SELECT "code" FROM "{kind_name}"'))  # noqa: S608


def _text(values: Any) -> Any:
    return pd.Series(values, dtype=object)  # before and since pandas 3 alike, where bare text would lose its None


def _instants(values: Any) -> Any:
    return pd.DatetimeIndex(values.astype(f"M8[{_UNIT}]")).tz_localize("UTC")


def _days(values: Any) -> Any:
    return pd.DatetimeIndex(values.astype(f"M8[{_UNIT}]"))


def _yes_or_no(values: Any, optional: bool) -> Any:
    return pd.arrays.BooleanArray(values == 1, values < 0) if optional else values == 1

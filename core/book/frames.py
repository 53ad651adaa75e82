"""Records as tables for the accounts: metric, in UTC, with the right types even when there is nothing.

Column names are field names, except: a measured value is ``<name>_<metric unit>``; an instant is ``<name>`` (UTC)
with ``<name>_offset_min`` and ``<name>_exact``. Text is held as Python strings, None where nothing was written.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd

from core.book.kinds import KINDS, FieldInfo, Record, fields_of
from core.book.rows import key_columns
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
}
"""The field that says when a record came about: a total over a span once the span was over. Kinds that are not
named (home, supply, meter, controller, zone, normal, task) are what the rest refers to and are never hidden."""

_UNIT = pd.date_range("2026-01-01", periods=1).unit  # "ns" before pandas 3, "us" since
_UTC = f"datetime64[{_UNIT}, UTC]"
_DAY = f"datetime64[{_UNIT}]"


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


def frame(connection: sqlite3.Connection, kind: type[Record], as_of: datetime | None, zone: ZoneInfo) -> pd.DataFrame:
    """All records of a kind, in the order of their keys, as they could be known at an instant.

    Hidden are events after ``as_of``. A day counts as begun once ``as_of`` is past its local midnight, and so
    does an instant known only to the day. Later corrections of what had happened do count.
    """
    fields = fields_of(kind)
    columns = [column for info in fields for column in _sql_columns(info)]
    wanted = ", ".join(f'"{name}"' for name in ("id", *columns))
    order = ", ".join(f'"{c.name}"' for c in key_columns(kind))
    rows = connection.execute(f'SELECT {wanted} FROM "{kind.KIND}" ORDER BY {order}').fetchall()  # noqa: S608
    cells = dict(zip(("id", *columns), zip(*rows, strict=True), strict=True)) if rows else dict.fromkeys(columns, ())
    made: dict[str, Any] = {"id": _whole(cells.get("id", ()), False)}
    for info in fields:
        made.update(_series(info, cells))
    table = pd.DataFrame(made)
    if as_of is not None and kind.KIND in HAPPENS:
        table = table[_happened(table, kind, as_of, zone)].reset_index(drop=True)
    return table


def _happened(table: pd.DataFrame, kind: type[Record], as_of: datetime, zone: ZoneInfo) -> pd.Series[bool]:
    name = HAPPENS[kind.KIND]
    last_day = pd.Timestamp((as_of - timedelta(microseconds=1)).astimezone(zone).date())
    when = table[name]
    if f"{name}_exact" not in table:
        # a bill is a total over days: it is known once its first day no longer covered has come
        return when <= (pd.Timestamp(as_of.astimezone(zone).date()) if name == "until" else last_day)
    local = (when + pd.to_timedelta(table[f"{name}_offset_min"], unit="min")).dt.tz_localize(None).dt.normalize()
    by_day = table[f"{name}_exact"] == "day"
    return (by_day & (local <= last_day)) | (~by_day & (when <= pd.Timestamp(as_of)))


def _sql_columns(info: FieldInfo) -> tuple[str, ...]:
    if info.cell.form == "measured":
        return (f"{info.name}_{quantity(info.cell.quantity).base}",)
    if info.cell.form == "moment":
        return (f"{info.name}_utc", f"{info.name}_offset_min", f"{info.name}_exact")
    return (info.name,)


def _series(info: FieldInfo, cells: Mapping[str, Any]) -> dict[str, Any]:
    name, form = info.name, info.cell.form
    optional = not info.required and info.default is None
    columns = _sql_columns(info)
    values = cells[columns[0]]
    if form == "moment":
        return {
            name: pd.to_datetime(pd.Series(values, dtype=object), format="ISO8601", utc=True).astype(_UTC),
            columns[1]: _whole(cells[columns[1]], optional),
            columns[2]: pd.Series(cells[columns[2]], dtype=object),
        }
    if form == "day":
        return {name: pd.to_datetime(pd.Series(values, dtype=object), format="%Y-%m-%d").astype(_DAY)}
    if form == "whole":
        return {name: _whole(values, optional)}
    if form == "yesno":
        return {name: pd.Series(values, dtype="boolean" if optional else bool)}
    if form == "decimal":
        return {name: pd.Series([None if v is None else float(v) for v in values], dtype="float64")}
    if form in ("measured", "number"):
        return {columns[0]: pd.Series(values, dtype="float64")}
    return {name: pd.Series(values, dtype=object)}


def _whole(values: Any, optional: bool) -> Any:
    return pd.Series(values, dtype="Int64" if optional else "int64")

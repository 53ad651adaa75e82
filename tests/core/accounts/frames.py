"""Small frames with the columns the book gives, made from the declarations of the record kinds."""

from __future__ import annotations

import math
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.book.kinds import KINDS, fields_of
from core.units import quantity

REAL_DATA = Path(__file__).resolve().parents[3].parent / "shared" / "data"
REAL_BILLS = REAL_DATA / "bills_archcape_leak.csv"
DENVER = ZoneInfo("America/Denver")
MADRID = ZoneInfo("Europe/Madrid")
GALLON_L = 3.785411784  # 231 cubic inches; NIST Handbook 44


def table(kind: str, *rows: dict[str, Any]) -> pd.DataFrame:
    """Rows of a kind as the book's frame. Measured values are given under their metric column name."""
    made: dict[str, Any] = {"id": np.arange(1, len(rows) + 1)}
    for info in fields_of(KINDS[kind]):
        form = info.cell.form
        name = f"{info.name}_{quantity(info.cell.quantity).base}" if form == "measured" else info.name
        values = [row.get(name, info.default) for row in rows]
        if form == "moment":
            made[name] = pd.DatetimeIndex(pd.to_datetime(pd.Series(values, dtype=object), utc=True))
            made[f"{name}_offset_min"] = [row.get(f"{name}_offset_min", -360) for row in rows]
            made[f"{name}_exact"] = pd.Series([row.get(f"{name}_exact", "minute") for row in rows], dtype=object)
        elif form == "day":
            made[name] = pd.DatetimeIndex(pd.to_datetime(pd.Series(values, dtype=object)))
        elif form in ("measured", "number", "decimal"):
            made[name] = np.array([np.nan if v is None else float(v) for v in values], dtype=float)
        elif form == "whole":
            optional = not info.required and info.default is None
            made[name] = pd.array(values, dtype="Int64") if optional else np.array(values, dtype=np.int64)
        elif form == "yesno":
            made[name] = np.array(values, dtype=bool)
        else:
            made[name] = pd.Series(values, dtype=object)
    extra = {k for row in rows for k in row} - set(made)
    assert not extra, f"no such columns in {kind}: {extra}"
    return pd.DataFrame(made)


def local(text: str, tz: ZoneInfo = DENVER, fold: int = 0) -> datetime:
    """A wall time of the home's zone."""
    return datetime.fromisoformat(text).replace(tzinfo=tz, fold=fold)


def meters(**row: Any) -> pd.DataFrame:
    """One meter, a gallon register with seven digits unless said otherwise."""
    return table("meter", {"code": "main", "name": "Main", "supply": "city", "unit": "gal", **row})


def readings(*values: tuple[str, float], tz: ZoneInfo = DENVER, **same: Any) -> pd.DataFrame:
    """Readings of the meter ``main`` at local times."""
    rows = [{"meter": "main", "at": local(at, tz), "register_value": value, **same} for at, value in values]
    return table("meter_reading", *rows)


def uses(*values: tuple[str, str, float], tz: ZoneInfo = DENVER, **same: Any) -> pd.DataFrame:
    """Metered volumes (litres) of the meter ``main`` between local times."""
    rows = [
        {"meter": "main", "start": local(a, tz), "end": local(b, tz), "volume_l": volume, **same}
        for a, b, volume in values
    ]
    return table("metered_use", *rows)


def gal(intervals: pd.DataFrame) -> list[float | None]:
    """Volumes in gallons, None where not knowable."""
    return [None if math.isnan(v) else round(gallons(v), 6) for v in intervals["volume_l"]]


def gallons(litres: float) -> float:
    """Litres as US gallons."""
    return litres / GALLON_L

"""Plants over the days: need, rain, water applied and the store of every planting."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from core.errors import EntryError
from core.notation import parse_shares
from core.water.planting import PlantingStore, planting_factors, planting_store
from core.water.planting_days import planting_days
from core.water.soil import WETTED_FRACTION

Floats = np.ndarray
POT_PARTS = 2  # pots are watered more than once a day; the day is walked in two parts


@dataclass(frozen=True)
class Version:
    """One version of a planting with its record, its store and the days it holds (a slice of the picture's days)."""

    zone: str
    planting: str
    name: str
    first: int
    last: int  # one past the end
    store: PlantingStore
    in_pots: bool
    wetted: float
    need_mm: Floats
    row: pd.Series
    month_factors: Mapping[int, float] = field(default_factory=dict)
    start_share: float = 0.0  # of the store gone before its first day


@dataclass(frozen=True)
class Growth:
    """All plantings over the picture's days.

    ``days`` has one row per day and planting: day, zone, planting, name, area_m2 and the columns of
    :func:`core.water.planting_days.planting_days` (factor, need_mm, rain_mm, applied_mm, depletion_mm, ...), depths
    over ``area_m2``. ``problems`` are sentences about plantings that cannot be reckoned.
    """

    versions: tuple[Version, ...]
    days: pd.DataFrame
    problems: tuple[str, ...]


def planting_versions(
    plantings: pd.DataFrame, by_month: pd.DataFrame, emitters: pd.DataFrame, sky: pd.DataFrame, days: pd.DatetimeIndex
) -> tuple[list[Version], list[str]]:
    """Every version of every planting with its need of each day, and sentences about those that cannot be reckoned.

    Args:
        plantings, emitters: frames of the book. by_month: its plant factors by month.
    """
    versions, problems = [], _unplanted(by_month, plantings)
    own = month_factors(by_month)
    for _, row in plantings.iterrows():
        first = int(days.searchsorted(row["since"]))
        last = len(days) if pd.isna(row["until"]) else int(days.searchsorted(row["until"]))
        if first >= last:
            continue
        try:
            store = planting_store(row)
            mine = own.get((row["zone"], row["code"]), {})
            factor = planting_factors(row, days[first:last], mine)
        except EntryError as error:
            problems.append(f"{row['name']}: {error}")
            continue
        need = factor * sky["reference_et_mm"].to_numpy(float)[first:last]
        versions.append(
            Version(
                zone=row["zone"],
                planting=row["code"],
                name=row["name"],
                first=first,
                last=last,
                store=store,
                in_pots=bool(row["in_pots"]),
                wetted=1.0 if row["in_pots"] else wetted_share(row, emitters),
                need_mm=need,
                row=row,
                month_factors=mine,
            )
        )
    return versions, problems


def month_factors(by_month: pd.DataFrame) -> dict[tuple[str, str], dict[int, float]]:
    """Plant factors set by hand: zone and planting to month to factor."""
    found: dict[tuple[str, str], dict[int, float]] = {}
    for row in by_month.to_dict("records"):
        found.setdefault((row["zone"], row["planting"]), {})[int(row["month"])] = float(row["factor"])
    return found


def areas(versions: list[Version], days: pd.DatetimeIndex) -> pd.DataFrame:
    """Water area of every planting version: zone, planting, since, until, area_m2."""
    return pd.DataFrame(
        {
            "zone": [v.zone for v in versions],
            "planting": [v.planting for v in versions],
            "since": pd.DatetimeIndex([days[v.first] for v in versions]),
            "until": pd.DatetimeIndex([days[v.last - 1] + pd.Timedelta(days=1) for v in versions]),
            "area_m2": np.array([v.store.water_area_m2 for v in versions], dtype=float),
        }
    )


def grow(
    versions: list[Version], problems: list[str], applied: pd.DataFrame, sky: pd.DataFrame, days: pd.DatetimeIndex
) -> Growth:
    """Walk the store of every planting through its days.

    A planting starts full (FAO-56: after a soak at planting), also when it is planted again after a gap; a version that
    follows another without one takes over the share of the store that was left. Where the need of a day or the water
    it got is not known, the store is unknown from then on until a soak; nothing unknown is taken as zero.

    Args:
        applied: zone, planting, day, applied_l: what reached each planting.
    """
    water = {key: rows.set_index("day")["applied_l"] for key, rows in applied.groupby(["zone", "planting"])}
    ended: dict[tuple[str, str, int], float] = {}
    tables, walked = [], []
    for version in sorted(versions, key=lambda v: v.first):
        key = (version.zone, version.planting)
        span = slice(version.first, version.last)
        given = (
            water[key].reindex(days[span]).to_numpy(float) if key in water else np.zeros(version.last - version.first)
        )
        started = replace(version, start_share=ended.get((*key, version.first), 0.0))
        table = walk(started, sky.iloc[span], given, days[span])
        ended[*key, version.last] = _share_gone(table)
        walked.append(started)
        tables.append(table)
    frame = pd.concat(tables, ignore_index=True) if tables else _nothing()
    return Growth(tuple(walked), frame, tuple(problems))


def walk(
    version: Version, sky: pd.DataFrame, given: Floats, days: pd.DatetimeIndex, state: pd.Series | None = None
) -> pd.DataFrame:
    """Days of one version with the water it was given, litres: rows of :attr:`Growth.days`.

    ``state`` is the row of the day before to go on from; without it the version begins as it began.
    """
    table = planting_days(
        version.row,
        days,
        sky["reference_et_mm"].to_numpy(float),
        sky["rain_mm"].to_numpy(float),
        given,
        wetted_fraction=version.wetted,
        start_depletion_mm=version.start_share * version.store.total_available_mm
        if state is None
        else float(state["depletion_mm"]),
        start_outside_mm=None if state is None else float(state["outside_depletion_mm"]),
        month_factors=version.month_factors,
        parts=POT_PARTS if version.in_pots else 1,
    )
    named = {"zone": version.zone, "planting": version.planting, "name": version.name}
    for place, (column, value) in enumerate((named | {"area_m2": version.store.water_area_m2}).items(), start=1):
        table.insert(place, column, value)
    return table


def _share_gone(table: pd.DataFrame) -> float:
    last = table.iloc[-1]
    total = last["total_available_mm"]
    share = last["depletion_mm"] / total if total else 0.0
    return float(share) if np.isfinite(share) else 0.0


def _unplanted(by_month: pd.DataFrame, plantings: pd.DataFrame) -> list[str]:
    """Plant factors by month of plantings that are not in the book: a code mistyped, or removed since."""
    there = set(zip(plantings["zone"], plantings["code"], strict=True))
    strange = sorted({(r["zone"], r["planting"]) for r in by_month.to_dict("records")} - there)
    return [f"A plant factor by month is for “{p}” in zone {z}, which is not planted there." for z, p in strange]


def wetted_share(row: pd.Series, emitters: pd.DataFrame) -> float:
    """The largest share any of the devices that water a planting wets; rain-fed ground counts as wetted whole."""
    shares = [
        WETTED_FRACTION[device]
        for zone, device, waters in zip(emitters["zone"], emitters["device"], emitters["waters"], strict=True)
        if zone == row["zone"] and row["code"] in dict(parse_shares(waters).parts)
    ]
    return max(shares, default=1.0)


def _nothing() -> pd.DataFrame:
    """The columns of a garden without plants."""
    numbers = (
        "area_m2", "factor", "need_mm", "need_l", "rain_mm", "applied_mm", "depletion_mm", "total_available_mm",
        "readily_available_mm", "stress_coefficient", "et_mm", "effective_rain_mm", "effective_applied_mm",
        "percolated_rain_mm", "percolated_applied_mm", "light_rain_mm", "outside_depletion_mm", "percolated_mm",
        "effective_rain_l", "percolated_l",
    )  # fmt: skip
    frame = pd.DataFrame({name: np.empty(0) for name in numbers})
    frame.insert(0, "day", pd.DatetimeIndex([]))
    for place, name in enumerate(("zone", "planting", "name"), start=1):
        frame.insert(place, name, pd.Series(dtype=object))
    return frame.assign(stressed=np.empty(0, dtype=bool))

"""Plants over the days: need, rain, water applied and the store of every planting."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from core.errors import EntryError
from core.notation import parse_shares
from core.water.planting import PlantingStore, planting_factors, planting_store
from core.water.soil import WETTED_FRACTION, root_zone_balance

Floats = np.ndarray
POT_PARTS = 2  # pots are watered more than once a day; the day is walked in two parts


@dataclass(frozen=True)
class Version:
    """One version of a planting with its store and the days it holds (a slice of the picture's days)."""

    zone: str
    planting: str
    name: str
    first: int
    last: int  # one past the end
    store: PlantingStore
    in_pots: bool
    wetted: float
    need_mm: Floats


@dataclass(frozen=True)
class Growth:
    """All plantings over the picture's days.

    ``days`` has one row per day and planting: day, zone, planting, name, area_m2, need_mm, rain_mm, effective_rain_mm,
    applied_mm, depletion_mm, total_available_mm, readily_available_mm, stress_coefficient, percolated_mm, stressed.
    ``problems`` are sentences about plantings that cannot be reckoned.
    """

    versions: tuple[Version, ...]
    days: pd.DataFrame
    problems: tuple[str, ...]


def planting_versions(
    plantings: pd.DataFrame, emitters: pd.DataFrame, sky: pd.DataFrame, days: pd.DatetimeIndex
) -> tuple[list[Version], list[str]]:
    """Every version of every planting with its need of each day, and sentences about those that cannot be reckoned."""
    versions, problems = [], []
    for _, row in plantings.iterrows():
        first = int(days.searchsorted(row["since"]))
        last = len(days) if pd.isna(row["until"]) else int(days.searchsorted(row["until"]))
        if first >= last:
            continue
        try:
            store = planting_store(row)
            factor = planting_factors(row, days[first:last])
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
                wetted=1.0 if row["in_pots"] else _wetted(row, emitters),
                need_mm=need,
            )
        )
    return versions, problems


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

    A planting's first version starts full (FAO-56: after a soak at planting); a later version takes over the share of
    its store that the one before had left. Need of a day whose weather is not known is bridged by the reference ET;
    where even that is missing the day's need counts as unknown and the store stays unknown until a soak.

    Args:
        applied: zone, planting, day, applied_mm: what reached each planting.
    """
    water = {key: rows.set_index("day")["applied_mm"] for key, rows in applied.groupby(["zone", "planting"])}
    ended: dict[tuple[str, str], float] = {}
    tables = []
    for version in sorted(versions, key=lambda v: v.first):
        key = (version.zone, version.planting)
        span = slice(version.first, version.last)
        given = (
            water[key].reindex(days[span]).fillna(0.0).to_numpy(float)
            if key in water
            else np.zeros(version.last - version.first)
        )
        table = _walk(version, sky.iloc[span], given, ended.get(key, 0.0), days[span])
        ended[key] = _share_gone(table)
        tables.append(table)
    frame = pd.concat(tables, ignore_index=True) if tables else _nothing()
    return Growth(tuple(versions), frame, tuple(problems))


def _walk(
    version: Version, sky: pd.DataFrame, given: Floats, share_gone: float, days: pd.DatetimeIndex
) -> pd.DataFrame:
    store = version.store
    rain = sky["rain_mm"].to_numpy(float) * store.rain_share
    balance = root_zone_balance(
        version.need_mm,
        rain,
        given,
        store.total_available_mm,
        store.depletion_fraction,
        start_depletion_mm=share_gone * store.total_available_mm,
        reference_et_mm=sky["reference_et_mm"].to_numpy(float),
        wetted_fraction=version.wetted,
        parts=POT_PARTS if version.in_pots else 1,
    )
    return pd.DataFrame(
        {
            "day": days,
            "zone": version.zone,
            "planting": version.planting,
            "name": version.name,
            "area_m2": store.water_area_m2,
            "need_mm": version.need_mm,
            "rain_mm": rain,
            "effective_rain_mm": balance.effective_rain_mm,
            "applied_mm": given,
            "depletion_mm": balance.depletion_mm,
            "total_available_mm": balance.total_available_mm,
            "readily_available_mm": balance.readily_available_mm,
            "stress_coefficient": balance.stress_coefficient,
            "percolated_mm": balance.percolated_mm,
            "stressed": balance.stressed,
        }
    )


def _share_gone(table: pd.DataFrame) -> float:
    last = table.iloc[-1]
    total = last["total_available_mm"]
    share = last["depletion_mm"] / total if total else 0.0
    return float(share) if np.isfinite(share) else 0.0


def _wetted(row: pd.Series, emitters: pd.DataFrame) -> float:
    """The largest share any of the devices that water a planting wets; rain-fed ground counts as wetted whole."""
    shares = [
        WETTED_FRACTION[device]
        for zone, device, waters in zip(emitters["zone"], emitters["device"], emitters["waters"], strict=True)
        if zone == row["zone"] and row["code"] in dict(parse_shares(waters).parts)
    ]
    return max(shares, default=1.0)


def _nothing() -> pd.DataFrame:
    numbers = (
        "area_m2", "need_mm", "rain_mm", "effective_rain_mm", "applied_mm", "depletion_mm", "total_available_mm",
        "readily_available_mm", "stress_coefficient", "percolated_mm",
    )  # fmt: skip
    frame = pd.DataFrame({name: np.empty(0) for name in numbers})
    frame.insert(0, "day", pd.DatetimeIndex([]))
    for place, name in enumerate(("zone", "planting", "name"), start=1):
        frame.insert(place, name, pd.Series(dtype=object))
    return frame.assign(stressed=np.empty(0, dtype=bool))

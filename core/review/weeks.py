"""Enough or too much: each zone's water by day, week and month, in litres and money.

What went where closes by construction and is tested: need = met + short; applied = kept in the root zone + drained
below it + fallen where nothing grows + not known.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from core.review.costs import worth
from core.review.enough import is_too_much
from core.review.picture import Picture, between

LITRES = (
    "need_l", "met_l", "short_l", "effective_rain_l", "rain_l", "applied_l", "kept_l", "drained_l", "unplanted_l",
    "unknown_l", "percolated_l", "excess_l",
)  # fmt: skip


def planting_water(picture: Picture, first: date, last: date) -> pd.DataFrame:
    """Every planting on every day from ``first`` to ``last`` in litres.

    A day on which the need or the store is not known counts with its applied water alone, as ``unknown_l``.

    Returns:
        The columns of the picture's growth with need_l, met_l, short_l, rain_l, effective_rain_l, applied_l, kept_l (of
        it, in the root zone), drained_l (of it, below the roots), percolated_l (rain and applied), unknown_l; known,
        resting, unwritten, and ``stressed`` counted only while the plants are not at rest and what they got is known.
    """
    rows = between(picture.growth.days, first, last)
    area, known = rows["area_m2"], rows[["need_mm", "et_mm", "applied_mm"]].notna().all(axis=1)
    applied = rows["applied_mm"] * area
    litres = {
        "need_l": rows["need_mm"] * area,
        "met_l": rows["et_mm"] * area,
        "short_l": (rows["need_mm"] - rows["et_mm"]) * area,
        "rain_l": rows["rain_mm"] * area,
        "effective_rain_l": rows["effective_rain_mm"] * area,
        "kept_l": rows["effective_applied_mm"] * area,
        "drained_l": rows["percolated_applied_mm"] * area,
        "percolated_l": rows["percolated_mm"] * area,
    }
    resting, unwritten = (_held(picture, rows, name) for name in ("resting", "unwritten"))
    return rows.assign(
        **{name: values.where(known) for name, values in litres.items()},
        applied_l=applied,
        unknown_l=applied.where(~known, 0.0).fillna(0.0),
        known=known,
        resting=resting,
        unwritten=unwritten,
        stressed=rows["stressed"].to_numpy(bool) & ~resting & ~unwritten,
    )


def zone_water(picture: Picture, water: pd.DataFrame, first: date, last: date) -> pd.DataFrame:
    """Every zone on every day: its plantings summed, and what was applied where nothing grows.

    Args:
        water: from :func:`planting_water`, of the same days.

    Returns:
        zone, day, the columns named in LITRES (excess_l: drained, or fallen where nothing grows while something else in
        the zone does), planted (whether anything stands there that day), known, stressed, missed, flow_known (False
        where it ran and its flow is not written down).
    """
    days = between(picture.zone_days, first, last)
    table = days[["zone", "day"]].copy()
    sums = [name for name in LITRES if name not in ("applied_l", "unplanted_l", "excess_l")]
    parts = water.groupby(["zone", "day"])[[*sums, "applied_l"]].sum()
    flags = water.groupby(["zone", "day"]).agg({"known": "min", "stressed": "max"})
    at = pd.MultiIndex.from_frame(table)
    parts, flags = parts.reindex(at), flags.reindex(at)
    applied = days["applied_l"].to_numpy(float)
    given = parts["applied_l"].fillna(0.0).to_numpy(float)
    out = table.assign(**{name: parts[name].fillna(0.0).to_numpy(float) for name in sums})
    left = np.nan_to_num(applied) - given
    left = np.where(np.abs(left) > 1e-9 * np.maximum(np.nan_to_num(applied), 1.0), left, 0.0)
    planted = parts["applied_l"].notna().to_numpy(bool)
    return out.assign(
        applied_l=np.nan_to_num(applied),
        unplanted_l=left,
        excess_l=out["drained_l"] + np.where(planted, left, 0.0),
        planted=planted,
        known=flags["known"].ne(False).to_numpy(bool),
        stressed=flags["stressed"].eq(True).to_numpy(bool),
        missed=(days["state"] == "missed").to_numpy(bool),
        flow_known=np.isfinite(applied),
    )


def zone_weeks(zone_days: pd.DataFrame) -> pd.DataFrame:
    """Sums by zone and week, Monday to Sunday, cut at the edges of the days given so that the weeks sum to the whole.

    Args:
        zone_days: from :func:`zone_water`.

    Returns:
        zone, first, last, the columns named in LITRES, days_short, days_missed, days_unknown.
    """
    monday = zone_days["day"] - pd.to_timedelta(zone_days["day"].dt.day_of_week, unit="D")
    return _summed(zone_days.assign(week=monday), ["zone", "week"]).drop(columns="week")


def zone_totals(zone_days: pd.DataFrame) -> pd.DataFrame:
    """As :func:`zone_weeks`, over all days given, with ``too_much``: whether excess_l is, for the plants' need."""
    out = _summed(zone_days, ["zone"])
    needed = zip(out["need_l"], out["effective_rain_l"], out["excess_l"], strict=True)
    return out.assign(too_much=np.array([is_too_much(*row) for row in needed], dtype=bool))


def by_planting(water: pd.DataFrame) -> pd.DataFrame:
    """Sums of :func:`planting_water` by planting: zone, planting, excess_l, short_l."""
    sums = water.assign(excess_l=water["drained_l"]).groupby(["zone", "planting"], sort=False)
    return sums[["excess_l", "short_l"]].sum().reset_index()


def zone_money(picture: Picture, zone_days: pd.DataFrame) -> pd.DataFrame:
    """What each zone's water too much cost and what the water that lacked would have cost: the bill with it less the
    bill without. Indexed by zone: excess_money, short_money; NaN without a meter or tariff.
    """
    lacked = zone_days.assign(short_l=-zone_days["short_l"])
    return pd.DataFrame(
        {"excess_money": priced(picture, zone_days, "excess_l"), "short_money": priced(picture, lacked, "short_l")}
    )


def priced(picture: Picture, zone_days: pd.DataFrame, column: str) -> pd.Series:
    """What a column of litres costs by zone, as :func:`money_of`, never below 0; NaN without a meter or tariff."""
    found = {
        str(zone): money_of(picture, str(zone), days.set_index("day")[column])
        for zone, days in zone_days.groupby("zone", sort=False)
    }
    return pd.Series({zone: np.nan if money is None else abs(money) for zone, money in found.items()}, dtype=float)


def share_money(table: pd.DataFrame, totals: pd.DataFrame, money: pd.DataFrame) -> pd.DataFrame:
    """A table by zone and something else with its share, by litres, of what each zone's water cost.

    Args:
        table: has zone, excess_l, short_l. totals: from :func:`zone_totals`. money: from :func:`zone_money`.
    """
    whole, price = totals.set_index("zone"), money.reindex(table["zone"])
    out = table
    for name in ("excess", "short"):
        litres = whole[f"{name}_l"].reindex(table["zone"]).to_numpy(float)
        share = np.divide(table[f"{name}_l"], litres, out=np.zeros(len(table)), where=litres > 0)
        out = out.assign(**{f"{name}_money": price[f"{name}_money"].to_numpy(float) * share})
    return out


def money_of(picture: Picture, zone: str, by_day: pd.Series) -> float | None:
    """What litres by day through a zone cost by its supply's tariff; negative litres are water not used."""
    zones = picture.frames["zone"].set_index("code")["supply"]
    meter = next((m for m, supply in picture.supply_of.items() if supply == zones.get(zone)), None)
    if meter is None:
        return None
    found = worth(picture, meter, by_day, "this water")
    return None if found is None else found.value


def _summed(days: pd.DataFrame, keys: list[str]) -> pd.DataFrame:
    groups = days.groupby(keys, sort=False)
    out = groups[list(LITRES)].sum()
    out.insert(0, "first", groups["day"].min())
    out.insert(1, "last", groups["day"].max())
    return out.assign(
        days_short=groups["stressed"].sum(),
        days_missed=groups["missed"].sum(),
        days_unknown=(~days["known"]).groupby([days[k] for k in keys], sort=False).sum(),
    ).reset_index()


def unwritten_zones(picture: Picture, first: date, last: date) -> frozenset[str]:
    """Zones watered by hand of which nobody wrote anything down in these days."""
    days = between(picture.zone_days, first, last)
    return frozenset(str(zone) for zone in days.loc[days["unwritten"], "zone"].unique())


def resting_zones(picture: Picture, first: date, last: date) -> frozenset[str]:
    """Zones whose plants were at rest for the winter on most of these days."""
    days = between(picture.zone_days, first, last)
    share = days.groupby("zone")["resting"].mean()
    return frozenset(str(zone) for zone in share.index[share > 0.5])


def _held(picture: Picture, rows: pd.DataFrame, name: str) -> np.ndarray:
    by_day = picture.zone_days.set_index(["zone", "day"])[name]
    found = by_day.reindex(pd.MultiIndex.from_frame(rows[["zone", "day"]]))
    return found.eq(True).to_numpy(bool)

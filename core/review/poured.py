"""Watering by hand that somebody wrote down: water of its zone in the month's parts, not other use.

The accounts take what was written down as one sum, for they only have to know what is explained. Who reads a month
wants the hose's water where the plants it went to are.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from core.accounts.applied import logged_by_day
from core.accounts.instants import to_ms
from core.review.picture import Picture


def days_with_zones(picture: Picture, days: pd.DataFrame, first: date, last: date) -> pd.DataFrame:
    """Use by day and part (day, part, volume_l, sd_l, kind, meter) with watering taken out of "other" into its zone.

    A zone watered by hand of which nobody wrote anything down has no rows: none is known, which is not 0.
    """
    poured = logged_by_day(picture.uses[picture.uses["zone"].notna()], picture.tz, first, last)
    poured = poured.groupby(["day", "meter", "zone"], as_index=False)[["volume_l", "variance"]].sum()
    rows = days[days["part"] == "other"].drop(columns=["part", "sd_l"]).rename(columns={"volume_l": "other_l"})
    whole = rows.groupby(["day", "meter"])["other_l"].transform("sum")
    rows = rows.assign(share=(rows["other_l"] / whole).where(whole > 0, 0.0), whole_l=whole)
    moved = rows.merge(poured, on=["day", "meter"])
    # Where a clock change shifts a use a little over midnight, no more is taken than is there.
    asked = moved.groupby(["day", "meter", "kind"])["volume_l"].transform("sum")
    part = moved["share"] * (moved["whole_l"] / asked.where(asked > 0, 1.0)).clip(upper=1.0)
    given = moved.assign(
        part="zone:" + moved["zone"].astype(str),
        volume_l=moved["volume_l"] * part,
        sd_l=np.sqrt(moved["variance"]) * part,
    )
    taken = given.assign(part="other", volume_l=-given["volume_l"], sd_l=0.0)
    every = pd.concat([days, given[days.columns], taken[days.columns]], ignore_index=True)
    every["sd_l"] **= 2
    every = every.groupby(["day", "kind", "meter", "part"], as_index=False, sort=False)[["volume_l", "sd_l"]].sum()
    every["sd_l"] **= 0.5
    zones = picture.frames["zone"]
    hand = set("zone:" + zones.loc[zones["hand"], "code"].astype(str))
    known = every.groupby("part")["volume_l"].transform("sum") > 0
    kept = every[known | ~every["part"].isin(hand)]
    return kept[days.columns].sort_values(["day", "kind", "part"], kind="stable", ignore_index=True)


def intervals_with_zones(picture: Picture, intervals: pd.DataFrame) -> pd.DataFrame:
    """Meter intervals with watering by hand counted to ``zones_l`` and not to ``other_l``."""
    uses = picture.uses[picture.uses["zone"].notna()]
    if uses.empty or intervals.empty:
        return intervals
    start, end = to_ms(intervals["start"]), to_ms(intervals["end"])
    begins, ends = to_ms(uses["start"]), to_ms(uses["end"])
    near = (ends > start.min()) & (begins < end.max())
    poured = np.zeros(len(intervals))
    meters, meter = uses["meter"].fillna("").to_numpy(object), intervals["meter"].fillna("").to_numpy(object)
    for at in np.flatnonzero(near):
        inside = np.minimum(end, ends[at]) - np.maximum(start, begins[at])
        share = np.clip(inside, 0, None) / (ends[at] - begins[at])
        poured += share * float(uses["volume_l"].iloc[at]) * (meter == meters[at])
    poured = np.minimum(poured, intervals["other_l"].to_numpy(float))
    return intervals.assign(zones_l=intervals["zones_l"] + poured, other_l=intervals["other_l"] - poured)

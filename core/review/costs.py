"""Money: what the month, a part, a finding or a saving is worth by the tariff."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd

from core.accounts.findings import Finding
from core.accounts.money import cost_of, cost_of_days
from core.figures import Figure, Line
from core.review.picture import Picture

NO_LOSS = ("misread", "two_meters")  # kinds of finding that take no water
NO_DAYS = pd.Series(dtype=float, index=pd.DatetimeIndex([]))


def month_cost(picture: Picture, first: date, last: date) -> Figure:
    """What the metered days of a month cost: their share of the bills, base charges by days."""
    water, fixed, working, known = 0.0, 0.0, [], False
    for supply, tariffs in picture.frames["tariff"].groupby("supply"):
        total = picture.metered.get(str(supply), NO_DAYS)
        inside = total[pd.Timestamp(first) : pd.Timestamp(last)]
        if inside.empty:
            continue
        known = True
        charge = cost_of_days(total, tariffs, first, inside.index.max().date())
        water += charge.water + charge.sewer
        fixed += charge.fixed
        working += [
            Line("metered volume", float(inside.sum()), "l", "your meter"),
            Line("charges by volume", charge.water + charge.sewer, "money", f"your tariff of {supply}"),
            Line("base charges, by days", charge.fixed, "money", f"your tariff of {supply}"),
        ]
    if not known:
        note = (
            "Write down your tariff to see what it cost." if picture.frames["tariff"].empty else "No metered day yet."
        )
        return Figure(None, "money", note=note)
    return Figure(water + fixed, "money", working=tuple(working), note="Bills may add taxes and rounding.")


def worth(picture: Picture, meter: str, by_day: pd.Series, what: str) -> Figure | None:
    """What a volume (litres on local days) through a meter cost: bill with it less bill without it, by period.

    A negative volume (a saving) is worth the bill with it added less the bill. None without a tariff.
    """
    supply = picture.supply_of.get(meter, "")
    tariffs = picture.frames["tariff"]
    tariffs = tariffs[tariffs["supply"] == supply]
    if tariffs.empty or by_day.empty:
        return None
    if not by_day.fillna(0.0).any():  # as most zones on most days: no bill is needed to know that nothing costs nothing
        return Figure(0.0, "money")
    table = cost_of(by_day, picture.metered.get(supply, NO_DAYS), tariffs)
    if table.empty:
        return None
    lines = tuple(
        Line(
            f"bill from {row['since']:%d %b %Y}, {what}", float(row["cost"]), "money", "bill with it less bill without"
        )
        for row in table.to_dict("records")
        if abs(row["cost"]) > 0.005
    )
    return Figure(float(table["cost"].sum()), "money", working=lines)


def finding_cost(picture: Picture, finding: Finding) -> Figure | None:
    """What the water of a finding cost, its volume spread evenly over its days; what goes on is metered so far. None
    where no water is lost: readings that are wrong, and water that was to come, at another time.
    """
    if finding.volume.value is None or finding.kind in NO_LOSS or finding.only_in_time or finding.volume.value <= 0:
        return None
    account = picture.accounts.get(finding.meter)
    ends = finding.until or (account and account.metered_through) or picture.as_of
    last = max(finding.since, ends - timedelta(microseconds=1))  # what ends at midnight ends with the day before
    first, end = (pd.Timestamp(t).tz_convert(picture.tz).tz_localize(None).normalize() for t in (finding.since, last))
    days = pd.date_range(first, end)
    return worth(picture, finding.meter, pd.Series(finding.volume.value / len(days), index=days), "this water")


def main_meter(picture: Picture) -> str:
    """The meter that counts most of the use: the one money of the garden is reckoned by."""
    totals = {m: float(np.nansum(a.intervals["metered_l"])) for m, a in picture.accounts.items() if len(a.intervals)}
    return max(totals, key=lambda m: totals[m]) if totals else next(iter(picture.accounts), "")

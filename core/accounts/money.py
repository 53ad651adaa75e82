"""What water costs: bills by block tariff, and the cost of a part as the bill with it less the bill without it."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from core.accounts.periods import billing_periods
from core.accounts.registers import billed_units
from core.notation import parse_tiers
from core.units import to_base

Tariff = Mapping[Hashable, Any]
LEAST_WINTER_DAYS = 60  # Austin TX averages from 60 days of use on


@dataclass(frozen=True, slots=True)
class Charge:
    """One bill: ``fixed`` (base charges), ``water`` and ``sewer`` by volume, in the home's currency."""

    fixed: float
    water: float
    sewer: float

    @property
    def total(self) -> float:
        """The whole bill; taxes and credits are not in it."""
        return self.fixed + self.water + self.sewer

    def __add__(self, other: Charge) -> Charge:
        return Charge(self.fixed + other.fixed, self.water + other.water, self.sewer + other.sewer)

    def __mul__(self, share: float) -> Charge:
        return Charge(self.fixed * share, self.water * share, self.sewer * share)


def bill(volume_l: float, tariff: Tariff, winter_l: float | None = None) -> Charge:
    """The bill of one period.

    Use in billing units, rounded as the tariff says, less the included units, runs through the price steps; steps
    count from the end of what is included. Sewer follows the use, or the winter average, or nothing.

    Args:
        volume_l: use of the period, litres; below 0 counts as 0.
        tariff: a row of the tariff frame.
        winter_l: litres a period by the winter average; where it is not known sewer follows the use.
    """
    unit_l = to_base(1, tariff["unit"], "volume")
    units = billed_units(max(volume_l, 0.0) / unit_l, 1.0, tariff["rounding"])
    excess = max(units - float(tariff["included"]), 0.0)
    water, below = 0.0, 0.0
    for step in parse_tiers(tariff["prices"]).steps:
        upper = float(step.up_to) if step.up_to is not None else float("inf")
        water += max(min(excess, upper) - below, 0.0) * float(step.price)
        below = upper
    follows = tariff["sewer_follows"]
    sewer_units = winter_l / unit_l if follows == "winter" and winter_l is not None else units
    sewer = 0.0 if follows == "none" else sewer_units * float(tariff["sewer_price"])
    return Charge(float(tariff["base"]) + float(tariff["sewer_base"]), water, sewer)


def tariff_versions(tariffs: pd.DataFrame) -> list[Tariff]:
    """The versions of one supply's tariff in the order in which they hold."""
    return list(tariffs.sort_values("since").to_dict("records"))


def period_bill(
    volume_l: float, rows: Sequence[Tariff], since: date, until: date, winter_l: float | None = None
) -> Charge:
    """The bill of a period in which the tariff may change.

    Each version (``rows``, as :func:`tariff_versions` gives them) that holds in the period bills the whole volume, and
    counts by its share of the days; utilities that prorate otherwise differ by cents. Days before the first version are
    billed at it, days after the last at the last.
    """
    total = Charge(0.0, 0.0, 0.0)
    for index, row in enumerate(rows):
        opens = since if index == 0 else max(pd.Timestamp(row["since"]).date(), since)
        closes = until if index + 1 == len(rows) else min(pd.Timestamp(rows[index + 1]["since"]).date(), until)
        if closes > opens:
            total += bill(volume_l, row, winter_l) * ((closes - opens).days / (until - since).days)
    return total


def cost_of(volume_by_day: pd.Series, total_by_day: pd.Series, tariffs: pd.DataFrame) -> pd.DataFrame:
    """What a part of the use cost: in each billing period the bill with it less the bill without it.

    The last litres are the dearest under climbing prices, so parts priced one by one need not add up to the bill.

    Args:
        volume_by_day: litres of the part on local days (DatetimeIndex); NaN counts as none.
        total_by_day: all metered litres on local days, over the whole of the billing periods touched.
        tariffs: versions of one supply's tariff.

    Returns:
        since, until (first day of the next), volume_l, total_l, bill, cost for each billing period touched; empty
        without a tariff or a day.
    """
    rows = []
    if len(tariffs) and len(volume_by_day):
        first, last = volume_by_day.index.min().date(), volume_by_day.index.max().date()
        versions = tariff_versions(tariffs)
        for since, until in billing_periods(tariffs, first, last):
            part, total = _within(volume_by_day, since, until), _within(total_by_day, since, until)
            winter = _winter_l(total_by_day, since, until)
            whole = period_bill(total, versions, since, until, winter).total
            without = period_bill(total - part, versions, since, until, winter).total
            rows.append((pd.Timestamp(since), pd.Timestamp(until), part, total, whole, whole - without))
    return pd.DataFrame(rows, columns=["since", "until", "volume_l", "total_l", "bill", "cost"])


def cost_of_days(total_by_day: pd.Series, tariffs: pd.DataFrame, first: date, last: date) -> Charge:
    """What the days from ``first`` to ``last`` cost: their share of each bill.

    Fixed charges count by days, charges by volume in proportion to the litres, so the days of a billing period
    add up to its bill. A period not yet over is billed as far as it is metered.
    """
    total = Charge(0.0, 0.0, 0.0)
    if not len(tariffs):
        return total
    versions = tariff_versions(tariffs)
    for since, until in billing_periods(tariffs, first, last):
        opens, closes = max(since, first), min(until, last + timedelta(days=1))
        whole, part = _within(total_by_day, since, until), _within(total_by_day, opens, closes)
        charge = period_bill(whole, versions, since, until, _winter_l(total_by_day, since, until))
        days = (closes - opens).days / (until - since).days
        litres = part / whole if whole > 0 else days
        total += Charge(charge.fixed * days, charge.water * litres, charge.sewer * litres)
    return total


def winter_average(
    volumes: Sequence[float], days: Sequence[int] | None = None, *, drop: tuple[int, int] = (0, 0)
) -> float:
    """Mean winter use: of each period, or a day when the days of each period are given.

    Args:
        volumes: one per period, any unit.
        days: service days of each period; the mean is then total volume over total days, as Rio Rancho NM counts.
        drop: how many of the highest and of the lowest periods are left out (Shreveport LA: 1 and 1).
    """
    order = np.argsort(np.asarray(volumes, dtype=float), kind="stable")
    kept = order[drop[1] : len(order) - drop[0]]
    divisor = np.asarray(days, dtype=float)[kept].sum() if days is not None else len(kept)
    return float(np.asarray(volumes, dtype=float)[kept].sum() / divisor)


def leak_credit(
    use_l: float, normal_l: Sequence[float], share: float = 0.5, step_l: float = 0.0
) -> tuple[float, float]:
    """What a utility might count as a leak: use above the mean of normal periods, and the share it may forgive.

    Utilities differ: normal is the same quarter of earlier years or the months before; Wildwood NJ forgives half,
    in whole steps in the customer's favour (rounded up).
    """
    excess = max(use_l - float(np.mean(normal_l)), 0.0)
    credit = share * excess
    return excess, float(np.ceil(credit / step_l - 1e-9) * step_l) if step_l > 0 else credit


def _within(by_day: pd.Series, since: date, until: date) -> float:
    index = pd.DatetimeIndex(by_day.index)
    inside = (index >= pd.Timestamp(since)) & (index < pd.Timestamp(until))
    return float(np.nansum(by_day.to_numpy(dtype=float)[inside]))


def _winter_l(total_by_day: pd.Series, since: date, until: date) -> float | None:
    """Litres a period by the last December to February before it, as Rio Rancho NM and Oklahoma City count.

    None when fewer than 60 of its days are metered.
    """
    closes = date(since.year, 3, 1)
    if since < closes:
        closes = date(since.year - 1, 3, 1)
    opens = date(closes.year - 1, 12, 1)
    index = pd.DatetimeIndex(total_by_day.index)
    inside = ((index >= pd.Timestamp(opens)) & (index < pd.Timestamp(closes))) & total_by_day.notna().to_numpy()
    known = total_by_day.to_numpy(dtype=float)[inside]
    if len(known) < LEAST_WINTER_DAYS:
        return None
    return winter_average(known.tolist(), [1] * len(known)) * (until - since).days

"""The month's use by part. The parts of the metered days sum to the metered total."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd

from core.figures import NINETY, Figure, Line
from core.review.costs import worth
from core.review.month import PART_NAMES, PartUse
from core.review.picture import Picture, between
from core.review.poured import days_with_zones, intervals_with_zones
from core.units import to_base

ONE_READING = "One meter reading is in the book; use is known from the second on."
DID_NOT_COME = "of it did not come, by what the meter shows"
SHORT_SHARE = 0.02  # of a part, from which on what did not come is worth a line


def month_days_frame(picture: Picture, first: date, last: date) -> pd.DataFrame:
    """Use of each day and part over all meters: day, part, volume_l, sd_l, kind, meter. Watering is of its zone."""
    frames = [a.by_day.assign(meter=m) for m, a in picture.accounts.items() if len(a.by_day)]
    if not frames:
        return pd.DataFrame(columns=["day", "part", "volume_l", "sd_l", "kind", "meter"])
    days = between(pd.concat(frames, ignore_index=True), first, last)
    return days_with_zones(picture, days, first, last)


def part_uses(picture: Picture, days: pd.DataFrame) -> tuple[PartUse, ...]:
    """Indoor, each zone with watering by hand, logged other, unexplained, in that order, over the metered days."""
    metered = days[days["kind"] == "metered"]
    names = picture.zone_names
    order = ["indoor", *(f"zone:{z}" for z in names), "other", "unexplained"]
    out = []
    for part in order:
        rows = metered[metered["part"] == part]
        if rows.empty:
            continue
        value, sd = float(rows["volume_l"].sum()), _sd(part, rows["sd_l"])
        name = names.get(part.removeprefix("zone:"), PART_NAMES.get(part, part))
        cost = _cost(picture, rows, name) if part != "indoor" and abs(value) > 1 else None
        figure = Figure(
            value, "volume", value - NINETY * sd, value + NINETY * sd, _working(picture, part, value, rows["day"])
        )
        out.append(PartUse(part, name, figure, cost))
    return tuple(out)


def _sd(part: str, by_day: pd.Series) -> float:
    """Of a month by that of its days: a zone's flow is off by the same share every day, so spreads add up."""
    return float(by_day.sum() if part.startswith("zone:") else np.sqrt((by_day**2).sum()))


def _cost(picture: Picture, rows: pd.DataFrame, name: str) -> Figure | None:
    """What a part cost by the tariff of each supply it came from."""
    found = []
    for _, own in rows.groupby(rows["meter"].map(picture.supply_of)):
        cost = worth(picture, own["meter"].iloc[0], own.groupby("day")["volume_l"].sum(), name)
        found += [cost] if cost is not None else []
    lines = tuple(line for cost in found for line in cost.working)
    return Figure(sum(cost.value or 0.0 for cost in found), "money", working=lines) if found else None


def used(picture: Picture, parts: tuple[PartUse, ...], days: pd.DataFrame, intervals: pd.DataFrame) -> Figure:
    """The metered total of the month."""
    metered = days[days["kind"] == "metered"]
    if metered.empty:
        return Figure(
            None, "volume", note=ONE_READING if one_reading(picture) else "No meter reading covers this month."
        )
    value = float(metered["volume_l"].sum())
    lines = [Line(p.name, p.volume.value or 0.0, "l", "") for p in parts]
    lines.append(Line("Together", value, "l", f"{len(intervals)} stretches between your readings"))
    sd = _edge_sd(picture, intervals, metered)
    return Figure(value, "volume", value - NINETY * sd, value + NINETY * sd, tuple(lines))


def month_intervals(picture: Picture, first: date, last: date) -> pd.DataFrame:
    """Every meter interval that touches the month."""
    frames = [a.intervals for a in picture.accounts.values() if len(a.intervals)]
    if not frames:
        return pd.DataFrame(
            columns=[
                "meter",
                "start",
                "end",
                "metered_l",
                "indoor_l",
                "zones_l",
                "other_l",
                "unexplained_l",
                "sd_l",
                "note",
            ]
        )
    table = pd.concat(frames, ignore_index=True)
    opens = pd.Timestamp(first).tz_localize(picture.tz)
    closes = (pd.Timestamp(last) + pd.Timedelta(days=1)).tz_localize(picture.tz)
    table = table[(table["end"] > opens) & (table["start"] < closes)].reset_index(drop=True)
    return intervals_with_zones(picture, table)


def _working(picture: Picture, part: str, value: float, days: pd.Series) -> tuple[Line, ...]:
    if part == "indoor":
        return _indoor_lines(picture)
    if part.startswith("zone:"):
        code = part.removeprefix("zone:")
        lines = [*_flow_lines(picture, code, days.min(), days.max()), *_delivery_lines(picture, code)]
        mine = picture.applied[(picture.applied["zone"] == code) & picture.applied["day"].isin(days)]
        poured = min(float(mine["logged_l"].sum()), value)
        if poured > 0:
            lines.append(Line("watering by hand", poured, "l", "your entries of other use for this zone"))
        if poured and not mine["run_minutes"].any():
            return tuple(lines[-1:])
        lines.append(Line("minutes run x flow", value - poured, "l", "programs and runs you wrote down"))
        short = value - float(mine["applied_l"].sum())
        if short > SHORT_SHARE * value:
            lines.append(Line(DID_NOT_COME, short, "l", "is in what is unexplained"))
        return tuple(lines)
    if part == "other":
        return (Line("uses written down in these days", value, "l", "your entries"),)
    return (Line("metered less indoors, zones and other use", value, "l", "what is left; the parts close exactly"),)


def _indoor_lines(picture: Picture) -> tuple[Line, ...]:
    """What each meter learned of its house; one of the garden alone tells of people only where there is no other."""
    meters = picture.frames["meter"].set_index("code")
    garden = meters.index[meters["counts"] == "garden"]
    houses = [m for m in picture.accounts if m not in garden] or list(picture.accounts)
    return tuple(
        replace(line, what=f"{meters['name'][m]}: {line.what}" if len(houses) > 1 else line.what)
        for m in houses
        for line in picture.accounts[m].baseline.working
    )


def _flow_lines(picture: Picture, zone: str, first: pd.Timestamp, last: pd.Timestamp) -> list[Line]:
    """The flows that held on the days from ``first`` to ``last``, whatever holds today."""
    flows = picture.flows[picture.flows["zone"] == zone]
    held = flows[(flows["since"] <= last) & ~(flows["until"] <= first)].to_dict("records")
    lines = []
    for row in held:
        begun = max(row["since"], first)
        since = f" from {begun.day} {begun:%B}" if len(held) > 1 else ""
        lines.append(Line(f"flow of the zone{since}", float(row["flow_lph"]), "lph", str(row["source"])))
    return lines


def _delivery_lines(picture: Picture, zone: str) -> list[Line]:
    """What the meter that the zone runs through tells of its flow."""
    rows = [r for a in picture.accounts.values() for r in a.delivery.to_dict("records") if r["zone"] == zone]
    source = "regression on your readings"
    return [Line("real flow over that, by the meter", r["factor"], "", r["note"] or source) for r in rows[:1]]


def _edge_sd(picture: Picture, intervals: pd.DataFrame, metered: pd.DataFrame) -> float:
    """Spread of the total: the register's step, and the interval that straddles an edge of the month.

    How much of an interval fell before the edge is known as well as its days are: by chance they stray from what was
    expected as their sum does, and what nobody can explain may have run on any of them.
    """
    first, last = metered["day"].min(), metered["day"].max() + pd.Timedelta(days=1)
    steps = [to_base(1, m["unit"], "volume") * m["resolution"] for m in picture.frames["meter"].to_dict("records")]
    variance = sum(float(step) ** 2 / 6 for step in steps)  # two readings, each cut down to a step
    for edge in (first.tz_localize(picture.tz), last.tz_localize(picture.tz)):
        across = intervals[(intervals["start"] < edge) & (intervals["end"] > edge)]
        for row in across.to_dict("records"):
            share = (edge - row["start"]) / (row["end"] - row["start"])
            strays, unexplained = np.nan_to_num([row["sd_l"], row["unexplained_l"]])
            variance += (strays**2 + unexplained**2) * share * (1 - share)
    return float(np.sqrt(variance))


def one_reading(picture: Picture) -> bool:
    """Whether all that the meters said so far is one number each, so that no use is known yet."""
    readings = picture.frames["meter_reading"]
    return len(readings) > 0 and not readings["meter"].duplicated().any() and picture.frames["metered_use"].empty

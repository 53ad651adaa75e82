"""Enough or too much: a zone's weeks, what stayed with the roots, what drained below them, and the mark of the need."""

from __future__ import annotations

import altair as alt
import pandas as pd

from core.review.enough import is_too_much
from core.review.plants import PlantsMonth
from core.review.spoken import counted, listed
from core.units import show
from dashboard.charts.base import Drawing, Look, round_table, spec_of, stripes

MOST_NAMES = 3  # zones named in a title; more are counted
EDGE = 0.1  # of the need: lacking below that is not worth a headline


def weeks_drawing(month: PlantsMonth, look: Look, zones: list[str]) -> Drawing:
    """The weeks of some zones together: rain and water that stayed, water that drained, and what was needed."""
    weeks = month.weeks[month.weeks["zone"].isin(zones)]
    told = weeks[~weeks["zone"].isin(month.unwritten)]  # beside what is known, a need nobody knows is met misleads
    weeks = told if len(told) else weeks
    if weeks.empty or not (weeks[["need_l", "applied_l"]].to_numpy() > 0).any():
        return Drawing("Nothing was needed or given this month", "Nothing to draw yet.", None, pd.DataFrame())
    sums = _by_week(weeks)
    unit = look.unit("volume")
    drawn = pd.DataFrame({"week": [_span(a, b) for a, b in zip(sums["first"], sums["last"], strict=True)]})
    drawn["place"] = range(len(drawn))
    for column in ("need", "short", "effective_rain", "kept", "excess"):
        drawn[column] = look.values(sums[f"{column}_l"], "volume")
    drawn["rain_to"] = drawn["effective_rain"]
    drawn["kept_to"] = drawn["rain_to"] + drawn["kept"]
    drawn["excess_to"] = drawn["kept_to"] + drawn["excess"]
    drawn["spoken"] = [
        f"{row.week}: needed {row.need:,.0f}, rain {row.effective_rain:,.0f}, given and kept {row.kept:,.0f}, "
        f"drained {row.excess:,.0f}, lacking {row.short:,.0f} {unit}"
        for row in drawn.itertuples()
    ]
    awake = weeks[~weeks["zone"].isin(month.resting | month.unwritten)]
    quiet = "At rest for the winter: nothing had to be given"
    if not month.unwritten.isdisjoint(weeks["zone"]):
        quiet = "What was given by hand nobody wrote down"
    title = _title(awake, look) if len(awake) else quiet
    text = f"{title}. Bars, one a week, with a mark for the need. The table has each week."
    x = alt.X("week:N", sort=alt.SortField("place"), title=None, axis=alt.Axis(labelAngle=0, ticks=False))
    tips = [
        alt.Tooltip("week:N", title="Week"),
        alt.Tooltip("need:Q", title=f"Needed, {unit}", format=",.0f"),
        alt.Tooltip("effective_rain:Q", title=f"Rain the roots kept, {unit}", format=",.0f"),
        alt.Tooltip("kept:Q", title=f"Given and kept, {unit}", format=",.0f"),
        alt.Tooltip("excess:Q", title=f"Drained, {unit}", format=",.0f"),
        alt.Tooltip("short:Q", title=f"Lacking, {unit}", format=",.0f"),
    ]
    shade = look.shades.get(zones[0], look.palette.faint) if len(zones) == 1 else look.palette.rain_edge
    shared = {"x": x, "tooltip": tips, "description": alt.Description("spoken:N")}
    base = alt.Chart()
    chart = spec_of(
        base.mark_bar(fill=look.palette.rain, stroke=look.palette.rain_edge, width={"band": 0.55}).encode(
            y=alt.Y("zero:Q", title=f"{unit} in the week", axis=alt.Axis(tickCount=5)), y2="rain_to:Q", **shared
        ),
        base.mark_bar(color=shade, width={"band": 0.55}).encode(y="rain_to:Q", y2="kept_to:Q", **shared),
        base.mark_bar(fill=stripes(shade, look.palette.ground), stroke=shade, width={"band": 0.55}).encode(
            y="kept_to:Q", y2="excess_to:Q", **shared
        ),
        base.mark_tick(color=look.palette.need, thickness=3, width={"band": 0.8}).encode(y="need:Q", **shared),
        data=drawn.assign(zero=0.0),
        height=220,
        description=text,
        ink=look.palette.ink,
    )
    table = drawn[["week", "need", "effective_rain", "kept", "excess", "short"]].set_axis(
        ["Week", f"Needed, {unit}", f"Rain kept, {unit}", f"Given and kept, {unit}", f"Drained, {unit}",
         f"Lacking, {unit}"],
        axis=1,
    )  # fmt: skip
    key = (
        ("rain the roots kept", look.palette.rain, f"edged {look.palette.rain_edge}"),
        ("given, and kept by the roots", shade, "fill"),
        ("given, and drained below them", shade, "stripes"),
        ("what the plants needed", look.palette.need, "line"),
    )
    return Drawing(title, text, chart, round_table(table), key)


def _by_week(weeks: pd.DataFrame) -> pd.DataFrame:
    litres = ["need_l", "short_l", "effective_rain_l", "kept_l", "excess_l", "applied_l"]
    return weeks.groupby(["first", "last"], as_index=False)[litres].sum()


def _title(weeks: pd.DataFrame, look: Look) -> str:
    sums = _by_week(weeks)
    need = float(sums["need_l"].sum())
    soaked = weeks[weeks["zone"].isin(_too_wet(weeks))]  # as the month's verdict on each zone, not on their sum
    over = (_by_week(soaked) if len(soaked) else sums).sort_values("excess_l", ascending=False).iloc[0]
    short = sums.iloc[int(sums["short_l"].to_numpy().argmax())]
    lacked, drained = (
        show(float(row[c]), "volume", look.system) for row, c in ((short, "short_l"), (over, "excess_l"))
    )
    dry = sums["short_l"].sum() > EDGE * need or float(short["short_l"]) > EDGE * float(short["need_l"]) > 0
    wet = len(soaked) > 0
    dry_week, wet_week = (f"in the week of {_span(row['first'], row['last'])}" for row in (short, over))
    worst = soaked[soaked["first"] == over["first"]] if wet else soaked
    if dry and wet and dry_week == wet_week:
        there = weeks[weeks["first"] == short["first"]]
        dry_zones, wet_zones = _where(there, "short_l", look), _where(worst, "excess_l", look)
        if dry_zones == wet_zones:  # one and the same place: first the one, then the other
            return f"I{dry_week[1:]} {lacked} were lacking on some days and {drained} given drained away on others"
        return f"I{dry_week[1:]} {lacked} were lacking in {dry_zones} while {drained} given drained away in {wet_zones}"
    said = [f"{lacked} were lacking {dry_week}"] if dry else []
    said += [f"{drained} given drained away in {_where(worst, 'excess_l', look)} {wet_week}"] if wet else []
    words = ", and ".join(said) or "Every week had about enough"
    return words[:1].upper() + words[1:]


def _too_wet(weeks: pd.DataFrame) -> list[str]:
    """Zones that got too much over all the weeks."""
    sums = weeks.groupby("zone")[["need_l", "effective_rain_l", "excess_l"]].sum()
    return [str(zone) for zone, *row in sums.itertuples() if is_too_much(*row)]


def _where(week: pd.DataFrame, column: str, look: Look) -> str:
    """The zones of a week that make up nearly all of a column, the greatest first; many are counted."""
    ranked = week.sort_values(column, ascending=False)
    told = ranked[ranked[column] > EDGE * float(ranked[column].sum())]
    names = [look.names.get(code, code) for code in told["zone"]]
    return listed(names) if len(names) <= MOST_NAMES else counted(len(names), "zone")


def _span(first: pd.Timestamp, last: pd.Timestamp) -> str:
    return f"{last.day} {last:%b}" if first == last else f"{first.day}–{last.day} {last:%b}"

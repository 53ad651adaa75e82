"""The plants' charts: the store of water in the soil day by day, and what the weather asked for."""

from __future__ import annotations

import altair as alt
import pandas as pd

from core.review.month import MonthReview
from core.review.spoken import counted
from core.units import show
from dashboard.charts.base import Drawing, Look, day_axis, round_table, spec_of
from dashboard.words import day_words

# How a day's reference ET was come by, in the key's few words; the page's small print names the equations.
METHODS = {
    "measured": "the station",
    "penman-monteith": "full weather",
    "hargreaves": "temperature",
    "normals": "usual weather",
    "bridged": "the days beside",
}
MARKS = ("circle", "square", "diamond", "triangle-up", "cross")


def depletion_drawing(review: MonthReview, look: Look, zone: str, planting: str, name: str) -> Drawing:
    """How far the soil of one planting was emptied each day, with the line below which plants feel it."""
    days = review.plant_days
    frame = days[(days["zone"] == zone) & (days["planting"] == planting)].sort_values("day") if len(days) else days
    if frame.empty:
        return Drawing(f"{name}: no balance this month", "Nothing to draw yet.", None, pd.DataFrame())
    unit = look.unit("depth")
    drawn = pd.DataFrame({"date": frame["day"].dt.day, "when": frame["day"].map(day_words)})
    for column in ("depletion_mm", "readily_available_mm", "total_available_mm", "rain_mm", "applied_mm"):
        drawn[column.removesuffix("_mm")] = look.values(frame[column], "depth")
    rest, blank = (
        _held(review, zone, name).reindex(frame["day"]).eq(True).to_numpy(bool) for name in ("resting", "unwritten")
    )
    drawn["short"] = (frame["stress_coefficient"] < 0.995) & ~rest & ~blank
    drawn["water"], drawn["zero"] = drawn["rain"] + drawn["applied"], 0.0
    short = int(drawn["short"].sum())
    calm = "at rest for the winter" if rest.mean() > 0.5 else "never short of water"
    if blank.all() and rest.mean() <= 0.5:
        calm = "watering by hand is not written down, so the line is what it would be without any"
    title = f"{name}: {'short of water on ' + counted(short, 'day') if short else calm}"
    worst = frame.iloc[int(frame["depletion_mm"].fillna(-1.0).to_numpy().argmax())]
    text = (
        f"{title}. The line shows how much water is missing from the soil at the end of each day, full at the top; "
        f"the most was {show(float(worst['depletion_mm']), 'depth', look.system)} on {day_words(worst['day'], False)}, "
        f"and plants feel it from {show(float(worst['readily_available_mm']), 'depth', look.system)}."
    )
    x = day_axis(review)
    y = alt.Y(
        "depletion:Q",
        title=f"missing, {unit}",
        scale=alt.Scale(reverse=True, zero=True, nice=True),
        axis=alt.Axis(tickCount=4),
    )
    tips = [
        alt.Tooltip("when:N", title="Day"),
        alt.Tooltip("depletion:Q", title=f"Missing, {unit}", format=".2f"),
        alt.Tooltip("readily_available:Q", title=f"Felt from, {unit}", format=".2f"),
        alt.Tooltip("applied:Q", title=f"Given, {unit}", format=".2f"),
        alt.Tooltip("rain:Q", title=f"Rain, {unit}", format=".2f"),
    ]
    shade = look.shades.get(zone, look.palette.faint)
    base = alt.Chart()
    floor = alt.Y("total_available:Q")
    chart = spec_of(
        alt.Chart(drawn[drawn["short"]])
        .mark_rect(color=look.palette.unexplained, opacity=0.16)
        .encode(x=x, y=alt.Y("zero:Q"), y2="total_available:Q", tooltip=tips),
        alt.Chart(drawn[drawn["applied"] > 0])
        .mark_bar(size=4, color=shade)
        .encode(x=x, y=alt.Y("zero:Q"), y2="applied:Q", tooltip=tips),
        alt.Chart(drawn[drawn["rain"] > 0])
        .mark_bar(size=6, fill=look.palette.rain, stroke=look.palette.rain_edge)
        .encode(x=x, y=alt.Y("applied:Q"), y2="water:Q", tooltip=tips),
        base.mark_line(color=look.palette.need, strokeDash=[5, 3], strokeWidth=2).encode(x=x, y="readily_available:Q"),
        base.mark_line(color=look.palette.faint, strokeWidth=1).encode(x=x, y=floor),
        base.mark_line(color=look.palette.ink, strokeWidth=1.6, point={"color": look.palette.ink, "size": 18}).encode(
            x=x, y=y, tooltip=tips
        ),
        data=drawn,
        height=210,
        description=text,
        ink=look.palette.ink,
    )
    table = drawn[["when", "depletion", "readily_available", "total_available", "applied", "rain"]].set_axis(
        [
            "Day",
            f"Missing, {unit}",
            f"Felt from, {unit}",
            f"Soil holds, {unit}",
            f"Given, {unit}",
            f"Rain, {unit}",
        ],
        axis=1,
    )
    table["Short"] = drawn["short"].map({True: "yes", False: ""})
    key = (
        ("water missing at day's end", look.palette.ink, "line"),
        ("plants feel it below this line", look.palette.need, "dashes"),
        ("all the soil holds", look.palette.faint, "line"),
        ("given", shade, "fill"),
        ("rain", look.palette.rain, f"edged {look.palette.rain_edge}"),
        ("plants short of water", look.palette.unexplained, "wash"),
    )
    return Drawing(title, text, chart, round_table(table, 2), key)


def _held(review: MonthReview, zone: str, name: str) -> pd.Series[bool]:
    """By day, whether a zone's plants were at rest, or what they got is not known; then nothing counts as short."""
    days = review.zone_days
    return days[days["zone"] == zone].set_index("day")[name] if name in days else pd.Series(dtype=bool)


def reference_drawing(review: MonthReview, look: Look) -> Drawing:
    """Reference ET day by day, the method of each day by its mark."""
    frame = review.weather_days
    if frame.empty or frame["reference_et_mm"].isna().all():
        return Drawing("No weather is known for this month", "Nothing to draw yet.", None, pd.DataFrame())
    unit = look.unit("depth")
    drawn = pd.DataFrame({"date": frame["day"].dt.day, "when": frame["day"].map(day_words)})
    drawn["method"] = frame["method"].fillna("not known")
    drawn["reference"] = look.values(frame["reference_et_mm"], "depth")
    drawn["rain"] = look.values(frame["rain_mm"], "depth")
    total, wet = frame["reference_et_mm"].sum(), frame["rain_mm"].sum()
    title = (
        f"The weather asked for {show(total, 'depth', look.system)} of water and gave "
        f"{show(wet, 'depth', look.system)} of rain"
    )
    drawn["method"] = drawn["method"].map(lambda m: METHODS.get(m, m))
    methods = drawn["method"].value_counts()
    told = ", ".join(f"{method} on {counted(count, 'day')}" for method, count in methods.items())
    text = f"{title}. Reference ET by day: by {told}."
    x = day_axis(review)
    tips = [
        alt.Tooltip("when:N", title="Day"),
        alt.Tooltip("reference:Q", title=f"Reference ET, {unit}", format=".2f"),
        alt.Tooltip("rain:Q", title=f"Rain, {unit}", format=".2f"),
        alt.Tooltip("method:N", title="Method"),
    ]
    base = alt.Chart()
    names = list(methods.index)
    marks = dict(zip(names, (MARKS * len(names))[: len(names)], strict=True))
    chart = spec_of(
        alt.Chart(drawn[drawn["rain"] > 0])
        .mark_bar(fill=look.palette.rain, stroke=look.palette.rain_edge)
        .encode(x=x, y="rain:Q", tooltip=tips),
        base.mark_line(color=look.palette.need, strokeWidth=1.4).encode(
            x=x, y=alt.Y("reference:Q", title=f"{unit} a day", axis=alt.Axis(tickCount=4))
        ),
        base.mark_point(filled=True, opacity=1, size=36, color=look.palette.need).encode(
            x=x,
            y="reference:Q",
            shape=alt.Shape("method:N", scale=alt.Scale(domain=names, range=list(marks.values())), legend=None),
            tooltip=tips,
        ),
        data=drawn,
        height=180,
        description=text,
        ink=look.palette.ink,
    )
    table = drawn[["when", "reference", "rain", "method"]].set_axis(
        ["Day", f"Reference ET, {unit}", f"Rain, {unit}", "Method"], axis=1
    )
    signs = {"circle": "●", "square": "■", "diamond": "◆", "triangle-up": "▲", "cross": "✚"}
    key = (
        *((f"reference ET by {n}", look.palette.need, signs[marks[n]]) for n in names),
        ("rain", look.palette.rain, f"edged {look.palette.rain_edge}"),
    )
    return Drawing(title, text, chart, round_table(table, 2), key)

"""The month's charts: use day by day, the strip of days, need against what was given."""

from __future__ import annotations

import altair as alt
import pandas as pd

from core.review.month import MonthReview
from core.units import show
from dashboard.charts.base import (
    Drawing,
    Look,
    day_axis,
    key_entries,
    part_order,
    round_table,
    row_axis,
    spec_of,
    stripes,
    wrapped,
)
from dashboard.words import STATES, counted, day_words, listed

AXIS = 56  # pixels the axis of days takes below the rows


def use_drawing(review: MonthReview, look: Look) -> Drawing:
    """Use per day, stacked by part. Unexplained is striped, and falls below zero when less came than expected."""
    days = review.days
    if days.empty:
        return Drawing("No use is known for this month", "Nothing to draw yet.", None, pd.DataFrame())
    unit = look.unit("volume")
    order = part_order(list(days["part"].unique()), list(look.names))
    stack = _stacked(days, order, look)
    x = day_axis(review)
    shared = {
        "x": x,
        "y": alt.Y("from:Q", title=f"{unit} a day", axis=alt.Axis(tickCount=5)),
        "y2": "to:Q",
        "tooltip": [alt.Tooltip("when:N", title="Day"), alt.Tooltip("name:N", title="Part"), alt.Tooltip("said:N")],
        "opacity": alt.condition("datum.kind == 'metered'", alt.value(1.0), alt.value(0.45)),
    }
    known = [p for p in order if p != "unexplained"]
    colours = alt.Color(
        "part:N",
        scale=alt.Scale(domain=known, range=[look.palette.part(p, look.shades) for p in known]),
        legend=None,
    )
    text = _use_text(review, look)
    layers: list[alt.Chart] = [
        alt.Chart(stack[stack["part"] != "unexplained"])
        .mark_bar(stroke=look.palette.ground, strokeWidth=0.6)
        .encode(color=colours, **shared),
        alt.Chart(stack[stack["part"] == "unexplained"])
        .mark_bar(
            fill=stripes(look.palette.unexplained, look.palette.ground),
            stroke=look.palette.unexplained,
        )
        .encode(strokeWidth=alt.condition("datum.large", alt.value(1.4), alt.value(0.4)), **shared),
        alt.Chart(pd.DataFrame({"y": [0.0]})).mark_rule(color=look.palette.ink, strokeWidth=1).encode(y="y:Q"),
    ]
    layers += _metered_mark(review, days, look)
    chart = spec_of(*layers, height=280, description=text, ink=look.palette.ink)
    table = _by_day(days, order, look)
    return Drawing(_use_title(review, look), text, chart, table, key_entries(order, look))


def _stacked(days: pd.DataFrame, order: list[str], look: Look) -> pd.DataFrame:
    """Where each bar begins and ends: parts above zero upwards, parts below zero downwards."""
    frame = days[["day", "part", "volume_l", "kind"]].copy()
    frame["value"] = look.values(frame["volume_l"], "volume").fillna(0.0)
    frame["rank"] = frame["part"].map({p: i for i, p in enumerate(order)})
    frame = frame.sort_values(["day", "rank"])
    below = frame["value"] < 0
    frame["to"] = frame.groupby(["day", below])["value"].cumsum()
    frame["from"] = frame["to"] - frame["value"]
    frame["large"] = frame["value"].abs() > 0.03 * frame["to"].abs().max()
    frame["name"] = frame["part"].map(look.part_name)
    frame["date"] = frame["day"].dt.day
    frame["when"] = frame["day"].map(day_words)
    frame["said"] = [show(v, "volume", look.system) for v in frame["volume_l"]]
    return frame[["date", "part", "kind", "from", "to", "large", "name", "when", "said"]]


def _metered_mark(review: MonthReview, days: pd.DataFrame, look: Look) -> list[alt.Chart]:
    """A line after the last day the meter speaks of, when it does not reach the end."""
    metered = days.loc[days["kind"] == "metered", "day"]
    if metered.empty or (days["kind"] != "modelled").all():
        return []
    mark = pd.DataFrame({"date": [int(metered.max().day)], "words": ["the meter reaches here"]})
    rule = (
        alt.Chart(mark).mark_rule(color=look.palette.ink, strokeDash=[4, 3]).encode(x=alt.X("date:O", bandPosition=1))
    )
    words = (
        alt.Chart(mark)
        .mark_text(align="right", dx=-5, dy=8, baseline="top", color=look.palette.ink)
        .encode(x=alt.X("date:O", bandPosition=1), y=alt.value(0), text="words:N")
    )
    return [rule, words]


def _use_title(review: MonthReview, look: Look) -> str:
    days = review.days
    lost = days[(days["part"] == "unexplained") & (days["kind"] == "metered")].set_index("day")["volume_l"]
    total = days.groupby("day")["volume_l"].sum()
    if lost.empty:
        return "Use by day as the program and the household suggest; no meter speaks of this month"
    if lost.max() > 0.25 * total.median():
        return f"Unexplained use was greatest on {_top_day(lost)}: {show(lost.max(), 'volume', look.system)}"
    return f"No day stands out; the most was {show(total.max(), 'volume', look.system)} on {_top_day(total)}"


def _top_day(by_day: pd.Series[float]) -> str:
    return day_words(by_day.index[int(by_day.to_numpy().argmax())], False)


def _use_text(review: MonthReview, look: Look) -> str:
    sums = [
        f"{p.name if p.part.startswith('zone:') else look.part_name(p.part)} "
        f"{show(p.volume.value, 'volume', look.system)}"
        for p in review.parts
    ]
    return f"Stacked bars, one a day, of {review.first:%B %Y}. In the month: {listed(sums)}. The table has each day."


def _by_day(days: pd.DataFrame, order: list[str], look: Look) -> pd.DataFrame:
    wide = days.pivot_table(index="day", columns="part", values="volume_l", aggfunc="sum")[order]
    wide = wide.apply(lambda column: look.values(column, "volume"))
    wide.insert(len(order), "total", wide.sum(axis=1))
    unit = look.unit("volume")
    wide.columns = pd.Index([f"{look.part_name(p)}, {unit}" for p in order] + [f"Together, {unit}"])
    kinds = days.groupby("day")["kind"].first()
    wide.insert(0, "Known by", kinds.map({"metered": "the meter", "modelled": "the program"}))
    wide.insert(0, "Day", wide.index.map(day_words))
    return round_table(wide.reset_index(drop=True))


def days_drawing(review: MonthReview, look: Look) -> Drawing:
    """The strip: for each zone and day whether it ran, by shape; plants short of water; rain below."""
    frame = review.zone_days
    if frame.empty:
        return Drawing("No zone was in use this month", "Nothing to draw yet.", None, pd.DataFrame())
    cells = frame.copy()
    cells["row"] = [wrapped(look.names.get(z, z)) for z in cells["zone"]]
    cells["date"], cells["when"] = cells["day"].dt.day, cells["day"].map(day_words)
    cells["said"] = cells["state"].map(STATES) + cells["evidence"].map(lambda e: f" ({e})" if e else "")
    rows = list(dict.fromkeys(cells["row"]))
    rain = cells[cells["rain_mm"] > 0].drop_duplicates("day").assign(row="Rain")
    rain["said"] = [show(v, "depth", look.system) for v in rain["rain_mm"]]
    keep = ["row", "date", "when", "said", "state", "zone"]
    y = alt.Y(
        "row:N",
        sort=[*rows, "Rain"],
        title=None,
        scale=alt.Scale(domain=[*rows, "Rain"]),
        axis=row_axis(grid=True),
    )
    tips = [alt.Tooltip("row:N", title="Row"), alt.Tooltip("when:N", title="Day"), alt.Tooltip("said:N", title="What")]
    shared = {"x": day_axis(review), "y": y, "tooltip": tips}
    shade = alt.Color(
        "zone:N", scale=alt.Scale(domain=list(look.shades), range=list(look.shades.values())), legend=None
    )
    ink = look.palette.ink

    def those(state: str) -> alt.Chart:
        return alt.Chart(cells.loc[cells["state"] == state, keep])

    short = cells.loc[cells["stressed"].astype(bool), keep].assign(said="plants short of water")
    text = _days_text(review, frame, look)
    layers = (
        those("ran").mark_point(filled=True, opacity=1, size=62).encode(color=shade, **shared),
        those("presumed").mark_point(filled=False, opacity=1, size=46, strokeWidth=1.8).encode(color=shade, **shared),
        those("missed")
        .mark_point(shape="cross", angle=45, filled=True, opacity=1, size=80, color=ink)
        .encode(**shared),
        those("paused").mark_point(shape="stroke", opacity=1, size=46, strokeWidth=2, color=ink).encode(**shared),
        alt.Chart(short)
        .mark_point(shape="triangle-down", filled=True, opacity=1, size=34, yOffset=11, color=look.palette.unexplained)
        .encode(**shared),
        alt.Chart(rain[keep])
        .mark_point(
            shape="M0,-1.1C0.5,-0.2,0.75,0.1,0.75,0.5A0.75,0.75,0,1,1,-0.75,0.5C-0.75,0.1,-0.5,-0.2,0,-1.1Z",
            filled=True,
            opacity=1,
            size=60,
            fill=look.palette.rain,
            stroke=look.palette.rain_edge,
            strokeWidth=1,
        )
        .encode(**shared),
    )
    if not any(len(layer.data) for layer in layers):
        return Drawing("No run was set and no rain fell", text, None, _days_table(frame, look))
    chart = spec_of(*layers, height=32 * (len(rows) + 1) + AXIS, description=text, ink=ink)
    key = (
        ("ran", ink, "●"),
        ("presumed: nobody can vouch for it", ink, "○"),
        ("did not run", ink, "✕"),
        ("paused on purpose", ink, "–"),
        ("plants short of water", look.palette.unexplained, "▼"),
        ("rain", look.palette.rain, f"edged {look.palette.rain_edge}"),
    )
    return Drawing(_days_title(review), text, chart, _days_table(frame, look), key)


def _days_title(review: MonthReview) -> str:
    missed = [z for z in review.zones if z.missed_days]
    if missed:
        return "Days that did not run: " + listed(f"{z.name} {z.missed_days}" for z in missed)
    if any(z.unvouched_days for z in review.zones):
        return "No day is known to be missed; rings are days nobody can vouch for"
    return "Every day that was set ran"


def _days_text(review: MonthReview, frame: pd.DataFrame, look: Look) -> str:
    wet = frame.loc[frame["rain_mm"] > 0, "day"].nunique()
    told = [
        f"{z.name}: {counted(z.ran_days, 'day')} known to have run, {z.missed_days} missed, "
        f"{z.unvouched_days} presumed, "
        f"{z.stress_days} with plants short of water"
        for z in review.zones
    ]
    return f"One row a zone, one sign a day, of {review.first:%B %Y}. {'; '.join(told)}. Rain on {counted(wet, 'day')}."


def _days_table(frame: pd.DataFrame, look: Look) -> pd.DataFrame:
    table = pd.DataFrame(
        {
            "Day": frame["day"].map(day_words),
            "Zone": frame["zone"].map(lambda z: look.names.get(z, z)),
            "What": frame["state"].map(STATES),
            "The meter": frame["evidence"],
            "Minutes": frame["run_minutes"].astype(float),
            f"Given, {look.unit('volume')}": look.values(frame["applied_l"], "volume"),
            f"Need, {look.unit('volume')}": look.values(frame["need_l"], "volume"),
            "Plants short": frame["stressed"].map({True: "yes", False: ""}),
        }
    )
    return round_table(table)


def need_drawing(review: MonthReview, look: Look) -> Drawing:
    """For each zone what it got, rain and system, against the mark of what its plants needed."""
    zones = [z for z in review.zones if z.need.value is not None and z.applied.value is not None]
    if not zones:
        return Drawing("Need is not known for this month", "Nothing to draw yet.", None, pd.DataFrame())
    unit = look.unit("volume")
    frame = pd.DataFrame(
        {
            "zone": [z.zone for z in zones],
            "row": [wrapped(z.name) for z in zones],
            "name": [z.name for z in zones],
            "need": [z.need.value or 0.0 for z in zones],
            "rain": [z.effective_rain.value or 0.0 for z in zones],
            "given": [z.applied.value or 0.0 for z in zones],
        }
    )
    for column in ("need", "rain", "given"):
        frame[column] = look.values(frame[column].astype(float), "volume")
    frame["together"] = frame["rain"] + frame["given"]
    y = alt.Y("row:N", sort=list(frame["row"]), title=None, axis=row_axis())
    shade = alt.Color(
        "zone:N", scale=alt.Scale(domain=list(look.shades), range=list(look.shades.values())), legend=None
    )
    tips = [
        alt.Tooltip("name:N", title="Zone"),
        alt.Tooltip("need:Q", title=f"Need, {unit}", format=",.0f"),
        alt.Tooltip("rain:Q", title=f"Rain, {unit}", format=",.0f"),
        alt.Tooltip("given:Q", title=f"Given, {unit}", format=",.0f"),
    ]
    base = alt.Chart()
    text = "Bars of what each zone got, rain first, with a mark at its need. " + " ".join(z.sentence for z in zones)
    frame["zero"] = 0.0
    chart = spec_of(
        base.mark_bar(fill=look.palette.rain, stroke=look.palette.rain_edge, strokeWidth=1, size=16).encode(
            x=alt.X("zero:Q", title=f"{unit} in the month", axis=alt.Axis(tickCount=5)), x2="rain:Q", y=y, tooltip=tips
        ),
        base.mark_bar(size=16).encode(x="rain:Q", x2="together:Q", y=y, color=shade, tooltip=tips),
        base.mark_tick(color=look.palette.need, thickness=4, size=30).encode(x="need:Q", y=y, tooltip=tips),
        data=frame,
        height=44 * len(zones) + AXIS,
        description=text,
        ink=look.palette.ink,
    )
    table = frame[["name", "need", "rain", "given"]].copy()
    table["share"] = [
        f"{100 * (g + r) / n:,.0f} %" if n > 0 else ""
        for g, r, n in zip(table.given, table.rain, table.need, strict=True)
    ]
    table.columns = pd.Index(["Zone", f"Need, {unit}", f"Rain, {unit}", f"Given, {unit}", "Of the need"])
    key = (
        ("given by the system or by hand", list(look.shades.values())[len(look.shades) // 2], "fill"),
        ("rain the plants could use", look.palette.rain, f"edged {look.palette.rain_edge}"),
        ("what the plants needed", look.palette.need, "line"),
    )
    return Drawing(_need_title(frame), text, chart, round_table(table), key)


def _need_title(frame: pd.DataFrame) -> str:
    sure = frame[frame["need"] > 0]
    if sure.empty:
        return "No plant needed water this month"
    ratio = (sure["together"] / sure["need"]).set_axis(sure["name"])
    high, low = str(ratio.idxmax()), str(ratio.idxmin())
    if ratio[high] > 1.15:
        return f"{high} got {100 * (ratio[high] - 1):,.0f} % more than it needed"
    if ratio[low] < 0.85:
        return f"{low} got only {100 * ratio[low]:,.0f} % of what it needed"
    return "Every zone got about what it needed"

"""The month's charts: use day by day, the strip of days, need against what was given."""

from __future__ import annotations

import altair as alt
import pandas as pd

from core.figures import NINETY
from core.review.enough import LITTLE, too_much_sentence
from core.review.month import MonthReview, ZoneMonth
from core.review.spoken import listed
from core.units import show
from dashboard.charts.base import (
    AXIS,
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
from dashboard.charts.cut import cut_bars, cut_marks, cut_words
from dashboard.words import day_words

COLUMNS = ["date", "part", "kind", "from", "to", "large", "name", "when", "said", "spoken"]


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
        "description": alt.Description("spoken:N"),
        "opacity": alt.condition("datum.kind == 'metered'", alt.value(1.0), alt.value(0.45)),
    }
    known = [p for p in order if p != "unexplained"]
    colours = alt.Color(
        "part:N",
        scale=alt.Scale(domain=known, range=[look.palette.part(p, look.shades) for p in known]),
        legend=None,
    )
    text = _use_text(review, look) + cut_words(stack, look)
    marks, stack = cut_marks(stack, look), stack[COLUMNS]
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
    layers += [*marks, *_metered_mark(review, days, look)]
    chart = spec_of(*layers, height=280, description=text, ink=look.palette.ink)
    table = _by_day(days, order, look)
    drawn = [p for p in order if p in set(stack["part"])]
    key = key_entries(drawn, look)
    if drawn and _gap(days):  # after the last reading a line says so
        key = (*key, ("paler: no reading tells of that day", look.palette.part(drawn[0], look.shades), "wash"))
    return Drawing(_use_title(review, look), text, chart, table, key)


def _gap(days: pd.DataFrame) -> bool:
    """Whether the meter is silent on days before the last of which it speaks."""
    metered, presumed = (days.loc[days["kind"] == kind, "day"] for kind in ("metered", "modelled"))
    return bool(len(metered) and (presumed[~presumed.isin(metered)] < metered.max()).any())


def _stacked(days: pd.DataFrame, order: list[str], look: Look) -> pd.DataFrame:
    """Where each bar begins and ends: parts above zero upwards, parts below zero downwards."""
    frame = days[["day", "part", "volume_l", "kind"]].copy()
    frame["value"] = look.values(frame["volume_l"], "volume").fillna(0.0)
    frame["rank"] = frame["part"].map({p: i for i, p in enumerate(order)})
    frame = cut_bars(frame[frame["value"] != 0].sort_values(["day", "rank"]))
    below = frame["value"] < 0
    frame["to"] = frame.groupby(["day", below])["drawn"].cumsum()
    frame["from"] = frame["to"] - frame["drawn"]
    frame["cut"] = frame["drawn"] < frame["value"]
    frame["large"] = frame["value"].abs() > 0.03 * frame["to"].abs().max()
    frame["name"] = frame["part"].map(look.part_name)
    frame["date"] = frame["day"].dt.day
    frame["when"] = frame["day"].map(day_words)
    frame["said"] = [show(v, "volume", look.system) for v in frame["volume_l"]]
    frame["spoken"] = frame["when"] + ", " + frame["name"] + ", " + frame["said"]
    return frame[[*COLUMNS, "cut", "day", "volume_l"]]


def _metered_mark(review: MonthReview, days: pd.DataFrame, look: Look) -> list[alt.Chart]:
    """A line after the last day the meter speaks of, when it does not reach the end."""
    metered, presumed = (days.loc[days["kind"] == kind, "day"] for kind in ("metered", "modelled"))
    if metered.empty or not (presumed >= metered.max()).any():
        return []
    mark = pd.DataFrame({"date": [int(metered.max().day)], "words": ["the meter reaches here"]})
    rule = (
        alt.Chart(mark).mark_rule(color=look.palette.ink, strokeDash=[4, 3]).encode(x=alt.X("date:O", bandPosition=1))
    )
    words = (
        alt.Chart(mark)
        .mark_text(align="right", dx=4, dy=-4, baseline="bottom", color=look.palette.ink)
        .encode(x=alt.X("date:O", bandPosition=1), y=alt.value(0), text="words:N")  # above the bars, not on them
    )
    return [rule, words]


def _use_title(review: MonthReview, look: Look) -> str:
    days = review.days
    left = days[(days["part"] == "unexplained") & (days["kind"] == "metered")].set_index("day")
    total = days.groupby("day")["volume_l"].sum()
    if left.empty:
        return "Use by day as the program and the household suggest; no meter speaks of this month"
    lost = left["volume_l"].where(left["volume_l"].abs() > NINETY * left["sd_l"], 0.0)  # a day within chance is no news
    if -lost.min() > max(0.25 * total.median(), lost.max()):
        when, each, first, last = _stretch(review, -lost)
        less = f"{show(-lost.min(), 'volume', look.system)}{each}"
        watering = days["part"].str.startswith("zone:") & days["day"].between(first, last)
        if days.loc[watering, "volume_l"].sum() > 0:
            return f"{when} {less} of what was expected never came"
        return f"{when} the house used {less} less than expected"  # no run was due that could have failed
    if lost.max() > 0.25 * total.median():
        when, each, *_ = _stretch(review, lost)
        most = show(lost.max(), "volume", look.system)
        return f"{look.left_use} was greatest {when[:1].lower()}{when[1:]}: {most}{each}"
    return f"No day stands out; the most was {show(total.max(), 'volume', look.system)} on {_top_day(total)}"


def _stretch(review: MonthReview, by_day: pd.Series[float]) -> tuple[str, str, pd.Timestamp, pd.Timestamp]:
    """When the day of most lies: that day, or the readings it lies between where they are days apart and spread it; as
    words, what "each" of it is, and its first and last day.
    """
    day = pd.Timestamp(by_day.index[int(by_day.to_numpy().argmax())])
    noon = (day + pd.Timedelta(hours=12)).tz_localize(review.time_zone)
    around = review.intervals
    around = around[(around["start"] <= noon) & (around["end"] > noon) & around["metered_l"].notna()]
    around = around[around["end"] - around["start"] > pd.Timedelta(hours=36)]
    if around.empty:
        return f"On {_top_day(by_day)}", "", day, day
    begin, end = (around[name].iloc[0].tz_convert(review.time_zone) for name in ("start", "end"))
    words = f"Between the readings of {day_words(begin, False)} and {day_words(end, False)}"
    return words, " a day", begin.tz_localize(None).normalize(), end.tz_localize(None).normalize()


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
    wide.insert(0, "Day", wide.index.map(lambda day: day_words(day, False)))
    return round_table(wide.reset_index(drop=True))


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
            "resting": [z.resting for z in zones],
            "unwritten": [z.unwritten for z in zones],
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
    table["given"] = table["given"].mask(frame["unwritten"])
    table["share"] = table["share"].mask(frame["unwritten"], "not written down")
    table.columns = pd.Index(["Zone", f"Need, {unit}", f"Rain, {unit}", f"Given, {unit}", "Of the need"])
    key = (
        ("given by the system or by hand", list(look.shades.values())[len(look.shades) // 2], "fill"),
        ("rain the plants could use", look.palette.rain, f"edged {look.palette.rain_edge}"),
        ("what the plants needed", look.palette.need, "line"),
    )
    return Drawing(_need_title(frame, zones, look), text, chart, round_table(table), key)


def _need_title(frame: pd.DataFrame, zones: list[ZoneMonth], look: Look) -> str:
    """The same verdicts, by the same thresholds, as the zones' sentences."""
    sure = frame[(frame["need"] > 0) & ~frame["unwritten"]]
    if sure.empty:
        return "No plant needed water this month"
    sure = sure[~sure["resting"]]
    if sure.empty:
        return "At rest for the winter: rain is all the plants were meant to get"
    wet = [(z.name, z.excess.value or 0.0, None) for z in zones if z.too_much and not z.resting]
    if wet:
        return too_much_sentence(wet, look.system, "").rstrip(".")
    asked = sure[sure["need"] > sure["rain"]]
    ratio = (asked["given"] / (asked["need"] - asked["rain"])).set_axis(asked["name"])
    if len(ratio) and ratio.min() < LITTLE:
        return f"{ratio.idxmin()} got only {100 * ratio.min():,.0f} % of what it needed beyond rain"
    return "Every zone got about what it needed"

"""The meter's charts: its intervals with their parts, and unexplained use with its band."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import altair as alt
import pandas as pd

from core.figures import NINETY
from core.review.month import LEFT_OVER, PART_NAMES, MonthReview
from core.review.spoken import counted
from core.review.tell import worth_saying
from core.units import show
from dashboard.charts.base import Drawing, Look, dates_axis, round_table, spec_of, stripes
from dashboard.words import day_words

MOST = 200  # intervals drawn one by one; beyond that they are gathered by day, so that phones stay quick
COLUMNS = ("indoor_l", "zones_l", "other_l", "unexplained_l")


def named(look: Look) -> dict[str, str]:
    """The columns of an interval's parts, each with its words."""
    return dict(zip(COLUMNS, (PART_NAMES["indoor"], "Zones", PART_NAMES["other"], look.left), strict=True))


def intervals_drawing(review: MonthReview, look: Look) -> Drawing:
    """Each interval between readings as a bar as wide as it lasted and as high as its use a day, split by part."""
    frame = _rates(review, look)
    if frame.empty:
        return Drawing("No reading covers this month yet", "Nothing to draw yet.", None, pd.DataFrame())
    unit = look.unit("volume")
    middle = list(look.shades.values())[len(look.shades) // 2] if look.shades else look.palette.faint
    colours = {PART_NAMES["indoor"]: look.palette.indoor, "Zones": middle, PART_NAMES["other"]: look.palette.other}
    stack = _stack(frame, look)
    tips = [
        alt.Tooltip("from_words:N", title="From"),
        alt.Tooltip("to_words:N", title="To"),
        alt.Tooltip("name:N", title="Part"),
        alt.Tooltip("said:N", title="In all"),
    ]
    shared = {
        "x": alt.X("begin:T", title=None, axis=dates_axis(frame["begin"].min(), frame["finish"].max())),
        "x2": "finish:T",
        "y": alt.Y("from:Q", title=f"{unit} a day", axis=alt.Axis(tickCount=5)),
        "y2": "to:Q",
        "tooltip": tips,
        "description": alt.Description("spoken:N"),
    }
    text = _interval_text(review, look)
    chart = spec_of(
        alt.Chart(stack[stack["name"] != look.left])
        .mark_rect(stroke=look.palette.ground, strokeWidth=0.4)
        .encode(
            color=alt.Color("name:N", scale=alt.Scale(domain=list(colours), range=list(colours.values())), legend=None),
            **shared,
        ),
        alt.Chart(stack[stack["name"] == look.left])
        .mark_rect(
            fill=stripes(look.palette.unexplained, look.palette.ground),
            stroke=look.palette.unexplained,
            strokeWidth=1.2,
        )
        .encode(**shared),
        alt.Chart(pd.DataFrame({"y": [0.0]})).mark_rule(color=look.palette.ink).encode(y="y:Q"),
        height=260,
        description=text,
        ink=look.palette.ink,
    )
    key = (*((n, c, "fill") for n, c in colours.items()), (look.left, look.palette.unexplained, "stripes"))
    return Drawing(_interval_title(frame, review, look), text, chart, _interval_table(review, look), key)


def _rates(review: MonthReview, look: Look) -> pd.DataFrame:
    """Intervals on the home's clock, use as a rate a day in the reader's unit; many are gathered by day."""
    raw = review.intervals
    if raw.empty:
        return pd.DataFrame()
    zone = ZoneInfo(review.time_zone)
    frame = raw[raw["metered_l"].notna()].copy()
    frame["begin"] = frame["start"].dt.tz_convert(zone).dt.tz_localize(None)
    frame["finish"] = frame["end"].dt.tz_convert(zone).dt.tz_localize(None)
    frame["hours"] = (frame["end"] - frame["start"]).dt.total_seconds() / 3600
    frame["variance"] = frame["sd_l"] ** 2
    if len(frame) > MOST:
        sums = {**dict.fromkeys([*COLUMNS, "metered_l", "hours", "variance"], "sum"), "begin": "min", "finish": "max"}
        frame = frame.groupby(frame["begin"].dt.normalize()).agg(sums).reset_index(drop=True)
    frame["sd_l"] = frame["variance"] ** 0.5
    for column in [*COLUMNS, "metered_l", "sd_l"]:
        frame[f"{column}_day"] = look.values(frame[column] * 24 / frame["hours"], "volume")
    frame["from_words"] = frame["begin"].map(lambda t: f"{day_words(t, False)}, {t:%H:%M}")
    frame["to_words"] = frame["finish"].map(lambda t: f"{day_words(t, False)}, {t:%H:%M}")
    first, following = _month(review)  # a stretch that began before the month, or ends after it, is drawn within it
    return frame.assign(
        straddles=(frame["begin"] < first) | (frame["finish"] > following),
        begin=frame["begin"].where(frame["begin"] > first, first),
        finish=frame["finish"].where(frame["finish"] < following, following),
    )


def _month(review: MonthReview) -> tuple[pd.Timestamp, pd.Timestamp]:
    """Its first day and that of the month after it."""
    first = pd.Timestamp(review.first)
    return first, first + pd.offsets.MonthBegin(1)


def _stack(frame: pd.DataFrame, look: Look) -> pd.DataFrame:
    keep = ["begin", "finish", "from_words", "to_words"]
    up = pd.Series(0.0, index=frame.index)
    layers = []
    for column, name in named(look).items():
        value = frame[f"{column}_day"].fillna(0.0)
        start = up.where(value >= 0, 0.0)
        said = [f"{v:,.0f} a day".replace("-", "−") for v in value]
        layer = frame[keep].copy()
        layer["from"], layer["to"], layer["name"], layer["said"] = start, start + value, name, said
        layer["spoken"] = layer["from_words"] + " to " + layer["to_words"] + ", " + name + ", " + layer["said"]
        layers.append(layer)
        up = up + value.clip(lower=0.0)
    return pd.concat(layers, ignore_index=True)


def _interval_title(frame: pd.DataFrame, review: MonthReview, look: Look) -> str:
    lost, counted, when = frame["unexplained_l"].sum(), frame["metered_l"].sum(), ""
    if frame["straddles"].any() and review.used.value is not None and review.unexplained.value is not None:
        lost, counted, when = review.unexplained.value, review.used.value, f" in {review.first:%B}"  # as its tiles say
    share = lost / max(counted, 1e-9)
    raw = review.intervals
    pace = (raw["end"] - raw["start"]).dt.total_seconds().median() / 3600  # before many are gathered by day
    if share > 0.1:
        return f"{100 * share:,.0f} % of what the meter counted{when} is {look.left.lower()}"
    missing = -lost / max(counted - lost, 1e-9)  # of what was expected, which is more than what was counted
    if missing > 0.1:
        return f"{100 * missing:,.0f} % of what was expected{when} never came through the meter"
    part = f"{100 * (1 - share):,.0f} % of" if share > 0 else "all"
    known = f"{'nearly all' if abs(share) < 0.02 else part} the water"
    doubt = _doubt(frame, review, look)
    yet = f", yet {doubt}" if doubt else ""
    if doubt and share < -0.02:
        return f"{100 * missing:,.0f} % less than expected came through the meter{when}: {doubt}"
    if pace <= 1.5:  # quarter hours of a file come joined to hours
        return f"{'Over all its days' if doubt else 'Hour by hour'}, {known} is accounted for{yet}"
    each = f"{pace:,.0f} hours" if pace <= 20 else "a day" if pace <= 36 else f"{pace / 24:,.0f} days"
    return f"Readings about {each} apart account for {known}{yet}"


def _doubt(frame: pd.DataFrame, review: MonthReview, look: Look) -> str:
    """Why a month that adds up is not all well: days beyond their band, if more than chance brings, or what was found.

    A 90 % band leaves one stretch in ten outside when nothing is wrong.
    """
    found = len(worth_saying(review.findings))
    outside = _outside(frame)
    if len(outside) and (found or len(outside) > 0.2 * len(frame)):
        said = _outside_title(frame, outside, look, gathered=len(frame) < len(review.intervals))
        return said[:1].lower() + said[1:]
    return f"{counted(found, 'thing')} found in it {'waits' if found == 1 else 'wait'} for an answer" if found else ""


def _outside(frame: pd.DataFrame) -> pd.DataFrame:
    """The stretches whose unexplained use lies beyond its 90 % band."""
    return frame[frame["unexplained_l_day"].abs() > NINETY * frame["sd_l_day"]]


def _interval_text(review: MonthReview, look: Look) -> str:
    sums = review.intervals[[*COLUMNS]].sum()
    told = ", ".join(f"{name.lower()} {show(sums[c], 'volume', look.system)}" for c, name in named(look).items())
    return (
        f"Bars from reading to reading, {len(review.intervals)} stretches that touch {review.first:%B %Y}, drawn "
        f"within it; in all of them: {told}. The table lists each whole."
    )


def _interval_table(review: MonthReview, look: Look) -> pd.DataFrame:
    raw, zone, unit = review.intervals, ZoneInfo(review.time_zone), look.unit("volume")
    table = pd.DataFrame(
        {
            "Meter": raw["meter"],
            "From": [_moment(t, zone) for t in raw["start"]],
            "To": [_moment(t, zone) for t in raw["end"]],
            f"Metered, {unit}": look.values(raw["metered_l"], "volume"),
            **{f"{name}, {unit}": look.values(raw[c], "volume") for c, name in named(look).items()},
            f"Give or take, {unit}": look.values(raw["sd_l"] * NINETY, "volume"),
            "Note": raw["note"].fillna(""),
        }
    )
    if raw["meter"].nunique() == 1:
        table = table.drop(columns="Meter")
    return round_table(table)


def _moment(moment: pd.Timestamp, zone: ZoneInfo) -> str:
    local = moment.astimezone(zone)
    return f"{day_words(local, False)}, {local:%H:%M}"


def unexplained_drawing(review: MonthReview, look: Look) -> Drawing:
    """Unexplained use a day with its 90 % band, zero marked."""
    frame = _rates(review, look)
    if frame.empty:
        return Drawing("No reading covers this month yet", "Nothing to draw yet.", None, pd.DataFrame())
    frame["middle"] = frame["begin"] + (frame["finish"] - frame["begin"]) / 2
    frame["low"] = frame["unexplained_l_day"] - NINETY * frame["sd_l_day"]
    frame["high"] = frame["unexplained_l_day"] + NINETY * frame["sd_l_day"]
    unit = look.unit("volume")
    outside = _outside(frame)
    title = (
        _outside_title(frame, outside, look, gathered=len(frame) < len(review.intervals))
        if len(outside)
        else f"{look.left_use} stays within what the readings cannot see"
    )
    text = (
        f"{title}. Points are {look.left.lower()} {unit} a day between readings, lines their 90 % range; "
        f"the greatest is {frame['unexplained_l_day'].max():,.0f}, the least "
        f"{frame['unexplained_l_day'].min():,.0f}.".replace("-", "−")
    )
    base = alt.Chart()
    x = alt.X("middle:T", title=None, axis=dates_axis(frame["middle"].min(), frame["middle"].max()))
    tips = [
        alt.Tooltip("from_words:N", title="From"),
        alt.Tooltip("to_words:N", title="To"),
        alt.Tooltip("unexplained_l_day:Q", title=f"{unit} a day", format=",.0f"),
        alt.Tooltip("low:Q", title="Low", format=",.0f"),
        alt.Tooltip("high:Q", title="High", format=",.0f"),
    ]
    clear = alt.condition(
        "datum.low > 0 || datum.high < 0", alt.value(look.palette.unexplained), alt.value(look.palette.ground)
    )
    chart = spec_of(
        base.mark_rule(color=look.palette.faint, strokeWidth=2).encode(
            x=x, y=alt.Y("low:Q", title=f"{look.left.lower()}, {unit} a day"), y2="high:Q", tooltip=tips
        ),
        base.mark_point(filled=True, opacity=1, size=48, stroke=look.palette.unexplained, strokeWidth=1.4).encode(
            x=x, y="unexplained_l_day:Q", fill=clear, tooltip=tips
        ),
        alt.Chart(pd.DataFrame({"y": [0.0]})).mark_rule(color=look.palette.ink).encode(y="y:Q"),
        data=frame[["middle", "low", "high", "unexplained_l_day", "from_words", "to_words"]],
        height=220,
        description=text,
        ink=look.palette.ink,
    )
    table = frame[["from_words", "to_words", "unexplained_l_day", "low", "high"]].set_axis(
        ["From", "To", f"{look.left}, {unit} a day", "Low", "High"], axis=1
    )
    key = (
        ("beyond chance", look.palette.unexplained, "●"),
        ("could be chance", look.palette.unexplained, "○"),
        ("90 % range", look.palette.faint, "line"),
    )
    return Drawing(title, text, chart, round_table(table), key)


def _outside_title(frame: pd.DataFrame, outside: pd.DataFrame, look: Look, *, gathered: bool) -> str:
    """In how many days, or stretches between readings, chance cannot have done it, and which way."""
    above, below = (outside["unexplained_l_day"] > 0).any(), (outside["unexplained_l_day"] < 0).any()
    passed = "more or less water passed than expected"
    if not (above and below):
        most = "expected" if look.left == LEFT_OVER else "anything explains"
        passed = f"more water passed than {most}" if above else "less water passed than expected"
    if len(frame) == 1:
        return f"Between the two readings {passed}"
    many = f"{len(outside)} of {len(frame)}"
    return f"On {many} days {passed}" if gathered else f"In {many} stretches between readings {passed}"

"""The strip of days: whether each zone ran, whether its plants were short of water, and the rain."""

from __future__ import annotations

import altair as alt
import pandas as pd

from core.review.month import MonthReview
from core.review.spoken import counted, listed
from core.units import show
from dashboard.charts.base import AXIS, Drawing, Look, day_axis, round_table, row_axis, spec_of, wrapped
from dashboard.words import STATES, day_words


def days_drawing(review: MonthReview, look: Look) -> Drawing:
    """The strip: for each zone and day whether it ran, by shape; plants short of water; rain below."""
    frame = review.zone_days
    if frame.empty:
        return Drawing("No zone was in use this month", "Nothing to draw yet.", None, pd.DataFrame())
    cells = _with_watering(frame)
    cells["row"] = [wrapped(look.names.get(z, z)) for z in cells["zone"]]
    cells["date"], cells["when"] = cells["day"].dt.day, cells["day"].map(day_words)
    cells["said"] = cells["state"].map(STATES) + cells["evidence"].map(lambda e: f" ({e})" if e else "")
    rows = list(dict.fromkeys(cells["row"]))
    rain = (
        cells[(cells["rain_mm"] > 0) & cells["day"].isin(_measured(review))].drop_duplicates("day").assign(row="Rain")
    )
    rain["said"] = [show(v, "depth", look.system) for v in rain["rain_mm"]]
    short = cells[cells["stressed"].astype(bool)].assign(said="plants short of water")
    y = alt.Y(
        "row:N",
        sort=[*rows, "Rain"],
        title=None,
        scale=alt.Scale(domain=[*rows, "Rain"]),
        axis=row_axis(grid=True),
    )
    tips = [alt.Tooltip("row:N", title="Row"), alt.Tooltip("when:N", title="Day"), alt.Tooltip("said:N", title="What")]
    shared = {"x": day_axis(review), "y": y, "tooltip": tips, "description": alt.Description("spoken:N")}
    shade = alt.Color(
        "zone:N", scale=alt.Scale(domain=list(look.shades), range=list(look.shades.values())), legend=None
    )
    ink = look.palette.ink

    def those(state: str) -> alt.Chart:
        return alt.Chart(_spoken(cells[cells["state"] == state]))

    text = _days_text(review, frame, look)
    layers = (
        those("ran").mark_point(filled=True, opacity=1, size=62).encode(color=shade, **shared),
        those("presumed").mark_point(filled=False, opacity=1, size=46, strokeWidth=1.8).encode(color=shade, **shared),
        those("by hand").mark_point(shape="diamond", filled=True, opacity=1, size=62).encode(color=shade, **shared),
        those("missed")
        .mark_point(shape="cross", angle=45, filled=True, opacity=1, size=80, color=ink)
        .encode(**shared),
        those("due")
        .mark_point(shape="triangle-right", filled=False, opacity=1, size=56, strokeWidth=1.8, color=ink)
        .encode(**shared),
        those("paused").mark_point(shape="stroke", opacity=1, size=46, strokeWidth=2, color=ink).encode(**shared),
        alt.Chart(_spoken(short))
        .mark_point(shape="triangle-down", filled=True, opacity=1, size=34, yOffset=11, color=look.palette.unexplained)
        .encode(**shared),
        alt.Chart(_spoken(rain))
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
    hand = [("watered by hand", ink, "◆")] if (cells["state"] == "by hand").any() else []
    due = [("set for later today, not yet due", ink, "▷")] if (cells["state"] == "due").any() else []
    key = (
        ("ran", ink, "●"),
        ("presumed: nobody can vouch for it", ink, "○"),
        *hand,
        ("did not run", ink, "✕"),
        *due,
        ("paused on purpose", ink, "–"),
        ("plants short of water", look.palette.unexplained, "▼"),
        ("rain", look.palette.rain, f"drop {look.palette.rain_edge}"),
    )
    return Drawing(_days_title(review), text, chart, _days_table(frame, look), key)


def _with_watering(frame: pd.DataFrame) -> pd.DataFrame:
    """States with watering by hand, which somebody wrote down or did not; minutes are of a run of the night before."""
    by_hand = frame["state"].isin(["none", "off"]) & (frame["applied_l"] > 0) & (frame["run_minutes"] == 0)
    state = frame["state"].mask(by_hand, "by hand")
    if "hand" in frame:  # a hose has no program that could be out of use
        state = state.mask(frame["hand"].astype(bool) & state.eq("none"), "no word")
    return frame.assign(state=state)


def _measured(review: MonthReview) -> pd.Series:
    """Days whose rain somebody measured: a share of a usual month's rain is no rain on any day."""
    weather = review.weather_days
    return weather.loc[weather["rain_basis"] != "normals", "day"] if "rain_basis" in weather else weather["day"]


def _spoken(cells: pd.DataFrame) -> pd.DataFrame:
    """What a chart of signs needs, with each sign in words for those who hear it."""
    told = cells[["when", "row", "said"]].astype(str)  # of no signs at all pandas would not know that they are words
    words = told["when"] + ", " + told["row"].str.replace("\n", " ") + ": " + told["said"]
    return cells[["row", "date", "when", "said", "zone"]].assign(spoken=words)


def _days_title(review: MonthReview) -> str:
    due = bool((review.zone_days["state"] == "due").any())
    missed = [z for z in review.zones if z.missed_days]
    if missed:
        return "Did not run: " + listed(f"{z.name} on {counted(z.missed_days, 'day')}" for z in missed)
    if any(z.unvouched_days for z in review.zones):
        return "No day is known to be missed; rings are days nobody can vouch for"
    if review.zone_days["state"].isin(["ran", "presumed"]).any():
        return "Every day that was set ran" + (", and today's run is still to come" if due else "")
    if due:
        return "The first run is still to come, later today"
    if (review.zone_days["state"] == "paused").any():
        return "Paused on purpose: nothing ran"
    return "No run was set"


def _days_text(review: MonthReview, frame: pd.DataFrame, look: Look) -> str:
    wet = frame.loc[(frame["rain_mm"] > 0) & frame["day"].isin(_measured(review)), "day"].nunique()
    told = [
        f"{z.name}: {counted(z.ran_days, 'day')} known to have run, {z.missed_days} missed, "
        f"{z.unvouched_days} presumed, "
        f"{z.stress_days} with plants short of water"
        for z in review.zones
    ]
    zones = f" {'; '.join(told)}." if told else ""
    due = listed(look.names.get(z, z) for z in frame.loc[frame["state"] == "due", "zone"].unique())
    later = f" Still to run later today: {due}." if due else ""
    return f"One row a zone, one sign a day, of {review.first:%B %Y}.{zones}{later} Rain on {counted(wet, 'day')}."


def _days_table(frame: pd.DataFrame, look: Look) -> pd.DataFrame:
    frame = _with_watering(frame)
    table = pd.DataFrame(
        {
            "Day": frame["day"].map(lambda day: day_words(day, False)),
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

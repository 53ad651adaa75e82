"""Charts of the meter's page: what is drawn from reading to reading, and what their titles say of it."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pandas as pd
import pytest

from core.figures import Figure
from dashboard.charts import intervals_drawing, unexplained_drawing
from dashboard.charts.base import dates_axis
from tests.dashboard import invented
from tests.dashboard.drawn import data_of, look


def test_hourly_intervals_are_gathered_so_that_the_chart_stays_an_svg() -> None:
    """Streamlit draws more than 2,000 marks on a canvas, which a screen reader cannot enter (seen at 2,001)."""
    review = invented.month(intervals=invented.intervals_frame(hours=1))
    assert len(review.intervals) == 648
    assert len(data_of(intervals_drawing(review, look()).spec)) < 2000
    assert len(intervals_drawing(review, look()).table) == 648


def test_intervals_are_shown_as_a_rate_a_day() -> None:
    """Two days at 800 L in all are 400 L a day."""
    frame = invented.intervals_frame(hours=48)
    rows = data_of(intervals_drawing(invented.month(intervals=frame), look("metric")).spec)
    known = rows[rows["name"].isin(["Indoor", "Zones"])]
    assert known.groupby("begin")["to"].max().iloc[0] == pytest.approx(430 + 400)


@pytest.mark.parametrize(
    ("hours", "words"), [(1, "Hour by hour"), (6, "about 6 hours apart"), (24, "about a day apart"), (72, "3 days")]
)
def test_the_pace_of_the_readings_is_told_as_it_is(hours: int, words: str) -> None:
    """Also where many intervals are gathered by day to draw them; a file's quarter hours come joined to hours."""
    frame = invented.intervals_frame(hours).assign(unexplained_l=0.0)
    assert words in intervals_drawing(invented.month(intervals=frame, findings=()), look()).title


@pytest.mark.parametrize(
    ("left", "words"),
    [(0.0, "nearly all the water is"), (0.05, "95 % of the water is"), (-0.05, "Hour by hour, all the")],
)
def test_how_much_is_accounted_for_is_told_in_a_figure(left: float, words: str) -> None:
    frame = invented.intervals_frame(1)
    frame["unexplained_l"] = left * frame["metered_l"]
    frame["sd_l"] = 30.0  # so that chance alone may do it
    assert words in intervals_drawing(invented.month(intervals=frame, findings=()), look()).title


@pytest.mark.parametrize(
    ("hours", "times", "words"),
    [
        (24, 1, "In 1 of 27 stretches between readings more water passed than anything explains"),
        (24, -1, "In 1 of 27 stretches between readings less water passed than expected"),
        (1, 1, "On 1 of 27 days more water passed than anything explains"),
    ],
)
def test_what_chance_cannot_have_done_is_told_of_stretches_or_days(hours: int, times: int, words: str) -> None:
    """One day of 27, midnight to midnight in Denver, lies 900 L out; the other 26 are what was expected."""
    frame = invented.intervals_frame(hours)
    out = frame["start"].dt.tz_convert("America/Denver").dt.day == 14
    frame["unexplained_l"] = np.where(out, times * 900.0 * hours / 24, 0.0)
    assert unexplained_drawing(invented.month(intervals=frame), look()).title == words


def test_the_meters_chart_keeps_to_its_month_and_says_what_its_tiles_say() -> None:
    """Weeks from 28 June to 2 August; the month's own figures are 750 of 3,000 L: 25 %."""
    starts = pd.date_range("2026-06-28 13:00", periods=5, freq="7D", tz="UTC")
    weeks = pd.DataFrame({"meter": "house", "start": starts, "end": starts + pd.Timedelta(days=7), "note": ""}).assign(
        metered_l=1000.0, indoor_l=600.0, zones_l=200.0, other_l=0.0, unexplained_l=200.0, sd_l=10.0
    )
    review = invented.month(intervals=weeks, used=Figure(3000.0, "volume"), unexplained=Figure(750.0, "volume"))
    drawing = intervals_drawing(review, look("metric"))
    assert drawing.title == "25 % of what the meter counted in July is unexplained"
    short = invented.month(intervals=weeks, used=Figure(3000.0, "volume"), unexplained=Figure(-750.0, "volume"))
    title = intervals_drawing(short, look("metric")).title
    assert title == "20 % of what was expected in July never came through the meter", "750 L of 3,750 L expected"
    rows = data_of(drawing.spec).dropna(subset=["begin"])
    assert pd.to_datetime(rows["begin"]).min() == pd.Timestamp("2026-07-01")
    assert pd.to_datetime(rows["finish"]).max() == pd.Timestamp("2026-08-01")
    assert len(drawing.table) == 5, "the table lists each whole"


def test_a_month_that_adds_up_only_in_all_is_not_headed_as_if_every_hour_did() -> None:
    """31 days by the hour of which 9 are 300 L too little or too much; the 90 % band is 1.645 standard deviations."""
    starts = pd.date_range("2026-07-01 06:00", periods=31 * 24, freq="h", tz="UTC")
    hours = pd.DataFrame({"meter": "house", "start": starts, "end": starts + pd.Timedelta(hours=1), "note": ""})
    day = starts.tz_convert("America/Denver").day
    odd = np.where(day <= 5, -20.0, np.where(day <= 9, 25.0, 0.0))
    hours = hours.assign(indoor_l=40.0, zones_l=0.0, other_l=0.0, unexplained_l=odd, metered_l=40.0 + odd, sd_l=2.0)
    title = intervals_drawing(invented.month(intervals=hours), look("metric")).title
    assert title.startswith(
        "Over all its days, nearly all the water is accounted for, yet on 9 of 31 days more or less"
    )
    quiet = hours.assign(unexplained_l=0.0, metered_l=40.0)
    title = intervals_drawing(invented.month(intervals=quiet, findings=()), look("metric")).title
    assert title == "Hour by hour, nearly all the water is accounted for"
    title = intervals_drawing(invented.month(intervals=quiet), look("metric")).title
    assert title.endswith("yet 2 things found in it wait for an answer")


@pytest.mark.parametrize(
    ("first", "last", "dates"),
    [
        ("2026-05-01", "2026-05-01 17:00", ["1 May"]),
        ("2026-05-01 07:00", "2026-05-01 17:00", ["1 May"]),
        ("2026-05-01", "2026-05-04 08:00", ["1 May", "2 May", "3 May", "4 May"]),
        ("2026-05-01", "2026-06-01", ["1 May", "6 May", "11 May", "16 May", "21 May", "26 May", "31 May"]),
    ],
)
def test_a_date_stands_once_on_an_axis(first: str, last: str, dates: list[str]) -> None:
    """Early in a month too, where few days are to be drawn: left to itself the axis read "1 May 1 May"."""
    values = dates_axis(pd.Timestamp(first), pd.Timestamp(last)).to_dict()["values"]
    marks = [datetime(v["year"], v["month"], v["date"]) for v in values]
    assert [f"{d.day} {d:%b}" for d in marks] == dates


def test_both_charts_of_the_meter_date_their_axis_so() -> None:
    """Three days, midnight to midnight in Denver: four midnights; between the middles of the days lie two."""
    review = invented.month(intervals=invented.intervals_frame(hours=24).head(3))
    for drawing, days in (
        (intervals_drawing(review, look()), [1, 2, 3, 4]),
        (unexplained_drawing(review, look()), [2, 3]),
    ):
        assert drawing.spec is not None
        axes = [layer["encoding"]["x"]["axis"] for layer in drawing.spec["layer"] if "x" in layer["encoding"]]
        assert axes
        assert all([v["date"] for v in axis["values"]] == days for axis in axes)

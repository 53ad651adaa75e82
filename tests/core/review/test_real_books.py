"""Real weather and real meters brought in whole, and reviewed.

Sources: seattle-weather of the vega_datasets package (NOAA daily records, 2012 to 2015); the labelled Utah house
(UCHIC/CIWS-VisChallenge 2020, BSD-3-Clause); the Spanish quarterly houses (DAIAD, CC BY-SA 4.0). The meter files are
read from ../shared/data and not kept in this project.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pandas as pd
import pytest
from vega_datasets import data as vega

from core.accounts.registers import meter_intervals
from core.book.kinds import EmitterGroup, Home, Measured, Meter, Planting, Program, Supply, Zone
from core.book.store import Book
from core.exchange.intake import bring, preview
from core.exchange.sheets import read_sheet
from core.review import month_of, months_in, see


def seattle() -> pd.DataFrame:
    table: pd.DataFrame = vega.seattle_weather()
    return table.assign(day=pd.to_datetime(table["date"]).dt.strftime("%Y-%m-%d"))


def brought(book: Book, kind: str, table: pd.DataFrame) -> int:
    planned = preview(book, [read_sheet(table.to_csv(index=False), kind, book.zone_info, f"{kind}.csv")])
    assert not planned.refused
    bring(book, planned)
    return len(planned.new)


def garden(path: Path, home: Home) -> Book:
    book = Book.create(path, home)
    since = date(2012, 1, 1)
    with book.change("the garden") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="street", name="Street", supply="town", unit="gal", digits=7))
        change.add(Zone(code="hedge", name="Hedge", supply="town"))
        change.add(
            Planting(zone="hedge", code="yew", since=since, name="Yew hedge", plant_type="shrub", count=12,
                     canopy=Measured("3", "ft", "length"))
        )  # fmt: skip
        change.add(
            EmitterGroup(zone="hedge", code="drip", since=since, count=24, flow_each=Measured("1", "gph", "flow"),
                         waters="yew")
        )  # fmt: skip
        change.add(Program(zone="hedge", since=since, days="mon wed fri", starts="05:00", minutes=40))
    return book


@pytest.fixture(scope="module")
def seattle_book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    home = Home(name="Rain Street", latitude=47.45, longitude=-122.31, timezone="America/Los_Angeles")
    book = garden(tmp_path_factory.mktemp("seattle") / "s.rillbook", home)
    table = seattle()
    weather = pd.DataFrame(
        {"station": "airport", "day": table["day"], "tmin_c": table["temp_min"], "tmax_c": table["temp_max"],
         "wind_mps": table["wind"]}
    )  # fmt: skip
    following = (pd.to_datetime(table["day"]) + pd.Timedelta(days=1)).dt.strftime("%Y-%m-%d")
    rain = pd.DataFrame(
        {"gauge": "airport", "start": table["day"], "end": following, "rain_mm": table["precipitation"]}
    )
    assert brought(book, "weather", weather) == 1461
    assert brought(book, "rain", rain) == 1461
    return book


def test_seattles_weather_comes_in_whole_and_every_month_is_reviewed(seattle_book: Book) -> None:
    picture = see(seattle_book, datetime(2016, 1, 1, 7, tzinfo=UTC))
    rain = dict.fromkeys(range(2012, 2016), 0.0)
    for month in months_in(picture):
        review = month_of(picture, month)
        assert review.used.value is None
        assert review.sentences
        rain[int(month[:4])] += float(review.weather_days["rain_mm"].sum())
        assert set(review.weather_days["method"]) <= {"hargreaves", "penman-monteith"}
    # Millimetres by year as summed in the data's own notes.
    assert rain == pytest.approx({2012: 1226.0, 2013: 828.0, 2014: 1232.8, 2015: 1139.2}, abs=0.05)


def test_a_dry_seattle_summer_needs_more_than_a_wet_winter(seattle_book: Book) -> None:
    picture = see(seattle_book, datetime(2016, 1, 1, 7, tzinfo=UTC))
    july, january = (month_of(picture, m).zones[0] for m in ("2015-07", "2015-01"))
    assert (july.need.value or 0) > 4 * (january.need.value or 0)
    assert january.stress_days == 0


@pytest.mark.real_data
def test_the_utah_house_at_hourly_pace_closes_to_its_register(tmp_path: Path, real_data: Path) -> None:
    """The low-flow hour every day and the spray set on even dates, as the published events have them."""
    hours = pd.read_csv(real_data / "meter_utah2020_labelled_hourly.csv", parse_dates=["read_at"])
    home = Home(name="Utah", latitude=41.7, longitude=-111.8, timezone="America/Denver", people=5)
    book = Book.create(tmp_path / "utah.rillbook", home)
    with book.change("the house") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="street", name="Street", supply="town", unit="gal", digits=7))
        for code, flow in (("low", "1.16"), ("spray", "21.36")):
            change.add(Zone(code=code, name=code, supply="town", flow=Measured(flow, "gpm", "flow")))
        change.add(Program(zone="low", since=date(2020, 7, 1), days="daily", starts="03:44", minutes=59.6))
        change.add(Program(zone="spray", since=date(2020, 7, 1), days="even", starts="05:00", minutes=141.5))
    use = pd.DataFrame(
        {
            "meter": "street",
            "start": hours["read_at"].dt.strftime("%Y-%m-%d %H:%M"),
            "end": (hours["read_at"] + pd.Timedelta(hours=1)).dt.strftime("%Y-%m-%d %H:%M"),
            "volume_gal": hours["gallons"],
        }
    )
    assert brought(book, "metered_use", use) == 336
    picture = see(book, datetime(2020, 8, 4, 15, tzinfo=UTC))
    reviews = [month_of(picture, m) for m in ("2020-07", "2020-08")]
    gal = 3.785411784
    total = sum(r.used.value or 0 for r in reviews)
    assert total / gal == pytest.approx(hours["gallons"].sum(), abs=0.01)  # 24,526.74 gal published
    for review in reviews:
        assert sum(p.volume.value or 0 for p in review.parts) == pytest.approx(review.used.value, abs=1e-6)
    events = pd.read_csv(real_data / "meter_utah2020_outdoor_events.csv")
    true = events[events["kind"] != "hose"].groupby("kind")["gallons"].sum()
    zones = {p.part: 0.0 for p in reviews[0].parts}
    for review in reviews:
        for part in review.parts:
            zones[part.part] += (part.volume.value or 0) / gal
    # Five per cent: what a zone's flow is known to from a meter, lower end of common practice (no source).
    assert zones["zone:spray"] == pytest.approx(true["spray_set_6_zones"], rel=0.05)
    assert zones["zone:low"] == pytest.approx(true["low_flow_60_min"], rel=0.1)
    assert not any(f.kind == "steady" for r in reviews for f in r.findings)


@pytest.mark.real_data
def test_five_register_falls_of_the_quarterly_houses_are_changes_not_rollovers(tmp_path: Path, real_data: Path) -> None:
    """The file's notes name the five falls: all meter changes, none near the top of its register."""
    table = pd.read_csv(real_data / "meter_daiad_f_quarterly_m3.csv")
    home = Home(name="Three houses", latitude=38.4, timezone="Europe/Madrid")
    book = Book.create(tmp_path / "q.rillbook", home)
    with book.change("meters") as change:
        change.add(Supply(code="town", name="Town water"))
        for house in sorted(table["house"].unique()):
            change.add(Meter(code=house, name=house, supply="town", unit="m3", digits=4))
    readings = table.rename(columns={"house": "meter", "read_at": "at", "register_m3": "register_value"})
    brought(book, "meter_reading", readings[["meter", "at", "register_value"]])
    frames = book.frames()
    intervals = meter_intervals(frames["meter_reading"], frames["meter"], frames["metered_use"])
    falls = intervals[intervals["volume_l"].isna()]
    ends = {(r["meter"], f"{r['end']:%Y-%m-%d}") for r in falls.to_dict("records")}
    assert ends == {
        ("house1", "2002-04-12"), ("house1", "2013-09-09"), ("house2", "2005-09-07"), ("house2", "2016-06-13"),
        ("house3", "2017-03-13"),
    }  # fmt: skip
    assert intervals["volume_l"].max() < 200_000  # a rollover would have invented thousands of m3

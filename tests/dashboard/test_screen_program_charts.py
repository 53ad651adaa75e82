"""Charts of weeks, of programs side by side and of trips say what they are given, in words, marks and tables."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import altair as alt
import pandas as pd
import pytest

from core.figures import Figure
from core.notation import DayPattern, parse_starts
from core.review.as_set import AsSet
from core.review.away import Away, PlantingAway
from core.review.fitting import FittingMonth, ZoneFit
from core.review.outlook import Outlook
from core.review.plants import PlantsMonth
from core.water.program import Fitting
from dashboard.charts import Look
from dashboard.charts.enough import weeks_drawing
from dashboard.charts.program import away_drawing, beside_drawing
from dashboard.colours import DARK, LIGHT
from tests.dashboard.drawn import data_of

GALLON_L = 3.785411784  # US gallon, exact (NIST Handbook 44)
NAMES = {"tubs": "Tubs *by* the door", "hedge": "Quince hedge"}


def look(system: str = "metric", palette: Any = LIGHT) -> Look:
    return Look(system, palette, NAMES, palette.zones(list(NAMES)))  # type: ignore[arg-type]


def plants(short: float = 40.0, excess: float = 0.0) -> PlantsMonth:
    """Two weeks of one zone: 100 L needed in each, 40 lacking in the second."""
    weeks = pd.DataFrame(
        {
            "zone": "tubs",
            "first": pd.to_datetime(["2026-07-06", "2026-07-13"]),
            "last": pd.to_datetime(["2026-07-12", "2026-07-19"]),
            "need_l": 100.0,
            "short_l": [0.0, short],
            "effective_rain_l": [20.0, 0.0],
            "kept_l": [80.0, 60.0],
            "excess_l": [excess, 0.0],
            "applied_l": [80.0 + excess, 60.0],
        }
    )
    at = datetime(2026, 7, 20, tzinfo=UTC)
    return PlantsMonth(
        "2026-07",
        date(2026, 7, 1),
        date(2026, 7, 31),
        at,
        "metric",
        "$",
        NAMES,
        (),
        (),
        (),
        (),
        (),
        (),
        (),
        weeks=weeks,
    )


def test_the_weeks_stack_to_what_there_was_and_mark_the_need() -> None:
    drawing = weeks_drawing(plants(excess=60.0), look(), ["tubs"])
    assert drawing.spec is not None
    alt.LayerChart.from_dict(drawing.spec, validate=True)
    rows = data_of(drawing.spec)
    assert list(rows["excess_to"]) == [160.0, 60.0]  # rain 20 + kept 80 + drained 60; kept 60
    assert list(rows["need"]) == [100.0, 100.0]
    lacked = "40 L were lacking in the week of 13–19 Jul"
    assert drawing.title == f"{lacked}, and 60 L given drained away in {NAMES['tubs']} in the week of 6–12 Jul"
    little = weeks_drawing(plants(excess=30.0), look(), ["tubs"])  # 30 L are within 30 % of the 180 L rain left to give
    assert little.title == lacked
    assert drawing.spec["description"] == drawing.text
    assert list(drawing.table.iloc[1]) == ["13–19 Jul", "100", "0", "60", "0", "40"]
    assert "13–19 Jul: needed 100" in rows["spoken"].iloc[1]


@pytest.mark.parametrize("second", [0.0, 90.0])
def test_one_zone_that_got_too_much_is_told_though_all_together_did_not(second: float) -> None:
    """Of 1,000 L a week in all only the hedge's 100 L drain, half of the 200 L it needs in both weeks; that it drained
    in the other week too does not name it twice.
    """
    month = plants(short=0.0)
    big = month.weeks.assign(need_l=900.0, excess_l=0.0)
    hedge = month.weeks.assign(zone="hedge", effective_rain_l=0.0, short_l=0.0, excess_l=[100.0, second])
    both = replace(month, weeks=pd.concat([big, hedge], ignore_index=True))
    assert weeks_drawing(both, look(), ["tubs", "hedge"]).title == (
        f"100 L given drained away in {NAMES['hedge']} in the week of 6–12 Jul"
    )


def test_weeks_with_about_enough_and_none_at_all() -> None:
    assert weeks_drawing(plants(short=2.0), look(), ["tubs"]).title == "Every week had about enough"
    nothing = weeks_drawing(plants(), look(), ["hedge"])
    assert nothing.spec is None
    assert "Nothing was needed" in nothing.title


def test_a_week_that_lacked_and_got_too_much_says_where() -> None:
    month = plants(short=24.0)
    other = month.weeks.assign(zone="hedge", short_l=0.0, excess_l=[0.0, 668.0])
    both = replace(month, weeks=pd.concat([month.weeks, other], ignore_index=True))
    said = weeks_drawing(both, look(), ["tubs", "hedge"]).title
    lacked = f"In the week of 13–19 Jul 24 L were lacking in {NAMES['tubs']}"
    assert said == f"{lacked} while 668 L given drained away in {NAMES['hedge']}"
    alone = replace(month, weeks=month.weeks.assign(excess_l=[0.0, 60.0]))
    said = weeks_drawing(alone, look(), ["tubs"]).title
    assert said == "In the week of 13–19 Jul 24 L were lacking on some days and 60 L given drained away on others"


def test_weeks_in_gallons() -> None:
    drawing = weeks_drawing(plants(), look("us"), ["tubs"])
    assert drawing.spec is not None
    assert data_of(drawing.spec)["need"].iloc[0] == pytest.approx(100 / GALLON_L)
    assert "11 gal were lacking" in drawing.title  # 40 L


def fit(zone: str, fits: float, given: float) -> ZoneFit:
    program = Fitting(DayPattern("weekdays", frozenset({0})), 1, 20, 7.0, 7, 0.0, "")
    as_set = AsSet("a", DayPattern("weekdays", frozenset({1})), parse_starts("05:00"), 30.0, date(2026, 5, 1))
    return ZoneFit(
        zone=zone, name=NAMES[zone], controller="box", need=Figure(3.0, "volume"), fit=program,
        starts=parse_starts("04:00"), as_set=(as_set,), fit_l=fits, set_l=given, gave_l=given, less_l=given - fits,
        money=None, risk="", set_risk="", note="", demand=None, sentence="",
    )  # fmt: skip


def month(*zones: ZoneFit, running: bool = True) -> FittingMonth:
    weather = Outlook("normals", 6.0, 0.0, "A usual July.", ())
    first = date(2026, 7, 1)
    return FittingMonth(7, first, first, running, weather, zones, (), (), (), ())


def test_programs_side_by_side_name_the_zone_furthest_off() -> None:
    drawing = beside_drawing(month(fit("tubs", 100, 180), fit("hedge", 500, 480)), look())
    assert drawing.spec is not None
    alt.LayerChart.from_dict(drawing.spec, validate=True)
    assert drawing.title == "Tubs *by* the door gets 80 L more than fits, as set now"
    assert list(drawing.table.columns) == ["Zone", "Fits, L", "As set now, L"]
    assert list(drawing.table.iloc[0]) == ["Tubs *by* the door", "100", "180"]
    assert {"fill", "line"} == {manner for _, _, manner in drawing.key}


def test_programs_side_by_side_when_little_is_off_or_nothing_set() -> None:
    assert "about what fits" in beside_drawing(month(fit("tubs", 100, 104)), look()).title
    much = beside_drawing(month(fit("tubs", 4000, 4100), fit("hedge", 100, 71)), look()).title
    assert (
        much == f"{NAMES['hedge']} gets 29 L less than fits, as set now"
    )  # not about: 29 of 100, though of 4,100 in all
    both = beside_drawing(month(fit("tubs", 1000, 1400), fit("hedge", 1000, 710)), look()).title
    less, more = f"{NAMES['hedge']} gets 290 L less than fits", f"{NAMES['tubs']} gets 400 L more than fits"
    assert both == f"{less}; {more}, as set now"
    risky = replace(fit("tubs", 100, 95), set_risk="It gives 89 % of what is needed.")
    assert beside_drawing(month(risky), look()).title == (
        f"Every zone gets about what fits, as set now, with a risk in {NAMES['tubs']}"
    )


def test_zones_that_need_nothing_and_are_set_are_drawn() -> None:
    idle = replace(fit("tubs", 0, 400), fit=None, note="Rain is enough.")
    drawing = beside_drawing(month(idle, replace(fit("hedge", 0, 0), fit=None)), look())
    assert drawing.title == f"{NAMES['tubs']} gets 400 L more than fits, as set now"
    assert list(drawing.table["Zone"]) == [NAMES["tubs"]]
    assert "Nothing is set in July 2026" in beside_drawing(month(fit("tubs", 100, 0), running=False), look()).title
    bare = replace(fit("tubs", 0, 0), fit=None, fit_l=None)
    assert beside_drawing(month(bare), look()).spec is None


def away(
    name: str, short: int | None, half: int | None, runs: int | None = None, *, known: bool = True
) -> PlantingAway:
    start = date(2026, 7, 20)
    day = [None if n is None else start + timedelta(days=n - 1) for n in (runs, None, short, half)]
    days = pd.DataFrame({"day": pd.date_range("2026-07-18", "2026-07-24")})
    return PlantingAway("tubs", name.lower(), name, "Tubs", *day, known, days, f"{name}: told.")


def test_a_trip_is_a_field_a_day_with_signs() -> None:
    trip = Away(date(2026, 7, 20), date(2026, 7, 24), "", (), (away("Fig", 2, 4), away("Thyme", None, None)), ())
    drawing = away_drawing(trip, look())
    assert drawing.spec is not None
    alt.LayerChart.from_dict(drawing.spec, validate=True)
    assert drawing.title == "If the system stops, plants run short from 21 July, Fig first"
    rows = data_of(drawing.spec)
    fig = rows[rows["name"] == "Fig"].sort_values("nth")
    assert list(fig["nth"]) == [1, 2, 3, 4, 5], "days before the trip are not drawn"
    assert list(fig["sign"]) == ["", "–", "–", "×", "×"]
    assert set(rows[rows["name"] == "Thyme"]["sign"]) == {""}
    assert list(drawing.table.iloc[0]) == ["Fig", "enough", "short from 21 July, under half from 23 July"]
    assert "Fig: told." in drawing.text


def test_a_trip_with_nothing_dry_or_nothing_known() -> None:
    calm = Away(date(2026, 7, 20), date(2026, 7, 24), "", (), (away("Thyme", None, None),), ())
    assert "Nothing runs dry" in away_drawing(calm, look()).title
    blank = replace(calm, plantings=(away("Thyme", None, None, known=False),))
    assert away_drawing(blank, look()).spec is None


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_signs_are_told_by_more_than_colour(palette: Any) -> None:
    trip = Away(date(2026, 7, 20), date(2026, 7, 24), "", (), (away("Fig", 1, 3, runs=4),), ())
    drawing = away_drawing(trip, look(palette=palette))
    assert {manner for _, _, manner in drawing.key} == {"–", "×", "●"}
    assert drawing.spec is not None
    assert list(data_of(drawing.spec).sort_values("nth")["running"]) == [False, False, False, True, True]

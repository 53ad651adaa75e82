"""Plants at the edges: storms, pots of two litres, no weather at all, leap days, bare zones, south of the equator; and
that nothing of the water is ever lost in the books.
"""

from __future__ import annotations

import tempfile
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from core.book.kinds import Weather
from core.book.store import Book
from core.review import month_of
from core.review.picture import draw
from core.review.plants import plants_month
from core.review.weeks import planting_water, zone_totals, zone_water, zone_weeks
from tests.core.review.gardens import (
    begin,
    celsius,
    did_not_run,
    drip,
    measure,
    metered,
    mm,
    normals,
    pot,
    program,
    rain,
    shrubs,
    weather,
    write,
    zone,
)

FIRST, LAST = date(2026, 6, 1), date(2026, 7, 31)
END = datetime(2026, 7, 31, 18, tzinfo=UTC)


@settings(deadline=None, max_examples=12, suppress_health_check=[HealthCheck.too_slow])
@given(
    et=st.lists(st.floats(0, 12), min_size=61, max_size=61),
    showers=st.dictionaries(st.integers(0, 60), st.floats(0, 250), max_size=8),
    minutes=st.integers(1, 600),
    lph=st.floats(0.5, 400),
    device=st.sampled_from(["button", "inline", "mister"]),
    days=st.sampled_from(["daily", "mon thu", "odd", "every 5 from 2026-06-01"]),
    missed=st.sets(st.integers(0, 60), max_size=6),
)
def test_no_water_is_lost_or_made(
    et: list[float], showers: dict[int, float], minutes: int, lph: float, device: str, days: str, missed: set[int]
) -> None:
    """need = met + short; applied = kept + drained; rain + kept - met is the change of the store (FAO-56 eq. 85)."""
    with tempfile.TemporaryDirectory() as folder:
        sky = [Weather(station="home", day=FIRST + timedelta(days=n), reference_et=mm(e)) for n, e in enumerate(et)]
        emitters = drip(lph=lph, device=device, waters="shrubs:3 pot:1", since=FIRST)
        book = begin(
            Path(folder), zone(), shrubs(since=FIRST), pot(since=FIRST), emitters,
            program(days=days, minutes=minutes, since=FIRST), *sky,
        )  # fmt: skip
        write(book, *(rain(book, FIRST + timedelta(days=n), depth) for n, depth in showers.items()))
        write(book, *(did_not_run(book, FIRST + timedelta(days=n)) for n in missed))
        picture = draw(book, END)
    water = planting_water(picture, FIRST, LAST)
    assert water["known"].all()
    assert np.allclose(water["need_l"], water["met_l"] + water["short_l"])
    assert (water["short_l"] >= -1e-9).all()
    assert np.allclose(water["applied_l"], water["kept_l"] + water["drained_l"])
    for _, rows in water.groupby("planting"):
        missing = (rows["depletion_mm"] + rows["outside_depletion_mm"]).to_numpy() * rows["area_m2"].iloc[0]
        gained = (rows["effective_rain_l"] + rows["kept_l"] - rows["met_l"]).to_numpy()
        assert np.allclose(-np.diff(missing, prepend=0.0), gained, atol=1e-6)  # the store begins full
    zones = zone_water(picture, water, FIRST, LAST)
    for table in (zones, zone_weeks(zones), zone_totals(zones)):
        parts = table["kept_l"] + table["drained_l"] + table["unplanted_l"] + table["unknown_l"]
        assert np.allclose(table["applied_l"], parts)
        assert np.allclose(table["need_l"], table["met_l"] + table["short_l"])
        assert np.allclose(table["excess_l"], table["drained_l"] + table["unplanted_l"])
    applied = picture.applied[(picture.applied["day"] >= pd.Timestamp(FIRST))]
    assert zones["applied_l"].sum() == pytest.approx(applied["applied_l"].sum())


def test_a_storm_of_200_mm_drains_all_but_what_the_roots_hold(tmp_path: Path) -> None:
    """30 days of 3 mm before it leave 90 mm of 93 missing; the storm fills them and the rest drains."""
    book = begin(tmp_path, zone(), shrubs(since=FIRST), drip(since=FIRST, device="mister"), *weather(FIRST, LAST))
    write(book, rain(book, date(2026, 7, 10), 200.0))
    (shrub,) = plants_month(draw(book, END), "2026-07").plantings
    taken = shrub.rain.value or 0.0
    assert 0 < taken <= 930.0  # 93 mm over 10 m2
    assert shrub.percolated.value == pytest.approx(2000.0 - taken)
    assert shrub.excess.value == 0.0  # nothing of it was applied


def test_a_pot_of_two_litres_in_july(tmp_path: Path) -> None:
    """0.6 L of available water (30 % of the mix) for 0.31 L a day at 8 mm: one watering a day leaves it short daily."""
    book = begin(
        tmp_path, zone(), pot(since=FIRST), drip(lph=2, waters="pot", since=FIRST), *weather(FIRST, LAST, 8.0),
        program(days="daily", minutes=20, since=FIRST),
    )  # fmt: skip
    (tub,) = plants_month(draw(book, END), "2026-07").plantings
    assert tub.a_day.value == pytest.approx(8 * 0.8 * np.pi / 4 * 0.25**2)
    assert tub.stress_days == 0  # walked in two halves: half of the water comes before the second half of the need
    write(book, *(did_not_run(book, date(2026, 7, d)) for d in (14, 15, 16)))
    (tub,) = plants_month(draw(book, END), "2026-07").plantings
    assert tub.stress_days >= 3
    assert tub.lowest_stress is not None
    assert tub.lowest_stress < 0.3


def test_no_weather_at_all_is_said_and_nothing_is_taken_as_zero(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(since=FIRST), drip(since=FIRST), program(since=FIRST))
    picture = draw(book, END)
    found = plants_month(picture, "2026-07")
    (shrub,) = found.plantings
    assert shrub.need_l.value is None
    assert shrub.a_day.value is None
    assert shrub.excess.value is None
    assert shrub.unknown_days == 31
    assert shrub.applied.value == pytest.approx(9 * 30)  # what was given is known all the same
    assert found.zones["unknown_l"].sum() == pytest.approx(9 * 30)
    assert found.weather[0].startswith("No weather is known for July 2026")
    month = month_of(picture, "2026-07")
    assert month.zones[0].need.value is None
    assert "not known" in month.zones[0].sentence


def test_a_short_gap_is_bridged_and_marked(tmp_path: Path) -> None:
    days = [
        w for w in weather(FIRST, LAST) if isinstance(w, Weather) and not date(2026, 7, 5) <= w.day <= date(2026, 7, 8)
    ]
    book = begin(tmp_path, zone(), shrubs(since=FIRST), drip(since=FIRST), *days)
    found = plants_month(draw(book, END), "2026-07")
    assert found.plantings[0].need_l.value == pytest.approx(930.0)
    assert "bridged between the days beside it on 4 days" in found.weather[0]


def test_a_long_gap_is_left_open(tmp_path: Path) -> None:
    days = [
        w for w in weather(FIRST, LAST) if isinstance(w, Weather) and not date(2026, 7, 5) <= w.day <= date(2026, 7, 20)
    ]
    book = begin(tmp_path, zone(), shrubs(since=FIRST), drip(since=FIRST), *days)
    (shrub,) = plants_month(draw(book, END), "2026-07").plantings
    assert shrub.unknown_days >= 16
    assert (shrub.need_l.value or 0) <= 15 * 30


def test_weather_in_another_unit_gives_way_to_the_normals_and_is_said(tmp_path: Path) -> None:
    """Temperatures typed in Fahrenheit under Celsius: no July day is 95 C hot."""
    hot = [
        Weather(station="home", day=FIRST + timedelta(days=n), tmin=celsius(57), tmax=celsius(95)) for n in range(61)
    ]
    book = begin(tmp_path, zone(), shrubs(since=FIRST), drip(since=FIRST), program(since=FIRST), *hot, *normals())
    metered(book, FIRST, 60)
    picture = draw(book, END)
    assert set(picture.sky["method"]) == {"normals"}
    assert picture.sky["tmin_c"].isna().all()
    found = plants_month(picture, "2026-07")
    assert found.plantings[0].need_l.value == pytest.approx(930.0)
    assert any("look like Fahrenheit" in said and "normals stand in" in said for said in found.problems)
    assert any("look like Fahrenheit" in said for said in month_of(picture, "2026-07").cannot_know)


def test_an_elevation_no_place_has_counts_as_sea_level_and_is_said(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(since=FIRST), *weather(FIRST, LAST), elevation=measure(30000, "m", "length"))
    found = plants_month(draw(book, END), "2026-07")
    assert found.plantings[0].need_l.value == pytest.approx(930.0)
    assert any("Sea level" in said for said in found.problems)


def test_february_of_a_leap_year_has_29_days(tmp_path: Path) -> None:
    first, last = date(2028, 1, 1), date(2028, 3, 10)
    book = begin(tmp_path, zone(), shrubs(since=first), drip(since=first), *weather(first, last, 2.0))
    found = plants_month(draw(book, datetime(2028, 3, 10, 18, tzinfo=UTC)), "2028-02")
    assert found.last == date(2028, 2, 29)
    assert found.plantings[0].need_l.value == pytest.approx(29 * 10.0)  # 2 mm x 0.5 x 10 m2
    assert found.weeks["need_l"].sum() == pytest.approx(290.0)


def test_a_zone_with_nothing_planted(tmp_path: Path) -> None:
    book = begin(
        tmp_path, zone(), zone("bare"), shrubs(since=FIRST), drip(since=FIRST), drip("bare", waters="x", since=FIRST),
        program("bare", since=FIRST), *weather(FIRST, LAST),
    )  # fmt: skip
    found = plants_month(draw(book, END), "2026-07")
    assert [p.zone for p in found.plantings] == ["bed"]
    bare = found.zones.set_index("zone").loc["bare"]
    assert bare["applied_l"] == pytest.approx(9 * 30) == pytest.approx(bare["unplanted_l"])
    assert bare["excess_l"] == 0.0  # nobody can say that it was too much
    assert [link.zone for link in found.links] == ["bed"]
    assert "nothing is set to water it" in found.links[0].sentence


def test_a_book_without_plants(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), drip(waters="x", since=FIRST), program(since=FIRST), *weather(FIRST, LAST))
    found = plants_month(draw(book, END), "2026-07")
    assert found.plantings == ()
    assert found.sentences == ()
    assert found.zones["applied_l"].sum() > 0


def test_a_zone_whose_flow_is_not_known(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(since=FIRST), program(since=FIRST), *weather(FIRST, LAST))
    found = plants_month(draw(book, END), "2026-07")
    assert any("its flow is not known" in said for said in found.problems)
    assert found.plantings[0].unknown_days > 0
    assert found.plantings[0].applied.value is None or found.plantings[0].unknown_days == 31


def test_winter_comes_in_july_south_of_the_equator(tmp_path: Path) -> None:
    """A frost of -5 C in June ends the season there (FAO-56 Table 11); in January it is high summer."""
    first, last = date(2025, 12, 1), date(2026, 7, 31)
    cold = []
    for n in range((last - first).days + 1):
        low, high = (14, 28) if n < 150 else (-5, 9)
        cold.append(Weather(station="home", day=first + timedelta(days=n), tmin=celsius(low), tmax=celsius(high)))
    book = begin(
        tmp_path, zone(), shrubs(since=first), drip(since=first, lph=1), program(since=first), *cold,
        latitude=-35.0, timezone="Australia/Adelaide",
    )  # fmt: skip
    picture = draw(book, END)
    summer, winter = plants_month(picture, "2026-01"), plants_month(picture, "2026-07")
    assert (summer.plantings[0].a_day.value or 0) > 3 * (winter.plantings[0].a_day.value or 0)
    assert summer.plantings[0].stress_days > 20
    assert winter.plantings[0].stress_days == 0


def test_as_of_hides_what_had_not_happened(tmp_path: Path) -> None:
    book: Book = begin(tmp_path, zone(), shrubs(since=FIRST), drip(since=FIRST), *weather(FIRST, LAST))
    write(book, rain(book, date(2026, 7, 20), 30.0))
    before = plants_month(draw(book, datetime(2026, 7, 15, 18, tzinfo=UTC)), "2026-07")
    assert before.last == date(2026, 7, 15)
    assert before.plantings[0].rain.value == 0.0

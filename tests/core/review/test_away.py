"""Going away, against depletions counted by hand.

Shrubs under misters, which wet all of the 93 mm their roots hold (see test_plants), need 3 mm a day at 6 mm of
reference ET; p is 0.58, so they feel it once 53.94 mm are missing. Soaked on 29 June and watered on the 30th they lack
3 mm that evening, and without water 3d mm on the morning of July d: the first with more than 53.94 is the 18th (54 mm).
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from core.book.kinds import Pause, Weather
from core.book.store import Book
from core.errors import EntryError
from core.review.away import Away, PlantingAway, going_away
from core.review.picture import draw
from tests.core.review.gardens import begin, celsius, drip, normals, pot, program, rain, shrubs, weather, write, zone

NOW = datetime(2026, 6, 30, 18, tzinfo=UTC)
JULY = date(2026, 7, 1)
MONTHS = normals(reference_et_mm=186.0)


@pytest.fixture
def soaked(tmp_path: Path) -> Book:
    book = begin(
        tmp_path, zone(), shrubs(), drip(device="mister"), program(days="daily", minutes=30),
        *weather(date(2026, 6, 1), date(2026, 6, 30)), *MONTHS,
    )  # fmt: skip
    write(book, rain(book, date(2026, 6, 29), 200.0))
    return book


def trip(book: Book, days: int = 31, start: date = JULY) -> Away:
    return going_away(draw(book, NOW), start, days)


def only(found: Away) -> PlantingAway:
    (one,) = found.plantings
    return one


def test_the_day_the_shrubs_run_short_if_the_system_stops(soaked: Book) -> None:
    found = only(trip(soaked))
    assert found.short_stopped == date(2026, 7, 18)
    assert found.days["stopped_mm"].iloc[:10].tolist() == pytest.approx([3.0 * (n + 2) for n in range(10)])
    assert found.short_running is None  # 30 L every day are the 30 L they need
    assert found.sentence.startswith("Shrubs: fine while the system runs; if it stops, short from Sat 18 July, day 18")


def test_half_the_need_comes_when_half_of_what_is_left_to_feel_is_gone(soaked: Book) -> None:
    """Ks = (TAW - Dr) / ((1 - p) TAW) is below 0.5 once 73.5 mm are missing (FAO-56 eq. 84); later than day 18."""
    found = only(trip(soaked))
    assert found.half_stopped is not None
    rows = found.days.set_index("day")
    assert rows["stopped_mm"].loc[str(found.half_stopped)] > 73.0
    assert found.half_stopped > date(2026, 7, 25)


def test_a_short_trip_is_no_matter(soaked: Book) -> None:
    found = trip(soaked, days=14)
    assert only(found).sentence == "Shrubs: never short, even if the system stops."
    assert "nor if it stops" in found.sentences[0]


def test_until_the_trip_begins_the_system_runs(soaked: Book) -> None:
    """Watered up to the 9th, the 18 mornings begin on the 10th: short from the 27th."""
    assert only(trip(soaked, days=25, start=date(2026, 7, 10))).short_stopped == date(2026, 7, 27)


def test_it_goes_on_from_the_store_as_it_is(tmp_path: Path) -> None:
    """Without the soak, from full on 1 May and 30 L a day since the start of June, the same walk continued by hand."""
    book = begin(
        tmp_path, zone(), shrubs(since=date(2026, 6, 21)), drip(device="mister", since=date(2026, 6, 1)),
        *weather(date(2026, 6, 1), date(2026, 6, 30)), *MONTHS,
    )  # fmt: skip
    found = only(trip(book))
    # full on 21 June: 10 days of 3 mm by the evening of the 30th, 54 mm missing on the evening of 8 July
    assert found.days["stopped_mm"].iloc[0] == pytest.approx(33.0)
    assert found.short_running == found.short_stopped == date(2026, 7, 9)
    assert "running or not" in found.sentence


def test_a_pot_first_and_the_headline_names_it(soaked: Book) -> None:
    write(
        soaked, zone("tubs"), pot("tubs", name="Tub"), drip("tubs", lph=2, waters="pot"), program("tubs", days="daily")
    )
    found = trip(soaked)
    by_name = {p.name: p for p in found.plantings}
    assert by_name["Tub"].short_stopped == JULY
    assert "Tub first, from Wed 1 July, day 1" in found.sentences[0]


def test_a_pause_makes_running_the_same_as_stopped(soaked: Book) -> None:
    write(soaked, Pause(scope="all", since=date(2026, 6, 30), reason="repair"))  # 6 mm are missing that evening
    found = trip(soaked)
    assert only(found).short_running == only(found).short_stopped == date(2026, 7, 17)
    assert any("off by a pause" in note for note in found.notes)


def test_a_pause_that_begins_on_the_way_counts(soaked: Book) -> None:
    """1 July still runs, so that the shrubs are short a day later than the 18th of a system that stops before it."""
    write(soaked, Pause(scope="all", since=date(2026, 7, 2), reason="repair"))
    found = trip(soaked)
    assert only(found).short_running == date(2026, 7, 19)
    assert any("off by a pause written down from 2 July 2026" in note for note in found.notes)


def test_no_rain_is_counted_and_hand_watering_is_nobodys(soaked: Book) -> None:
    write(soaked, zone("hose", hand=True, controller=None))
    found = trip(soaked)
    assert "without rain" in found.weather
    assert any("Nobody waters Hose" in note for note in found.notes)


def test_the_last_two_weeks_as_weather(soaked: Book) -> None:
    """12 mm a day for the last weeks is 6 a day: p falls to 0.46, felt beyond 42.78 mm; 3 then 6 mm each day after."""
    picture = draw(soaked, NOW)
    picture.sky.loc["2026-06-16":"2026-06-29", "reference_et_mm"] = 12.0
    found = only(going_away(picture, JULY, 31, "recent"))
    mornings = [found.days["stopped_mm"].iloc[0] - 6.0 + 6.0 * n for n in range(31)]
    first = next(n for n, missing in enumerate(mornings) if missing > 0.46 * 93)
    assert found.short_stopped == date(2026, 7, 1 + first)


def test_plants_that_are_taken_out_meanwhile_are_not_counted_after(soaked: Book) -> None:
    write(soaked, shrubs(code="early", until=date(2026, 7, 15)))
    found = {p.planting: p for p in trip(soaked).plantings}
    assert found["early"].short_stopped is None
    assert "early" not in {p.planting for p in trip(soaked, start=date(2026, 7, 15)).plantings}


def test_a_store_that_is_not_known_is_said(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip(), *MONTHS)
    write(book, Weather(station="home", day=date(2026, 6, 30), tmin=celsius(10), tmax=celsius(25)))
    picture = draw(book, NOW)
    picture.growth.days[["depletion_mm", "outside_depletion_mm"]] = float("nan")
    found = going_away(picture, JULY, 10)
    assert "its store is not known" in only(found).sentence
    assert "nothing is known" in found.sentences[0]


def test_at_rest_in_winter(tmp_path: Path) -> None:
    days = [Weather(station="home", day=date(2026, 11, d), tmin=celsius(-6), tmax=celsius(4)) for d in range(1, 26)]
    book = begin(tmp_path, zone(), shrubs(), drip(), *days, *MONTHS)
    picture = draw(book, datetime(2026, 11, 25, 18, tzinfo=UTC))
    told = only(going_away(picture, date(2026, 12, 1), 30))
    assert told.sentence == "Shrubs: at rest for the winter."
    assert told.resting


@pytest.mark.parametrize(
    ("start", "days", "said"),
    [
        (date(2026, 6, 29), 5, "not a day a trip"),
        (date(2027, 2, 1), 5, "not a day a trip"),
        (JULY, 0, "cannot be looked ahead"),
        (JULY, 400, "cannot be looked ahead"),
    ],
)
def test_trips_that_cannot_be_looked_at(soaked: Book, start: date, days: int, said: str) -> None:
    with pytest.raises(EntryError, match=said):
        trip(soaked, days, start)


def test_no_weather_to_go_by(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip())
    with pytest.raises(EntryError, match="Nothing is known of the weather"):
        trip(book)

"""The plants' month on small gardens whose figures can be reckoned by hand.

Shrubs in loam by the tables: factor 0.5 (ANSI/ASABE S623, woody), 155 mm/m of available water (FAO-56 Table 19) over
0.6 m of roots is 93 mm; p 0.5 shifts to 0.58 at 3 mm a day (FAO-56 Table 22 note). Buttons wet half the roots.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pandas as pd
import pytest

from core.book.kinds import CatchTest, FactorMonth, Pause
from core.book.store import Book
from core.days import parse_moment
from core.errors import EntryError
from core.review.picture import Picture, draw
from core.review.plants import PlantsMonth, plants_month
from tests.core.review.gardens import (
    begin,
    did_not_run,
    drip,
    measure,
    metered,
    normals,
    pot,
    program,
    rain,
    shrubs,
    weather,
    write,
    zone,
)

SUMMER = (date(2026, 5, 1), date(2026, 8, 31))
END = datetime(2026, 8, 31, 18, tzinfo=UTC)


def seen(book: Book, as_of: datetime = END) -> Picture:
    return draw(book, as_of)


def july(book: Book, month: str = "2026-07", as_of: datetime = END) -> PlantsMonth:
    return plants_month(seen(book, as_of), month)


@pytest.fixture
def bed(tmp_path: Path) -> Book:
    """Shrubs, 6 mm of reference ET every day, an hour of 60 L/h twice a week."""
    return begin(tmp_path, zone(), shrubs(count=5), drip(), program(minutes=60), *weather(*SUMMER))


def test_the_need_is_reference_et_times_factor_times_area(bed: Book) -> None:
    """6 mm x 0.5 x 10 m2 is 30 L a day, 930 in July, 6 a day for each of five plants (FAO-56 eq. 58)."""
    (shrub,) = july(bed).plantings
    assert shrub.factor == 0.5
    assert shrub.need.value == pytest.approx(93.0)
    assert shrub.need_l.value == pytest.approx(930.0)
    assert shrub.a_day.value == pytest.approx(30.0)
    assert shrub.each_a_day.value == pytest.approx(6.0)
    assert (shrub.need_l.low, shrub.need_l.high) == pytest.approx((930.0, 930.0 * 0.7 / 0.5))  # S623: humid 0.7
    assert any("S623" in line.source for line in shrub.need_l.working)
    assert shrub.applied.value == pytest.approx(9 * 60)  # 9 Mondays and Thursdays in July 2026
    assert "given 58 %" in shrub.sentence


def test_a_factor_of_the_month_wins_and_is_named_with_its_range_gone(bed: Book) -> None:
    write(bed, FactorMonth(zone="bed", planting="shrubs", month=7, factor=0.3, reason="cut back hard in June"))
    (shrub,) = july(bed).plantings
    assert shrub.factor == pytest.approx(0.3)
    assert shrub.need_l.value == pytest.approx(558.0)  # 6 x 0.3 x 10 x 31
    assert shrub.need_l.low == shrub.need_l.high == shrub.need_l.value
    assert shrub.factor_lines[0].value == 0.3
    (june,) = july(bed, "2026-06").plantings
    assert june.need_l.value == pytest.approx(900.0)


def test_a_factor_for_plants_that_are_not_there_is_said(bed: Book) -> None:
    write(bed, FactorMonth(zone="bed", planting="roses", month=7, factor=0.3, reason="mistyped"))
    assert any("“roses”" in said for said in july(bed).problems)


def test_what_was_applied_is_kept_or_drained_and_costs(tmp_path: Path) -> None:
    """Four hours at 100 L/h every day on 30 L of need: every day all but 30 L drains from a full store."""
    emitters = drip(lph=100, device="mister")  # wets all of the ground
    book = begin(tmp_path, zone(), shrubs(), emitters, program(days="daily", minutes=240), *weather(*SUMMER))
    metered(book, date(2026, 5, 1), 122)
    found = july(book)
    (shrub,) = found.plantings
    assert shrub.applied.value == pytest.approx(31 * 400, rel=0.1)  # the meter may correct the flow a little
    assert shrub.excess.value == pytest.approx(shrub.applied.value - 930)
    assert shrub.excess_money == pytest.approx(shrub.excess.value * 10 / 1000)  # 10 a cubic metre
    assert shrub.short.value == pytest.approx(0.0)
    assert shrub.short_money == pytest.approx(0.0)
    assert shrub.stress_days == 0
    row = found.zones.iloc[0]
    assert row["excess_l"] == pytest.approx(shrub.excess.value)
    assert found.weeks["excess_money"].sum() == pytest.approx(shrub.excess_money)
    assert "drained below the roots" in found.sentences[1]


def test_weeks_are_monday_to_sunday_and_sum_to_the_month(bed: Book) -> None:
    found = july(bed)
    weeks = found.weeks
    assert list(weeks["first"].dt.day) == [1, 6, 13, 20, 27]  # 1 July 2026 is a Wednesday
    assert list(weeks["last"].dt.day) == [5, 12, 19, 26, 31]
    litres = [c for c in weeks if c.endswith("_l")]
    assert weeks[litres].sum().to_numpy() == pytest.approx(found.zones[litres].iloc[0].to_numpy(float))


def test_missed_days_and_dry_days_are_linked_by_what_would_have_been(tmp_path: Path) -> None:
    """A pot of 2 L asks for water every day; shrubs hold a week of it. Two missed days are felt by one of them."""
    book = begin(
        tmp_path, zone(name="Yard"), shrubs(), pot(name="Tub"), *weather(*SUMMER),
        drip(), drip(code="spike", lph=2, waters="pot"), program(days="daily", minutes=30),
    )  # fmt: skip
    write(book, *(did_not_run(book, date(2026, 7, d)) for d in (14, 16)))
    found = july(book)
    (link,) = found.links
    assert link.missed == (date(2026, 7, 14), date(2026, 7, 16))
    by_name = {f.name: f for f in link.felt}
    assert by_name["Shrubs"].caused == () == by_name["Shrubs"].anyway
    assert date(2026, 7, 14) in by_name["Tub"].caused
    assert by_name["Tub"].anyway == ()
    assert link.sentence.startswith("Yard missed Tue 14 and Thu 16 July: Tub went dry from Tue 14")
    assert link.sentence.endswith("Shrubs never noticed.")


def test_a_program_that_gives_too_little_is_no_missed_day(tmp_path: Path) -> None:
    """10 L twice a week for 210 L of need: short although every run came."""
    book = begin(tmp_path, zone(), shrubs(), drip(lph=10), program(minutes=60), *weather(*SUMMER))
    found = july(book)
    (link,) = found.links
    assert link.missed == ()
    assert link.felt[0].caused == ()
    assert len(link.felt[0].anyway) == 31
    assert "though no run was missed" in link.sentence
    assert found.plantings[0].lowest_stress is not None
    assert found.plantings[0].lowest_stress < 0.5


def test_unlike_plants_under_one_valve(tmp_path: Path) -> None:
    """5 m2 of factor 0.4 on emitters that would suit 0.8: twice its need, 12 L a day too much, 372 in July."""
    book = begin(
        tmp_path, zone(name="Mixed"), shrubs(code="thirsty", factor=0.8, factor_reason="test"),
        shrubs(code="frugal", factor=0.4, factor_reason="test", bed=measure(5, "m2", "area")),
        drip(lph=60, waters="thirsty:2 frugal:1"), program(days="daily"), *weather(*SUMMER),
    )  # fmt: skip
    (told,) = july(book).mixes
    assert told.saving_l == pytest.approx(31 * 12.0, rel=1e-5)  # 5 m2 x 6 mm x (0.8 - 0.4)
    table = told.plantings.set_index("planting")
    assert table.loc["frugal", "given_l"] == pytest.approx(2 * table.loc["frugal", "need_l"], rel=1e-5)
    assert "Frugal get 2.0 times their need" in told.sentence


def test_plants_no_emitter_reaches_are_told(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), shrubs(code="aside"), drip(waters="shrubs"), *weather(*SUMMER))
    (told,) = july(book).mixes
    assert "no emitter waters Aside" in told.sentence


def test_a_catch_test_is_read_and_the_latest_before_the_month_ends_holds(bed: Book) -> None:
    """Catch of the spreval package's example: 47 42 45 24 ... 12 12 mL, DUlq 49.62 % (NC State)."""
    cups = "47 42 45 24 13 26 33 34 27 30 40 44 32 12 12"
    at = parse_moment("2026-06-01 09:00", bed.zone_info)
    later = parse_moment("2026-08-15 09:00", bed.zone_info)
    write(bed, CatchTest(zone="bed", at=at, caught_ml=cups, duration=measure(3, "min", "duration")))
    write(bed, CatchTest(zone="bed", at=later, caught_ml="50 50 50 50", duration=measure(3, "min", "duration")))
    (even,) = july(bed).evenness
    assert even.share == pytest.approx(0.4962, abs=5e-5)
    assert "poor" in even.sentence
    assert july(bed, "2026-08").evenness[0].share == 1.0


def test_a_catch_test_that_cannot_be_read_is_said(bed: Book) -> None:
    at = parse_moment("2026-06-01 09:00", bed.zone_info)
    write(bed, CatchTest(zone="bed", at=at, caught_ml="a few", duration=measure(3, "min", "duration")))
    found = july(bed)
    assert found.evenness == ()
    assert any("Catch test of Bed" in said for said in found.problems)


def test_the_start_is_stated_while_it_matters(bed: Book) -> None:
    begun = july(bed, "2026-05").plantings[0].begun
    assert begun is not None
    assert begun.since == date(2026, 5, 1)
    assert "taken as full on 1 May 2026" in begun.sentence


def test_a_month_that_has_not_begun_is_refused(bed: Book) -> None:
    with pytest.raises(EntryError, match="has not begun"):
        july(bed, "2026-09")


def test_plants_at_rest_do_not_count_as_short(bed: Book) -> None:
    write(bed, Pause(scope="all", since=date(2026, 6, 20), reason="winter"))
    found = july(bed)
    assert found.plantings[0].stress_days == 0
    assert not found.days["stressed"].any()


def test_days_of_a_planting_that_ends_within_the_month(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(until=date(2026, 7, 11)), drip(), program(), *weather(*SUMMER))
    (shrub,) = july(book).plantings
    assert shrub.need_l.value == pytest.approx(300.0)  # ten days of 30 L
    last = july(book).days
    assert not last[last["day"] > pd.Timestamp("2026-07-10")]["planted"].any()


def test_water_where_nothing_grows_any_more_is_told_apart(tmp_path: Path) -> None:
    """Half the emitters stand over a bed that was cleared: half the water goes there and counts as too much."""
    book = begin(
        tmp_path, zone(), shrubs(), shrubs(code="gone", until=date(2026, 7, 1)), drip(waters="shrubs gone"),
        program(minutes=30), *weather(*SUMMER),
    )  # fmt: skip
    found = july(book)
    row = found.zones.iloc[0]
    assert row["applied_l"] == pytest.approx(9 * 30)
    assert row["unplanted_l"] == pytest.approx(9 * 15)
    assert row["excess_l"] == pytest.approx(9 * 15 + row["drained_l"])


def test_normals_alone_are_enough_and_said(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip(), program(), *normals(reference_et_mm=186.0, rain_mm=31.0))
    found = july(book)
    assert found.plantings[0].need_l.value == pytest.approx(930.0)
    assert any("normals on 31 days" in said for said in found.weather)
    assumed = "No rain is written down, so the usual rain is assumed: 31.0 mm in all."
    assert [said.startswith(assumed) for said in found.weather].count(True) == 1, "31 mm is July's usual rain"


def test_days_without_a_gauge_are_told_from_those_it_was_watched(tmp_path: Path) -> None:
    """A gauge read on 1 May alone is taken as watched for 45 days more, to 15 June (``QUIET_GAUGE_DAYS``); the other 15
    days of June get 1 mm each, of 30 mm in its 30 days.
    """
    book = begin(tmp_path, zone(), shrubs(), drip(), program(), *normals(rain_mm=30.0))
    write(book, rain(book, date(2026, 5, 1), 4.0))
    said = " ".join(july(book, "2026-06").weather)
    assert "Rain: on 15 days nothing is written, which counts as dry." in said
    assert "For 15 days of 30, over 45 days from any entry, no rain is written down" in said
    assert "so the usual rain is assumed: 15.0 mm in all." in said


def test_rain_from_the_gauge(bed: Book) -> None:
    """20 mm on one day of July: it all enters (more than 0.2 of reference ET, FAO-56 p. 170) or drains."""
    write(bed, rain(bed, date(2026, 7, 12), 20.0))
    (shrub,) = july(bed).plantings
    assert shrub.rain.working[0].value == pytest.approx(200.0)
    assert shrub.rain.value is not None
    assert 0 < shrub.rain.value <= 200.0

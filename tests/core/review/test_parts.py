"""How each part of a month came about: by the flows of that month and by the meter whose account made the part."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from core.book.kinds import FlowTest, Meter, MeterReading, Supply, Tariff
from core.book.store import Book
from core.days import parse_moment
from core.figures import Line
from core.review import month_of
from core.review.picture import draw
from tests.core.review.gardens import begin, drip, measure, metered, program, shrubs, weather, write, zone

FIRST = date(2026, 5, 1)
END = datetime(2026, 9, 1, 18, tzinfo=UTC)


def working(book: Book, month: str, part: str) -> tuple[Line, ...]:
    return next(p.volume.working for p in month_of(draw(book, END), month).parts if p.part == part)


def flows(book: Book, month: str) -> list[tuple[str, float | str, str]]:
    return [(w.what, w.value, w.source) for w in working(book, month, "zone:bed") if w.what.startswith("flow of")]


def bucket(book: Book, day: str, litres: float) -> None:
    """A bucket test of one minute on the bed."""
    at = parse_moment(f"{day} 12:00", book.zone_info)
    write(
        book, FlowTest(zone="bed", at=at, volume=measure(litres, "l", "volume"), duration=measure(1, "min", "duration"))
    )


@pytest.fixture
def dripping(tmp_path: Path) -> Book:
    """Emitters of 60 L an hour on paper, half an hour twice a week, 1000 L a day metered."""
    book = begin(tmp_path, zone(), shrubs(), drip(), program(), *weather(FIRST, END.date()))
    metered(book, FIRST, 123)
    return book


def test_a_month_is_explained_by_the_flow_it_had(dripping: Book) -> None:
    """A test in August, 1.5 L in a minute or 90 L an hour, holds from its day on and does not explain June."""
    bucket(dripping, "2026-08-10", 1.5)
    assert flows(dripping, "2026-06") == [("flow of the zone", 60.0, "emitters on paper")]
    assert flows(dripping, "2026-08") == [
        ("flow of the zone from 1 August", 60.0, "emitters on paper"),
        ("flow of the zone from 10 August", 90.0, "test of 2026-08-10"),
    ]


def test_each_of_two_houses_is_named(dripping: Book) -> None:
    cottage = Meter(code="cottage", name="Cottage", supply="street", unit="l", digits=9)
    at = [parse_moment(f"2026-{month:02}-01 00:00", dripping.zone_info) for month in (5, 6, 7)]
    write(dripping, cottage, *(MeterReading(meter="cottage", at=t, register_value=9000 * n) for n, t in enumerate(at)))
    lines = [w.what for w in working(dripping, "2026-06", "indoor") if w.what.endswith("people usually at home")]
    assert lines == ["Cottage: people usually at home", "Curb: people usually at home"]


@pytest.mark.parametrize("indoor_l_day", [500, 10])
def test_behind_the_street_meter_a_garden_meter_explains_the_zone(tmp_path: Path, indoor_l_day: int) -> None:
    """Whichever counts the most: the bed takes 54 of its 60 L an hour on paper, and three people live in the house."""
    book = begin(tmp_path, zone(), shrubs(), drip(), program(days="mon wed fri", minutes=60), people=3)
    yard, house = 0.0, 0.0
    readings = []
    for n in range(100):
        day = FIRST + timedelta(days=n)
        at = parse_moment(f"{day} 00:00", book.zone_info)
        for code, value in (("curb", house + yard), ("yard", yard)):
            readings.append(MeterReading(meter=code, at=at, register_value=str(round(value))))  # type: ignore[arg-type]
        yard += 54.0 if day.weekday() in (0, 2, 4) else 0.0
        house += indoor_l_day * (1 + (n * 37) % 31 / 500)
    curb = Meter(code="curb", name="Curb", supply="street", unit="l", digits=9)
    behind = Meter(code="yard", name="Yard", supply="street", unit="l", digits=9, counts="garden", downstream_of="curb")
    write(book, curb, behind, *readings)
    bed = {w.what: w.value for w in working(book, "2026-06", "zone:bed")}
    assert bed["real flow over that, by the meter"] == pytest.approx(0.9, abs=0.03)
    indoors = [w.value for w in working(book, "2026-06", "indoor") if w.what == "people usually at home"]
    assert indoors == [3]


def test_a_zone_on_a_supply_of_its_own_costs_by_that_supplys_tariff(tmp_path: Path) -> None:
    """The house takes 500 L a day at 10 a cubic metre; the bed 60 L three times a week from the ditch, at 2."""
    ditch = Supply(code="ditch", name="Ditch")
    plot = zone(supply="ditch", controller=None)
    book = begin(tmp_path, ditch, plot, shrubs(), drip(), program(days="mon wed fri", minutes=60))
    metered(book, FIRST, 100, 500.0)
    poured, readings = 0, []
    for n in range(100):
        at = parse_moment(f"{FIRST + timedelta(days=n)} 00:00", book.zone_info)
        readings.append(MeterReading(meter="pump", at=at, register_value=poured))  # type: ignore[arg-type]
        poured += 60 if (FIRST + timedelta(days=n)).weekday() in (0, 2, 4) else 0
    pump = Meter(code="pump", name="Pump", supply="ditch", unit="l", digits=9, counts="garden")
    price = Tariff(supply="ditch", since=date(2026, 1, 1), unit="m3", base=0, prices="2")  # type: ignore[arg-type]
    write(book, pump, price, *readings)
    bed = next(p for p in month_of(draw(book, END), "2026-06").parts if p.part == "zone:bed")
    assert bed.volume.value == pytest.approx(13 * 60, rel=0.02), "thirteen such days in June 2026"
    assert bed.cost is not None
    assert bed.cost.value == pytest.approx(13 * 0.060 * 2, rel=0.02)


def test_a_zones_range_is_as_wide_as_its_flow_is_unsure(dripping: Book) -> None:
    """All its runs are off by the same share, so a month of them is surer than one by nothing."""
    picture = draw(dripping, END)
    (told,) = (a.delivery.set_index("zone").loc["bed"] for a in picture.accounts.values())
    volume = next(p.volume for p in month_of(picture, "2026-06").parts if p.part == "zone:bed")
    assert volume.value is not None
    assert volume.high is not None
    assert volume.high / volume.value - 1 == pytest.approx(told["ninety"] / told["factor"], rel=0.01)

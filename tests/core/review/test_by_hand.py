"""A zone watered by hand: what was written down is its water; where nothing was, nothing is claimed."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from core.book.kinds import OtherUse
from core.book.store import Book
from core.cli.month_text import month_in_words
from core.cli.plants_text import plants_in_words
from core.days import parse_moment
from core.review import MonthReview, month_of
from core.review.picture import draw
from core.review.plants import plants_month
from tests.core.review.gardens import begin, measure, metered, shrubs, weather, write, zone

END = datetime(2026, 9, 1, 18, tzinfo=UTC)


@pytest.fixture
def hose(tmp_path: Path) -> Book:
    """Shrubs that need 30 L a day (6 mm x 0.5 x 10 m2, FAO-56 eq. 58) at the end of a hose; 1000 L a day metered."""
    plot = zone("hose", name="Hose", controller=None, hand=True)
    book = begin(tmp_path, plot, shrubs("hose"), *weather(date(2026, 5, 1), date(2026, 8, 31)))
    metered(book, date(2026, 5, 1), 123)
    return book


def pour(book: Book, day: str, litres: float, **more: object) -> None:
    at = parse_moment(f"{day} 18:00", book.zone_info)
    fields = {"what": "shrubs", "volume": measure(litres, "l", "volume"), "meter": "curb", "zone": "hose"} | more
    write(book, OtherUse.model_validate({"start": at, **fields}))


def july(book: Book) -> MonthReview:
    return month_of(draw(book, END), "2026-07")


def part(review: MonthReview, name: str) -> float | None:
    return next((p.volume.value for p in review.parts if p.part == name), None)


def test_watering_that_was_written_down_is_the_zones_part(hose: Book) -> None:
    """600 L on the shrubs and 150 L for the car: 600 of the zone, 150 other, and 31 000 L metered in all."""
    pour(hose, "2026-07-06", 250)
    pour(hose, "2026-07-20", 350)
    pour(hose, "2026-07-21", 150, what="car", zone=None)
    review = july(hose)
    assert part(review, "zone:hose") == pytest.approx(600)
    assert part(review, "other") == pytest.approx(150)
    assert sum(p.volume.value or 0 for p in review.parts) == pytest.approx(31_000)
    whole = review.intervals[["zones_l", "other_l"]].sum()
    assert (whole["zones_l"], whole["other_l"]) == (pytest.approx(600), pytest.approx(150))
    spread = next(p.volume for p in review.parts if p.part == "zone:hose")
    assert spread.low is not None
    assert spread.low < 599, "a guess by the hose is no exact figure"


def test_a_use_another_meter_counted_stays_where_it_was(hose: Book) -> None:
    pour(hose, "2026-07-06", 250, meter=None)
    review = july(hose)
    assert part(review, "zone:hose") is None or part(review, "zone:hose") == 0
    assert review.zones[0].applied.value == pytest.approx(250)


def test_what_nobody_wrote_down_is_said_and_not_counted_as_nothing(hose: Book) -> None:
    pour(hose, "2026-06-06", 400)
    review = july(hose)
    assert part(review, "zone:hose") is None, "no row of 0 where nothing is known"
    (plot,) = review.zones
    assert plot.unwritten
    assert "needed 930 L beyond rain; nobody wrote down watering it by hand" in plot.sentence.replace(",", "")
    assert plot.stress_days == 0
    assert plot.saved.value is None
    assert review.stress.value == 0
    assert not any("went short" in s for s in review.sentences)
    assert not any("went short" in s.words for s in review.next_steps)


def test_the_plants_say_the_same(hose: Book) -> None:
    pour(hose, "2026-06-06", 400)
    picture = draw(hose, END)
    month = plants_month(picture, "2026-07")
    assert month.unwritten == {"hose"}
    assert any("Hose: nobody wrote down watering it by hand" in s for s in month.sentences)
    assert not any("No plant went short" in s or "were lacking" in s for s in month.sentences)
    assert not month.links
    assert "what it was given by hand nobody wrote down" in month.plantings[0].sentence
    assert plants_month(picture, "2026-06").unwritten == frozenset()
    assert plants_month(picture, "2026-06").plantings[0].stress_days > 0, "one watering in a month of need is too few"


def test_the_command_claims_nothing_of_it_either(hose: Book) -> None:
    pour(hose, "2026-06-06", 400)
    picture = draw(hose, END)
    told = plants_in_words(plants_month(picture, "2026-07"))
    rows = [line for line in told.splitlines() if line.startswith(("Hose  ", "Shrubs  "))]
    assert len(rows) == 2
    assert all(line.rstrip().endswith("not written") for line in rows), "no water too much, lacking or days short"
    month = month_in_words(month_of(picture, "2026-07"))
    assert "Hose: nobody wrote down watering it by hand." in month
    assert any(line.startswith("Hose ") and "not written" in line for line in month.splitlines())

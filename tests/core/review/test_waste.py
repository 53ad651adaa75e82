"""What is still set and nothing needs: told next, with litres and money a week. Gardens as in test_fitting.

Shrubs need 30 L a day, over an efficiency of 0.90 (EPA WaterSense v2.0) 33.3 L, 233 L a week; a minute is a litre.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from core.book.kinds import Meter, MeterReading, Pause, Record, Tariff
from core.book.store import Book
from core.cli.month_json import month_as_data
from core.cli.month_text import month_in_words
from core.days import parse_moment
from core.review import month_of
from core.review.fitting import fitting_month
from core.review.picture import draw
from core.review.waste import Waste, still_wasted
from tests.core.review.gardens import begin, drip, normals, program, rain, shrubs, weather, write, zone

NOW = datetime(2026, 7, 15, 18, tzinfo=UTC)
NEED = 7 * 30 / 0.9  # litres a week


def bed(folder: Path, minutes: float, *more: Record, rain_mm: float = 0.0, **home: object) -> Book:
    """Watered every day for so many minutes."""
    setting = program(days="daily", minutes=minutes)
    return begin(folder, zone(), shrubs(), drip(), setting, *normals(rain_mm=rain_mm), *more, **home)


def wasted(book: Book) -> Waste | None:
    return still_wasted(draw(book, NOW))


@pytest.mark.parametrize(("minutes", "told"), [(40, False), (43, False), (60, True), (400, True)])
def test_from_thirty_percent_and_a_bath_tub_a_week_on(tmp_path: Path, minutes: float, told: bool) -> None:
    """40 and 43 minutes are 280 and 301 L a week, below 1.3 x 233 = 303 L; 60 are 420 L, 187 L over."""
    found = wasted(bed(tmp_path, minutes))
    assert (found is not None) is told
    if found is not None:
        assert found.over_l == pytest.approx(7 * minutes - NEED)


def test_a_little_is_not_worth_a_walk_to_the_controller(tmp_path: Path) -> None:
    """Twenty minutes a day, all of it too much in the rain, are 140 L; 22 are 154 L, more than a bath tub."""
    for minutes, told in ((20, False), (22, True)):
        folder = tmp_path / str(minutes)
        folder.mkdir()
        assert (wasted(bed(folder, minutes, rain_mm=300)) is not None) is told


def test_it_is_the_next_thing_to_do_on_page_command_and_in_json(tmp_path: Path) -> None:
    """300 mm in a usual month are more than the plants need; an hour a day is 420 L a week."""
    book = bed(tmp_path, 60, rain_mm=300)
    month = month_of(draw(book, NOW), "2026-07")
    said = (
        "Bed needs no watering in July and is still set to give 420 L in the next 7 days: pause it, or write down "
        "that you switched off."
    )
    (step,) = [s for s in month.next_steps if s.page == "program"]
    assert step.words == said
    assert {"words": said, "page": "program", "reading": None} in month_as_data(month)["next_steps"]
    assert "still set to give 420 L in the next 7 days" in " ".join(month_in_words(month).split())
    past = month_of(draw(book, NOW), "2026-06")
    assert not [s for s in past.next_steps if s.page == "program"], "what is set now is of no past month"


def test_its_money_is_that_of_a_week(tmp_path: Path) -> None:
    """At 10 a cubic metre 420 L, all of it too much in the rain, are 4.20.

    The meter counts the house alone, so that it does not teach the bed another flow than its emitters' 60 L an hour.
    """
    book = bed(tmp_path, 60, rain_mm=300)
    write(
        book,
        Meter(code="curb", name="Curb", supply="street", unit="l", digits=9, counts="house"),
        Tariff(supply="street", since=date(2026, 1, 1), unit="m3", base=0, prices="10"),
        *(
            MeterReading(meter="curb", at=parse_moment(f"{day} 00:00", book.zone_info), register_value=Decimal(shown))
            for day, shown in ((date(2026, 6, 1), 0), (date(2026, 7, 15), 44_000))
        ),
    )
    found = wasted(book)
    assert found is not None
    assert found.over_l == pytest.approx(420)
    assert found.money == pytest.approx(4.20)
    assert "still set to give 420 L in the next 7 days ($4.20): pause it" in found.sentence


def test_the_program_page_says_the_same_of_the_days_to_come(tmp_path: Path) -> None:
    """An hour a day is 1,860 L in 31 days; of the next seven the last five have half of it: 2 x 60 + 5 x 30 = 270 L."""
    less = program(days="daily", minutes=30, since=date(2026, 7, 18))
    setting = program(days="daily", minutes=60, until=date(2026, 7, 18))
    book = begin(tmp_path, zone(), shrubs(), drip(), setting, less, *normals(rain_mm=300))
    found = fitting_month(draw(book, NOW), 7)
    assert found.sentences[1:] == (
        "Nothing needs watering in July, and Bed gives 1,860 L a month as set now.",
        "Bed needs no watering in July and is still set to give 270 L in the next 7 days: pause it, or write down that "
        "you switched off.",
    )
    assert len(fitting_month(draw(book, NOW), 6).sentences) == 2, "another month says nothing of next week"


def test_more_than_asked_for_is_worded_as_more(tmp_path: Path) -> None:
    found = wasted(bed(tmp_path, 60))
    assert found is not None
    assert found.sentence == (
        "Bed is set to give 187 L more in the next 7 days than July asks for: set what fits, or pause it."
    )


@pytest.mark.parametrize(
    ("since", "until", "left"),
    [
        (date(2026, 7, 15), None, 0.0),
        (date(2026, 7, 16), None, 0.0),  # written down for tomorrow
        (date(2026, 7, 19), None, 180.0),  # 16, 17 and 18 July still run
        (date(2026, 7, 10), date(2026, 7, 16), 420.0),  # on again tomorrow
        (date(2026, 7, 10), date(2026, 7, 19), 240.0),  # 16, 17 and 18 July are off: four days are left
    ],
)
def test_pauses_count(tmp_path: Path, since: date, until: date | None, left: float) -> None:
    book = bed(tmp_path, 60, rain_mm=300)
    write(book, Pause(scope="bed", since=since, until=until, reason="rain"))
    found = wasted(book)
    assert (found.over_l if found else 0.0) == pytest.approx(left)


def test_a_pause_of_everything_and_a_program_that_ends_count(tmp_path: Path) -> None:
    book = bed(tmp_path, 60, rain_mm=300)
    write(book, Pause(scope="all", since=date(2026, 7, 1), reason="other"))
    assert wasted(book) is None
    other = tmp_path / "other"
    other.mkdir()
    ended = program(days="daily", minutes=60, until=date(2026, 7, 16))
    assert wasted(begin(other, zone(), shrubs(), drip(), ended, *normals(rain_mm=300))) is None


def test_a_dry_fortnight_is_no_waste_although_the_month_is_usually_wet(tmp_path: Path) -> None:
    """Two weeks of 6 mm a day and no rain, where the normals say that rain is enough: 40 minutes are about right."""
    book = bed(tmp_path, 40, *weather(date(2026, 6, 25), date(2026, 7, 14)), rain_mm=300)
    assert wasted(book) is not None, "while rain is only a share of the usual month's"
    write(book, rain(book, date(2026, 6, 20), 5))
    assert wasted(book) is None, "a gauge that was read has nothing to tell of these weeks"


def test_what_cannot_be_known_is_not_called_waste(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), program(days="daily", minutes=60), *normals(rain_mm=300))
    assert wasted(book) is None, "without emitters the flow is not known"
    other = tmp_path / "other"
    other.mkdir()
    assert wasted(begin(other, zone(), shrubs(), drip(), program(days="daily", minutes=60))) is None, "no weather"
    bare = tmp_path / "bare"
    bare.mkdir()
    unsaid = begin(bare, zone(), drip(), program(days="daily", minutes=60), *normals())
    assert wasted(unsaid) is None, "nobody wrote down yet what grows there: to pause it could kill it"


def test_set_outside_the_usual_season(tmp_path: Path) -> None:
    found = wasted(bed(tmp_path, 60, startup_due="09-01", shutdown_due="06-01"))
    assert found is not None
    assert found.over_l == pytest.approx(420)

"""Odd entries are asked about; usual ones are not."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from core.book.kinds import Home, Measured, Meter, MeterReading, Pause, Program, Rain, Run, Supply, Zone
from core.book.store import Book
from core.days import Moment
from core.review.entry import questions_about
from core.review.entry_register import History, about_register

START = datetime(2026, 6, 1, 13, tzinfo=UTC)


def at(days: float) -> Moment:
    return Moment(START + timedelta(days=days), -360)


def reading(register: str, days: float, **more: object) -> MeterReading:
    return MeterReading(meter="street", at=at(days), register_value=Decimal(register), **more)  # type: ignore[arg-type]


@pytest.fixture
def book(tmp_path: Path) -> Book:
    home = Home(name="Quince Row", latitude=43.0, timezone="America/Denver")
    book = Book.create(tmp_path / "home.rillbook", home)
    with book.change("began") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="street", name="At the street", supply="town", unit="gal", digits=7))
        for day in range(10):
            change.add(reading(str(1_204_000 + 210 * day), day))
    return book


NOW = START + timedelta(days=30)


def ask(book: Book, record: object) -> str:
    return " ".join(questions_about(book, record, NOW))  # type: ignore[arg-type]


def test_a_usual_reading_is_not_asked_about(book: Book) -> None:
    assert questions_about(book, reading("1206120", 10), NOW) == []


def test_swapped_digits_that_fall_are_asked_about(book: Book) -> None:
    asked = ask(book, reading("1201620", 10))
    assert "lower than the last reading" in asked
    assert "1,205,890 gal" in asked


def test_a_leap_far_above_the_usual_is_asked_about(book: Book) -> None:
    assert "far more than usual" in ask(book, reading("1260120", 10))


def test_a_reading_between_two_others_may_not_pass_the_later_one(book: Book) -> None:
    assert "higher than the reading after it" in ask(book, reading("1204500", 0.5))


def test_a_changed_register_may_fall(book: Book) -> None:
    assert ask(book, reading("12", 10, first_after_change=True)) == ""


def test_a_register_near_its_top_may_roll_over(tmp_path: Path) -> None:
    home = Home(name="Quince Row", latitude=43.0, timezone="America/Denver")
    book = Book.create(tmp_path / "b.rillbook", home)
    with book.change("began") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="street", name="At the street", supply="town", unit="gal", digits=7))
        change.add(reading("9999900", 0))
    assert ask(book, reading("95", 1)) == ""


@pytest.mark.parametrize(
    ("register", "says", "says_not"),
    [
        ("3994", "If it rolled over, that is 7,895 gal since then, far more than usual", "Did you fill"),
        ("995999", "Was it misread, or was the register changed?", "rolled over"),  # back by a hundred
        ("450000", "Was it misread, or was the register changed?", "rolled over"),  # more than passes in two days
    ],
)
def test_a_large_fall_near_the_top_is_asked_about_with_the_rollover(
    tmp_path: Path, register: str, says: str, says_not: str
) -> None:
    home = Home(name="Quince Row", latitude=43.0, timezone="America/Denver")
    book = Book.create(tmp_path / "b.rillbook", home)
    with book.change("began") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="street", name="At the street", supply="town", unit="gal", digits=6))
        for day in range(0, 28, 2):
            change.add(reading(str(996_099 - 100 * (26 - day)), day))
    asked = ask(book, reading(register, 28))
    assert "It is lower than the last reading, 996,099 gal" in asked
    assert says in asked
    assert says_not not in asked


def test_too_many_digits_and_the_future_are_asked_about(book: Book) -> None:
    assert "7 digits" in ask(book, reading("12061200", 10))
    assert "future" in ask(book, reading("1206120", 60))


def test_very_much_rain_and_a_very_long_run_are_asked_about(book: Book) -> None:
    def rain(depth: str) -> Rain:
        return Rain(gauge="yard", start=at(0), end=at(1), rain=Measured(depth, "in", "depth"))

    def run(minutes: str) -> Run:
        return Run(zone="hedge", at=at(0), duration=Measured(minutes, "min", "duration"))

    assert "very much rain" in ask(book, rain("5.5"))
    assert ask(book, rain("0.55")) == ""
    lasted = Rain(gauge="yard", start=at(0), end=at(3.4), rain=Measured("12", "in", "depth"))
    assert "very much rain" in ask(book, lasted), "no four days are as wet as four times the wettest day"
    week = Rain(gauge="yard", start=at(0), end=at(7), rain=Measured("6", "in", "depth"))
    assert ask(book, week) == "", "a very wet week, as many places know it (from memory)"
    assert "long run" in ask(book, run("600"))
    assert ask(book, run("40")) == ""


def test_a_slip_of_the_hand_is_named(book: Book) -> None:
    """The true number would be 1,206,100 after 1,205,890 and 210 a day."""
    assert "1,206,100 would fit" in ask(book, reading("1260100", 10)), "two digits swapped"
    assert "1,206,100 would fit" in ask(book, reading("120610", 10)), "the painted zero left out"
    assert "would fit" in ask(book, reading("1306100", 10)), "one digit wrong"
    assert "would fit" not in ask(book, reading("77", 10))


def test_a_slip_of_the_hand_keeps_the_decimals_of_the_register(tmp_path: Path) -> None:
    """Three decimals, 0.420 m³ a day from 1,380.120 on; on the tenth day 1,384.320 would be right."""
    book = Book.create(tmp_path / "m.rillbook", Home(name="Q", latitude=38.7, timezone="Europe/Lisbon"))
    with book.change("began") as change:
        change.add(Supply(code="town", name="Town water"))
        step = Decimal("0.001")
        change.add(Meter(code="street", name="S", supply="town", unit="m3", digits=5, resolution=step))
        for day in range(10):
            change.add(reading(str(Decimal("1380.120") + Decimal("0.420") * day), day))
    swapped = ask(book, reading("1348.317", 10))
    assert "It is lower than the last reading, 1,383.900 m³ on 10 June 2026." in swapped
    assert "1,384.317 would fit: are two digits swapped" in swapped
    assert "1,384.317 would fit: are two digits swapped, one wrong, or one left out?" in ask(
        book, reading("184.317", 10)
    )
    assert "1,384.317 would fit: was the decimal mark left out?" in ask(book, reading("1384317", 10))


def test_rain_is_asked_about_as_it_was_typed(book: Book) -> None:
    typed = Rain(gauge="yard", start=at(0), end=at(1), rain=Measured("125.4", "cm", "depth"))
    assert "125.4 cm is very much rain" in ask(book, typed)


def test_the_number_of_another_meter_is_asked_about(book: Book) -> None:
    with book.change("a second meter") as change:
        change.add(Meter(code="well", name="Well house", supply="town", unit="gal", digits=6))
        change.add(MeterReading(meter="well", at=at(2), register_value=Decimal(88_100)))
        change.add(MeterReading(meter="well", at=at(8), register_value=Decimal(88_400)))
    asked = ask(book, reading("88480", 10))
    assert "It would follow on from Well house, which showed 88,400 on 9 June 2026. Did you read that meter?" in asked
    assert "Well house" not in ask(book, reading("1206120", 10))


def test_after_a_foreign_number_the_last_one_is_asked_about(book: Book) -> None:
    with book.change("a foreign number") as change:
        change.add(reading("1988000", 9.5))
    asked = ask(book, reading("1206120", 10))
    assert "It is lower than the last reading, 1,988,000 gal" in asked
    assert "It follows on from 1,205,890 on 10 June 2026, but not from the last one, 1,988,000." in asked


def test_after_several_foreign_numbers_they_are_asked_about(book: Book) -> None:
    with book.change("foreign numbers") as change:
        for n in range(3):
            change.add(reading(str(88_100 + 30 * n), 10 + n))
    asked = ask(book, reading("1206730", 13))
    assert "It follows on from 1,205,890 on 10 June 2026, but not from the last 3." in asked
    assert "Were those misread, or read from another meter?" in asked


def test_a_second_foreign_number_is_asked_about_and_after_a_change_it_is_not(book: Book) -> None:
    with book.change("a foreign number") as change:
        change.add(reading("88100", 10))
    asked = ask(book, reading("88130", 11))
    assert "follows on from the last one, 88,100 on 11 June 2026, which was lower than the one before it" in asked
    assert "Was the register changed? Then say so at that reading." in asked
    with book.change("a changed register") as change:
        change.add(reading("90000", 12, first_after_change=True))
    assert ask(book, reading("90030", 13)) == ""


def test_a_digit_too_many_is_named(book: Book) -> None:
    """A meter of seven digits that shows five: one of them typed twice, or a nought too many."""
    with book.change("a second meter") as change:
        change.add(Meter(code="well", name="Well house", supply="town", unit="gal", digits=7))
        for n in range(10):
            change.add(MeterReading(meter="well", at=at(n), register_value=Decimal(88_100 + 30 * n)))
    for typed in ("884000", "888400"):
        asked = ask(book, MeterReading(meter="well", at=at(10), register_value=Decimal(typed)))
        assert "far more than usual" in asked
        assert "88,400 would fit" in asked


def test_a_busy_day_is_no_question_and_a_pool_is(book: Book) -> None:
    assert ask(book, reading("1206150", 10)) == ""
    assert "Did you fill something" in ask(book, reading("1206880", 10))


def test_readings_an_hour_apart_do_not_make_a_day_of_full_flow_usual(book: Book) -> None:
    """An hour of 60 gal, then quiet ones: 24 such hours would be 1,440 gal, which no day of this book shows."""
    total = 1_205_890
    with book.change("an hourly day") as change:
        for hour in range(1, 49):
            total += 60 if hour % 12 == 0 else 3
            change.add(reading(str(total), 9 + hour / 24))
    assert ask(book, reading(str(total + 370), 12)) == ""
    assert "far more than usual" in ask(book, reading(str(total + 1400), 12))


def test_the_sample_households_misread_is_asked_about_and_little_else(sample: Book) -> None:
    """The truth file names one misread, 671,858 for 671,588 on 8 February 2026; in two years of readings one in a
    hundred may be asked about at most, such as two pool fillings."""
    rows = sample.frame("meter_reading").sort_values("at", ignore_index=True)
    meter = sample.records(Meter)[0].record
    odd = [
        row["at"].date()
        for i, row in enumerate(rows.to_dict("records"))
        if i > 9 and not History(meter, rows.iloc[max(0, i - 60) : i]).follows(row["register_value"], row["at"])
    ]
    assert date(2026, 2, 8) in odd
    assert len(odd) <= len(rows) / 100
    row = rows[rows["at"].dt.date == date(2026, 2, 8)].iloc[0]
    typed = MeterReading(meter="street", at=Moment(row["at"].to_pydatetime(), -420), register_value=Decimal(671_858))
    assert "671,588 would fit" in " ".join(about_register(sample, typed, meter))


def test_a_correction_is_held_against_the_others_and_not_against_itself(book: Book) -> None:
    last = book.latest(MeterReading, 1)[0]
    mended = last.record.model_copy(update={"at": at(9.5), "register_value": Decimal(1_205_870)})
    assert "lower than the last reading" in ask(book, mended)  # as a further reading it would be
    assert questions_about(book, mended, NOW, last) == []
    assert questions_about(book, mended.model_copy(update={"register_value": Decimal(1_201_870)}), NOW, last)
    assert questions_about(book, mended.model_copy(update={"at": at(40)}), NOW, last)


def test_a_correction_that_leaves_an_odd_number_is_not_asked_about_it_again(book: Book) -> None:
    with book.change("a yes to an odd one") as change:
        change.add(reading("1201620", 10))
    odd = book.latest(MeterReading, 1)[0]
    assert questions_about(book, odd.record.model_copy(update={"note": "read twice"}), NOW, odd) == []


@pytest.fixture
def tens(tmp_path: Path) -> Book:
    """A register whose last digit is painted on: it counts in tens."""
    home = Home(name="Mesquite Row", latitude=32.0, timezone="America/Phoenix")
    book = Book.create(tmp_path / "tens.rillbook", home)
    with book.change("began") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="street", name="Street", supply="town", unit="gal", digits=6, resolution=Decimal(10)))
        for week in range(5):
            change.add(reading(str(530_000 + 1200 * week), 4 * week))
    return book


def test_a_last_digit_that_a_register_of_tens_cannot_show_is_asked_about(tens: Book) -> None:
    asked = ask(tens, reading("536006", 20))
    assert "counting in steps of 10 gal, so it would show 536,000, or 536,060 if two digits are swapped." in asked
    assert "so it would show 536,010. Is a digit wrong?" in ask(tens, reading("536013", 20))
    assert ask(tens, reading("536000", 20)) == ""
    assert ask(tens, reading("536006", 20, resolution=Decimal(1))) == "", "read finer, and said so"
    assert ask(tens, reading("536006", 20, how="estimated")) == ""


def test_it_is_asked_once_where_somebody_reads_finer_from_then_on(tens: Book) -> None:
    with tens.change("stored as it is") as change:
        change.add(reading("536006", 20))
    assert ask(tens, reading("537213", 24)) == ""


def test_a_step_below_the_decimal_mark_is_held_exactly(tmp_path: Path) -> None:
    home = Home(name="Mesquite Row", latitude=32.0, timezone="America/Phoenix")
    book = Book.create(tmp_path / "m3.rillbook", home)
    with book.change("began") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="street", name="Street", supply="town", unit="m3", digits=5, resolution=Decimal("0.1")))
    assert ask(book, reading("412.3", 1)) == ""
    assert "so it would show 412.3." in ask(book, reading("412.35", 1))


@pytest.mark.parametrize(
    ("scope", "reason", "until", "since", "asked"),
    [
        ("all", "winter", None, date(2026, 4, 20), "would not run at all. If the garden is on again, end that pause"),
        ("beds", "winter", date(2026, 6, 1), date(2026, 4, 20), "only runs from 1 June 2026 on. Is that right?"),
        ("all", "winter", date(2026, 4, 20), date(2026, 4, 20), ""),
        ("all", "winter", None, date(2025, 10, 24), ""),
        ("hedge", "winter", None, date(2026, 4, 20), ""),
        ("all", "away", None, date(2026, 4, 20), ""),
    ],
)
def test_a_program_that_begins_in_a_winter_pause_is_asked_about(
    book: Book, scope: str, reason: str, until: date | None, since: date, asked: str
) -> None:
    """Paused from 25 October 2025."""
    with book.change("paused") as change:
        for code in ("beds", "hedge"):
            change.add(Zone(code=code, name=code, supply="town", since=date(2025, 5, 1), hand=True))
        change.add(Pause(scope=scope, since=date(2025, 10, 25), until=until, reason=reason))  # type: ignore[arg-type]
    program = Program(zone="beds", since=since, days="daily", starts="05:00", minutes=20)
    told = ask(book, program)
    assert asked in told
    assert bool(asked) == ("for the winter from 25 October 2025" in told)

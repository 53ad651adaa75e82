"""Write it down: what is typed is stored once, said with its Undo, and never lost on a mistake."""

from __future__ import annotations

from decimal import Decimal

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import MeterReading, OtherUse, Rain, Run, Upkeep
from core.book.store import Book
from tests.dashboard.conftest import Open, words


def press(at: AppTest, label: str) -> AppTest:
    """Click the one button with this label."""
    found = [b for b in at.button if b.label == label]
    assert len(found) == 1, [b.label for b in at.button]
    found[0].click().run()
    assert not at.exception
    return at


def register(at: AppTest) -> object:
    return next(t for t in at.text_input if t.label.startswith("Curb meter shows"))


def test_a_reading_is_one_number_and_is_told_with_its_undo(opened: Open, garden: Book) -> None:
    at = opened("write")
    assert "Last: 414,470 gal on 19 July 2026, 07:00" in words(at)
    before = len(garden.records(MeterReading))
    register(at).input("414730")  # type: ignore[attr-defined]
    press(at, "Store the reading")
    stored = garden.latest(MeterReading, 1)[0].record
    assert stored.register_value == Decimal(414730)
    assert str(stored.at) == "2026-07-20 18:00-06:00"
    assert len(garden.records(MeterReading)) == before + 1
    assert "Stored: Curb meter at 414,730 gal on 20 July 2026, 18:00." in words(at)
    assert "That is 260 gal since 19 July 2026, 07:00" in words(at)
    press(at, "Undo")
    assert len(garden.records(MeterReading)) == before
    assert "Taken back: Curb meter at 414,730 gal on 20 July 2026, 18:00." in words(at)
    assert "That is 260 gal" not in words(at)
    press(at, "Undo")
    assert "Stored again: Curb meter at 414,730 gal on 20 July 2026, 18:00." in words(at)


@pytest.mark.parametrize(("typed", "stored"), [("414,730", 414730), ("414 730", 414730)])
def test_a_register_may_be_typed_as_the_page_shows_it(opened: Open, garden: Book, typed: str, stored: int) -> None:
    """The page says "Last: 414,470"; a register of whole gallons has no decimals that the comma could mark."""
    at = opened("write")
    register(at).input(typed)  # type: ignore[attr-defined]
    press(at, "Store the reading")
    assert garden.latest(MeterReading, 1)[0].record.register_value == Decimal(stored)


def test_two_readings_of_one_minute_are_told_in_words(opened: Open, garden: Book) -> None:
    at = opened("write")
    register(at).input("414730")  # type: ignore[attr-defined]
    press(at, "Store the reading")
    number = garden.number()
    register(at).input("414750")  # type: ignore[attr-defined]
    press(at, "Store the reading")
    assert garden.number() == number
    assert "There is one of that time already: Curb meter at 414,730 gal on 20 July 2026, 18:00." in words(at)


def test_a_form_sent_twice_stores_once(opened: Open, garden: Book) -> None:
    before = len(garden.records(MeterReading))
    for _ in range(2):
        at = opened("write")
        register(at).input("414730")  # type: ignore[attr-defined]
        press(at, "Store the reading")
    assert len(garden.records(MeterReading)) == before + 1
    assert "That is already in the book" in words(at)


def test_a_mistake_keeps_what_was_typed_and_stores_nothing(opened: Open, garden: Book) -> None:
    at = opened("write")
    number = garden.number()
    register(at).input("41x730")  # type: ignore[attr-defined]
    press(at, "Store the reading")
    assert "“41x730” is not a number" in words(at)
    assert register(at).value == "41x730"  # type: ignore[attr-defined]
    assert garden.number() == number


def test_an_empty_reading_is_asked_for_in_words(opened: Open, garden: Book) -> None:
    at = press(opened("write"), "Store the reading")
    assert "Enter what the register shows. Nothing was stored." in words(at)


def test_the_same_minute_with_another_number_is_a_conflict_and_stays(opened: Open, garden: Book) -> None:
    at = opened("write")
    register(at).input("414730")  # type: ignore[attr-defined]
    press(at, "Store the reading")
    register(at).input("414731")  # type: ignore[attr-defined]
    press(at, "Store the reading")
    assert at.error
    assert garden.latest(MeterReading, 1)[0].record.register_value == Decimal(414730)


@pytest.mark.parametrize("typed", ["0,35", "0.35"])
def test_rain_takes_comma_or_point(opened: Open, garden: Book, typed: str) -> None:
    at = opened("write")
    at.segmented_control(key="what").set_value("rain").run()
    next(t for t in at.text_input if t.label.startswith("Rain in the gauge")).input(typed)
    press(at, "Store the rain")
    rain = garden.latest(Rain, 1)[0].record
    assert rain.rain.typed == "0.35"
    assert rain.rain.unit == "in"
    assert str(rain.start) == "2026-07-11 07:00-06:00", "it gathered since the gauge was last read"
    assert "Stored: 0.35 in of rain" in words(at)


def test_a_missed_run_of_a_day(opened: Open, garden: Book) -> None:
    at = opened("write")
    at.segmented_control(key="what").set_value("run").run()
    at.checkbox[0].set_value(False)
    next(t for t in at.text_input if t.label.startswith("Time")).input("")
    next(t for t in at.text_input if t.label.startswith("Why")).input("dead *battery*")
    press(at, "Store the run")
    run = garden.latest(Run, 1)[0].record
    assert (run.zone, run.ran, run.at.exact, run.why) == ("hedge", False, "day", "dead *battery*")
    assert "Quince *hedge* did not run on 20 July 2026: dead *battery*" in words(at)


def test_a_run_that_happened_needs_its_minutes(opened: Open, garden: Book) -> None:
    at = opened("write")
    at.segmented_control(key="what").set_value("run").run()
    press(at, "Store the run")
    assert "A run that happened needs its duration." in words(at)
    assert not garden.records(Run)


def test_two_like_uses_at_one_time_need_no_numbering_by_hand(opened: Open, garden: Book) -> None:
    for litres in ("180", "60"):
        at = opened("write")
        at.segmented_control(key="what").set_value("other").run()
        next(t for t in at.text_input if t.label.startswith("What for")).input("wading pool")
        next(t for t in at.text_input if t.label.startswith("How much")).input(litres)
        press(at, "Store the use")
    assert sorted(s.record.nth for s in garden.records(OtherUse)) == [1, 2]


def test_care_done(opened: Open, garden: Book) -> None:
    at = opened("write")
    at.segmented_control(key="what").set_value("care").run()
    press(at, "Store as done")
    assert garden.latest(Upkeep, 1)[0].record.task == "rinse"


def test_a_recent_entry_is_put_right(opened: Open, garden: Book) -> None:
    at = opened("write")
    latest = garden.latest(MeterReading, 1)[0]
    at.button(key=f"row-right-meter_reading-{latest.id}").click().run()
    box = next(t for t in at.text_input if t.label.startswith("Register"))
    assert box.value == format(latest.record.register_value, "f")
    box.input("414471")
    press(at, "Store it put right")
    assert garden.get(MeterReading, latest.id).record.register_value == Decimal(414471)
    assert garden.get(MeterReading, latest.id).record.at == latest.record.at
    assert "Put right" in words(at)


def test_each_row_has_buttons_of_its_own_name(opened: Open) -> None:
    """WCAG 2.2, 2.4.6: a label describes its purpose, also for who hears the page and does not see the row."""
    names = [b.label for b in opened("write").button if str(b.key).startswith("row-")]
    assert len(set(names)) == len(names) > 4
    assert "Put right:small[ Curb meter at 414,470 gal on 19 July 2026, 07:00]" in names


def test_a_recent_entry_is_removed_and_comes_back(opened: Open, garden: Book) -> None:
    at = opened("write")
    latest = garden.latest(Rain, 1)[0]
    at.button(key=f"row-remove-rain-{latest.id}").click().run()
    assert not garden.records(Rain)
    press(at, "Undo")
    assert garden.records(Rain)[0].record == latest.record


def test_an_odd_reading_is_asked_about_before_it_is_stored(opened: Open, garden: Book) -> None:
    at = opened("write")
    number = garden.number()
    register(at).input("41473")  # type: ignore[attr-defined]
    press(at, "Store the reading")
    assert "It is lower than the last reading" in words(at)
    assert garden.number() == number
    press(at, "Let me change it")
    assert register(at).value == "41473"  # type: ignore[attr-defined]
    press(at, "Store the reading")
    press(at, "It is right, store it")
    assert garden.latest(MeterReading, 1)[0].record.register_value == Decimal(41473)


def test_a_correction_is_asked_what_a_new_entry_is_asked(opened: Open, garden: Book) -> None:
    at = opened("write")
    latest = garden.latest(MeterReading, 1)[0]
    number = garden.number()
    at.button(key=f"row-right-meter_reading-{latest.id}").click().run()
    next(t for t in at.text_input if t.label.startswith("Register")).input("41447")
    press(at, "Store it put right")
    assert "It is lower than the last reading" in words(at)
    assert garden.number() == number
    press(at, "Let me change it")
    assert next(t for t in at.text_input if t.label.startswith("Register")).value == "41447"
    press(at, "Store it put right")
    press(at, "It is right, store it")
    assert garden.get(MeterReading, latest.id).record.register_value == Decimal(41447)
    assert "Put right" in words(at)
    assert not any(b.label == "Store it put right" for b in at.button)


def test_much_rain_and_a_day_to_come_are_asked_about_when_put_right(opened: Open, garden: Book) -> None:
    at = opened("write")
    latest = garden.latest(Rain, 1)[0]
    at.button(key=f"row-right-rain-{latest.id}").click().run()
    next(t for t in at.text_input if t.label.startswith("Rain")).input("40")
    press(at, "Store it put right")
    assert "very much rain" in words(at)
    press(at, "It is right, store it")
    assert garden.get(Rain, latest.id).record.rain.typed == "40"

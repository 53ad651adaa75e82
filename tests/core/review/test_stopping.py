"""Pausing zones and switching them off from a day: what would be written, then written, and taken back."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest

from core.book.kinds import Pause, Program
from core.book.store import Book
from core.errors import EntryError
from core.review.stopping import first_day_off, paused_on, planned_stop, programmed, stop, stops_of
from tests.core.review.gardens import begin, program, write, zone

DAY = date(2026, 7, 15)
ZONES = {"bed": "Bed", "pots": "Pots"}


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return begin(tmp_path, zone(), zone("pots"), program(), program("pots", days="daily"))


def programs(book: Book) -> list[tuple[str, date, date | None]]:
    return [(s.record.zone, s.record.since, s.record.until) for s in book.records(Program)]


def test_a_pause_of_each_zone_in_one_change_set(book: Book) -> None:
    before = book.number()
    shown = planned_stop(book, ZONES, DAY, "pause", date(2026, 9, 1), "rain")
    assert [s.words for s in shown] == [
        "Bed paused from 15 July 2026, on again on 1 September 2026.",
        "Pots paused from 15 July 2026, on again on 1 September 2026.",
    ]
    assert book.number() == before, "showing writes nothing"
    number = stop(book, ZONES, DAY, "pause", date(2026, 9, 1), "rain")
    assert number == before + 1
    found = [s.record for s in book.records(Pause)]
    assert [(p.scope, p.since, p.until, p.reason) for p in found] == [
        (code, DAY, date(2026, 9, 1), "rain") for code in ZONES
    ]
    assert stops_of(book, "bed", DAY) == ("Paused from 15 July 2026, on again on 1 September 2026.",)
    assert stops_of(book, "bed", date(2026, 9, 1)) == ()
    book.undo(number)
    assert not book.records(Pause)


def test_switching_off_ends_the_program_on_the_day(book: Book) -> None:
    number = stop(book, {"bed": "Bed"}, DAY, "off")
    assert number is not None
    assert programs(book) == [("bed", date(2026, 5, 1), DAY), ("pots", date(2026, 5, 1), None)]
    assert programmed(book, DAY) == ["pots"]
    assert programmed(book, date(2026, 7, 14)) == ["bed", "pots"]
    book.undo(number)
    assert programs(book)[0] == ("bed", date(2026, 5, 1), None)


def test_a_program_that_begins_on_that_day_is_taken_out(book: Book) -> None:
    (shown,) = planned_stop(book, {"bed": "Bed"}, date(2026, 5, 1), "off")
    assert shown.verb == "remove"
    stop(book, {"bed": "Bed"}, date(2026, 5, 1), "off")
    assert programs(book) == [("pots", date(2026, 5, 1), None)]


def test_what_is_written_for_later_stays_and_is_said(book: Book) -> None:
    stored = book.records(Program, zone="bed")[0]
    with book.change("later") as change:
        later = stored.record.model_copy(update={"minutes": 10.0})
        change.change_from(stored.id, date(2026, 8, 1), later, stored.change_set)
    (shown,) = planned_stop(book, {"bed": "Bed"}, DAY, "off")
    assert "already written from 1 August 2026 on stays" in shown.words
    stop(book, {"bed": "Bed"}, DAY, "off")
    assert programs(book)[:2] == [("bed", date(2026, 5, 1), DAY), ("bed", date(2026, 8, 1), None)]


def test_twice_is_once_and_two_pauses_never_overlap(book: Book) -> None:
    stop(book, ZONES, DAY, "pause")
    assert stop(book, ZONES, DAY, "pause") is None
    assert {s.verb for s in planned_stop(book, ZONES, date(2026, 8, 1), "pause", date(2026, 9, 1))} == {"same"}
    write(book)
    assert len(book.records(Pause)) == 2


def test_a_pause_runs_up_to_the_one_already_written(book: Book) -> None:
    write(book, Pause(scope="bed", since=date(2026, 10, 15), reason="winter"))
    stop(book, {"bed": "Bed"}, DAY, "pause")
    assert [(s.record.since, s.record.until) for s in book.records(Pause)] == [
        (DAY, date(2026, 10, 15)),
        (date(2026, 10, 15), None),
    ]


def test_a_running_pause_that_ends_too_early_is_followed_by_another(book: Book) -> None:
    write(book, Pause(scope="bed", since=date(2026, 7, 10), until=date(2026, 7, 20), reason="away"))
    stop(book, {"bed": "Bed"}, DAY, "pause", date(2026, 8, 1))
    assert [(s.record.since, s.record.until) for s in book.records(Pause)] == [
        (date(2026, 7, 10), date(2026, 7, 20)),
        (date(2026, 7, 20), date(2026, 8, 1)),
    ]


def test_an_end_before_the_beginning_is_refused(book: Book) -> None:
    with pytest.raises(EntryError, match="must come after"):
        planned_stop(book, ZONES, DAY, "pause", DAY)


@pytest.mark.parametrize(
    ("hour", "minute", "day"),
    [
        (4, 59, DAY),  # a Wednesday: the pots run every day at 05:00
        (5, 0, date(2026, 7, 16)),
        (18, 0, date(2026, 7, 16)),
    ],
)
def test_stopping_takes_back_no_run_that_has_begun(book: Book, hour: int, minute: int, day: date) -> None:
    assert first_day_off(book, datetime(2026, 7, 15, hour, minute)) == day


def test_where_nothing_ran_today_it_is_today(tmp_path: Path) -> None:
    other = begin(tmp_path, zone(), program(days="mon thu"))
    assert first_day_off(other, datetime(2026, 7, 15, 18)) == DAY


def test_a_program_that_ends_is_said_but_not_one_that_only_changes(book: Book) -> None:
    stop(book, {"bed": "Bed"}, DAY, "off")
    assert stops_of(book, "bed", date(2026, 7, 14)) == ("Ends on 15 July 2026.",)
    assert stops_of(book, "bed", DAY) == ()
    stored = book.records(Program, zone="pots")[0]
    with book.change("less") as change:
        change.change_from(stored.id, DAY, stored.record.model_copy(update={"minutes": 5.0}), stored.change_set)
    assert stops_of(book, "pots", date(2026, 7, 14)) == ()


def test_a_pause_ends_for_the_zones_that_are_on_again_and_is_taken_back(book: Book) -> None:
    stop(book, ZONES, DAY, "pause")
    assert paused_on(book, ZONES, DAY) == ["bed", "pots"]
    (shown,) = planned_stop(book, {"bed": "Bed"}, date(2026, 8, 1), "on")
    assert shown.words == "Bed on again on 1 August 2026; paused since 15 July 2026."
    number = stop(book, {"bed": "Bed"}, date(2026, 8, 1), "on")
    ends = {s.record.scope: s.record.until for s in book.records(Pause)}
    assert ends == {"bed": date(2026, 8, 1), "pots": None}
    assert number is not None
    book.undo(number)
    assert {s.record.until for s in book.records(Pause)} == {None}


def test_a_winter_of_everything_ends_for_all_zones_or_for_none(book: Book) -> None:
    write(book, Pause(scope="all", since=date(2026, 7, 10), reason="winter"))
    with pytest.raises(EntryError, match="ends for all zones or for none"):
        planned_stop(book, {"bed": "Bed"}, DAY, "on")
    (shown,) = planned_stop(book, ZONES, DAY, "on")
    assert shown.words == "Everything on again on 15 July 2026; paused since 10 July 2026 for winter."
    stop(book, ZONES, DAY, "on")
    assert [(s.record.reason, s.record.until) for s in book.records(Pause)] == [("winter", DAY)]


def test_a_pause_that_begins_on_the_very_day_is_removed(book: Book) -> None:
    stop(book, ZONES, DAY, "pause")
    assert {s.verb for s in planned_stop(book, ZONES, DAY, "on")} == {"remove"}
    stop(book, ZONES, DAY, "on")
    assert book.records(Pause) == []


def test_a_pause_reaches_its_last_day_past_one_that_is_written_within_it(book: Book) -> None:
    write(book, Pause(scope="bed", since=date(2026, 7, 20), until=date(2026, 7, 25), reason="rain"))
    stop(book, {"bed": "Bed"}, DAY, "pause", date(2026, 7, 30))
    days = [date(2026, 7, d) for d in (14, 15, 19, 20, 24, 25, 29, 30)]
    assert [bool(paused_on(book, ["bed"], day)) for day in days] == [False, *[True] * 6, False]

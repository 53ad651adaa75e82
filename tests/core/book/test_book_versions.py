"""Changed on a day: versions follow each other and never hold on the same day."""

from __future__ import annotations

from datetime import date

import pytest

from core.book.kinds import (
    Pause,
    Program,
    Tariff,
)
from core.book.store import Book
from core.errors import (
    ConflictError,
    EntryError,
    OverlapError,
)
from tests.core.book.parts import program, programs, reading, write


def test_changed_on_a_day_closes_one_version_and_opens_the_next(garden: Book) -> None:
    (first,) = write(garden, program("2026-05-01"))
    with garden.change("more in the heat") as change:
        second = change.change_from(first, date(2026, 7, 1), program("2026-05-01", minutes=30.0))
    assert programs(garden) == [("2026-05-01", "2026-07-01", 20.0), ("2026-07-01", None, 30.0)]
    assert garden.get(Program, second).record.minutes == 30.0
    assert change.number == 4
    garden.undo(4)
    assert programs(garden) == [("2026-05-01", None, 20.0)]


def test_said_twice_a_change_is_stored_once(garden: Book) -> None:
    (first,) = write(garden, program("2026-05-01"))
    ids = []
    for _ in range(2):
        with garden.change("more") as change:
            ids.append(change.change_from(first, date(2026, 7, 1), program("2026-05-01", minutes=30.0)))
    assert ids[0] == ids[1]
    assert change.number is None
    with garden.change("nothing different") as change:
        assert change.change_from(ids[0], date(2026, 8, 1), program("2026-07-01", minutes=30.0)) == ids[0]
    assert change.number is None


def test_a_change_within_a_closed_version_ends_when_that_did(garden: Book) -> None:
    (first,) = write(garden, program("2026-05-01", "2026-09-01"))
    write(garden, program("2026-09-01", minutes=5.0))
    with garden.change("more") as change:
        change.change_from(first, date(2026, 7, 1), program("2026-05-01", minutes=30.0))
    assert programs(garden) == [
        ("2026-05-01", "2026-07-01", 20.0),
        ("2026-07-01", "2026-09-01", 30.0),
        ("2026-09-01", None, 5.0),
    ]


@pytest.mark.parametrize(
    ("day", "says"),
    [
        ("2026-05-01", "begins on 2026-05-01 itself. If it was wrong from the start, correct it instead"),
        ("2026-04-01", "2026-04-01 is not within the days of program tubs, a, 2026-05-01"),
        ("2026-09-01", r"not within the days of program tubs, a, 2026-05-01 \(until 2026-09-01\)"),
    ],
)
def test_a_change_on_a_day_outside_the_version_is_refused(garden: Book, day: str, says: str) -> None:
    (first,) = write(garden, program("2026-05-01", "2026-09-01"))
    with pytest.raises(EntryError, match=says), garden.change("x") as change:
        change.change_from(first, date.fromisoformat(day), program("2026-05-01", minutes=30.0))
    assert programs(garden) == [("2026-05-01", "2026-09-01", 20.0)]


def test_a_change_must_be_of_the_same_thing_and_of_a_kind_with_versions(garden: Book) -> None:
    first, read = write(garden, program("2026-05-01"), reading(0))
    with pytest.raises(EntryError, match="is another program"), garden.change("x") as change:
        change.change_from(first, date(2026, 7, 1), program("2026-05-01", zone="hedge"))
    with pytest.raises(EntryError, match="has no versions by date"), garden.change("x") as change:
        change.change_from(read, date(2026, 7, 1), reading(0))


@pytest.mark.parametrize(
    ("since", "until"),
    [
        ("2026-05-01", None),
        ("2026-04-01", None),
        ("2026-04-01", "2026-05-02"),
        ("2026-06-30", "2026-07-01"),
        ("2026-05-10", "2026-05-11"),
    ],
)
def test_two_versions_never_hold_on_the_same_day(garden: Book, since: str, until: str | None) -> None:
    (there,) = write(garden, program("2026-05-01", "2026-07-01"))
    error: type[Exception] = ConflictError if since == "2026-05-01" else OverlapError
    with pytest.raises(error) as refused:
        write(garden, program(since, until, minutes=1.0))
    assert refused.value.there == there
    if error is OverlapError:
        assert "program tubs, a, 2026-05-01 (until 2026-07-01) holds already" in str(refused.value)


def test_versions_that_only_touch_and_other_slots_do_fit(garden: Book) -> None:
    write(
        garden,
        program("2026-05-01", "2026-07-01"),
        program("2026-07-01"),
        program("2026-04-01", "2026-05-01"),
        program("2026-05-01", label="b"),
        program("2026-05-01", zone="hedge"),
        Pause(scope="all", since=date(2026, 1, 1), until=date(2026, 4, 1), reason="winter"),
        Pause(scope="tubs", since=date(2026, 1, 1), until=date(2026, 4, 1), reason="winter"),
        Tariff(supply="main", since=date(2026, 1, 1), unit="kgal", base=10.0, prices="3.65"),
    )
    assert len(programs(garden)) == 5


def test_a_correction_of_dates_is_held_to_the_same_rule(garden: Book) -> None:
    one, two = write(garden, program("2026-05-01", "2026-07-01"), program("2026-07-01", minutes=30.0))
    with pytest.raises(OverlapError, match=r"program tubs, a, 2026-07-01 \(still in force\)"), garden.change("x") as c:
        c.correct(one, program("2026-05-01", "2026-07-02"))
    with garden.change("the change was in June") as change:
        change.correct(one, program("2026-05-01", "2026-06-01"))
        change.correct(two, program("2026-06-01", minutes=30.0))
    assert programs(garden) == [("2026-05-01", "2026-06-01", 20.0), ("2026-06-01", None, 30.0)]

"""What was wrong all along is put right in place, and what nothing refers to is removed."""

from __future__ import annotations

import pytest

from core.book.kinds import (
    ClockCheck,
    Controller,
    FlowTest,
    Home,
    Measured,
    Meter,
    MeterReading,
    Rain,
    Zone,
)
from core.book.store import Book
from core.errors import (
    ConflictError,
    EntryError,
    InUseError,
    NotFoundError,
    StaleError,
)
from tests.core.book.parts import at, program, reading, write


def test_what_was_wrong_all_along_is_put_right_in_place(garden: Book) -> None:
    (row_id,) = write(garden, reading(0, "10452"))
    with garden.change("corrected") as change:
        change.correct(row_id, reading(2, "10542"))  # the hour was wrong too: the key moves
    assert [(s.id, s.record, s.change_set) for s in garden.records(MeterReading)] == [(row_id, reading(2, "10542"), 4)]


def test_a_correction_that_says_the_same_writes_nothing_but_other_digits_are_kept(garden: Book) -> None:
    (row_id,) = write(garden, Rain(start=at(0), end=at(24), rain=Measured("0.5", "in", "depth")))
    with garden.change("same") as change:
        change.correct(row_id, garden.get(Rain, row_id).record)
    assert change.number is None
    with garden.change("in mm") as change:
        change.correct(row_id, Rain(start=at(0), end=at(24), rain=Measured("12.7", "mm", "depth")))
    assert garden.get(Rain, row_id).record.rain.typed == "12.7"


def test_a_correction_onto_another_record_is_a_conflict(garden: Book) -> None:
    one, two = write(garden, reading(0, "1"), reading(1, "2"))
    with pytest.raises(ConflictError) as conflict, garden.change("corrected") as change:
        change.correct(two, reading(0, "2"))
    assert conflict.value.there == one


def test_a_code_others_refer_to_never_changes_but_its_name_may(garden: Book) -> None:
    tubs = garden.find(Zone, "tubs")
    with pytest.raises(EntryError, match="A zone's code never changes: “tubs” stays"), garden.change("x") as change:
        change.correct(tubs.id, tubs.record.model_copy(update={"code": "pots"}))
    with garden.change("renamed") as change:
        change.correct(tubs.id, tubs.record.model_copy(update={"name": "Half barrels"}))
    assert garden.find(Zone, "tubs").record.name == "Half barrels"


def test_what_somebody_else_changed_since_is_not_written_over(garden: Book) -> None:
    (row_id,) = write(garden, reading(0, "1"))
    seen = garden.get(MeterReading, row_id).change_set
    with garden.change("the other one was quicker") as change:
        change.correct(row_id, reading(0, "2"), seen=seen)
    with pytest.raises(StaleError, match="has been changed since you read it"), garden.change("late") as change:
        change.correct(row_id, reading(0, "3"), seen=seen)
    with pytest.raises(StaleError, match="has been changed since you read it"), garden.change("late") as change:
        change.remove(row_id, MeterReading, seen=seen)
    assert garden.get(MeterReading, row_id).record.register_value == 2
    garden.undo(garden.number())  # back to what was seen: the correction fits again
    with garden.change("now") as change:
        change.correct(row_id, reading(0, "3"), seen=seen)


def test_what_is_not_there_cannot_be_corrected_or_removed(garden: Book) -> None:
    with pytest.raises(NotFoundError, match="There is no meter reading number 99"), garden.change("x") as change:
        change.correct(99, reading(0))
    with pytest.raises(NotFoundError), garden.change("x") as change:
        change.remove(99, "rain")
    with pytest.raises(NotFoundError):
        garden.get(Rain, 1)


def test_what_others_refer_to_is_not_removed_and_they_are_named(garden: Book) -> None:
    tubs = garden.find(Zone, "tubs").id
    write(garden, program("2026-05-01"), FlowTest(at=at(0), zone="tubs", volume=Measured("1", "gal", "volume"),
          duration=Measured("2", "min", "duration")))  # fmt: skip
    with pytest.raises(InUseError) as refused, garden.change("x") as change:
        change.remove(tubs, Zone)
    assert str(refused.value).startswith(
        "Zone tubs cannot be removed: program tubs, a, 2026-05-01, flow test 2026-07-01 07:00-06:00 refer to it."
    )
    with pytest.raises(InUseError, match="meter drip"), garden.change("x") as change:
        change.remove(garden.find(Meter, "house").id, Meter)
    with pytest.raises(InUseError, match="home"), garden.change("x") as change:
        change.remove(1, Home)


def test_once_nothing_refers_to_it_it_can_go(garden: Book) -> None:
    shed = garden.find(Controller, "shed").id
    (check,) = write(garden, ClockCheck(controller="shed", at=at(0), offset_minutes=4))
    with garden.change("sold the controller") as change:
        change.remove(check, ClockCheck)
        tubs = change.find(Zone, "tubs")
        change.correct(tubs.id, tubs.record.model_copy(update={"controller": None}))
        change.remove(shed, "controller")
    assert garden.records(Controller) == []
    assert garden.change_sets(1)[0].counts == {"clock_check": 1, "controller": 1, "zone": 1}


def test_an_id_is_never_given_to_another_record(garden: Book) -> None:
    (first,) = write(garden, reading(0))
    with garden.change("removed") as change:
        change.remove(first, MeterReading)
    (second,) = write(garden, reading(1))
    assert second > first

"""Undo and taking back: exactly what was before, or a refusal that names what rests on it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from core.book.kinds import KINDS, Meter, MeterReading, Program, Supply, Zone
from core.book.store import Book
from core.days import Moment
from core.errors import NotFoundError, UndoError


def reading(hours: int, value: str = "100") -> MeterReading:
    at = Moment(datetime(2026, 7, 1, 13, tzinfo=UTC) + timedelta(hours=hours), -360)
    return MeterReading(meter="house", at=at, register_value=Decimal(value))


def program(since: str, until: str | None = None, minutes: float = 20.0) -> Program:
    end = date.fromisoformat(until) if until else None
    return Program(zone="tubs", since=date.fromisoformat(since), until=end, days="odd", starts="05:00", minutes=minutes)


def dump(book: Book) -> dict[str, list[Any]]:
    """Everything in the book but its journal."""
    with closing(sqlite3.connect(book.path)) as connection:
        return {kind: connection.execute(f'SELECT * FROM "{kind}" ORDER BY id').fetchall() for kind in KINDS}  # noqa: S608


def test_undo_is_a_change_set_of_its_own_and_can_be_undone(garden: Book) -> None:
    before = dump(garden)
    with garden.change("wrote a reading") as change:
        change.add(reading(0))
    after = dump(garden)
    assert change.number == 3
    assert garden.undo(3) == 4
    assert dump(garden) == before
    assert garden.undo(4) == 5
    assert dump(garden) == after
    assert garden.undo(5) == 6
    assert dump(garden) == before
    told = [(c.number, c.what, c.undoes, c.undone_by) for c in garden.change_sets(4)]
    assert told == [
        (6, "undid: wrote a reading", 5, None),
        (5, "did again: wrote a reading", 4, 6),
        (4, "undid: wrote a reading", 3, None),
        (3, "wrote a reading", None, 6),
    ]


def test_what_was_undone_and_done_again_is_undone_by_its_own_number_too(garden: Book) -> None:
    before = dump(garden)
    with garden.change("wrote a reading") as change:
        change.add(reading(0))
    after = dump(garden)
    assert garden.undo(garden.undo(3)) == 5
    assert garden.undo(3) == 6
    assert dump(garden) == before
    assert garden.change_sets(1)[0].undoes == 5
    assert garden.undo(6) == 7
    assert dump(garden) == after
    with pytest.raises(UndoError, match=r"Change set 4 .* was undone already by change set 7"):
        garden.undo(4)


def test_every_verb_is_undone_to_the_last_cell(garden: Book) -> None:
    with garden.change("start") as change:
        kept, moved, gone = (change.add(reading(n)) for n in range(3))
        first = change.add(program("2026-05-01"))
    before = dump(garden)
    with garden.change("everything at once") as change:
        change.correct(moved, reading(7, "5"))
        change.remove(gone, MeterReading)
        change.add(reading(2, "9"))  # the key that was just given up
        change.add(reading(1, "8"))
        change.correct(kept, reading(0, "1"))
        change.correct(kept, reading(0, "2"))  # twice in one action
        change.change_from(first, date(2026, 6, 1), program("2026-05-01", minutes=30.0))
        change.add_many([reading(n) for n in range(10, 400)])
        tubs = change.find(Zone, "tubs")
        change.correct(tubs.id, tubs.record.model_copy(update={"name": "Pots"}))
    after = dump(garden)
    undo = garden.undo(change.number)
    assert dump(garden) == before
    garden.undo(undo)
    assert dump(garden) == after


def test_a_large_import_is_taken_back_whole(garden: Book) -> None:
    before = dump(garden)
    with garden.change("brought in a file") as change:
        change.add_many([reading(n, str(n)) for n in range(25_000)])  # three journal entries
    after = dump(garden)
    assert len(after["meter_reading"]) == 25_000
    with closing(sqlite3.connect(garden.path)) as connection:
        assert connection.execute('SELECT count(*) FROM "change" WHERE change_set = 3').fetchone()[0] == 3
    undo = garden.undo(3)
    assert dump(garden) == before
    assert garden.change_sets(1)[0].counts == {"meter_reading": 25_000}
    garden.undo(undo)
    assert dump(garden) == after


def test_an_import_is_not_taken_back_once_one_of_its_rows_was_corrected(garden: Book) -> None:
    with garden.change("brought in a file") as change:
        change.add_many([reading(n) for n in range(500)])
    row = garden.find(MeterReading, "house", reading(77).at)
    with garden.change("corrected a misread") as change:
        change.correct(row.id, reading(77, "5"))
    state = dump(garden)
    with pytest.raises(UndoError) as refused:
        garden.undo(3)
    assert str(refused.value) == (
        "Change set 3 (“brought in a file”) cannot be undone: meter reading house, 2026-07-04 12:00-06:00 was changed "
        "later by change set 4 (“corrected a misread”). Undo that first. Nothing was changed."
    )
    assert dump(garden) == state
    garden.undo(4)
    garden.undo(3)
    assert garden.records(MeterReading) == []


def test_what_was_removed_later_is_named(garden: Book) -> None:
    with garden.change("wrote") as change:
        row_id = change.add(reading(0))
    with garden.change("threw it out") as change:
        change.remove(row_id, MeterReading)
    with pytest.raises(UndoError, match=r"house, 2026-07-01 07:00-06:00 was removed later by change set 4 \(“threw"):
        garden.undo(3)


def test_what_refers_to_it_is_named(garden: Book) -> None:
    with garden.change("a new bed") as change:
        change.add(Zone(code="beds", name="Beds", supply="main"))
    with garden.change("set its program") as change:
        change.add(Program(zone="beds", since=date(2026, 5, 1), days="odd", starts="05:00", minutes=9.0))
    with pytest.raises(UndoError) as refused:
        garden.undo(3)
    assert str(refused.value) == (
        "Change set 3 (“a new bed”) cannot be undone: zone beds is used by program beds, a, 2026-05-01, written by "
        "change set 4 (“set its program”). Undo that first. Nothing was changed."
    )


def test_a_removal_is_not_undone_when_its_key_is_taken(garden: Book) -> None:
    with garden.change("wrote") as change:
        row_id = change.add(reading(0, "1"))
    with garden.change("removed") as change:
        change.remove(row_id, MeterReading)
    with garden.change("wrote it better") as change:
        change.add(reading(0, "2"))
    with pytest.raises(UndoError, match=r"in its place there is now meter reading .* by change set 5 \(“wrote it bett"):
        garden.undo(4)


def test_a_correction_is_not_undone_when_its_old_key_is_taken(garden: Book) -> None:
    with garden.change("wrote") as change:
        row_id = change.add(reading(0))
    with garden.change("an hour later, really") as change:
        change.correct(row_id, reading(1))
    with garden.change("another") as change:
        change.add(reading(0, "7"))
    with pytest.raises(UndoError, match="in its place there is now meter reading house, 2026-07-01 07:00-06:00"):
        garden.undo(4)


def test_a_removal_is_not_undone_when_what_it_needs_is_gone(garden: Book) -> None:
    with garden.change("a well") as change:
        change.add(Supply(code="well", name="Well", source="well"))
        change.add(Meter(code="pump", name="Pump", supply="well", unit="gal"))
    with garden.change("meter sold") as change:
        change.remove(change.find(Meter, "pump").id, Meter)
    with garden.change("well filled in") as change:
        change.remove(change.find(Supply, "well").id, Supply)
    with pytest.raises(UndoError, match="meter pump needs supply “well”, which is gone"):
        garden.undo(4)


def test_a_version_does_not_come_back_over_another(garden: Book) -> None:
    with garden.change("program") as change:
        old = change.add(program("2026-05-01", "2026-07-01"))
    with garden.change("removed it") as change:
        change.remove(old, Program)
    with garden.change("another") as change:
        change.add(program("2026-06-01"))
    with pytest.raises(
        UndoError, match=r"would hold on the days of program tubs, a, 2026-06-01, written by change set 5"
    ):
        garden.undo(4)


def test_undone_twice_unknown_and_first_are_told(garden: Book) -> None:
    with garden.change("wrote") as change:
        change.add(reading(0))
    garden.undo(3)
    with pytest.raises(UndoError, match=r"was undone already by change set 4 \(“undid: wrote”\)\. To bring it back"):
        garden.undo(3)
    with pytest.raises(NotFoundError, match="no change set 99"):
        garden.undo(99)
    with pytest.raises(UndoError, match="began the book"):
        garden.undo(1)


def test_what_somebody_changed_with_another_tool_is_not_undone_blindly(garden: Book) -> None:
    with garden.change("wrote") as change:
        row_id = change.add(reading(0))
    with closing(sqlite3.connect(garden.path)) as connection:
        connection.execute("DELETE FROM meter_reading WHERE id = ?", (row_id,))
        connection.commit()
    with pytest.raises(UndoError, match="changed outside Rillbook"):
        garden.undo(3)


def test_a_correction_between_does_not_rest_on_what_it_does_not_touch(garden: Book) -> None:
    with garden.change("one") as change:
        change.add(reading(0))
    with garden.change("two") as change:
        change.add(reading(1))
    garden.undo(3)
    assert [s.record for s in garden.records(MeterReading)] == [reading(1)]


def test_a_correction_gives_the_earlier_row_its_earlier_change_set_back(garden: Book) -> None:
    """So what a person read before still counts as seen after somebody corrected it and undid the correction."""
    with garden.change("wrote") as change:
        row_id = change.add(reading(0))
    with garden.change("corrected") as change:
        change.correct(row_id, reading(0, "5"))
    garden.undo(4)
    assert garden.get(MeterReading, row_id).change_set == 3

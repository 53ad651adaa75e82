"""Adding: what is stored, once, and what is refused, in sentences; many at once."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from core.book.kinds import (
    Decision,
    Measured,
    Meter,
    MeterReading,
    Rain,
    Supply,
    Upkeep,
    Zone,
)
from core.book.store import Book, Counts
from core.errors import (
    ConflictError,
    EntryError,
    NotFoundError,
)
from tests.core.book.parts import at, program, programs, reading, write
from tests.core.book.written_down import GARDEN


def test_what_was_added_is_found_by_id_by_key_and_by_value(garden: Book) -> None:
    (row_id,) = write(garden, reading(0, "104200"))
    stored = garden.get(MeterReading, row_id)
    assert stored.record == reading(0, "104200")
    assert stored.change_set == 3
    assert garden.find(MeterReading, "house", at(0)) == stored
    assert garden.find(MeterReading, "house", at(0, offset=60)) == stored  # the same instant on another clock
    assert garden.find(MeterReading, "drip", at(0)) is None
    assert garden.records(MeterReading, meter="house") == [stored]
    assert garden.records(MeterReading, meter="house", how="bill") == []


def test_records_come_in_the_order_of_their_keys(garden: Book) -> None:
    write(garden, reading(5), reading(1), reading(3))
    assert [s.record.at for s in garden.records(MeterReading)] == [at(1), at(3), at(5)]
    assert [s.record.code for s in garden.records(Zone)] == ["hedge", "tubs"]
    assert [s.record.code for s in garden.records(Zone, controller=None)] == ["hedge"]


def test_the_same_again_is_not_stored_again(garden: Book) -> None:
    rain = Rain(start=at(0), end=at(24), rain=Measured("0.5", "in", "depth"))
    first = write(garden, rain)
    with garden.change("the same") as change:
        again = change.add(rain)
        # 0.5 in is 12.7 mm, and an instant is the same on every clock
        other_words = Rain(start=at(0, 0), end=at(24, 0), rain=Measured("12.7", "mm", "depth"))
        third = change.add(other_words)
    assert first == [again] == [third]
    assert change.number is None
    assert garden.number() == 3


def test_the_same_key_with_other_values_is_a_conflict_and_shows_both(garden: Book) -> None:
    write(garden, reading(0, "10452"))
    with pytest.raises(ConflictError) as conflict:
        write(garden, reading(1), reading(0, "10542", note="by phone"))
    error = conflict.value
    assert error.kind == "meter_reading"
    assert error.key == ("house", at(0))
    assert error.there == garden.records(MeterReading)[0].id
    assert error.differs == {"register_value": (Decimal(10452), Decimal(10542)), "note": ("", "by phone")}
    assert str(error) == (
        "Meter reading house, 2026-07-01 07:00-06:00 is already there with other values: "
        "register value is 10452 there, 10542 here; note is empty there, by phone here. Nothing was stored."
    )
    assert len(garden.records(MeterReading)) == 1  # the reading before it in the block is not there either


def test_how_exact_an_instant_is_makes_a_difference(garden: Book) -> None:
    write(garden, reading(0))
    with pytest.raises(ConflictError) as conflict:
        write(garden, MeterReading(meter="house", at=at(0, exact="hour"), register_value=Decimal(100)))
    assert list(conflict.value.differs) == ["at"]


def test_a_code_that_is_not_in_the_book_is_told(garden: Book) -> None:
    with pytest.raises(NotFoundError, match=r"no meter “well” in the book; meter reading well, 2026-07-01 07:00-06:00"):
        write(garden, MeterReading(meter="well", at=at(0), register_value=Decimal(1)))
    with pytest.raises(NotFoundError, match="no zone “lawn”"), garden.change("many") as change:
        change.add_many(
            [Upkeep(task="filter", day=date(2026, 7, n), zone="lawn" if n == 9 else None) for n in range(1, 20)]
        )


def test_a_meter_may_be_written_before_the_one_it_is_behind(book: Book) -> None:
    write(
        book,
        Supply(code="main", name="Main"),
        Meter(code="a", name="A", supply="main", unit="gal", downstream_of="z"),
        Meter(code="z", name="Z", supply="main", unit="gal"),
    )
    assert [m.record.code for m in book.records(Meter)] == ["a", "z"]
    with pytest.raises(NotFoundError, match="no meter “gone”"):
        write(book, Meter(code="b", name="B", supply="main", unit="gal", downstream_of="gone"))
    with pytest.raises(EntryError, match="behind itself"), book.change("loop") as change:
        change.correct(
            book.find(Meter, "z").id, Meter(code="z", name="Z", supply="main", unit="gal", downstream_of="a")
        )
    assert book.records(Meter, downstream_of="a") == []


def test_an_empty_part_of_a_key_is_part_of_it(garden: Book) -> None:
    on_all = Decision(finding="steady", since=date(2026, 7, 1), verdict="harmless", decided_at=at(0))
    on_tubs = on_all.model_copy(update={"zone": "tubs"})
    one, two = write(garden, on_all, on_tubs)
    assert write(garden, on_all, on_tubs) == [one, two]
    assert garden.find(Decision, "steady", None, None, date(2026, 7, 1), at(0)).id == one
    assert garden.find(Decision, "steady", None, "tubs", date(2026, 7, 1), at(0)).id == two
    with pytest.raises(ConflictError):
        write(garden, on_all.model_copy(update={"verdict": "explained"}))


def test_many_are_counted_and_come_out_as_they_went_in(garden: Book) -> None:
    some = [reading(n, str(1000 + n)) for n in range(1234)]
    with garden.change("file") as change:
        assert change.add_many(some[:400]) == Counts(400, 0)
    with garden.change("longer file") as change:
        assert change.add_many(iter(some)) == Counts(834, 400)
    assert [s.record for s in garden.records(MeterReading)] == some
    assert garden.change_sets(1)[0].counts == {"meter_reading": 834}
    with garden.change("the same file") as change:
        assert change.add_many(some) == Counts(0, 1234)
    assert change.number is None


@pytest.mark.parametrize("n", [5, 1000])
def test_one_conflict_among_many_stores_none(garden: Book, n: int) -> None:
    write(garden, reading(3, "7"))
    with pytest.raises(ConflictError) as conflict, garden.change("file") as change:
        change.add_many(reading(k) for k in range(n))
    assert conflict.value.differs == {"register_value": (Decimal(7), Decimal(100))}
    assert len(garden.records(MeterReading)) == 1


@pytest.mark.parametrize("n", [5, 1000])
def test_a_key_twice_in_one_file_counts_once_or_conflicts_with_itself(garden: Book, n: int) -> None:
    once = [reading(k) for k in range(n)]
    with garden.change("file") as change:
        assert change.add_many([*once, once[0]]) == Counts(n, 1)
    with pytest.raises(ConflictError) as conflict, garden.change("file") as change:
        change.add_many([*(reading(k + n) for k in range(n)), reading(n, "5")])
    assert conflict.value.there == 0


def test_many_of_mixed_kinds_and_versions_are_added_in_turn(book: Book) -> None:
    year = [program(f"2026-{m:02}-01", f"2026-{m + 1:02}-01", minutes=float(m)) for m in range(1, 12)]
    with book.change("folder") as change:
        assert change.add_many([*GARDEN, *year, *year]) == Counts(len(GARDEN) + 11, 11)
    assert len(programs(book)) == 11


def test_comparing_stores_nothing_and_says_where_each_record_stands(garden: Book) -> None:
    write(garden, reading(0, "5"), reading(1))
    found = garden.compare([reading(0), reading(1), reading(2), reading(2), reading(2, "9")])
    assert (found.new, found.there) == ([2], [1, 3])
    assert [(position, error.there > 0) for position, error in found.conflicts] == [(0, True), (4, False)]
    assert garden.compare([]).new == []
    assert garden.number() == 3

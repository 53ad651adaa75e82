"""The verbs: add, correct, changed on a day, remove; and what they refuse, in sentences."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from core.book.kinds import (
    ClockCheck,
    Controller,
    Decision,
    FlowTest,
    Home,
    Measured,
    Meter,
    MeterReading,
    Pause,
    Program,
    Rain,
    Record,
    Supply,
    Tariff,
    Upkeep,
    Zone,
)
from core.book.store import Book, Counts
from core.days import Moment
from core.errors import (
    BookError,
    ConflictError,
    EntryError,
    InUseError,
    NotFoundError,
    OverlapError,
    StaleError,
)
from tests.core.book.written_down import GARDEN

START = datetime(2026, 7, 1, 13, 0, tzinfo=UTC)


def at(hours: float, offset: int = -360, exact: str = "minute") -> Moment:
    return Moment(START + timedelta(hours=hours), offset, exact)  # type: ignore[arg-type]


def reading(hours: float, value: str = "100", **more: object) -> MeterReading:
    return MeterReading(meter="house", at=at(hours), register_value=Decimal(value), **more)


def program(since: str, until: str | None = None, **more: object) -> Program:
    values = {"zone": "tubs", "days": "daily", "starts": "05:00", "minutes": 20.0, **more}
    return Program(since=date.fromisoformat(since), until=date.fromisoformat(until) if until else None, **values)


@pytest.fixture
def garden(book: Book) -> Book:
    with book.change("laid out the garden") as change:
        change.add_many(GARDEN)
    return book


def write(book: Book, *records: Record) -> list[int]:
    with book.change("wrote") as change:
        return [change.add(record) for record in records]


def programs(book: Book) -> list[tuple[str, str | None, float]]:
    return [
        (str(p.record.since), str(p.record.until) if p.record.until else None, p.record.minutes)
        for p in book.records(Program)
    ]


# adding


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


# many at once


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


# correcting


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


# versions


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


# removing


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


# one action, all or nothing


def test_an_error_within_a_change_leaves_nothing(garden: Book) -> None:
    class Stumble(BaseException):
        """Such as the stop signal of a screen that is drawn again."""

    def half_way(error: type[BaseException]) -> None:
        with garden.change("half") as change:
            change.add(reading(0))
            raise error

    for error in (ValueError, KeyboardInterrupt, Stumble):
        with pytest.raises(error):
            half_way(error)
    assert garden.records(MeterReading) == []
    assert garden.number() == 2


def test_a_verb_that_is_refused_leaves_the_rest_of_the_change_standing(garden: Book) -> None:
    write(garden, reading(0, "1"))
    with garden.change("row by row") as change:
        for record in (reading(1), reading(0, "2"), reading(2)):
            try:
                change.add(record)
            except ConflictError:
                continue
    assert [s.record.at for s in garden.records(MeterReading)] == [at(0), at(1), at(2)]


def test_a_change_reads_what_it_has_written_and_others_do_not_yet(garden: Book) -> None:
    with garden.change("write") as change:
        row_id = change.add(reading(0))
        assert change.get(MeterReading, row_id).record == reading(0)
        assert change.find(MeterReading, "house", at(0)) is not None
        assert len(change.records(MeterReading, how="eye")) == 1
        assert garden.records(MeterReading) == []
    assert len(garden.records(MeterReading)) == 1


def test_a_change_within_a_change_is_told_and_not_waited_for_forever(
    garden: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("core.book.files.BUSY_SECONDS", 0.05)
    with garden.change("outer") as change:
        change.add(reading(0))
        with pytest.raises(BookError, match="in use"), garden.change("inner") as inner:
            inner.add(reading(1))
    assert len(garden.records(MeterReading)) == 1

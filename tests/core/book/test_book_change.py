"""One action: stored whole or not at all."""

from __future__ import annotations

import pytest

from core.book.kinds import (
    MeterReading,
)
from core.book.store import Book
from core.errors import (
    BookError,
    ConflictError,
)
from tests.core.book.parts import at, reading, write


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

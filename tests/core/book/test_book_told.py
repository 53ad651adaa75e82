"""Tellings came with the third step: a book from before is copied, brought up and keeps all it had."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from core.book.kinds import Measured, Told
from core.book.store import Book
from core.days import Moment
from core.errors import NotFoundError
from tests.core.book.conftest import OfStep
from tests.core.book.written_down import GARDEN

THEN = datetime(2026, 9, 2, 13, 15, tzinfo=UTC)
TOLD = Told(
    finding="steady",
    meter="house",
    since=Moment(THEN - timedelta(days=3), -360),
    told_at=Moment(THEN, -360),
    strength="fair",
    rate=Measured("1.2", "gph", "flow"),
)


@pytest.fixture
def old(of_step: OfStep) -> Path:
    """A book as the program of the second step left it, with a garden in it."""
    return of_step(2)


def test_an_older_book_is_copied_and_brought_up(old: Path) -> None:
    book = Book.open(old)
    assert len(list(old.parent.glob("alder-before-update-*.rillbook"))) == 1
    for kind in {type(r) for r in GARDEN}:
        assert sorted((s.record for s in book.records(kind)), key=str) == sorted(
            (r for r in GARDEN if isinstance(r, kind)), key=str
        )
    assert book.records(Told) == []
    with book.change("told") as change:
        change.add(TOLD)
    assert [s.record for s in book.records(Told)] == [TOLD]


def test_a_telling_is_known_from_its_instant_on(old: Path) -> None:
    book = Book.open(old)
    with book.change("told") as change:
        change.add(TOLD)
    assert [len(book.frame("told", THEN + timedelta(minutes=m))) for m in (-1, 0, 1)] == [0, 1, 1]
    row = book.frame("told").iloc[0]
    assert row["rate_lph"] == pytest.approx(1.2 * 3.785411784)
    assert book.frame("told")["until"].isna().all()


def test_a_telling_of_a_meter_that_is_not_there_is_refused_and_one_is_taken_back(old: Path) -> None:
    book = Book.open(old)
    with pytest.raises(NotFoundError), book.change("told") as change:
        change.add(TOLD.model_copy(update={"meter": "nowhere"}))
    with book.change("told") as change:
        change.add(TOLD)
    assert change.number is not None
    book.undo(change.number)
    assert book.records(Told) == []

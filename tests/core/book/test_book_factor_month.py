"""Plant factors by month came with the second step: a book from before is copied, brought up and keeps all it had."""

from __future__ import annotations

from pathlib import Path

import pytest
from pydantic import ValidationError

from core.book.kinds import FactorMonth, Home, Planting, Zone
from core.book.store import Book
from core.errors import ConflictError, NotFoundError
from tests.core.book.conftest import OfStep
from tests.core.book.written_down import GARDEN

LATE = FactorMonth(zone="beds", planting="roses", month=4, factor=0.3, reason="leafs out late")


@pytest.fixture
def old(of_step: OfStep) -> Path:
    """A book as the program of the first step left it, with a garden in it."""
    return of_step(1)


def test_an_older_book_is_copied_and_brought_up(old: Path, home: Home) -> None:
    book = Book.open(old)
    copies = list(old.parent.glob("alder-before-update-*.rillbook"))
    assert len(copies) == 1
    assert book.home() == home
    for kind in {type(r) for r in GARDEN}:
        assert sorted((s.record for s in book.records(kind)), key=str) == sorted(
            (r for r in GARDEN if isinstance(r, kind)), key=str
        )
    assert book.records(FactorMonth) == []
    zone = book.records(Zone)[0].record.code
    with book.change("a factor of April") as change:
        change.add(LATE.model_copy(update={"zone": zone}))
    assert [s.record.month for s in book.records(FactorMonth)] == [4]
    assert [c.what for c in book.change_sets()][::-1] == [
        "began the book", "wrote down the garden", "a factor of April",
    ]  # fmt: skip


def test_opening_it_again_copies_nothing_more(old: Path) -> None:
    Book.open(old)
    Book.open(old)
    assert len(list(old.parent.glob("alder-before-update-*.rillbook"))) == 1


def test_the_copy_is_a_book_of_its_own(old: Path) -> None:
    Book.open(old)
    copy = next(old.parent.glob("alder-before-update-*.rillbook"))
    assert len(Book.open(copy).records(Planting)) == sum(isinstance(r, Planting) for r in GARDEN)


def test_one_factor_a_month_and_never_without_a_reason(book: Book) -> None:
    with book.change("garden") as change:
        change.add_many(GARDEN)
    zone = book.records(Zone)[0].record.code
    mine = LATE.model_copy(update={"zone": zone})
    with book.change("a factor") as change:
        change.add(mine)
    with pytest.raises(ConflictError), book.change("another") as change:
        change.add(mine.model_copy(update={"factor": 0.4}))
    with pytest.raises(NotFoundError), book.change("nowhere") as change:
        change.add(LATE.model_copy(update={"zone": "nowhere"}))
    for wrong in ({"reason": " "}, {"month": 13}, {"factor": -0.1}, {"factor": 2.1}):
        with pytest.raises(ValidationError):
            FactorMonth(**{**dict(LATE), **wrong})

"""A garden laid out, for the tests of the book."""

from __future__ import annotations

import pytest

from core.book.store import Book
from tests.core.book.written_down import GARDEN


@pytest.fixture
def garden(book: Book) -> Book:
    with book.change("laid out the garden") as change:
        change.add_many(GARDEN)
    return book

"""The garden into which sheets are brought."""

from __future__ import annotations

import pytest

from core.book.kinds import Meter, Supply, Zone
from core.book.store import Book


@pytest.fixture
def garden(book: Book) -> Book:
    """A supply with one meter and two zones."""
    with book.change("began") as change:
        change.add(Supply(code="street", name="Street"))
        change.add(Meter(code="curb", name="Curb", supply="street", unit="gal"))
        for code in ("tubs", "hedge"):
            change.add(Zone(code=code, name=code, supply="street"))
    return book

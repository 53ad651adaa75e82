"""The sample household as a book, drawn once for all tests of the review."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from core.book.kinds import Controller, Meter, Program, Supply, Zone
from core.book.store import Book
from core.exchange.folder import new_from_folder
from core.review import Picture, see

ROOT = Path(__file__).parents[3]
AS_OF = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Book:
    book, _ = new_from_folder(tmp_path_factory.mktemp("sample") / "s.rillbook", ROOT / "sample_data" / "household")
    return book


@pytest.fixture(scope="session")
def picture(sample: Book) -> Picture:
    return see(sample, AS_OF)


@pytest.fixture(scope="session")
def truth() -> dict[str, Any]:
    """What was done to the invented household, written by the script that made it."""
    read: dict[str, Any] = json.loads((ROOT / "sample_data" / "truth.json").read_text(encoding="utf-8"))
    return read


@pytest.fixture
def garden_book(book: Book) -> Book:
    """The Alder house in Denver with a meter at the curb and one zone."""
    with book.change("laid out") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="curb", name="Curb meter", supply="town", unit="gal", digits=7))
        change.add(Controller(code="shed", name="Shed timer", follows_dst=True))
        change.add(Zone(code="hedge", name="Hedge", supply="town", controller="shed"))
        change.add(Program(zone="hedge", since=date(2026, 5, 1), days="mon wed fri", starts="05:00", minutes=60))
    return book

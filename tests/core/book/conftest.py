"""A garden laid out, and books as older programs left them, for the tests of the book."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from core.book import files, migrations
from core.book.kinds import Home
from core.book.store import Book
from tests.core.book.written_down import GARDEN

OfStep = Callable[[int], Path]


@pytest.fixture
def garden(book: Book) -> Book:
    with book.change("laid out the garden") as change:
        change.add_many(GARDEN)
    return book


@pytest.fixture
def of_step(tmp_path: Path, home: Home, monkeypatch: pytest.MonkeyPatch) -> OfStep:
    """Makes a book as the program of a step left it, with a garden in it."""

    def made(last: int) -> Path:
        earlier = tmp_path / "earlier-steps"
        earlier.mkdir()
        for file in sorted(Path(migrations.__file__).parent.glob("[0-9]*.sql"))[:last]:
            shutil.copy(file, earlier)
        with monkeypatch.context() as then:
            then.setattr(files, "STEPS", migrations.steps(earlier))
            book = Book.create(tmp_path / "alder.rillbook", home)
            with book.change("wrote down the garden") as change:
                change.add_many(GARDEN)
        return book.path

    return made

"""Words of the command as bad as they come: a sentence, and nothing stored."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from click.testing import Result

from core.book.store import Book

Run = Callable[..., Result]
WORDS: list[tuple[list[str], int, str]] = [
    (["add", "BOOK", "reading", "9" * 5000], 1, "Register: a number has at most 15 digits before the decimal mark"),
    (["add", "BOOK", "reading", "0." + "3" * 5000], 1, "Register: a number has at most 15 digits before the decimal"),
    (["add", "BOOK", "rain", "0." + "3" * 5000 + "in"], 1, "a number has at most 15 digits before the decimal mark"),
    (["add", "BOOK", "reading", "100", "--at", "2999-01-01"], 1, "is not in a year of this book. Expected 1700 to"),
    (["add", "BOOK", "reading", "100", "--at", "0001-01-01"], 1, "is not in a year of this book. Expected 1700 to"),
    (["add", "BOOK", "reading", "100", "--at", "9999-12-31 23:59"], 1, "is not a date or time that exists"),
    (["review", "BOOK", "9999-12"], 1, "“9999-12” is not in a year of this book. Expected 1700 to 2199."),
    (["review", "BOOK", "1600-01"], 1, "“1600-01” is not in a year of this book. Expected 1700 to 2199."),
    (["review", "BOOK", "2026-07", "--as-of", "9999-12-31"], 1, "“9999-12-31” is not"),
    (["review", "BOOK", "2026-07", "--as-of", "0001-01-01"], 1, "“0001-01-01” is not"),
    (["watch", "BOOK", "--as-of", "0001-01-01"], 1, "“0001-01-01” is not"),
    (["plants", "BOOK", "2026-07", "--as-of", "2999-01-01"], 1, "“2999-01-01” is not in a year of this book."),
    (["undo", "BOOK", "9" * 30], 2, "is not in the range"),
]


@pytest.mark.parametrize(("words", "code", "said"), WORDS, ids=[" ".join(w)[:40] for w, _, _ in WORDS])
def test_words_that_make_no_sense_are_told(run: Run, garden: Book, words: list[str], code: int, said: str) -> None:
    before = garden.number()
    result = run(*[garden.path if word == "BOOK" else word for word in words])
    assert result.exit_code == code, result.output
    assert said in result.stderr
    assert garden.number() == before

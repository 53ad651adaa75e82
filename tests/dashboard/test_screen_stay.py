"""Guests that nobody wrote down: asked about on a card of the month, with an answer for either case."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from core.accounts.findings import Cause
from core.book.kinds import Decision, Household
from core.book.store import Book
from tests.core.review.test_stays import book_of
from tests.dashboard.conftest import ROOT, words
from tests.dashboard.test_screen_suspect import press
from tests.fuller import fuller_book


@pytest.fixture
def fuller(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Book:
    book = fuller_book(tmp_path)
    monkeypatch.setenv("RILLBOOK_BOOK", str(book.path))
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-08-10T18:00:00+00:00")
    return book


def june() -> AppTest:
    at = AppTest.from_file(str(ROOT / "dashboard" / "app.py"), default_timeout=60)
    at.query_params["month"] = "2026-06"
    at.run()
    assert not at.exception
    return at


def test_a_stay_is_asked_about_with_both_answers(fuller: Book) -> None:
    at = june()
    told = words(at).replace("**", "")
    assert "were guests there, or did something break?" in told, "among what to do next"
    assert "Guests, or something that broke?" in told
    assert "if not, it may be water that runs all the time." in told
    assert "Write down who was at home" in [e.proto.label for e in at.get("page_link")]


def test_what_broke_is_written_down_as_the_cause(fuller: Book) -> None:
    at = june()
    press(at, "Write down the cause")
    assert "Choose what it was" in at.error[0].value
    assert not fuller.records(Decision)
    next(r for r in at.radio if r.label == "What was it?").set_value(Cause("steady"))
    next(t for t in at.text_input if t.label.startswith("In your own words")).input("the cistern")
    press(at, "Write down the cause")
    (stored,) = fuller.records(Decision)
    assert (stored.record.finding, stored.record.verdict, stored.record.note) == ("steady", "explained", "the cistern")
    told = words(june()).replace("**", "")
    assert "Guests, or something that broke?" not in told
    assert "You decided: cause found. Your note: the cistern." in told


def test_who_moved_out_is_written_on_the_card_and_taken_back_as_one_step(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A third less from 21 June on in a house of two: one lives here now, unless the person says otherwise."""
    book = book_of(tmp_path, 650, last=30)
    monkeypatch.setenv("RILLBOOK_BOOK", str(book.path))
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-08-10T18:00:00+00:00")
    at = june()
    assert "Did somebody move out, or did something stop drawing water?" in words(at)
    assert next(n for n in at.number_input if n.label == "People who live here now").value == 1
    day = next(d for d in at.date_input if d.label == "First day with so many")
    assert day.value == date(2026, 6, 21)
    day.set_value(date(2026, 6, 20))
    press(at, "Write it down")
    assert book.home().people == 1
    (before,) = (s.record for s in book.records(Household))
    assert (before.until, before.people) == (date(2026, 6, 20), 2)
    assert "Did somebody move out" not in words(at)
    book.undo(book.number())
    assert (book.home().people, book.records(Household)) == (2, [])

"""Tellings came with the third step: a book from before is copied, brought up and keeps all it had."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from core.book import files, migrations
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


def test_a_book_of_the_fourth_step_keeps_its_tellings_and_takes_word_that_one_no_longer_stands(of_step: OfStep) -> None:
    path = of_step(4)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(
            "INSERT INTO told (change_set, finding, meter, zone, since_utc, since_offset_min, since_exact, told_at_utc,"
            " told_at_offset_min, told_at_exact, strength, why, rate_lph, rate_typed) VALUES (2, 'steady', 'house',"
            " NULL, '2026-08-20T13:00:00Z', -360, 'minute', '2026-08-24T13:00:00Z', -360, 'minute', 'fair', 'new',"
            " 12.0, '12 lph')"
        )
        connection.commit()
    book = Book.open(path)
    kept = next(s.record for s in book.records(Told) if s.record.told_at.utc.day == 24)
    assert (kept.finding, kept.why, kept.strength) == ("steady", "new", "fair")
    later = kept.model_copy(update={"told_at": Moment(datetime(2026, 9, 1, tzinfo=UTC), -360), "why": "no_longer"})
    with book.change("told") as change:
        change.add(later)
    assert change.number is not None
    assert later in [s.record for s in book.records(Told)]
    book.undo(change.number)
    assert kept in [s.record for s in book.records(Told)]
    assert later not in [s.record for s in book.records(Told)]


def test_a_telling_taken_back_before_the_fifth_step_can_be_done_again_after_one_told_since(
    of_step: OfStep, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = of_step(4)
    with monkeypatch.context() as then:
        then.setattr(files, "STEPS", migrations.steps(tmp_path / "earlier-steps"))
        book = Book.open(path)
        with book.change("told") as change:
            change.add(TOLD)
        assert change.number is not None
        taken_back = book.undo(change.number)
    book = Book.open(path)
    since = TOLD.model_copy(update={"finding": "one_off"})
    with book.change("told since") as change:
        change.add(since)
    book.undo(taken_back)
    assert {s.record.finding for s in book.records(Told)} == {TOLD.finding, "one_off"}

"""Causes came with the fourth step: a book from before is brought up, keeps its decisions and takes one back."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from core.book.kinds import Decision
from core.book.store import Book
from core.days import Moment
from core.errors import NotFoundError
from tests.core.book.conftest import OfStep

DECIDED = Moment(datetime(2026, 9, 2, 13, 15, tzinfo=UTC), -360)
WRITTEN = (
    "INSERT INTO decision (change_set, finding, meter, zone, since, decided_at_utc, decided_at_offset_min,"
    " decided_at_exact, until, verdict, repaired_on, note) VALUES (2, 'steady', 'house', NULL, '2026-08-20',"
    " '2026-09-02T13:15:00Z', -360, 'minute', '2026-09-02', 'explained', NULL, 'the toilet')"
)


@pytest.fixture
def old(of_step: OfStep) -> Path:
    """A book as the program of the third step left it, with a decision in it."""
    path = of_step(3)
    with closing(sqlite3.connect(path)) as connection:  # today's program writes a column that was not there then
        connection.execute(WRITTEN)
        connection.commit()
    return path


def test_an_older_book_keeps_its_decisions_which_say_no_cause(old: Path) -> None:
    book = Book.open(old)
    assert len(list(old.parent.glob("alder-before-update-*.rillbook"))) == 1
    kept = next(s.record for s in book.records(Decision) if s.record.note == "the toilet")
    assert (kept.verdict, kept.cause, kept.cause_zone) == ("explained", None, None)
    row = book.frame("decision").set_index("note").loc["the toilet"]
    assert (row["cause"], row["cause_zone"]) == (None, None)


def test_a_cause_is_stored_and_its_zone_must_be_there(old: Path) -> None:
    book = Book.open(old)
    named = Decision(
        finding="steady", meter="house", since=date(2026, 8, 1), decided_at=DECIDED, verdict="explained",
        cause="more_than_set", cause_zone="hedge",
    )  # fmt: skip
    with book.change("decided") as change:
        change.add(named)
    assert named in [s.record for s in book.records(Decision)]
    with pytest.raises(NotFoundError), book.change("decided") as change:
        change.add(named.model_copy(update={"since": date(2026, 7, 1), "cause_zone": "nowhere"}))


def test_an_old_decision_put_right_comes_back_with_undo(old: Path) -> None:
    book = Book.open(old)
    stored = next(s for s in book.records(Decision) if s.record.note == "the toilet")
    with book.change("decided") as change:
        change.correct(stored.id, stored.record.model_copy(update={"cause": "steady"}))
    assert change.number is not None
    book.undo(change.number)
    assert next(s.record for s in book.records(Decision) if s.id == stored.id) == stored.record


def forget_causes(path: Path) -> None:
    """The journal as the program of the third step wrote it, whose rows had no cause."""
    new = ("cause", "cause_zone")

    def without(text: str | None) -> str | None:
        told: Any = json.loads(text or "null")
        if told is None:
            return None
        if "rows" in told:
            kept = [n for n, name in enumerate(told["columns"]) if name not in new]
            picked = [[row[n] for n in kept] for row in told["rows"]]
            told = {**told, "columns": [told["columns"][n] for n in kept], "rows": picked}
        return json.dumps({name: value for name, value in told.items() if name not in new})

    with closing(sqlite3.connect(path)) as connection:
        for number, before, after in connection.execute(
            """SELECT id, "before", "after" FROM "change" WHERE kind = 'decision'"""
        ).fetchall():
            connection.execute(
                """UPDATE "change" SET "before" = ?, "after" = ? WHERE id = ?""",
                (without(before), without(after), number),
            )
        connection.commit()


def test_what_an_older_program_wrote_of_a_decision_is_taken_back(old: Path) -> None:
    """Corrected, removed, and two brought in together and undone: each undo puts rows back that knew no cause."""
    book = Book.open(old)
    stored = next(s for s in book.records(Decision) if s.record.note == "the toilet")
    two = [stored.record.model_copy(update={"since": date(2026, 7, day), "note": "sheet"}) for day in (1, 2)]
    with book.change("put right") as corrected:
        corrected.correct(stored.id, stored.record.model_copy(update={"note": "the cistern"}))
    with book.change("removed") as removed:
        removed.remove(stored.id, Decision)
    with book.change("brought in") as sheet:
        sheet.add_many(two)
    assert removed.number is not None
    assert corrected.number is not None
    assert sheet.number is not None
    gone = book.undo(sheet.number)
    forget_causes(old)
    book.undo(gone)
    assert sum(s.record.note == "sheet" for s in book.records(Decision)) == 2
    book.undo(removed.number)
    assert next(s.record.note for s in book.records(Decision) if s.id == stored.id) == "the cistern"
    book.undo(corrected.number)
    assert next(s.record for s in book.records(Decision) if s.id == stored.id) == stored.record

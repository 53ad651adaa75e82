"""A decision about no kind of finding would be kept and be about nothing, so it is refused."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import get_args

import pytest

from core.accounts.findings import SOMETHING_ELSE, FindingKind
from core.book.kinds import FINDING_KINDS, Decision
from core.book.store import Book
from core.days import Moment
from core.exchange import checks
from core.exchange.export import export_folder
from core.exchange.folder import new_from_folder
from tests.core.exchange.looked import look

HEADER = "finding,meter,since,verdict,decided_at,cause\n"


@pytest.mark.parametrize(
    ("row", "column", "value", "expected"),
    [
        ("line_off,curb,2026-07-04,explained,2026-07-06 19:00,", "finding", "line_off", "steady, stuck_open"),
        ("not_deliverd,curb,2026-07-04,harmless,2026-07-06 19:00,", "finding", "not_deliverd", "perhaps not_delivered"),
        ("one_off,curb,2026-07-04,explained,2026-07-06 19:00,burst", "cause", "burst", "after_shutdown, other"),
        ("one_off,curb,2026-07-04,settled,2026-07-06 19:00,", "verdict", "settled", "explained"),
    ],
)
def test_a_word_that_means_nothing_is_refused_with_what_was_expected(
    garden: Book, row: str, column: str, value: str, expected: str
) -> None:
    planned = look(garden, decision=HEADER + row + "\n")
    (problem,) = planned.refused
    assert (problem.row, problem.column, problem.value) == (2, column, value)
    assert expected in problem.expected
    assert "perhaps one_off" not in problem.expected, "which a line off is not"
    assert planned.new == []


def test_what_is_known_is_taken(garden: Book) -> None:
    planned = look(garden, decision=HEADER + "one_off,curb,2026-07-04,explained,2026-07-06 19:00,other\n")
    assert (len(planned.new), planned.refused) == (1, [])


def test_the_kinds_are_those_of_the_account() -> None:
    assert get_args(FindingKind) == FINDING_KINDS
    assert checks.SOMETHING_ELSE == SOMETHING_ELSE


def test_a_book_that_has_such_a_one_comes_back_from_its_export(garden: Book, tmp_path: Path) -> None:
    """Taken by an older Rillbook, which asked nothing."""
    at = Moment(datetime(2026, 7, 7, 1, tzinfo=UTC), -360)
    odd = Decision(finding="line_off", since=date(2026, 7, 4), verdict="harmless", decided_at=at)
    with garden.change("an older program") as change:
        change.add(odd)
    export_folder(garden, tmp_path / "out")
    again, _ = new_from_folder(tmp_path / "again.rillbook", tmp_path / "out")
    assert [s.record for s in again.records(Decision)] == [odd]

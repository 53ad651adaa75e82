"""Accepting a program that fits: exactly what was shown is written, in one change set that can be undone."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from core.book.kinds import Program
from core.book.store import Book
from core.errors import EntryError
from core.review.accept import accept, planned
from core.review.fitting import ZoneFit, fitting_month
from core.review.picture import draw
from tests.core.review.gardens import begin, drip, normals, pot, program, shrubs, write, zone

NOW = datetime(2026, 7, 15, 18, tzinfo=UTC)
DAY = date(2026, 7, 16)


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return begin(
        tmp_path, zone(), shrubs(), drip(), program(minutes=60), zone("pots"), pot("pots"),
        drip("pots", lph=2, waters="pot"), *normals(),
    )  # fmt: skip


def fits(book: Book) -> dict[str, ZoneFit]:
    return {z.zone: z for z in fitting_month(draw(book, NOW), 7).zones}


def programs(book: Book, zone_code: str) -> list[Program]:
    return [s.record for s in book.records(Program, zone=zone_code)]


def test_the_old_program_ends_and_the_new_one_begins_on_the_day(book: Book) -> None:
    fit = fits(book)["bed"]
    (shown,) = planned(book, [fit], DAY)
    assert shown.verb == "change"
    assert shown.words.startswith("Changed on 16 July 2026: Bed, every 8 days")
    assert "before that Mon, Thu at 05:00, 60 min" in shown.words
    accept(book, [fit], DAY)
    old, new = programs(book, "bed")
    assert (old.minutes, old.until) == (60, DAY)
    assert new == shown.record
    assert (new.since, new.until, new.label) == (DAY, None, "a")
    assert fit.fit is not None
    assert new.minutes == fit.fit.minutes
    assert new.days == "every 8 from 2026-07-16"  # counted from the day it begins
    assert new.starts == str(fit.starts)
    assert new.percent == 100


def test_a_zone_without_a_program_gets_one(book: Book) -> None:
    fit = fits(book)["pots"]
    (shown,) = planned(book, [fit], DAY)
    assert shown.verb == "add"
    accept(book, [fit], DAY)
    assert programs(book, "pots") == [shown.record]


def test_several_zones_are_one_change_set_and_undo_takes_all_back(book: Book) -> None:
    before = {code: programs(book, code) for code in ("bed", "pots")}
    number = accept(book, list(fits(book).values()), DAY)
    assert number == book.number()
    assert len(programs(book, "bed")) == 2
    book.undo(number)
    assert {code: programs(book, code) for code in ("bed", "pots")} == before


def test_accepted_twice_is_accepted_once(book: Book) -> None:
    chosen = list(fits(book).values())
    accept(book, chosen, DAY)
    number = book.number()
    assert [w.verb for w in planned(book, chosen, DAY)] == ["same", "same"]
    assert accept(book, chosen, DAY) is None
    assert book.number() == number


def test_one_that_begins_on_that_very_day_is_put_right(book: Book) -> None:
    chosen = [fits(book)["pots"]]
    write(book, program("pots", days="mon", minutes=5, since=DAY))
    (shown,) = planned(book, chosen, DAY)
    assert shown.verb == "put right"
    accept(book, chosen, DAY)
    assert programs(book, "pots") == [shown.record]


def test_second_programs_of_the_zone_end(book: Book) -> None:
    write(book, program(label="b", days="sun", minutes=10), program(label="c", days="sat", minutes=10, since=DAY))
    chosen = [fits(book)["bed"]]
    assert [w.verb for w in planned(book, chosen, DAY)] == ["change", "end", "remove"]
    accept(book, chosen, DAY)
    found = programs(book, "bed")
    assert [(p.label, p.until) for p in found] == [("a", DAY), ("a", None), ("b", DAY)]


def test_a_setting_already_written_for_later_takes_over_then(book: Book) -> None:
    autumn = date(2026, 9, 1)
    stored = book.records(Program, zone="bed")[0]
    with book.change("autumn") as change:
        change.change_from(stored.id, autumn, stored.record.model_copy(update={"minutes": 20.0}))
    (shown,) = planned(book, [fits(book)["bed"]], DAY)
    assert "until 1 September 2026 when what is already written takes over" in shown.words
    accept(book, [fits(book)["bed"]], DAY)
    assert [(p.since, p.until) for p in programs(book, "bed")] == [
        (date(2026, 5, 1), DAY), (DAY, autumn), (autumn, None),
    ]  # fmt: skip


def test_before_anything_was_set_it_is_added_up_to_what_follows(book: Book) -> None:
    (shown,) = planned(book, [fits(book)["bed"]], date(2026, 4, 1))
    assert shown.verb == "add"
    assert shown.record.until == date(2026, 5, 1)
    accept(book, [fits(book)["bed"]], date(2026, 4, 1))
    assert programs(book, "bed")[0] == shown.record


def test_all_or_nothing(book: Book) -> None:
    write(book, zone("bare"), drip("bare", waters="x"))
    found = fits(book)
    assert found["bare"].fit is None
    number = book.number()
    with pytest.raises(EntryError, match="Bare has no program that fits"):
        accept(book, [found["bed"], found["bare"]], DAY)
    assert book.number() == number
    assert len(programs(book, "bed")) == 1


def test_the_picture_after_accepting_fits(book: Book) -> None:
    """The program written is the program looked at: set now gives what fits."""
    chosen = fits(book)
    accept(book, list(chosen.values()), date(2026, 7, 15))
    again = fits(book)
    assert again["bed"].set_l == pytest.approx(chosen["bed"].fit_l, rel=0.1)  # whole waterings in the month
    assert again["bed"].set_risk == ""

"""Accounts kept between processes: the same as reckoned anew, and never those of other content."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from core.accounts.account import MeterAccount, account
from core.book.kinds import Decision, Household, Meter, MeterReading, Pause, Rain, Record, Run, Task, Told, Upkeep
from core.book.store import Book
from core.days import Moment
from core.review import keep, picture, see
from core.review.keep import digest_of, kept_account
from core.review.picture import draw
from tests.core.review.gardens import GAL, begin, drip, measure, mm, program, shrubs, write, zone

START = datetime(2026, 5, 1, 13, tzinfo=UTC)
AS_OF = START + timedelta(days=40)


@pytest.fixture
def reckoned(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The meters whose account was reckoned, in order; what is kept lies in the test's own folder."""
    meters: list[str] = []

    def counted(intervals: pd.DataFrame, *args: Any, **named: Any) -> MeterAccount:
        found = account(intervals, *args, **named)
        meters.append(found.meter)
        return found

    monkeypatch.setattr(picture, "account", counted)
    monkeypatch.setattr(keep, "_folder", lambda: tmp_path / "kept")
    return meters


@pytest.fixture
def metered(tmp_path: Path, reckoned: list[str]) -> Book:
    return garden(tmp_path)


def garden(folder: Path) -> Book:
    """A bed behind one meter that was read daily for a month."""
    folder.mkdir(exist_ok=True)
    book = begin(folder, zone(), shrubs(), drip(), program(), meter())
    write(book, *(reading(day, 50_000 + 120 * day) for day in range(30)))
    return book


def meter(code: str = "main", **more: Any) -> Meter:
    return Meter(code=code, name=code.title(), supply="street", unit="gal", digits=7, **more)


def reading(day: float, register: int, of: str = "main") -> MeterReading:
    return MeterReading(meter=of, at=moment(day), register_value=Decimal(register))


def moment(day: float) -> Moment:
    return Moment(START + timedelta(days=day), -360)


def total(book: Book, as_of: datetime = AS_OF) -> float:
    return float(draw(book, as_of).accounts["main"].intervals["metered_l"].sum())


def test_kept_accounts_are_those_reckoned(metered: Book, reckoned: list[str]) -> None:
    first, again = total(metered), total(metered)
    assert reckoned == ["main"]
    assert first == again == pytest.approx(29 * 120 * GAL)


BESIDE: list[tuple[str, tuple[Record, ...]]] = [
    ("care", (Task(code="rinse", name="Rinse", every_days=30), Upkeep(task="rinse", day=date(2026, 5, 20), note="."))),
    ("rain", (Rain(start=moment(10), end=moment(11), rain=mm(4)),)),
    ("a telling", (Told(finding="steady", meter="main", since=moment(3), told_at=moment(20), strength="fair"),)),
]
TOUCHING: list[tuple[str, Record]] = [
    ("a reading", reading(30, 53_600)),
    ("a run", Run(zone="bed", at=moment(20), duration=measure(40, "min", "duration"))),
    ("a missed day", Run(zone="bed", at=Moment(START, -360, "day"), ran=False)),
    ("a program", program(days="tue", label="b")),
    ("a drip line", drip(code="second")),
    ("guests", Household(since=date(2026, 5, 8), until=date(2026, 5, 12), people=6)),
    ("a pause", Pause(since=date(2026, 5, 8), until=date(2026, 5, 12), reason="rain")),
    ("a decision", Decision(finding="steady", since=date(2026, 5, 3), verdict="harmless", decided_at=moment(30))),
]


@pytest.mark.parametrize(("what", "records"), BESIDE, ids=[what for what, _ in BESIDE])
def test_what_no_account_is_made_of_leaves_it_standing(
    metered: Book, reckoned: list[str], what: str, records: tuple[Record, ...]
) -> None:
    see(metered, AS_OF)
    write(metered, *records)
    assert len(see(metered, AS_OF).frames[records[0].KIND]) == 1, "the picture itself is drawn anew"
    assert reckoned == ["main"]


@pytest.mark.parametrize(("what", "record"), TOUCHING, ids=[what for what, _ in TOUCHING])
def test_what_an_account_is_made_of_has_it_reckoned_anew(
    metered: Book, reckoned: list[str], what: str, record: Record
) -> None:
    see(metered, AS_OF)
    write(metered, record)
    see(metered, AS_OF)
    assert reckoned == ["main", "main"]


def test_a_reading_more_is_in_the_account(metered: Book) -> None:
    before = total(metered)
    write(metered, reading(30, 53_600))
    assert total(metered) == pytest.approx(before + 120 * GAL)


def test_a_reading_of_one_meter_leaves_the_others_standing(metered: Book, reckoned: list[str]) -> None:
    write(metered, meter("barn"), reading(0, 100, "barn"), reading(20, 900, "barn"))
    draw(metered, AS_OF)
    assert sorted(reckoned) == ["barn", "main"]
    write(metered, reading(25, 1_000, "barn"))
    draw(metered, AS_OF)
    assert sorted(reckoned) == ["barn", "barn", "main"]


def test_units_and_days_are_not_taken_for_each_other(metered: Book, reckoned: list[str]) -> None:
    draw(metered, AS_OF, "us")
    draw(metered, AS_OF, "metric")
    draw(metered, AS_OF, "us")
    assert len(reckoned) == 2, "one is kept for each"
    draw(metered, AS_OF + timedelta(hours=1), "us")
    assert len(reckoned) == 2, "it holds for the whole day"
    draw(metered, AS_OF + timedelta(days=1), "us")
    assert len(reckoned) == 3


def test_morning_and_evening_of_a_past_day_are_not_taken_for_each_other(metered: Book) -> None:
    evening = START + timedelta(days=10, hours=8)
    morning = START + timedelta(days=10, hours=-3)
    assert total(metered, evening) - total(metered, morning) == pytest.approx(120 * GAL)


def test_two_books_do_not_disturb_each_other(metered: Book, reckoned: list[str], tmp_path: Path) -> None:
    other = garden(tmp_path / "other")
    assert total(metered) == total(other)
    write(other, reading(30, 53_600))
    assert total(other) - total(metered) == pytest.approx(120 * GAL)
    assert len(reckoned) == 3, "that of the first is still kept"


def test_another_book_in_the_same_place_has_its_own(metered: Book) -> None:
    before = total(metered)
    metered.path.unlink()
    book = begin(metered.path.parent, zone(), shrubs(), drip(), program(), meter())
    write(book, *(reading(day, 50_000 + 60 * day) for day in range(30)))
    assert total(book) == pytest.approx(before / 2)


def test_without_readings_there_is_an_account_too(tmp_path: Path, reckoned: list[str]) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip(), program())
    assert list(draw(book, AS_OF).accounts) == [""]


def spoil(file: Path) -> None:
    file.write_bytes(b"not an account")


def cut(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:-200])


def other_thing(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:64] + pickle.dumps("no account"))


@pytest.mark.parametrize("damage", [spoil, cut, other_thing, Path.unlink])
def test_a_damaged_file_is_as_good_as_none(
    metered: Book, reckoned: list[str], tmp_path: Path, damage: Callable[[Path], object]
) -> None:
    before = total(metered)
    for file in (tmp_path / "kept").glob("*.accounts"):
        damage(file)
    assert total(metered) == before
    assert len(reckoned) == 2
    assert total(metered) == before
    assert len(reckoned) == 2, "what was reckoned anew is kept again"


def test_a_folder_that_cannot_be_written_to_is_no_reason_to_fail(
    metered: Book, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "in the way").write_text("")
    monkeypatch.setattr(keep, "_folder", lambda: tmp_path / "in the way" / "kept")
    assert total(metered) == pytest.approx(29 * 120 * GAL)


def test_a_changed_program_keeps_nothing(
    metered: Book, reckoned: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "core").mkdir()
    file = tmp_path / "core" / "one.py"
    file.write_text("leak = 1")
    monkeypatch.setattr(keep, "CORE", file.parent)
    for text, times in (("leak = 1", 1), ("leak = 2", 2), ("leak = 2", 2)):
        file.write_text(text)
        keep._program.cache_clear()
        draw(metered, AS_OF)
        assert len(reckoned) == times
    monkeypatch.undo()
    keep._program.cache_clear()


FRAME = pd.DataFrame({"zone": ["bed", None], "l": [1.0, np.nan], "n": pd.array([1, None], "Int64")})


@pytest.mark.parametrize(
    "other",
    [
        FRAME.iloc[:1],
        FRAME.iloc[::-1],
        FRAME[["l", "zone", "n"]],
        FRAME.rename(columns={"l": "litres"}),
        FRAME.assign(l=[1.0, 0.0]),
        FRAME.assign(l=[1, 0]),
        FRAME.assign(zone=["bed", ""]),
        FRAME.assign(n=pd.array([1, 0], "Int64")),
        FRAME.assign(zone=["bed", "bed"]),
    ],
)
def test_frames_of_other_content_have_another_digest(other: pd.DataFrame) -> None:
    assert digest_of(FRAME) == digest_of(FRAME.copy(deep=True))
    assert digest_of(FRAME) != digest_of(other)


def test_where_one_thing_ends_and_the_next_begins_counts() -> None:
    assert digest_of("a", "b") != digest_of("ab", "") != digest_of(("a", "b"))
    assert digest_of(FRAME, FRAME.iloc[:0]) != digest_of(FRAME.iloc[:0], FRAME)
    assert digest_of(1) != digest_of("1") != digest_of(None)


def test_arguments_by_name_and_by_place_are_told_apart(reckoned: list[str]) -> None:
    def reckon(one: int = 0, other: int = 0) -> MeterAccount:
        reckoned.append(f"{one} {other}")
        return empty

    empty = MeterAccount("", *[pd.DataFrame()] * 2, None, pd.DataFrame(), (), (), pd.DataFrame(), (), None)  # type: ignore[arg-type]
    ask = partial(kept_account, "here", reckon)
    for _ in range(2):
        ask(1)
    for _ in range(2):
        ask(other=1)
    assert reckoned == ["1 0", "0 1"]

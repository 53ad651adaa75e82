"""Copies of a book in use, and bringing one back with everything checked first."""

from __future__ import annotations

import os
import re
import sqlite3
import threading
from contextlib import closing
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from core.book import backup as copies
from core.book import files
from core.book.kinds import Home, MeterReading, Supply
from core.book.store import Book
from core.days import Moment
from core.errors import BookError
from tests.core.book.written_down import GARDEN


def supplies(book: Book) -> list[str]:
    return [s.record.code for s in book.records(Supply)]


def add_supply(book: Book, code: str) -> None:
    with book.change(f"added {code}") as change:
        change.add(Supply(code=code, name=code))


def names(folder: Path) -> list[str]:
    return sorted(os.listdir(folder))


def test_a_copy_is_one_whole_file_that_opens(book: Book, tmp_path: Path) -> None:
    add_supply(book, "main")
    made = book.backup(tmp_path / "copy.rillbook")
    assert made == tmp_path / "copy.rillbook"
    assert names(tmp_path) == ["alder.rillbook", "copy.rillbook"]
    copy = Book.open(made)
    assert supplies(copy) == ["main"]
    assert copy.number() == book.number()


def test_into_a_folder_the_copy_is_named_after_book_and_time(book: Book, tmp_path: Path) -> None:
    (tmp_path / "safe").mkdir()
    one, two = book.backup(tmp_path / "safe"), book.backup(tmp_path / "safe")
    assert one != two
    assert re.fullmatch(r"alder-copy-\d{8}-\d{6}(-2)?\.rillbook", two.name)


def test_a_copy_never_overwrites_and_needs_a_folder(book: Book, tmp_path: Path) -> None:
    taken = tmp_path / "diary.txt"
    taken.write_text("dear diary")
    with pytest.raises(BookError, match="is there already"):
        book.backup(taken)
    assert taken.read_text() == "dear diary"
    with pytest.raises(BookError, match="is there already"):
        book.backup(book.path)
    with pytest.raises(BookError, match="There is no folder"):
        book.backup(tmp_path / "nowhere" / "a.rillbook")


def test_a_copy_taken_while_the_book_is_written_is_consistent(book: Book, tmp_path: Path) -> None:
    """A change set is in the copy whole or not at all, whenever the copy is taken."""
    with book.change("garden") as change:
        change.add_many(GARDEN)
    start = datetime(2026, 1, 1, tzinfo=UTC)
    stop = threading.Event()

    def write() -> None:
        n = 0
        while not stop.is_set() and n < 200:
            with book.change("pair") as change:
                for meter in ("house", "drip"):
                    moment = Moment(start + timedelta(hours=n), 0)
                    change.add(MeterReading(meter=meter, at=moment, register_value=Decimal(n)))
            n += 1

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for n in range(5):
            copy = Book.open(book.backup(tmp_path / f"copy{n}.rillbook"))
            readings = copy.frame("meter_reading")
            assert (readings.groupby("at").size() == 2).all()
            assert len(copy.change_sets(1000)) - 2 == len(readings) / 2
    finally:
        stop.set()
        writer.join()


def test_a_restore_puts_the_old_state_back_and_keeps_the_newer_beside_it(book: Book, tmp_path: Path) -> None:
    add_supply(book, "main")
    copy = book.backup(tmp_path / "copy.rillbook")
    add_supply(book, "well")
    kept = Book.restore(copy, book.path)
    assert supplies(book) == ["main"]
    assert kept is not None
    assert re.fullmatch(r"alder-before-restore-\d{8}-\d{6}\.rillbook", kept.name)
    assert supplies(Book.open(kept)) == ["main", "well"]
    add_supply(book, "barrel")
    assert supplies(book) == ["barrel", "main"]
    assert supplies(Book.open(copy)) == ["main"]


def test_a_restore_is_noted_under_a_number_neither_file_has_used(book: Book, tmp_path: Path) -> None:
    """Whatever is cached by path and number is read anew."""
    copy = book.backup(tmp_path / "copy.rillbook")
    for code in ("a", "b", "c"):
        add_supply(book, code)
    Book.restore(copy, book.path)
    latest = book.change_sets(1)[0]
    assert (latest.number, latest.what, latest.counts) == (5, "restored copy.rillbook", {})
    add_supply(book, "d")
    assert book.number() == 6


def test_a_reader_with_the_book_open_sees_the_restore(book: Book, tmp_path: Path) -> None:
    copy = book.backup(tmp_path / "copy.rillbook")
    with closing(sqlite3.connect(book.path)) as watching:
        version = watching.execute("PRAGMA data_version").fetchone()
        add_supply(book, "main")
        assert watching.execute("SELECT code FROM supply").fetchall() == [("main",)]
        Book.restore(copy, book.path)
        assert watching.execute("SELECT code FROM supply").fetchall() == []
        assert watching.execute("PRAGMA data_version").fetchone() != version


def test_a_book_can_be_brought_back_where_none_is(book: Book, tmp_path: Path) -> None:
    add_supply(book, "main")
    copy = book.backup(tmp_path / "copy.rillbook")
    place = tmp_path / "new machine"
    place.mkdir()
    assert Book.restore(copy, place / "alder.rillbook") is None
    assert supplies(Book.open(place / "alder.rillbook")) == ["main"]
    assert names(place) == ["alder.rillbook"]


@pytest.mark.parametrize("sort", ["missing", "text", "sqlite", "newer", "damaged", "dangling", "itself"])
def test_what_is_no_sound_backup_is_refused_before_anything_is_touched(book: Book, tmp_path: Path, sort: str) -> None:
    add_supply(book, "main")
    src = tmp_path / "src.rillbook"
    if sort == "text":
        src.write_text("dear diary " * 200)
    elif sort == "sqlite":
        with closing(sqlite3.connect(src)) as connection:
            connection.execute("CREATE TABLE recipes (x)")
    elif sort != "missing":
        book.backup(src)
    if sort == "newer":
        with closing(sqlite3.connect(src)) as connection:
            connection.execute("PRAGMA user_version = 9000")
    elif sort == "damaged":
        content = bytearray(src.read_bytes())
        content[8192:] = os.urandom(len(content) - 8192)
        src.write_bytes(content)
    elif sort == "dangling":
        with closing(sqlite3.connect(src)) as connection:
            connection.execute("UPDATE supply SET change_set = 99")
            connection.commit()
    elif sort == "itself":
        src = book.path
    says = {
        "missing": "There is no file",
        "text": "is not a Rillbook book",
        "sqlite": "is not a Rillbook book",
        "newer": "newer Rillbook",
        "damaged": "is damaged",
        "dangling": "refers to nothing",
        "itself": "is the book itself",
    }
    before = names(tmp_path)
    with pytest.raises(BookError, match=says[sort]):
        Book.restore(src, book.path)
    assert supplies(book) == ["main"]
    assert names(tmp_path) == before


def test_a_file_that_is_no_book_is_not_replaced(book: Book, tmp_path: Path) -> None:
    copy = book.backup(tmp_path / "copy.rillbook")
    diary = tmp_path / "diary.rillbook"
    for content in (b"dear diary " * 100, b""):
        diary.write_bytes(content)
        with pytest.raises(BookError, match="is not a Rillbook book"):
            Book.restore(copy, diary)
        assert diary.read_bytes() == content


def test_a_damaged_book_is_replaced_and_its_bare_file_kept(book: Book, tmp_path: Path) -> None:
    add_supply(book, "main")
    copy = book.backup(tmp_path / "copy.rillbook")
    content = bytearray(book.path.read_bytes())
    content[4096:] = b"\x13" * (len(content) - 4096)
    book.path.write_bytes(content)
    kept = Book.restore(copy, book.path)
    assert kept is not None
    assert kept.read_bytes() == content
    assert supplies(Book.open(book.path)) == ["main"]


def test_a_book_held_by_another_program_is_told_and_stays(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy = book.backup(tmp_path / "copy.rillbook")
    add_supply(book, "main")
    for module in (files, copies):
        monkeypatch.setattr(module, "BUSY_SECONDS", 0.05)
    with closing(sqlite3.connect(book.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookError, match="in use"):
            Book.restore(copy, book.path)
    assert supplies(book) == ["main"]


def test_an_older_backup_is_brought_up_to_date_on_its_way_in(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from core.book import migrations

    copy = book.backup(tmp_path / "copy.rillbook")
    before = copy.read_bytes()
    folder = tmp_path / "steps"
    folder.mkdir()
    for file in Path(migrations.__file__).parent.glob("[0-9]*.sql"):
        (folder / file.name).write_text(file.read_text())
    (folder / "9001_colours.sql").write_text("ALTER TABLE supply ADD COLUMN colour TEXT;\n")
    steps = len(files.STEPS)
    monkeypatch.setattr(files, "STEPS", migrations.steps(folder))
    Book.open(book.path)
    Book.restore(copy, book.path)
    with closing(sqlite3.connect(book.path)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone()[0] == steps + 1
        assert "colour" in [row[1] for row in connection.execute("PRAGMA table_info(supply)")]
    assert copy.read_bytes() == before


def test_a_restored_book_is_as_safe_as_a_new_one(book: Book, tmp_path: Path, home: Home) -> None:
    copy = book.backup(tmp_path / "copy.rillbook")
    Book.restore(copy, book.path)
    with closing(sqlite3.connect(book.path)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    assert book.home() == home

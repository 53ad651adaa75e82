"""Making and opening a book; everything that is not one, or cannot be used, is told in a sentence and left alone."""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from core.book import files, migrations
from core.book.kinds import Home, Supply
from core.book.store import Book
from core.errors import BookError


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """A locked book is given up at once."""
    monkeypatch.setattr(files, "BUSY_SECONDS", 0.05)


def test_a_new_book_holds_its_home(tmp_path: Path, home: Home) -> None:
    book = Book.create(tmp_path / "alder.rillbook", home)
    assert book.home() == home
    assert str(book.zone_info) == "America/Denver"
    assert book.number() == 1
    assert [(c.number, c.what, c.counts) for c in book.change_sets()] == [(1, "began the book", {"home": 1})]
    assert Book.open(str(book.path)).home() == home
    assert os.listdir(tmp_path) == ["alder.rillbook"]


def test_names_with_odd_characters_are_plain_names(tmp_path: Path, home: Home) -> None:
    path = tmp_path / "our #1 book?mode=memory&x=50% ä.rillbook"
    Book.create(path, home)
    assert path.exists()
    assert Book.open(path).home() == home


def test_what_is_there_is_never_overwritten(tmp_path: Path, home: Home) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("dear diary")
    with pytest.raises(BookError, match="is there already"):
        Book.create(path, home)
    assert path.read_text() == "dear diary"


def test_a_missing_folder_is_told(tmp_path: Path, home: Home) -> None:
    with pytest.raises(BookError, match="cannot be made: no such file or directory"):
        Book.create(tmp_path / "nowhere" / "a.rillbook", home)


def test_what_the_system_says_about_a_file_is_a_sentence(book: Book, tmp_path: Path, home: Home) -> None:
    endless = tmp_path / f"{'x' * 300}.rillbook"
    with pytest.raises(BookError, match="cannot be made: file name too long"):
        Book.create(endless, home)
    for attempt in (
        lambda: Book.open(endless),
        lambda: book.backup(endless),
        lambda: Book.restore(endless, book.path),
        lambda: Book.restore(book.path, endless),
    ):
        with pytest.raises(BookError, match="cannot be reached: file name too long"):
            attempt()


def test_a_book_that_could_not_be_begun_leaves_no_file(
    tmp_path: Path, home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_room(*_: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr("core.book.change.Change.add", no_room)
    with pytest.raises(BookError):
        Book.create(tmp_path / "a.rillbook", home)
    assert os.listdir(tmp_path) == []


def test_no_book_a_folder_and_other_files_are_refused_and_left_as_they_are(tmp_path: Path) -> None:
    with pytest.raises(BookError, match="There is no book at"):
        Book.open(tmp_path / "gone.rillbook")
    assert not (tmp_path / "gone.rillbook").exists()
    with pytest.raises(BookError, match="is not a file"):
        Book.open(tmp_path)
    for name, content in (("photo.jpg", b"\xff\xd8\xff\xe0" * 500), ("empty.rillbook", b"")):
        path = tmp_path / name
        path.write_bytes(content)
        with pytest.raises(BookError, match="is not a Rillbook book"):
            Book.open(path)
        assert path.read_bytes() == content
    other = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(other)) as connection:
        connection.execute("CREATE TABLE recipes (x)")
    before = other.read_bytes()
    with pytest.raises(BookError, match="is not a Rillbook book"):
        Book.open(other)
    assert other.read_bytes() == before
    assert sorted(os.listdir(tmp_path)) == ["empty.rillbook", "other.sqlite", "photo.jpg"]


@pytest.mark.parametrize(
    "newer",
    [
        "PRAGMA user_version = 7000",
        "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('rillbook', '9999_later', 'x')",
    ],
)
def test_a_book_of_a_newer_program_is_refused_kindly(book: Book, newer: str) -> None:
    with closing(sqlite3.connect(book.path)) as connection:
        connection.execute(newer)
        connection.commit()
    with pytest.raises(BookError, match="written by a newer Rillbook"):
        Book.open(book.path)


def test_a_book_that_went_away_is_told_and_not_made_anew(book: Book) -> None:
    book.path.unlink()
    with pytest.raises(BookError, match="cannot be opened"), book.change("write") as change:
        change.add(Supply(code="main", name="Main"))
    with pytest.raises(BookError, match="cannot be opened"):
        book.number()
    assert not book.path.exists()


@pytest.mark.usefixtures("impatient")
def test_a_book_held_by_another_program_is_told_and_can_still_be_read(book: Book) -> None:
    with closing(sqlite3.connect(book.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookError, match="is in use: another program"), book.change("write") as change:
            change.add(Supply(code="main", name="Main"))
        assert book.home().name == "Alder house"
        other.execute("ROLLBACK")
    with book.change("write") as change:
        change.add(Supply(code="main", name="Main"))
    assert change.number == 2


def test_a_full_disk_a_read_only_file_and_a_damaged_one_are_sentences(book: Book) -> None:
    with closing(sqlite3.connect(book.path, isolation_level=None)) as connection:
        connection.execute("PRAGMA max_page_count = 1")
        with pytest.raises(sqlite3.OperationalError) as full:
            connection.execute("CREATE TABLE big AS SELECT zeroblob(1000000) AS x")
    assert str(files.spoken(full.value, book.path)).startswith("The disk is full")

    with (
        pytest.raises(BookError, match=r"cannot be written: the file or its folder is read-only\. Nothing was stored"),
        files.connected(book.path, readonly=True) as connection,
    ):
        connection.execute("DELETE FROM home")

    content = bytearray(book.path.read_bytes())
    content[200:] = b"\x55" * (len(content) - 200)
    book.path.write_bytes(content)
    with pytest.raises(BookError, match="is damaged"):
        Book.open(book.path)


def test_every_sentence_names_the_book_and_shows_no_code(book: Book) -> None:
    with pytest.raises(BookError) as refused, files.connected(book.path) as connection:
        connection.execute("UPDATE home SET display = 'imperial'")
    assert str(book.path) in str(refused.value)
    assert "broke" not in str(refused.value)
    assert "Nothing was stored" in str(refused.value)


OURS = sorted(file.stem for file in Path(migrations.__file__).parent.glob("[0-9]*.sql"))
NEXT = "ALTER TABLE supply ADD COLUMN colour TEXT NOT NULL DEFAULT 'blue';\nCREATE TABLE extra (x INTEGER) STRICT;\n"


@pytest.fixture
def next_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The program one version on: our steps, and one more."""
    folder = tmp_path / "steps"
    folder.mkdir()
    for file in Path(migrations.__file__).parent.glob("[0-9]*.sql"):
        (folder / file.name).write_text(file.read_text())
    step = folder / "9001_colours.sql"
    step.write_text(NEXT)
    monkeypatch.setattr(files, "STEPS", migrations.steps(folder))
    return step


@pytest.fixture
def old_book(book: Book) -> Book:
    with book.change("supply") as change:
        change.add(Supply(code="main", name="Main"))
    return book


def test_an_older_book_is_copied_and_then_brought_up_to_date(old_book: Book, next_step: Path) -> None:
    assert next_step.exists()
    Book.open(old_book.path)
    with closing(sqlite3.connect(old_book.path)) as connection:
        assert connection.execute("SELECT code, colour FROM supply").fetchall() == [("main", "blue")]
        assert connection.execute("PRAGMA user_version").fetchone()[0] == len(OURS) + 1
        names = [row[0] for row in connection.execute("SELECT name FROM _sqlite_migrations ORDER BY id")]
    assert names == [*OURS, "9001_colours"]
    copies = [p for p in old_book.path.parent.glob("*.rillbook") if p != old_book.path]
    assert len(copies) == 1
    assert re.fullmatch(r"alder-before-update-\d{8}-\d{6}\.rillbook", copies[0].name)
    with closing(sqlite3.connect(copies[0])) as copy:
        assert copy.execute("PRAGMA user_version").fetchone()[0] == len(OURS)
        assert copy.execute("SELECT code FROM supply").fetchall() == [("main",)]
    # once is enough
    Book.open(old_book.path)
    assert len(list(old_book.path.parent.glob("*.rillbook"))) == 2


def test_a_step_that_fails_leaves_the_book_as_it_was(
    old_book: Book, next_step: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    next_step.write_text(f"{NEXT}INSERT INTO nowhere VALUES (1);\n")  # noqa: S608
    monkeypatch.setattr(files, "STEPS", migrations.steps(next_step.parent))
    with pytest.raises(BookError):
        Book.open(old_book.path)
    with closing(sqlite3.connect(old_book.path)) as connection:
        assert [row[1] for row in connection.execute("PRAGMA table_info(supply)")].count("colour") == 0
        assert connection.execute("PRAGMA user_version").fetchone()[0] == len(OURS)
        assert connection.execute("SELECT count(*) FROM _sqlite_migrations").fetchone()[0] == len(OURS)


def test_a_step_that_would_lose_what_others_refer_to_is_refused(
    old_book: Book, next_step: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    next_step.write_text(
        "INSERT INTO zone (change_set, code, name, supply, hand, note) VALUES (1,'a','A','gone',0,'');\n"
    )
    monkeypatch.setattr(files, "STEPS", migrations.steps(next_step.parent))
    with pytest.raises(BookError, match="refer to nothing"):
        Book.open(old_book.path)
    with closing(sqlite3.connect(old_book.path)) as connection:
        assert connection.execute("SELECT count(*) FROM zone").fetchone()[0] == 0

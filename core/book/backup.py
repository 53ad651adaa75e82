"""Copies of a book, and bringing one back.

A copy is taken through SQLite's own backup, so it is whole and consistent while others read and write the book.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path

from core.book.files import (
    APPLICATION_ID,
    BUSY_SECONDS,
    bring_up,
    check_is_book,
    connected,
    discard,
    reaching,
    says_it_is_a_book,
    speaking,
    stamped,
    writing,
)
from core.book.journal import latest_number
from core.errors import BookError


def backup(book: Path, dest: Path) -> Path:
    """A checked copy of a book, which may be open and in use, as one file that needs no companions.

    ``dest`` is a new file, or a folder in which the copy is named after the book and the time.

    Raises:
        BookError: ``dest`` is there already or cannot be written, or the book is damaged.
    """
    with reaching(dest):
        if dest.is_dir():
            dest = stamped(dest / book.name, "copy")
        if dest.exists():
            raise BookError(f"{dest} is there already. Choose another name for the copy.")
        with _beside(dest, "part") as part:
            with connected(book) as source:
                _copy(source, part)
            os.replace(part, dest)
    return dest


def check_folder(dest: Path) -> None:
    """Whether a copy may go into a folder. One that is missing is not made: it may be a disk that is not plugged in,
    and the copy would lie on the very disk it is to outlive.

    Raises:
        BookError: it is not there, or is a file.
    """
    if dest.is_dir():
        return
    if dest.exists():
        raise BookError(f"{dest} is a file, not a folder. No copy was made.")
    raise BookError(
        f"There is no folder {dest}. No copy was made. Plug the disk in or make the folder first; for a file of that "
        "name leave out the slash at the end."
    )


def restore(src: Path, dest: Path) -> Path | None:
    """Puts a checked backup in place of a book, which may be open elsewhere, or makes the book from it.

    What was there is kept beside it under a name with the time; that path is returned, None when nothing was
    there. The restored book notes the restore as a change set numbered above all that either file had, so that
    whatever is cached by number is read anew.

    Raises:
        BookError: ``src`` is not a book, is damaged or of a newer program, or ``dest`` is something else than a book.
    """
    with reaching(src):
        if not src.is_file():
            raise BookError(f"There is no file {src}.")
        if dest.exists() and dest.samefile(src):
            raise BookError(f"{src} is the book itself, not a backup of it.")
    with reaching(dest), _beside(dest, "restoring") as part, connected(src, readonly=True) as source:
        check_is_book(source, src)
        check_sound(source, src)
        number, sound = _live_number(dest) if dest.exists() else (0, False)
        kept = keep(dest, "before-restore") if dest.exists() else None
        _copy(source, part)
        _prepare(part, max(number, latest_number(source)) + 1, src)
        if sound:
            with connected(part) as ready, connected(dest) as live:
                _pages(ready, live, dest)
        else:
            discard(dest)  # its companions too: a log of another file must never meet the new one
            os.replace(part, dest)
        with connected(dest) as live:
            live.execute("PRAGMA journal_mode = WAL")
    return kept


def keep(book: Path, why: str) -> Path:
    """A copy of a book beside it, before something is done to it; of a damaged one, the bare file."""
    copy = stamped(book, why)
    try:
        return backup(book, copy)
    except BookError:
        with reaching(copy):
            shutil.copy2(book, copy)
            log = book.with_name(f"{book.name}-wal")
            if log.exists():
                shutil.copy2(log, copy.with_name(f"{copy.name}-wal"))
    return copy


def check_sound(connection: sqlite3.Connection, path: Path) -> None:
    """SQLite's own check of every page and index, and of every reference.

    Raises:
        BookError: the file is damaged.
    """
    with speaking(path):
        wrong = [row[0] for row in connection.execute("PRAGMA integrity_check(1)") if row[0] != "ok"]
        wrong += [f"a row of {row[0]} refers to nothing" for row in connection.execute("PRAGMA foreign_key_check")]
    if wrong:
        raise BookError(f"{path} is damaged ({wrong[0].splitlines()[-1].strip()}) and was not used.")


def _copy(source: sqlite3.Connection, dest: Path) -> None:
    discard(dest)
    with speaking(dest), closing(sqlite3.connect(dest, isolation_level=None)) as copy:
        _pages(source, copy, dest)
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, without companions
        check_sound(copy, dest)


def _pages(source: sqlite3.Connection, dest: sqlite3.Connection, path: Path) -> None:
    source.backup(dest, pages=-1, progress=_patience(path), sleep=0.1)


def _patience(path: Path) -> Callable[[int, int, int], None]:
    """sqlite3 waits for a locked file without end; this ends it."""
    until = time.monotonic() + BUSY_SECONDS

    def check(status: int, _remaining: int, _total: int) -> None:
        if status & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and time.monotonic() > until:
            raise BookError(f"{path} is in use by another program. Close it there, or try again.")

    return check


@contextmanager
def _beside(dest: Path, end: str) -> Iterator[Path]:
    """A name beside a file to be written, so that it is only put in place when it is whole; gone after the block."""
    if not dest.parent.is_dir():
        raise BookError(f"There is no folder {dest.parent}.")
    part = dest.with_name(f".{dest.name}.{end}")
    discard(part)
    try:
        yield part
    finally:
        discard(part)


def _prepare(part: Path, number: int, src: Path) -> None:
    with connected(part) as connection:
        bring_up(connection)
        with writing(connection):
            connection.execute(
                "INSERT INTO change_set (number, at_utc, what) VALUES (?, ?, ?)",
                (number, datetime.now(UTC).isoformat(timespec="seconds"), f"restored {src.name}"),
            )


def _live_number(dest: Path) -> tuple[int, bool]:
    """The latest change set of the book to be replaced, and whether it is sound enough to be written into."""
    try:
        with connected(dest) as live:
            if live.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID:
                number = latest_number(live)
                check_sound(live, dest)
                return number, True
    except BookError:
        if says_it_is_a_book(dest):
            return 0, False
    raise BookError(f"{dest} is not a Rillbook book, so nothing is put in its place. Move it away first.")

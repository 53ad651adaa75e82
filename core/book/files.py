"""The book as a file: telling it from other files, connecting, bringing its tables up to date.

Every connection is opened for one piece of work and closed after it. Whatever SQLite has to say reaches a
person as one sentence.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path

from core.book import migrations
from core.errors import BookError

APPLICATION_ID = 0x52696C6C  # "Rill": which program a SQLite file belongs to (SQLite file format, offset 68)
BUSY_SECONDS = 10.0
STEPS = migrations.steps()

_SENTENCES = {
    "BUSY": "{0} is in use: another program has held it for {1:.0f} seconds. Close it there, or try again.",
    "LOCKED": "{0} is in use: another program has held it for {1:.0f} seconds. Close it there, or try again.",
    "READONLY": "{0} cannot be written: the file or its folder is read-only. Nothing was stored.",
    "PERM": "{0} cannot be written: you have no permission to. Nothing was stored.",
    "CANTOPEN": "{0} cannot be opened. Check that it is there and that you may read and write it and its folder.",
    "FULL": "The disk is full, or {0} has reached its greatest size. Nothing was stored.",
    "IOERR": "The disk that holds {0} cannot be read or written. Nothing was stored.",
    "CORRUPT": "{0} is damaged. Bring back a backup with restore; the damaged file is kept beside it.",
    "NOTADB": "{0} is not a Rillbook book. It was left as it is.",
    "CONSTRAINT": "{0} refused what would break its own rules ({2}). Nothing was stored.",
}


def spoken(error: sqlite3.Error, path: Path) -> BookError:
    """What SQLite said, as a sentence about the book."""
    name = getattr(error, "sqlite_errorname", None) or ""
    for part, sentence in _SENTENCES.items():
        if name.removeprefix("SQLITE_").startswith(part):
            return BookError(sentence.format(path, BUSY_SECONDS, error))
    return BookError(f"{path} could not be used: {error}.")


@contextmanager
def speaking(path: Path) -> Iterator[None]:
    """Turns SQLite's errors within the block into sentences."""
    try:
        yield
    except sqlite3.Error as error:
        raise spoken(error, path) from error


@contextmanager
def reaching(path: Path) -> Iterator[None]:
    """Turns the system's errors about files within the block into sentences."""
    try:
        yield
    except OSError as error:
        raise BookError(f"{path} cannot be reached: {(error.strerror or str(error)).lower()}.") from error


@contextmanager
def connected(path: Path, *, readonly: bool = False) -> Iterator[sqlite3.Connection]:
    """A connection to a file that exists, for the length of the block."""
    mode = "rw"  # never makes a file: a book that went away is told
    if readonly:
        # without companions nobody has it open, and it may lie where nothing can be written beside it
        mode = "ro" if companions(path) else "ro&immutable=1"
    with speaking(path), closing(_connect(path, mode)) as connection:
        yield connection


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    connection = sqlite3.connect(uri, uri=True, timeout=BUSY_SECONDS, isolation_level=None)
    # FULL: what was confirmed survives a power cut, in WAL mode too
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA cache_size = -32000")  # at most 32 MB, so that a long import is written out once
    return connection


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction that holds the write lock from its first moment; rolled back whole on any error."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def make(path: Path, begin: Callable[[sqlite3.Connection], None]) -> None:
    """A new book at a path where nothing is. ``begin`` writes its first records in the transaction that makes the
    tables, so that a file is a book with its home or no book at all.

    Raises:
        BookError: something is there, or the folder is missing or cannot be written.
    """
    try:
        path.open("xb").close()
    except FileExistsError as error:
        raise BookError(f"{path} is there already. Choose another name, or open it.") from error
    except OSError as error:
        raise BookError(f"{path} cannot be made: {(error.strerror or str(error)).lower()}.") from error
    try:
        with connected(path) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
            bring_up(connection, begin)
    except BaseException:
        discard(path)
        raise


def companions(path: Path) -> list[Path]:
    """The files SQLite has put beside one that is open, or was left in the middle of something."""
    names = (f"{path.name}{end}" for end in ("-wal", "-shm", "-journal"))
    return [found for name in names if (found := path.with_name(name)).exists()]


def discard(path: Path) -> None:
    """Removes a file and its companions."""
    for file in [*companions(path), path]:
        file.unlink(missing_ok=True)


def says_it_is_a_book(path: Path) -> bool:
    """Whether the first bytes of a file, which may be damaged, carry our mark (SQLite file format, section 1.3)."""
    with path.open("rb") as file:
        head = file.read(100)
    return head[:16] == b"SQLite format 3\0" and int.from_bytes(head[68:72], "big") == APPLICATION_ID


def check_is_book(connection: sqlite3.Connection, path: Path) -> None:
    """Whether an open file is a book this program can use.

    Raises:
        BookError: it is not a book, or was made by a newer program.
    """
    with speaking(path):
        mark = connection.execute("PRAGMA application_id").fetchone()[0]
        if mark != APPLICATION_ID:
            raise BookError(f"{path} is not a Rillbook book. It was left as it is.")
        there = set(migrations.applied(connection))
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        if there - set(STEPS) or version > len(STEPS):
            raise BookError(
                f"{path} was written by a newer Rillbook than this one. Bring Rillbook up to date to open it; "
                "the book was left as it is."
            )


def pending(connection: sqlite3.Connection) -> list[str]:
    """Names of the steps an open book still lacks."""
    there = migrations.applied(connection)
    return [name for name in STEPS if name not in there]


def bring_up(connection: sqlite3.Connection, then: Callable[[sqlite3.Connection], None] = lambda _: None) -> None:
    """Applies the steps a book lacks, and what is to be done then: all of it, or nothing."""
    connection.execute("PRAGMA foreign_keys = OFF")  # a step may rebuild a table that others refer to
    try:
        with writing(connection):
            migrations.apply(connection, STEPS)
            then(connection)
            wrong = connection.execute("PRAGMA foreign_key_check").fetchall()
            if wrong:
                raise sqlite3.IntegrityError(f"{len(wrong)} rows refer to nothing")
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {len(STEPS)}")
    finally:
        connection.execute("PRAGMA foreign_keys = ON")


def stamped(path: Path, why: str) -> Path:
    """A free name beside a book for a copy of it, with the reason and the time: ``home-before-restore-...``."""
    stamp = f"{datetime.now(UTC):%Y%m%d-%H%M%S}"
    for nth in range(1, 1000):
        tail = f"-{nth}" if nth > 1 else ""
        name = path.with_name(f"{path.stem}-{why}-{stamp}{tail}{path.suffix}")
        if not name.exists():
            return name
    raise BookError(f"No free name for a copy of {path} is left in its folder.")

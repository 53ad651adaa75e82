"""The frozen migrations give exactly the tables that today's declarations ask for."""

from __future__ import annotations

import hashlib
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlite_utils import Database, Migrations

from core.book import migrations
from core.book.files import APPLICATION_ID, STEPS
from core.book.kinds import KINDS
from core.book.schema import schema_sql
from core.book.store import Book

FROZEN = {
    "0001_initial": "55a6461a5c45eaff189b9b7ff69dc62b23e8179fb3eda07422e09412eebe5171",
    "0002_factor_month": "21e86f84a2fc00416f825b7cbb1bf51349162899a53cb8971ee76595908a33c6",
    "0003_told": "39518ef3b707833e9ca14fb8314f65ab0d7166d96a638def8cabe596fab4c563",
    "0004_cause": "2c344630dc8ba5e4990c169e7ff036aec80211ed03a25315c1a40cb7088f7175",
    "0005_no_longer": "6215c494c7e334cdb63ead5ef765830b1d88e769e2c97e628dbca744ada09a07",
}
"""SHA-256 of each step's text. A step that books may have been made by never changes: add the next one instead."""


@pytest.fixture
def declared() -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(":memory:")) as connection:
        connection.executescript(schema_sql())
        yield connection


@pytest.fixture
def made(book: Book) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(book.path)) as connection:
        yield connection


def _tables(connection: sqlite3.Connection) -> list[str]:
    names = [row[1] for row in connection.execute("PRAGMA table_list") if row[2] == "table" and row[0] == "main"]
    return sorted(n for n in names if not n.startswith(("sqlite_", "_sqlite")))


def _shape(connection: sqlite3.Connection, table: str) -> dict[str, Any]:
    sql = connection.execute("SELECT sql FROM sqlite_master WHERE name = ?", (table,)).fetchone()[0]
    indexes = []
    for _, name, unique, _, partial in connection.execute(f"PRAGMA index_list('{table}')"):
        text = connection.execute("SELECT sql FROM sqlite_master WHERE name = ?", (name,)).fetchone()
        columns = [row[2] for row in connection.execute(f"PRAGMA index_info('{name}')")]
        indexes.append((unique, partial, columns, text[0] if text and None in columns else ""))
    return {
        # name, type, NOT NULL, default, place in the primary key; order does not matter to an added column
        "columns": sorted(row[1:] for row in connection.execute(f"PRAGMA table_info('{table}')")),
        "references": sorted(row[2:] for row in connection.execute(f"PRAGMA foreign_key_list('{table}')")),
        "deferred": sql.count("DEFERRABLE INITIALLY DEFERRED"),
        "indexes": sorted(indexes, key=str),
        "checks": sorted(re.findall(r"CHECK \((?:[^()]|\([^()]*\))*\)", sql)),
        "strict": sql.rstrip().endswith("STRICT"),
        "ids never used twice": "AUTOINCREMENT" in sql,
    }


def test_a_new_book_has_the_declared_tables(declared: sqlite3.Connection, made: sqlite3.Connection) -> None:
    assert _tables(made) == _tables(declared)
    assert set(KINDS) < set(_tables(made))


@pytest.mark.parametrize("table", [*KINDS, "change_set", "change"])
def test_each_table_is_as_declared(declared: sqlite3.Connection, made: sqlite3.Connection, table: str) -> None:
    assert _shape(made, table) == _shape(declared, table)


@pytest.mark.parametrize("table", [*KINDS, "change_set", "change"])
def test_each_table_is_strict(made: sqlite3.Connection, table: str) -> None:
    assert {row[1]: row[5] for row in made.execute("PRAGMA table_list")}[table] == 1


def test_no_frozen_step_was_touched() -> None:
    folder = Path(migrations.__file__).parent
    now = {file.stem: hashlib.sha256(file.read_bytes()).hexdigest() for file in folder.glob("[0-9]*.sql")}
    assert now == FROZEN


def test_the_file_says_what_it_is(made: sqlite3.Connection) -> None:
    assert made.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID == int.from_bytes(b"Rill")
    assert made.execute("PRAGMA user_version").fetchone()[0] == len(FROZEN)
    assert made.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    assert [row[0] for row in made.execute("SELECT name FROM _sqlite_migrations ORDER BY id")] == sorted(FROZEN)
    assert list(STEPS) == sorted(FROZEN)


def test_the_steps_a_file_has_are_those_sqlite_utils_finds(made: sqlite3.Connection, tmp_path: Path) -> None:
    theirs = [step.name for step in Migrations(migrations.SET).applied(Database(made))]
    assert migrations.applied(made) == theirs == sorted(FROZEN)
    made.execute("UPDATE _sqlite_migrations SET migration_set = 'of another program' WHERE name LIKE '0002%'")
    assert migrations.applied(made) == [name for name in sorted(FROZEN) if not name.startswith("0002")]
    with closing(sqlite3.connect(tmp_path / "empty")) as nothing:
        assert migrations.applied(nothing) == []


INSERTS = [
    ("a word that is no choice", "UPDATE home SET display = 'imperial'"),
    ("a day that does not exist", "INSERT INTO normal (change_set, month) VALUES (1, 'may')"),
    ("text where a number belongs", "UPDATE home SET latitude = 'north'"),
    ("nothing where something is needed", "UPDATE home SET name = NULL"),
    ("a second home", "INSERT INTO home SELECT 99, change_set, code, name, place, latitude, longitude, elevation_m,"
     " elevation_typed, timezone, display, people, currency, drinks, shutdown_due, startup_due FROM home"),
    ("a row of no change set", "UPDATE home SET change_set = 99"),
    ("a day out of the calendar", "INSERT INTO weather (change_set, station, day) VALUES (1, 'home', '2026-02-31')"),
    ("half a day", "INSERT INTO weather (change_set, station, day) VALUES (1, 'home', '2026-2-3')"),
]  # fmt: skip


@pytest.mark.parametrize(("what", "sql"), INSERTS, ids=[what for what, _ in INSERTS])
def test_the_file_itself_refuses(made: sqlite3.Connection, what: str, sql: str) -> None:
    made.execute("PRAGMA foreign_keys = ON")
    with pytest.raises(sqlite3.IntegrityError):
        made.execute(sql)


def test_an_empty_part_of_a_key_counts_as_a_value(made: sqlite3.Connection) -> None:
    """SQL holds NULLs to differ; two decisions on no zone of the same instant are the same decision."""
    sql = (
        "INSERT INTO decision (change_set, finding, since, verdict, decided_at_utc, decided_at_offset_min,"
        " decided_at_exact, note) VALUES (1, 'steady', '2026-07-01', 'harmless', '2026-07-02T00:00:00+00:00', 0,"
        " 'minute', '')"
    )
    made.execute(sql)
    with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
        made.execute(sql)


def test_statements_are_told_apart_without_committing() -> None:
    script = "-- a note; with a semicolon\nCREATE TABLE a (x);\n"
    script += "CREATE TRIGGER t AFTER INSERT ON a BEGIN\n DELETE FROM a;\nEND;\n"
    assert len(list(migrations.statements(script))) == 2
    with pytest.raises(ValueError, match="semicolon"):
        list(migrations.statements("CREATE TABLE a (x)"))

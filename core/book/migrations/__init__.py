"""The numbered steps that bring a book's tables up to this program: frozen SQL text, one file a step.

A file never changes once a book may have been made by it. A new step is a new file with the next number; its
statements run in one transaction together with the note that they were applied.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database

SET = "rillbook"
Steps = dict[str, str]
"""The SQL text of each step by its name, in the order of their numbers."""


def steps(folder: Path = Path(__file__).parent) -> Steps:
    """The steps in a folder."""
    return {file.stem: file.read_text(encoding="utf-8") for file in sorted(folder.glob("[0-9]*.sql"))}


def applied(connection: sqlite3.Connection) -> list[str]:
    """Names of the steps a file has, as sqlite-utils noted them."""
    if not connection.execute("SELECT 1 FROM sqlite_master WHERE name = '_sqlite_migrations'").fetchone():
        return []
    sql = "SELECT name FROM _sqlite_migrations WHERE migration_set = ? ORDER BY rowid"
    return [row[0] for row in connection.execute(sql, (SET,))]


def apply(connection: sqlite3.Connection, wanted: Steps) -> None:
    """Applies the steps a file lacks."""
    from sqlite_utils import Database, Migrations  # noqa: PLC0415 - slow to load, and a book up to date never needs it

    found = Migrations(SET)
    for name, script in wanted.items():
        found(name=name)(_runner(script))
    found.apply(Database(connection))


def statements(script: str) -> Iterator[str]:
    """The statements of an SQL script one by one (``executescript`` would commit behind our back)."""
    waiting = ""
    for line in script.splitlines(keepends=True):
        waiting += line
        if sqlite3.complete_statement(waiting):
            yield waiting.strip()
            waiting = ""
    if waiting.strip():
        raise ValueError(f"an SQL statement without its semicolon: {waiting.strip()[:60]}")


class _runner:  # noqa: N801 - stands where sqlite-utils expects a function
    def __init__(self, script: str) -> None:
        self.script = script
        self.__name__ = "sql_step"

    def __call__(self, db: Database, /) -> None:
        for statement in statements(self.script):
            db.execute(statement)

"""The numbered steps that bring a book's tables up to this program: frozen SQL text, one file a step.

A file never changes once a book may have been made by it. A new step is a new file with the next number; its
statements run in one transaction together with the note that they were applied.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

from sqlite_utils import Database, Migrations

SET = "rillbook"


def steps(folder: Path = Path(__file__).parent) -> Migrations:
    """The steps in a folder, in the order of their numbers."""
    found = Migrations(SET)
    for file in sorted(folder.glob("[0-9]*.sql")):
        found(name=file.stem)(_runner(file.read_text(encoding="utf-8")))
    return found


def names(migrations: Migrations) -> list[str]:
    """Names of all steps, in order."""
    return [step.name for step in migrations.pending(Database(memory=True))]


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

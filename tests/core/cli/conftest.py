"""The command as a person runs it: words in, exit code and words out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from core.book.kinds import Home, Meter, Supply, Zone
from core.book.store import Book
from core.cli import main

Run = Callable[..., Result]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command; nothing of this machine's own settings counts."""
    for name in ("RILLBOOK_BOOK", "RILLBOOK_PASSPHRASE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("COLUMNS", "100")

    def invoke(*args: object, typed: str | None = None) -> Result:
        result = CliRunner().invoke(main, [str(a) for a in args], input=typed)
        assert "Traceback" not in result.output
        assert result.stderr == "" or typed is not None or len(result.stderr.splitlines()) == 1, result.stderr
        return result

    return invoke


@pytest.fixture
def garden(tmp_path: Path) -> Book:
    """A home in Denver that shows gallons, with one meter in gallons and one zone."""
    home = Home(name="Alder house", latitude=40.0, timezone="America/Denver", people=2)
    book = Book.create(tmp_path / "garden.rillbook", home)
    with book.change("began") as change:
        change.add(Supply(code="street", name="Street"))
        change.add(Meter(code="curb", name="Curb", supply="street", unit="gal"))
        change.add(Zone(code="tubs", name="Tubs", supply="street"))
    return book

"""Benchmarks: they run when named (``pytest tests/bench``), print what they measured, and fail past their bar.

Where the machine is shared, the time that counts is the lesser of wall clock and processor time; both are printed.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from core.book.store import Book
from core.exchange.folder import new_from_folder
from tests.bench.long_home import make

_MEASURED: list[tuple[str, str, str, str]] = []


def note(what: str, bar: str, measured: str, beside: str = "") -> None:
    """Keep a line for the table at the end."""
    _MEASURED.append((what, bar, measured, beside))


@contextmanager
def within(what: str, seconds: float) -> Iterator[None]:
    """Time a block, children included, and hold it to its bar."""
    wall, used = time.perf_counter(), _processor()
    yield
    wall, used = time.perf_counter() - wall, _processor() - used
    counts = min(wall, used)
    note(what, f"< {seconds:g} s", f"{counts:.2f} s", f"wall {wall:.2f}, processor {used:.2f}")
    assert counts < seconds, f"{what} took {counts:.2f} s, the bar is {seconds:g} s"


def _processor() -> float:
    both = (resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN))
    return sum(r.ru_utime + r.ru_stime for r in both)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if not _MEASURED:
        return
    terminalreporter.section("measured")
    for what, bar, measured, beside in _MEASURED:
        terminalreporter.write_line(f"{what:<62} {bar:>10} {measured:>10}  {beside}")


@pytest.fixture(scope="session")
def long_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Ten years: hourly readings, daily weather, five zones, as CSV files."""
    return make(tmp_path_factory.mktemp("long") / "home")


@pytest.fixture(scope="session")
def long_book(long_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The ten years in a book."""
    book, _ = new_from_folder(tmp_path_factory.mktemp("book") / "long.rillbook", long_folder)
    return book

"""What all tests share: a fresh book, the real data beside the checkout, Chromium for the browser tests.

Away from CI a test that needs the real data or a browser is left out with a plain sentence when they are not there.
With ``CI=true`` or ``RILLBOOK_STRICT=1`` leaving one out is a failure.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Generator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from core.book.kinds import Home

if TYPE_CHECKING:
    from core.book.store import Book

os.environ["XDG_CACHE_HOME"] = tempfile.mkdtemp(prefix="rillbook-tests-")  # nothing is kept from or for a real user
ROOT = Path(__file__).resolve().parents[1]
REAL_DATA = ROOT.parent / "shared" / "data"
STRICT = os.environ.get("RILLBOOK_STRICT") == "1" or os.environ.get("CI", "").lower() == "true"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")

_MISSING = {
    "real_data": (
        REAL_DATA.is_dir,
        f"The real meter and weather files are not at {REAL_DATA}; this test reads them and is left out.",
    ),
    "browser": (
        lambda: CHROMIUM is not None,
        "Chromium is not installed; this test drives the dashboard in it and is left out.",
    ),
}


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Leave out what cannot run here, with a sentence; in CI that is a failure."""
    for marker, (is_there, sentence) in _MISSING.items():
        if item.get_closest_marker(marker) and not is_there():
            (pytest.fail if STRICT else pytest.skip)(sentence)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, Any, Any]:
    """In CI a browser or real-data test that skips itself for any other reason has failed too."""
    report = yield
    if STRICT and report.skipped and any(item.get_closest_marker(m) for m in _MISSING):
        report.outcome = "failed"
        report.longrepr = f"{item.nodeid} was left out, which CI does not allow: {report.longrepr}"
    return report


@pytest.fixture
def home() -> Home:
    """An invented home in mountain time."""
    return Home(name="Alder house", latitude=40.0, longitude=-111.5, timezone="America/Denver", people=2)


@pytest.fixture
def book(tmp_path: Path, home: Home) -> Book:
    """A new book that holds only its home."""
    from core.book.store import Book

    return Book.create(tmp_path / "alder.rillbook", home)


@pytest.fixture(scope="session")
def real_data() -> Path:
    """The folder of real meter and weather files; mark the test ``real_data`` too."""
    return REAL_DATA


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    """Debian's Chromium for pytest-playwright, which would otherwise look for a browser of its own download."""
    return {
        "executable_path": CHROMIUM,
        "args": [
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ],
    }

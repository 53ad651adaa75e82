"""The bars of speed and memory, for ten years of hourly readings, daily weather and five zones."""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page

from core.book.kinds import Home, Measured, Meter, MeteredUse, MeterReading, Supply, Task
from core.book.store import Book
from core.book.stretches import overlaps
from core.days import Moment
from core.exchange.folder import new_from_folder, read_files
from core.exchange.intake import bring, preview
from core.review import review_month
from tests.bench.conftest import note, within
from tests.bench.long_home import readings
from tests.core.accounts.test_hourly import LEAK, quarter_home

ROOT = Path(__file__).resolve().parents[2]
AS_OF = datetime(2026, 10, 1, 6, tzinfo=UTC)
COLD = """
import sys
from datetime import datetime
from core.book.store import Book
from core.review import review_month
review = review_month(Book.open(sys.argv[1]), "2026-07", datetime.fromisoformat(sys.argv[2]))
assert review.used.value > 0
"""


def test_bringing_in_100_000_readings(long_folder: Path, tmp_path: Path) -> None:
    small = tmp_path / "home"
    small.mkdir()
    for kind in ("home", "supply", "meter"):
        shutil.copy(long_folder / f"{kind}.csv", small)
    sheet = tmp_path / "meter_reading.csv"
    readings(sheet, 100_000, np.random.default_rng(7))
    book, _ = new_from_folder(tmp_path / "empty.rillbook", small)
    with within("bring in 100,000 readings", 3.0):
        done = bring(book, preview(book, read_files([sheet], book.zone_info)))
    assert done.added == 100_000


def test_100_000_readings_written_and_read(tmp_path: Path) -> None:
    book = Book.create(tmp_path / "b.rillbook", Home(name="Long", latitude=40.0, timezone="America/Denver"))
    begun = datetime(2015, 1, 1, tzinfo=UTC)
    moments = [Moment(begun + timedelta(hours=hour), 0) for hour in range(100_000)]
    many = [MeterReading(meter="house", at=at, register_value=Decimal(n)) for n, at in enumerate(moments)]
    with book.change("a meter") as change:
        change.add(Supply(code="street", name="Street"))
        change.add(Meter(code="house", name="House", supply="street", unit="gal", digits=7))
    with within("100,000 readings written in one change", 3.0), book.change("ten years") as change:
        change.add_many(many)
    with within("100,000 readings read as a frame", 0.6):
        table = book.frame("meter_reading")
    assert len(table) == 100_000


def test_a_year_of_quarter_hours() -> None:
    home = quarter_home(LEAK, 365, 4)
    with within("the account of a year of quarter hours", 3.0):
        assert home.account().findings


def test_100_000_intervals_looked_through_for_overlaps(long_book: Book) -> None:
    begun = datetime(2001, 1, 1, tzinfo=UTC)
    at = [Moment(begun + timedelta(hours=hour), 0) for hour in range(100_001)]
    litres = Measured("4", "l", "volume")
    hours = [MeteredUse(meter="street", start=a, end=b, volume=litres) for a, b in pairwise(at)]
    with within("100,000 intervals looked through for overlaps", 1.5):
        assert overlaps(long_book, hours) == []
    half = timedelta(minutes=30)
    halves = [h.model_copy(update={"start": Moment(h.start.utc + half, 0)}) for h in hours]
    with within("the same where each overlaps another", 4.0):
        assert len(overlaps(long_book, [*hours, *halves])) == 100_000


def review_afresh(book: Path) -> None:
    """In a process of its own, with imports compiled after the first time as on anybody's machine."""
    command = [sys.executable, "-c", COLD, str(book), AS_OF.isoformat()]
    compiled = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(book.parent / "compiled")}
    subprocess.run(command, check=True, env=os.environ | compiled | {"PYTHONPATH": str(ROOT)})


def test_a_month_in_a_fresh_process(long_book: Book) -> None:
    review_afresh(long_book.path)  # the accounts are kept now; imports are compiled
    with within("a month's review in a fresh process", 3.0):
        review_afresh(long_book.path)


def test_a_month_in_a_fresh_process_after_a_note(long_book: Book) -> None:
    review_afresh(long_book.path)
    with long_book.change("a task") as change:
        change.add(Task(code="rinse", name="Rinse the filter", every_days=30))
    with within("the same after a care note was written", 3.0):
        review_afresh(long_book.path)


def test_a_month_the_first_time_ever(long_book: Book, tmp_path: Path) -> None:
    """No bar of its own: what the first look at a book takes, and each look after a reading."""
    fresh = long_book.backup(tmp_path / "fresh.rillbook")
    start = time.perf_counter()
    review_afresh(fresh)
    note("the same with no accounts kept", "", f"{time.perf_counter() - start:.2f} s", "wall")


def test_another_month_warm(long_book: Book) -> None:
    review_month(long_book, "2026-07", AS_OF)
    with within("another month, warm", 0.3):
        review = review_month(long_book, "2026-06", AS_OF)
    assert review.used.value


@pytest.fixture
def server(long_book: Book, tmp_path: Path) -> Iterator[tuple[str, int]]:
    """Address and process id of a dashboard that shows the ten years."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    env = os.environ | {
        "PYTHONPATH": str(ROOT),
        "RILLBOOK_BOOK": str(long_book.path),
        "RILLBOOK_AS_OF": AS_OF.isoformat(),
    }
    command = [sys.executable, "-m", "streamlit", "run", str(ROOT / "dashboard" / "app.py")]
    flags = [f"--server.port={port}", "--server.address=127.0.0.1", "--server.headless=true"]
    log = (tmp_path / "server.log").open("w")
    process = subprocess.Popen([*command, *flags], cwd=tmp_path, env=env, stdout=log, stderr=subprocess.STDOUT)
    address = f"http://127.0.0.1:{port}"
    try:
        for _ in range(300):
            try:
                if urllib.request.urlopen(f"{address}/_stcore/health", timeout=1).read() == b"ok":  # noqa: S310
                    break
            except OSError:
                time.sleep(0.1)
        yield address, process.pid
    finally:
        process.terminate()
        process.wait(10)
        log.close()


@pytest.mark.browser
def test_the_server_stays_small(server: tuple[str, int], page: Page) -> None:
    address, process_id = server
    for name in ("", "meter", "plants", "care", "garden", "write", "files", "?month=2019-07"):
        page.goto(f"{address}/{name}")
        page.get_by_role("heading").first.wait_for(timeout=120_000)
        running = '[data-test-script-state="notRunning"]'
        page.locator(running).first.wait_for(timeout=120_000)
    status = Path(f"/proc/{process_id}/status").read_text()
    now, peak = (int(re.search(rf"{key}:\s+(\d+) kB", status)[1]) / 1024 for key in ("VmRSS", "VmHWM"))  # type: ignore[index]
    note("memory of the server after every page", "< 400 MB", f"{now:.0f} MB", f"highest {peak:.0f} MB")
    assert now < 400

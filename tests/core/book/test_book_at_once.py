"""Many writers, and writers that die: nothing confirmed is lost, nothing half done stays."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from core.book.kinds import Home, MeterReading, Supply
from core.book.store import Book
from core.days import Moment

ROOT = Path(__file__).parents[3]


def test_threads_writing_at_once_lose_nothing(garden: Book) -> None:
    threads, each = 6, 15
    start = datetime(2026, 1, 1, tzinfo=UTC)
    numbers: list[int] = []
    errors: list[BaseException] = []
    gate = threading.Barrier(threads)

    def write(who: int) -> None:
        try:
            gate.wait()
            for n in range(each):
                with garden.change(f"thread {who}") as change:
                    moment = Moment(start + timedelta(hours=who * each + n), 0)
                    change.add(MeterReading(meter="house", at=moment, register_value=Decimal(n)))
                assert change.number is not None
                numbers.append(change.number)
        except BaseException as error:  # noqa: BLE001 - told by the test below
            errors.append(error)

    running = [threading.Thread(target=write, args=(who,)) for who in range(threads)]
    for thread in running:
        thread.start()
    for thread in running:
        thread.join()
    assert errors == []
    assert len(garden.records(MeterReading)) == threads * each
    assert sorted(numbers) == list(range(3, 3 + threads * each))


def test_the_same_form_sent_by_two_at_once_is_stored_once(garden: Book) -> None:
    gate = threading.Barrier(4)
    ids: list[int] = []

    def send() -> None:
        gate.wait()
        with garden.change("wrote a reading") as change:
            moment = Moment(datetime(2026, 7, 1, tzinfo=UTC), 0)
            ids.append(change.add(MeterReading(meter="house", at=moment, register_value=Decimal(5))))

    running = [threading.Thread(target=send) for _ in range(4)]
    for thread in running:
        thread.start()
    for thread in running:
        thread.join()
    assert len(ids) == 4
    assert len(set(ids)) == 1
    assert len(garden.records(MeterReading)) == 1


WRITER = """
import sys
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from core.book.kinds import MeterReading
from core.book.store import Book
from core.days import Moment

book = Book.open(sys.argv[1])
start = datetime(2020, 1, 1, tzinfo=UTC)
many = [
    MeterReading(meter="house", at=Moment(start + timedelta(minutes=15 * n), 0), register_value=Decimal(n))
    for n in range(40_000)
]
with book.change("a long import") as change:
    for first in range(0, 40_000, 2_000):
        change.add_many(many[first : first + 2_000])
        print(first, flush=True)
print("stored", flush=True)
"""


@pytest.mark.parametrize("after", [0, 10_000, 36_000])
def test_a_writer_killed_in_the_middle_leaves_the_old_book(garden: Book, after: int) -> None:
    with garden.change("the last confirmed thing") as change:
        change.add(Supply(code="well", name="Well"))
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(garden.path)], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert writer.stdout is not None
    for line in writer.stdout:
        if int(line) >= after:
            break
    os.kill(writer.pid, signal.SIGKILL)
    writer.wait()
    writer.stdout.close()
    book = Book.open(garden.path)
    assert [s.record.code for s in book.records(Supply)] == ["barrel", "main", "well"]
    assert book.records(MeterReading) == []
    assert book.number() == 3
    with closing(sqlite3.connect(book.path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    with book.change("life goes on") as change:
        change.add(Supply(code="pond", name="Pond"))
    assert change.number == 4


def test_what_was_confirmed_before_the_kill_is_there(garden: Book) -> None:
    script = WRITER.replace('print("stored", flush=True)', "print(-1, flush=True)\nimport time\ntime.sleep(60)")
    writer = subprocess.Popen(
        [sys.executable, "-c", script, str(garden.path)], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert writer.stdout is not None
    for line in writer.stdout:
        if int(line) == -1:
            break
    os.kill(writer.pid, signal.SIGKILL)
    writer.wait()
    writer.stdout.close()
    assert len(Book.open(garden.path).frame("meter_reading")) == 40_000


def test_a_crash_while_a_book_is_made_never_looks_like_a_book(tmp_path: Path, home: Home) -> None:
    """Whatever moment the making stops at, the file opens as a book with its home or is told not to be one."""
    script = (
        "import os, sys\nfrom core.book.kinds import Home\nfrom core.book.store import Book\n"
        "import core.book.change as c\nc.Change.add = lambda *_: os.kill(os.getpid(), 9)\n"
        "Book.create(sys.argv[1], Home(name='x', latitude=40.0, timezone='America/Denver'))\n"
    )
    path = tmp_path / "half.rillbook"
    done = subprocess.run([sys.executable, "-c", script, str(path)], cwd=ROOT, check=False)
    assert done.returncode == -9
    begun = time.monotonic()
    from core.errors import BookError

    with pytest.raises(BookError):
        Book.open(path)
    assert time.monotonic() - begun < 5

"""A kill -9 in the middle of an import, twenty times: the book is the old one, or the import is in it whole."""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from core.book.kinds import Meter, MeterReading, Supply
from core.book.store import Book

ROOT = Path(__file__).resolve().parents[3]
ROWS = 8000
TIMES = 20
# Reads and plans once, then brings in anew, in a process of its own that is killed after the seconds it is told.
IMPORTER = """
import os, signal, sys, time
from pathlib import Path
from core.book.store import Book
from core.exchange.intake import bring, preview
from core.exchange.sheets import read_sheet
book = Book.open(sys.argv[1])
planned = preview(book, [read_sheet(Path(sys.argv[2]), "meter_reading", book.zone_info)])
for seconds in map(float, sys.stdin):
    began = time.monotonic()
    pid = os.fork()
    if not pid:
        bring(book, planned)
        os.write(1, b"stored\\n")  # at once or not at all, also where print would write the line and its end apart
        os._exit(0)
    if seconds:
        time.sleep(seconds)
        os.kill(pid, signal.SIGKILL)  # not waited for yet, so it is that process still
    os.waitpid(pid, 0)
    print(time.monotonic() - began, flush=True)
"""


def test_a_killed_import_leaves_the_old_book_or_a_whole_new_one(book: Book, tmp_path: Path) -> None:
    with book.change("began") as change:
        change.add(Supply(code="street", name="Street"))
        change.add(Meter(code="curb", name="Curb", supply="street", unit="gal"))
    sheet = tmp_path / "meter_reading.csv"
    days = [f"curb,{2000 + n // 336}-{n // 28 % 12 + 1:02}-{n % 28 + 1:02} 12:00,{n}" for n in range(ROWS)]
    sheet.write_text("\n".join(["meter,at,register_value", *days, ""]), encoding="utf-8")
    importer = subprocess.Popen(
        [sys.executable, "-c", IMPORTER, str(book.path), str(sheet)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
        bufsize=1,
    )
    dice = random.Random(20)
    with importer:
        assert importer.stdin is not None
        assert importer.stdout is not None
        whole, old_books = 0.0, 0
        for nth in range(TIMES + 1):
            number = book.number()
            # the first is let through, to know how long there is to aim at
            importer.stdin.write(f"{dice.uniform(0.01, 0.9) * whole if nth else 0}\n")
            line = importer.stdout.readline()
            confirmed = line == "stored\n"
            took = float(importer.stdout.readline() if confirmed else line)
            whole = whole or took
            assert confirmed or nth
            stored = left_sound(book.path)
            assert stored in (0, ROWS), f"{stored} of {ROWS} rows"
            assert stored or not confirmed, "what was confirmed is there"
            assert book.number() == number + (stored > 0)
            old_books += not stored
            if stored:
                book.undo(number + 1)
        importer.stdin.close()
    assert old_books >= TIMES // 4, "some kills must fall before the end for this to say anything"


def left_sound(path: Path) -> int:
    """How many readings an opened book holds, once SQLite has found no fault with the file."""
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
    return len(Book.open(path).records(MeterReading))

"""A whole household as a folder of sheets."""

from __future__ import annotations

import os
from pathlib import Path
from zoneinfo import ZoneInfo

from core.book.files import discard
from core.book.kinds import KINDS, Home
from core.book.store import Book
from core.days import time_zone
from core.errors import BookError, Problem, RefusedError
from core.exchange.cells import nearest
from core.exchange.intake import Brought, bring, preview
from core.exchange.rows import Sheet
from core.exchange.sheets import kind_of_file, read_sheet


def read_files(paths: list[Path], zone: ZoneInfo) -> list[Sheet]:
    """Read sheets whose file names say their kinds: ``rain.csv``, ``rain-2025.csv``.

    Raises:
        RefusedError: a name says no kind.
    """
    strange = [path.name for path in paths if kind_of_file(path.name) is None]
    if strange:
        raise RefusedError([Problem(name, 0, "", name, _a_file_name(name)) for name in strange])
    named = [path.name for path in paths]
    return [
        read_sheet(path, kind_of_file(path.name) or "", zone, path.name if named.count(path.name) == 1 else str(path))
        for path in paths
    ]


def sheets_in(folder: Path) -> list[Path]:
    """The CSV files of a folder.

    Raises:
        BookError: it is no folder, or has none.
    """
    if not folder.is_dir():
        raise BookError(f"{folder} is not a folder of sheets.")
    found = sorted(p for p in folder.iterdir() if p.suffix.lower() == ".csv" and not p.name.startswith("."))
    if not found:
        raise BookError(f"{folder} holds no CSV files.")
    return found


def new_from_folder(path: Path, folder: Path) -> tuple[Book, Brought]:
    """Make a book from a folder of sheets without asking anything. Either the whole book is there after, or none.

    Raises:
        BookError: the book is there already, or the folder has no ``home.csv``.
        RefusedError: a row of a sheet cannot be taken.
    """
    path = path.expanduser().absolute()
    if path.exists():
        raise BookError(f"{path} is there already. Choose another name, or open it.")
    files = sheets_in(folder)
    home = _home_in(files, folder)
    sheets = read_files(files, time_zone(home.timezone))
    part = path.with_name(f".{path.name}.part")
    discard(part)
    try:
        book = Book.create(part, home)
        brought = bring(book, preview(book, sheets, whole=True))
        os.replace(part, path)
    finally:
        discard(part)
    return Book.open(path), brought


def _home_in(files: list[Path], folder: Path) -> Home:
    homes = [p for p in files if kind_of_file(p.name) == Home.KIND]
    if len(homes) != 1:
        raise BookError(f"{folder} must hold one home.csv that says where the garden is; it holds {len(homes)}.")
    sheet = read_sheet(homes[0], Home.KIND, ZoneInfo("UTC"))
    if sheet.problems:
        raise RefusedError(sheet.problems)
    records = [record for _, record in sheet.rows if isinstance(record, Home)]
    if len(records) != 1:
        raise RefusedError([Problem(sheet.name, 0, "", f"{len(records)} rows", "one row, for the one home of a book")])
    return records[0]


def _a_file_name(name: str) -> str:
    close = nearest(Path(name).stem, KINDS)
    return f"a name that begins with the kind of its records, such as rain.csv or rain-2025.csv{close}"

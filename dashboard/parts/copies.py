"""The book to take away: its sheets in one zip file, or a whole copy."""

from __future__ import annotations

import io
import tempfile
import zipfile
from pathlib import Path

from core.book.store import Book
from core.exchange.export import export_folder


def zipped(book: Book) -> bytes:
    """The book's sheets as one zip file."""
    out = io.BytesIO()
    with tempfile.TemporaryDirectory() as folder, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in export_folder(book, Path(folder)):
            packed.write(Path(folder) / name, name)
    return out.getvalue()


def copied(book: Book) -> bytes:
    """A consistent copy of the book, open as it is."""
    with tempfile.TemporaryDirectory() as folder:
        return book.backup(Path(folder) / book.path.name).read_bytes()

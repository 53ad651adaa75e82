"""What bringing sheets in would do, from their text."""

from __future__ import annotations

from core.book.store import Book
from core.exchange.intake import Preview, preview
from core.exchange.sheets import read_sheet


def look(book: Book, **texts: str) -> Preview:
    return preview(book, [read_sheet(text, kind, book.zone_info) for kind, text in texts.items()])

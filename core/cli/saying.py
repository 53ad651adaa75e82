"""Tables and paragraphs for the terminal."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterable, Sequence


def width() -> int:
    """Columns of text: the terminal's, within what reads well."""
    return max(60, min(shutil.get_terminal_size((100, 24)).columns, 100))


def table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Aligned columns: the first to the left, numbers to the right."""
    body = [header, *rows]
    widths = [max(len(row[i]) for row in body) for i in range(len(header))]

    def line(row: Sequence[str]) -> str:
        cells = [f"{cell:>{size}}" for cell, size in zip(row[1:], widths[1:], strict=True)]
        return "  ".join([f"{row[0]:<{widths[0]}}", *cells]).rstrip()

    return [line(row) for row in body]


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """A paragraph no wider than the terminal."""
    return textwrap.fill(text, width(), initial_indent=first, subsequent_indent=rest or " " * len(first))


def written_words(number: int | None, dry_run: bool) -> str:
    """What stands before the lines of what is written, or would be."""
    if dry_run:
        return "This would be written:"
    return "Stored:" if number is not None else "Nothing was different, so nothing was stored:"

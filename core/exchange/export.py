"""Writing the book out again: the same plain CSV sheets that can be brought in."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Sequence
from pathlib import Path
from zoneinfo import ZoneInfo

from core.book.kinds import KINDS, FieldInfo, Measured, Record, fields_of
from core.book.store import Book
from core.errors import BookError
from core.exchange.cells import default_header, write_cell
from core.exchange.clock import WallClock
from core.units import System, quantity


def sheet_text(kind: str, records: Sequence[Record], zone: ZoneInfo, system: System) -> str:
    """Records of one kind as CSV text (RFC 4180) that :func:`read_sheet` takes back to the same records.

    A measured field gets a column for every unit it was typed in, so that each keeps its own digits; the unit
    of ``system`` when it was never filled.
    """
    clock = WallClock(zone)
    header: list[str] = []
    columns: list[Sequence[str]] = []
    for field in fields_of(KINDS[kind]):
        values = [getattr(record, field.name) for record in records]
        if field.cell.form == "measured":
            for name, unit in _measured_columns(field, values, system):
                header.append(name)
                columns.append([v.typed if v is not None and v.unit == unit else "" for v in values])
        else:
            header.append(field.name)
            columns.append([write_cell(value, field, clock) for value in values])
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(header)
    writer.writerows(zip(*columns, strict=True))
    return out.getvalue()


def export_folder(book: Book, folder: Path, *, replace: bool = False) -> dict[str, int]:
    """Write a sheet for every kind the book has records of; a book made from the folder is the same again.

    Sheets of an earlier export for which nothing is left are written with their header alone, so that the
    folder says what the book says.

    Args:
        book: the book.
        folder: made if it is not there.
        replace: whether sheets that are there already may be written over.

    Returns:
        File name to its number of rows.

    Raises:
        BookError: sheets are there and ``replace`` was not said, or the folder cannot be written.
    """
    there = {kind for kind in KINDS if (folder / f"{kind}.csv").exists()}
    if there and not replace:
        names = ", ".join(f"{kind}.csv" for kind in KINDS if kind in there)
        raise BookError(
            f"{folder} already holds {names}. Nothing was written; choose another folder or say to replace."
        )
    home = book.home()
    written: dict[str, int] = {}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, kind in KINDS.items():
            records = [stored.record for stored in book.records(kind)]
            if records or name in there:
                text = sheet_text(name, records, book.zone_info, home.display)
                _write_whole(folder / f"{name}.csv", text)
                written[f"{name}.csv"] = len(records)
    except OSError as error:
        raise BookError(f"{folder} cannot be written: {error.strerror or error}.") from error
    return written


def _measured_columns(field: FieldInfo, values: Sequence[Measured | None], system: System) -> list[tuple[str, str]]:
    used = {value.unit for value in values if value is not None}
    units = [unit for unit in quantity(field.cell.quantity).units if unit in used]
    if not units:
        header = default_header(field, system)
        return [(header, header.removeprefix(f"{field.name}_"))]
    return [(f"{field.name}_{unit}", unit) for unit in units]


def _write_whole(path: Path, text: str) -> None:
    """Write a file so that it is either the old one or the new one, never half of it."""
    part = path.with_name(f".{path.name}.part")
    part.write_text(text, encoding="utf-8", newline="")
    os.replace(part, path)

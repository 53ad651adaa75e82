"""Reading one CSV sheet: text to records, and everything wrong with it said by row and column."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from zoneinfo import ZoneInfo

from core.book.kinds import KINDS, Record, fields_of
from core.errors import Problem
from core.exchange.cells import Column, columns_of, nearest
from core.exchange.clock import WallClock
from core.exchange.pace import collector_paused
from core.exchange.rows import Sheet, read_rows

PROBLEM_COLUMN = "problem"  # what refused_csv adds; read over when the mended sheet comes back
_DELIMITERS = ",;\t"


def kind_of_file(name: str) -> str | None:
    """The record kind a file name stands for: ``rain.csv``, ``rain-2025.csv``; None when it names none."""
    stem = Path(name).stem.lower()
    fits = [k for k in KINDS if re.fullmatch(rf"{k}([^a-z].*)?", stem)]
    return max(fits, key=len, default=None)


def read_sheet(source: Path | str, kind: str, zone: ZoneInfo, name: str = "") -> Sheet:
    """Read a CSV sheet of one record kind. Nothing is stored.

    Args:
        source: a file, or the text itself.
        kind: name of the record kind.
        zone: the home's time zone, which holds for instants without an offset.
        name: file name for messages; the file's own by default.
    """
    sheet = Sheet(kind, name or (source.name if isinstance(source, Path) else f"{kind}.csv"))
    try:
        text = source if isinstance(source, str) else source.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        sheet.problems.append(Problem(sheet.name, 0, "", "not UTF-8 text", "a plain CSV file, saved as CSV UTF-8"))
        return sheet
    except OSError as error:
        sheet.problems.append(Problem(sheet.name, 0, "", error.strerror or str(error), "a file that can be read"))
        return sheet
    nothing = text.find("\0")
    if nothing >= 0:  # a spreadsheet's own file, or two bytes a letter
        row = text.count("\n", 0, nothing) + 1
        sheet.problems.append(Problem(sheet.name, row, "", "not plain text", "a plain CSV file, saved as CSV UTF-8"))
        return sheet
    with collector_paused():
        _cut_into_cells(sheet, text.removeprefix("\ufeff"))
        if not sheet.problems:
            sheet.problems += _header_problems(sheet)
        if not sheet.problems:
            read_rows(sheet, WallClock(zone))
    return sheet


def _cut_into_cells(sheet: Sheet, text: str) -> None:
    delimiter = max(_DELIMITERS, key=text.split("\n", 1)[0].count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for cells in reader:
            sheet.table.append(cells)
    except csv.Error as error:
        value, expected = _cutting_problem(str(error))
        sheet.problems.append(Problem(sheet.name, len(sheet.table) + 1, "", value, expected))
    sheet.header = [h.strip() for h in sheet.table.pop(0)] if sheet.table else []


def _cutting_problem(said: str) -> tuple[str, str]:
    """What the reader of cells gave up on, and what was expected."""
    whole = "quotation marks that open and close around a whole cell"
    if "limit" in said:
        return "a very long cell", f"cells of at most {csv.field_size_limit():,} letters, and {whole}"
    if "end of data" in said:
        return "a quotation mark that never closes", whole
    return "letters after a closing quotation mark", f"{whole}, written twice within it"


def _header_problems(sheet: Sheet) -> list[Problem]:
    kind = KINDS[sheet.kind]
    columns = columns_of(kind)
    shown = ", ".join(sheet.header)
    if not any(h in columns or nearest(h, columns) or h.lower() in _fields(kind) for h in sheet.header):
        return [Problem(sheet.name, 1, "", shown, f"a header row such as {', '.join(_shortest_header(kind))}")]
    problems = []
    for place, header in enumerate(sheet.header):
        if header in sheet.header[:place]:
            problems.append(Problem(sheet.name, 1, header, header, "every column once"))
        elif header not in columns and header != PROBLEM_COLUMN:
            problems.append(Problem(sheet.name, 1, header, header, _column_instead(header, columns)))
    present = {columns[h].field.name for h in sheet.header if h in columns}
    for info in fields_of(kind):
        if info.required and info.name not in present:
            names = " or ".join(h for h, c in columns.items() if c.field.name == info.name)
            problems.append(Problem(sheet.name, 1, info.name, shown, f"a column {names} ({info.label})"))
    return problems


def _fields(kind: type[Record]) -> list[str]:
    return [info.name for info in fields_of(kind)]


def _shortest_header(kind: type[Record]) -> list[str]:
    columns = columns_of(kind).values()
    firsts = {c.field.name: c.header for c in reversed(list(columns))}
    return [firsts[info.name] for info in fields_of(kind) if info.required]


def _column_instead(header: str, columns: dict[str, Column]) -> str:
    units = [h for h, c in columns.items() if c.unit and c.field.name == header.lower()]
    if units:
        return f"the unit in the name: {' or '.join(units)}"
    close = nearest(header, columns)
    return f"a column of this kind{close}" if close else f"one of {', '.join(columns)}"

"""The rows of a sheet: cells to values column by column, values to records row by row."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError

from core.book.kinds import KINDS, Record, fields_of
from core.book.rows import Row
from core.errors import EntryError, Problem
from core.exchange.cells import Column, columns_of, expected_from, expected_in, is_blank, read_column
from core.exchange.clock import Doubled, Refused, WallClock
from core.exchange.doubled import settle


@dataclass
class Sheet:
    """One sheet as read.

    Attributes:
        kind: name of its record kind.
        name: file name, for messages.
        rows: row number (the header is row 1) and record of every row that could be read.
        problems: what is wrong with the others.
        header: the header as it stands.
        table: every other row as it stands, the first of them row 2.
    """

    kind: str
    name: str
    rows: list[tuple[int, Record]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    header: list[str] = field(default_factory=list)
    table: list[list[str]] = field(default_factory=list)

    def column_of(self, field_name: str, row: int) -> str:
        """The header of the column that holds a field in a row (a measured field may have several)."""
        columns = columns_of(KINDS[self.kind])
        own = [h for h in self.header if h in columns and columns[h].field.name == field_name]
        return next((h for h in own if self.cell(row, h)), own[0] if own else field_name)

    def cell(self, row: int, header: str) -> str:
        """The text of one cell, "" when there is none."""
        if header not in self.header or not 2 <= row <= len(self.table) + 1:
            return ""
        cells, place = self.table[row - 2], self.header.index(header)
        return cells[place] if place < len(cells) else ""

    def problem(self, row: int, field_name: str, expected: str) -> Problem:
        """A problem with one field of one row, its cell shown as it stands."""
        header = self.column_of(field_name, row)
        return Problem(self.name, row, header, self.cell(row, header), expected)


@dataclass(slots=True)
class Found:
    """One row of a sheet that could be read; ``cells``: as the book holds or will hold it."""

    sheet: Sheet
    row: int
    record: Record
    cells: Row


def read_rows(sheet: Sheet, clock: WallClock) -> None:
    """Turn ``sheet.table`` into ``sheet.rows`` and ``sheet.problems``."""
    width = len(sheet.header)
    numbers = []
    for number, cells in enumerate(sheet.table, 2):
        if not any(cells) or is_blank("".join(cells)):
            continue
        if len(cells) == width:
            numbers.append(number)
        else:
            expected = f"{width} cells, as many as the header has"
            sheet.problems.append(Problem(sheet.name, number, "", f"{len(cells)} cells", expected))
    reading = _Reading(sheet, clock, numbers)
    values = reading.values()
    kind = KINDS[sheet.kind]
    kind.model_rebuild()  # the validator, which is made when first needed
    # the validator itself: a fifth quicker than the class over a hundred thousand rows
    names, make, bad = list(values), kind.__pydantic_validator__.validate_python, reading.bad
    for number, row in zip(numbers, zip(*values.values(), strict=True), strict=False):
        if number in bad:
            continue
        try:
            sheet.rows.append((number, make(dict(zip(names, row)))))  # noqa: B905 - as long by the line above
        except ValidationError as error:
            reading.bad[number] += [_validation_problem(sheet, number, detail) for detail in error.errors()]
        except EntryError as error:
            reading.bad[number].append(_entry_problem(sheet, number, error))
    sheet.problems += [problem for problems in reading.bad.values() for problem in problems]
    sheet.problems.sort(key=lambda p: p.row)


class _Reading:
    """The cells of a sheet, column by column; ``bad`` holds what is wrong by row number."""

    def __init__(self, sheet: Sheet, clock: WallClock, numbers: list[int]) -> None:
        self.sheet, self.clock, self.numbers = sheet, clock, numbers
        self.kind = KINDS[sheet.kind]
        rows = [sheet.table[n - 2] for n in numbers]
        columns = zip(*rows, strict=True) if rows else [()] * len(sheet.header)
        self.texts: dict[str, Sequence[str]] = dict(zip(sheet.header, columns, strict=True))
        self.bad: dict[int, list[Problem]] = defaultdict(list)

    def values(self) -> dict[str, Sequence[Any]]:
        """Field name to its value in every row."""
        columns = columns_of(self.kind)
        by_field: dict[str, list[Column]] = defaultdict(list)
        for header in self.texts:
            if header in columns:
                by_field[columns[header].field.name].append(columns[header])
        return {name: self._measured(own) if own[0].unit else self._column(own[0]) for name, own in by_field.items()}

    def _column(self, column: Column) -> Sequence[Any]:
        texts = self.texts[column.header]
        read = read_column(column, texts, self.clock)
        found = list(map(read.__getitem__, texts))
        sorts = set(map(type, read.values()))
        if Doubled in sorts:
            settled = settle(texts, self._groups(), read)
            sorts |= set(map(type, settled.values()))
            for place, value in settled.items():
                found[place] = value
        if Refused in sorts:
            self._note_refused(column, found)
        return found

    def _groups(self) -> Sequence[Hashable]:
        """What must be alike for rows to follow one another in time: the key without its instants."""
        infos = [f for f in fields_of(self.kind) if f.name in self.kind.KEY and f.cell.form != "moment"]
        plain = [self.texts[f.name] for f in infos if f.name in self.texts]
        return list(zip(*plain, strict=True)) if plain else [()] * len(self.numbers)

    def _measured(self, own: list[Column]) -> Sequence[Any]:
        """A measured field from its unit columns: exactly one is filled in a row, at most one if it is optional."""
        info = own[0].field
        found: list[Any] = [info.default] * len(self.numbers)
        filled = [0] * len(self.numbers)
        for column in own:
            texts = self.texts[column.header]
            read = read_column(column, texts, self.clock)
            for place, text in enumerate(texts):
                if not is_blank(text):
                    found[place] = read[text]
                    filled[place] += 1
            if any(isinstance(value, Refused) for value in read.values()):
                self._note_refused(column, [None if is_blank(t) else read[t] for t in texts])
        headers = [column.header for column in own]
        expected = f"a number in one of {' or '.join(headers)}" if len(own) > 1 else expected_in(own[0])
        for place, count in enumerate(filled):
            if count > 1 or (count == 0 and info.required):
                here = [h for h in headers if not is_blank(self.texts[h][place])]
                shown = " and ".join(self.texts[h][place] for h in here)
                self._note(place, " and ".join(here or headers[:1]), shown, expected)
        return found

    def _note_refused(self, column: Column, found: Sequence[Any]) -> None:
        for place, value in enumerate(found):
            if isinstance(value, Refused):
                self._note(place, column.header, self.texts[column.header][place], value.expected)

    def _note(self, place: int, header: str, shown: str, expected: str) -> None:
        number = self.numbers[place]
        self.bad[number].append(Problem(self.sheet.name, number, header, shown, expected))


_LIMITS = {
    "greater_than_equal": "{ge:g} or more",
    "greater_than": "more than {gt:g}",
    "less_than_equal": "{le:g} or less",
    "less_than": "less than {lt:g}",
    "string_too_long": "at most {max_length} letters",
    "string_too_short": "some text",
    "finite_number": "a number",
}


def _validation_problem(sheet: Sheet, row: int, detail: Any) -> Problem:
    """One complaint of a record kind as a problem with a cell, or with the row when it is about several."""
    if detail["loc"]:
        name = str(detail["loc"][0])
        header = sheet.column_of(name, row)
        limit = _LIMITS.get(detail["type"])
        column = columns_of(KINDS[sheet.kind])[header]
        expected = limit.format(**detail.get("ctx", {})) if limit else expected_in(column)
        if detail["type"] == "value_error" and column.field.cell.form == "text":
            expected = "text without control characters"
        return sheet.problem(row, name, expected)
    message = str(detail["msg"]).removeprefix("Value error, ")
    return Problem(sheet.name, row, "", "the row as a whole", f"values that fit together: {message}")


def _entry_problem(sheet: Sheet, row: int, error: EntryError) -> Problem:
    """A kind's own refusal of one value, put to the column whose cell it quotes."""
    quoted = str(error).partition("“")[2].partition("”")[0]
    header = next((h for h in sheet.header if sheet.cell(row, h).strip() == quoted), "")
    return Problem(sheet.name, row, header, quoted, expected_from(error, str(error).rstrip(".")))

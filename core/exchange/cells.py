"""One cell of a CSV sheet: its column, its text, its value, and what was expected when it cannot be read.

A measured field has one column for each unit a person may write it in: ``rain`` is ``rain_in`` or ``rain_mm``.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from core.book.kinds import FieldInfo, Measured, Record, fields_of
from core.book.kinds.fields import MOST_LETTERS
from core.days import YEARS, parse_day
from core.errors import EntryError
from core.exchange.clock import A_MOMENT, A_YEAR, Refused, WallClock
from core.exchange.slashes import year_first
from core.units import System, parse_number, quantity

# A spreadsheet takes a cell that begins so for a formula (OWASP, CSV injection); the full-width forms too.
_TRIGGERS = "=+\\-@\t\r\n＝＋－＠"
_STARTS_FORMULA = re.compile(f"'*[{_TRIGGERS}]")
_KEPT_APART = re.compile(f"'+(?:[{_TRIGGERS}]|$)")
_PLAIN_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_SIGNED_NUMBER = re.compile(r"[+-][0-9.,]+")
_YES = {"yes": True, "true": True, "1": True, "y": True, "no": False, "false": False, "0": False, "n": False}
_TOO_MANY = Decimal(10) ** 15
_BLANK = " \t\r\n\u00a0"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a sheet: the field it fills and, for a measured field, the unit in its name."""

    header: str
    field: FieldInfo
    unit: str = ""


@cache
def columns_of(kind: type[Record]) -> dict[str, Column]:
    """Every column a sheet of this kind may have, by header name; units of one field follow one another."""
    columns = []
    for field in fields_of(kind):
        if field.cell.form == "measured":
            units = quantity(field.cell.quantity).units
            columns += [Column(f"{field.name}_{unit}", field, unit) for unit in units]
        else:
            columns.append(Column(field.name, field))
    return {column.header: column for column in columns}


def default_header(field: FieldInfo, system: System) -> str:
    """The column a field has when nothing says which unit: the one the reader's system shows."""
    if field.cell.form != "measured":
        return field.name
    q = quantity(field.cell.quantity)
    return f"{field.name}_{q.us if system == 'us' else q.metric}"


def expected_in(column: Column) -> str:
    """What a cell of this column must hold, as the end of a sentence that begins with "Expected"."""
    field = column.field
    if field.cell.form == "measured":
        q = quantity(field.cell.quantity)
        return f"a number such as 12.5 (unit: {q.units[column.unit].symbol})"
    if field.cell.form == "choice":
        return f"one of {', '.join(field.choices)}"
    if field.cell.form == "notation":
        return field.hint or field.label
    if field.cell.form == "code" and field.hint.startswith("A "):  # what it is the code of
        return f"a short code of small letters, digits, - and _: a{field.hint[1:].rstrip('.')}"
    return {
        "text": "text",
        "code": "a short code of small letters, digits, - and _, such as tubs",
        "ref": f"the code of a {field.cell.to}",
        "whole": "a whole number",
        "number": "a number such as 12.5",
        "decimal": "a number such as 123456",
        "yesno": "yes or no",
        "day": "a day such as 2026-07-14",
        "moment": A_MOMENT,
    }[field.cell.form]


def read_column(column: Column, texts: Iterable[str], clock: WallClock) -> dict[str, Any]:
    """Read the cells of one column, each distinct text once.

    Returns:
        Text to value, :class:`Refused`, or :class:`Doubled`; an empty text to the field's default.
    """
    reader = _reader(column, clock)
    empty = Refused(expected_in(column)) if column.field.required else column.field.default
    read = {text: reader(text) if text.strip(_BLANK) else empty for text in set(texts)}
    if column.field.cell.form in ("day", "moment"):
        refused = {text: value for text, value in read.items() if isinstance(value, Refused)}
        read |= {text: Refused(refused[text].expected + how) for text, how in year_first(refused).items()}
    return read


def is_blank(text: str) -> bool:
    """Whether a cell holds nothing a person would see."""
    return not text.strip(_BLANK)


def write_cell(value: Any, field: FieldInfo, clock: WallClock) -> str:
    """The text that reads back to ``value``; nothing in it can start a formula."""
    if value is None:
        return ""
    if field.cell.form == "moment":
        return clock.write(value)
    if field.cell.form in _WRITTEN:
        return _WRITTEN[field.cell.form](value)
    if value == "" and (field.required or field.default is not None) and field.default != "":
        return "'"  # empty on purpose, where an empty cell would mean the default or be refused
    return kept_from_formula(str(value))


def plain_number(value: float) -> str:
    """A float without exponent or needless zeros, exact: 12.0 is ``12``."""
    text = format(Decimal(repr(float(value))), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


_WRITTEN: dict[str, Callable[[Any], str]] = {
    "yesno": lambda value: "yes" if value else "no",
    "measured": lambda value: str(value.typed),
    "decimal": lambda value: format(value, "f"),
    "number": plain_number,
    "whole": str,
    "day": date.isoformat,
}


def kept_from_formula(text: str) -> str:
    """``text`` with an apostrophe before it where a spreadsheet would run it; :func:`shown_text` takes it off."""
    return f"'{text}" if _STARTS_FORMULA.match(text) or (text and not text.strip("'")) else text


def kept_raw(text: str) -> str:
    """A cell of somebody's sheet, passed on as it stands but for an apostrophe where it would start a formula."""
    return f"'{text}" if re.match(f"[{_TRIGGERS}]", text) and not _SIGNED_NUMBER.fullmatch(text) else text


def shown_text(text: str) -> str:
    """The text meant by a cell that :func:`kept_from_formula` wrote; any other text as it is."""
    return text[1:] if _KEPT_APART.match(text) else text


def nearest(word: str, known: Iterable[str]) -> str:
    """``, perhaps rain_in`` when one of the known words is close, else nothing."""
    close = difflib.get_close_matches(word.lower(), list(known), n=1, cutoff=0.6)
    return f", perhaps {close[0]}" if close else ""


def expected_from(error: EntryError, otherwise: str) -> str:
    """What an entry error says it expected, as the end of a sentence."""
    sentence = str(error)
    two_ways = re.search(r"Write (.+)\.$", sentence)
    if two_ways:
        return f"{two_ways[1]}; as it stands it can be read two ways"
    found = re.search(r"Expected (.+?)\.?$", sentence)
    return found[1] if found else otherwise


def _reader(column: Column, clock: WallClock) -> Callable[[str], Any]:
    """The function that reads one cell of this column."""
    cell, unit = column.field.cell, column.unit
    whole = Refused(expected_in(column))
    readers: dict[str, Callable[[str], Any]] = {
        "text": shown_text,
        "code": _spaced,
        "ref": _spaced,
        "whole": lambda text: _number(text, column, lambda d: int(d) if d == int(d) else whole),
        "number": lambda text: _number(text, column, float),
        "decimal": lambda text: _number(text, column, lambda d: d),
        "measured": lambda text: _number(text, column, lambda d: Measured(format(d, "f"), unit, cell.quantity)),
        "yesno": lambda text: _word(text, column, _YES),
        "choice": lambda text: _word(text, column, {word: word for word in column.field.choices}),
        "day": lambda text: _day(text, column),
        "moment": lambda text: clock.read(text if text.isascii() else _spaced(text)),  # which it strips itself
        "notation": lambda text: _notation(shown_text(text), column),
    }
    return readers[cell.form]


def _number(text: str, column: Column, convert: Callable[[Decimal], Any]) -> Any:
    if text.isdigit() and text.isascii() and len(text) < 16:  # the register of nearly every reading, at no cost
        return convert(Decimal(text))
    try:
        value = Decimal(text) if _PLAIN_NUMBER.fullmatch(text) else parse_number(text)
    except EntryError as error:
        two_ways = "two ways" in str(error)
        return Refused(expected_from(error, "") if two_ways else expected_in(column))
    as_typed = column.field.cell.form in ("measured", "decimal")
    if abs(value) >= _TOO_MANY or (as_typed and len(text) > MOST_LETTERS):
        return Refused("a number of at most 15 digits before the decimal mark and 30 after it")
    return convert(value)


def _spaced(text: str) -> str:
    """The text without space around it and with plain spaces within: the others look the same on a screen."""
    return text.strip() if text.isascii() else text.replace("\u00a0", " ").replace("\u202f", " ").strip()


def _word(text: str, column: Column, words: dict[str, Any]) -> Any:
    word = text.strip().lower()
    return words[word] if word in words else Refused(expected_in(column) + nearest(word, words))


def _day(text: str, column: Column) -> date | Refused:
    try:
        day = parse_day(_spaced(text))
    except EntryError:
        return Refused(expected_in(column))
    return day if YEARS[0] <= day.year < YEARS[1] else Refused(f"{expected_in(column)}, {A_YEAR}")


def _notation(text: str, column: Column) -> Any:
    parse = column.field.cell.parse or str
    try:
        return str(parse(text))
    except EntryError as error:
        return Refused(expected_from(error, expected_in(column)))

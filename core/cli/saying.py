"""Numbers and tables for the terminal, in the reader's units."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterable, Sequence

from core.figures import Figure, Line
from core.units import QUANTITIES, System, show, spanned

_BASES = {q.base: q.name for q in QUANTITIES.values()}


def width() -> int:
    """Columns of text: the terminal's, within what reads well."""
    return max(60, min(shutil.get_terminal_size((100, 24)).columns, 100))


def amount(value: float | None, quantity: str, system: System, currency: str) -> str:
    """A value with its unit: ``1,240 gal``, ``$12.30``, ``3 days``."""
    if value is None or value != value:  # noqa: PLR0124 - NaN
        return "not known"
    if quantity == "money":
        return f"{'−' if value < -0.004 else ''}{currency}{abs(value):,.2f}"
    if quantity in QUANTITIES:
        return show(value, quantity, system)
    number = f"{value * 100:,.0f} %" if quantity == "share" else f"{value:,.0f}"
    return number.replace("-", "−") + ({1: " day"}.get(round(value), " days") if quantity == "days" else "")


def span(figure: Figure, system: System, currency: str) -> str:
    """A figure's 90 % range, or ""."""
    if figure.low is None or figure.high is None:
        return ""
    low, high = (amount(v, figure.quantity, system, currency) for v in (figure.low, figure.high))
    return "" if low == high else spanned(low, high)


def line_value(line: Line, system: System, currency: str) -> str:
    """The value of one line of a working."""
    if isinstance(line.value, str):
        return f"{line.value} {line.unit}".strip()
    name = _BASES.get(line.unit, line.unit)
    if name in QUANTITIES:
        return show(line.value, name, system, 2 if abs(line.value) < 10 else None)
    if name in ("money", "days", "share", "count"):
        return amount(line.value, name, system, currency)
    return f"{line.value:,.4g} {line.unit}".strip().replace("-", "−")


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

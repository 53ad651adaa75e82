"""A Figure: a number a homeowner can argue with."""

from __future__ import annotations

from dataclasses import dataclass

NINETY = 1.645  # standard deviations on either side that hold 90 % of a normal spread


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a figure's working.

    Attributes:
        what: the input or step, in words ("reference ET, July").
        value: already formatted or a plain number in the figure's metric unit.
        unit: unit code of ``value`` ("mm", "l", "" for a ratio or text).
        source: where it comes from ("FAO-56 eq. 52", "your reading of 14 July", "common practice").
    """

    what: str
    value: float | str
    unit: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A value with its 90 % range and its working.

    Attributes:
        value: in the metric base unit of ``quantity``; None when it cannot be known.
        quantity: name of a quantity in :mod:`core.units`, or "money", "days", "share", "count".
        low, high: 90 % range, None when no range can be given.
        working: lines from inputs to result.
        note: a sentence that limits the figure ("metered through 14 July"), or "".
    """

    value: float | None
    quantity: str
    low: float | None = None
    high: float | None = None
    working: tuple[Line, ...] = ()
    note: str = ""

"""What a field of a record can be. The type of a field drives storage, CSV columns and the plain forms."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, StringConstraints

from core.errors import EntryError
from core.notation import parse_days, parse_month_day, parse_shares, parse_starts, parse_tiers
from core.units import amount_and_unit, parse_number, quantity, to_base, unit_named

Form = Literal[
    "text", "code", "ref", "whole", "number", "yesno", "day", "moment", "measured", "decimal", "choice", "notation"
]

MOST_LETTERS = 50  # of a number that is kept as it was typed
TOO_LONG = "a number has at most 15 digits before the decimal mark and 30 after it"


@dataclass(frozen=True, slots=True)
class Cell:
    """How one field is stored, typed and shown.

    Attributes:
        form: the sort of value.
        quantity: for "measured": the name of its quantity in core.units.
        to: for "ref": the kind whose ``code`` it holds.
        parse: for "notation": the parser that raises a sentence and whose ``str`` is the stored text.
    """

    form: Form
    quantity: str = ""
    to: str = ""
    parse: Callable[[str], Any] | None = None


@dataclass(frozen=True, slots=True)
class Measured:
    """A measured value as it was typed: ``Measured("0.35", "in", "depth")``.

    What was typed comes out again to the digits typed; ``base`` is what the maths uses. Two measured values
    are the same when their bases are (0.5 in is 12.7 mm).
    """

    typed: str
    unit: str
    quantity: str

    @classmethod
    def read(cls, text: str, quantity_name: str, unit: str) -> Self:
        """An amount as a person types it: ``12,5`` is in ``unit``, ``2400 ft`` in the unit that stands with it.

        Raises:
            EntryError: not a number, or not a unit of this quantity.
        """
        number, named = amount_and_unit(text)
        units = quantity(quantity_name).units
        code = unit_named(named, quantity_name) if named else unit
        if code not in units:
            raise EntryError(f"“{text}”: “{named}” is not a unit here. Expected {', '.join(units)}.")
        return cls(format(parse_number(number), "f"), code, quantity_name)

    @property
    def base(self) -> float:
        """The value in the quantity's metric base unit."""
        return to_base(Decimal(self.typed), self.unit, self.quantity)

    def __str__(self) -> str:
        return f"{self.typed} {quantity(self.quantity).units[self.unit].symbol}"

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Measured) or other.quantity != self.quantity:
            return NotImplemented
        return abs(self.base - other.base) <= 1e-9 * max(1.0, abs(self.base))

    def __hash__(self) -> int:
        return hash((self.quantity, round(self.base, 6)))


def _of(name: str) -> AfterValidator:
    """Only a finite measure of this quantity, in one of its units, may stand in the field."""

    def check(value: Measured) -> Measured:
        if value.quantity != name or value.unit not in quantity(name).units:
            raise ValueError(f"“{value.typed} {value.unit}” is not a {name.replace('_', ' ')}")
        try:
            finite = math.isfinite(value.base)
        except InvalidOperation:
            finite = False
        if not finite:
            raise ValueError(f"“{value.typed}” is not a number")
        if len(value.typed) > MOST_LETTERS:
            raise ValueError(TOO_LONG)
        return value

    return AfterValidator(check)


def _not_endless(value: Decimal) -> Decimal:
    if len(str(value)) > MOST_LETTERS:
        raise ValueError(TOO_LONG)
    return value


def _canonical(parse: Callable[[str], Any]) -> AfterValidator:
    return AfterValidator(lambda text: str(parse(text)))


def _no_controls(text: str) -> str:
    """Free text goes to terminals and spreadsheets as it stands, so nothing in it may steer them."""
    if _CONTROLS.search(text):
        raise ValueError("a control character is no text")
    return text


_CONTROLS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")  # all but tab and the ends of lines

Text = Annotated[
    str, Cell("text"), StringConstraints(strip_whitespace=True, max_length=2000), AfterValidator(_no_controls)
]
Name = Annotated[
    str,
    Cell("text"),
    StringConstraints(strip_whitespace=True, min_length=1, max_length=120),
    AfterValidator(_no_controls),
]
Code = Annotated[str, Cell("code"), StringConstraints(strip_whitespace=True, pattern=r"^[a-z0-9][a-z0-9_-]{0,39}$")]
Whole = Annotated[int, Cell("whole"), Field(ge=-(10**12), le=10**12)]  # fits every store and table
Number = Annotated[float, Cell("number"), Field(allow_inf_nan=False)]
YesNo = Annotated[bool, Cell("yesno")]
Register = Annotated[Decimal, Cell("decimal"), AfterValidator(_not_endless)]

Days = Annotated[str, Cell("notation", parse=parse_days), _canonical(parse_days)]
StartTimes = Annotated[str, Cell("notation", parse=parse_starts), _canonical(parse_starts)]
MonthDay = Annotated[str, Cell("notation", parse=parse_month_day), _canonical(parse_month_day)]
PlantingShares = Annotated[str, Cell("notation", parse=parse_shares), _canonical(parse_shares)]
Prices = Annotated[str, Cell("notation", parse=parse_tiers), _canonical(parse_tiers)]

ZoneRef = Annotated[str, Cell("ref", to="zone")]
SupplyRef = Annotated[str, Cell("ref", to="supply")]
MeterRef = Annotated[str, Cell("ref", to="meter")]
ControllerRef = Annotated[str, Cell("ref", to="controller")]
TaskRef = Annotated[str, Cell("ref", to="task")]

Depth = Annotated[Measured, Cell("measured", "depth"), _of("depth")]
Volume = Annotated[Measured, Cell("measured", "volume"), _of("volume")]
Flow = Annotated[Measured, Cell("measured", "flow"), _of("flow")]
LineFlow = Annotated[Measured, Cell("measured", "line_flow"), _of("line_flow")]
Area = Annotated[Measured, Cell("measured", "area"), _of("area")]
Length = Annotated[Measured, Cell("measured", "length"), _of("length")]
Pressure = Annotated[Measured, Cell("measured", "pressure"), _of("pressure")]
Temperature = Annotated[Measured, Cell("measured", "temperature"), _of("temperature")]
Speed = Annotated[Measured, Cell("measured", "speed"), _of("speed")]
Radiation = Annotated[Measured, Cell("measured", "radiation"), _of("radiation")]
Duration = Annotated[Measured, Cell("measured", "duration"), _of("duration")]

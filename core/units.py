"""Quantities and units. Inside everything is metric; US customary lives at the edge.

Factors are exact by definition: 1 in = 25.4 mm, 1 US gal = 231 in3, 1 lb = 0.45359237 kg (NIST SP 811 and
Handbook 44), 1 imperial gal = 4.54609 L. 1 mm of water on 1 m2 is 1 litre, so no factor hides in the middle.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Literal

from core.errors import EntryError

System = Literal["us", "metric"]

_IN3_L = Decimal("0.016387064")  # one cubic inch in litres, exact
_GAL = 231 * _IN3_L
_FT3 = 1728 * _IN3_L
_PSI = Decimal("0.45359237") * Decimal("9.80665") / (Decimal("0.0254") ** 2) / 1000  # kPa


@dataclass(frozen=True, slots=True)
class Unit:
    """``base = typed * factor + offset`` in the quantity's metric base unit."""

    code: str
    symbol: str
    factor: Decimal
    offset: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A kind of measurement: its metric base unit, the units a person may write, the unit shown by system."""

    name: str
    base: str
    us: str
    metric: str
    units: dict[str, Unit]
    decimals_us: int = 0
    decimals_metric: int = 0


def _q(name: str, us: str, metric: str, decimals: tuple[int, int], *units: Unit) -> Quantity:
    return Quantity(name, units[0].code, us, metric, {u.code: u for u in units}, *decimals)


def _u(code: str, symbol: str, factor: Decimal | str | int, offset: Decimal | str | int = 0) -> Unit:
    return Unit(code, symbol, Decimal(factor), Decimal(offset))


QUANTITIES: dict[str, Quantity] = {
    q.name: q
    for q in (
        _q("depth", "in", "mm", (2, 1), _u("mm", "mm", 1), _u("in", "in", "25.4"), _u("cm", "cm", 10)),
        _q(
            "volume",
            "gal",
            "l",
            (0, 0),
            _u("l", "L", 1),
            _u("gal", "gal", _GAL),
            _u("ml", "mL", "0.001"),
            _u("m3", "m³", 1000),
            _u("ft3", "ft³", _FT3),
            _u("ccf", "ccf", 100 * _FT3),
            _u("kgal", "kgal", 1000 * _GAL),
            _u("imp_gal", "imp gal", "4.54609"),
        ),
        _q(
            "flow",
            "gph",
            "lph",
            (1, 1),
            _u("lph", "L/h", 1),
            _u("gph", "gph", _GAL),
            _u("gpm", "gpm", 60 * _GAL),
            _u("lpm", "L/min", 60),
        ),
        _q(
            "line_flow",
            "gph_ft",
            "lph_m",
            (2, 2),
            _u("lph_m", "L/h per m", 1),
            _u("gph_ft", "gph per ft", _GAL / Decimal("0.3048")),
        ),
        _q("area", "ft2", "m2", (0, 1), _u("m2", "m²", 1), _u("ft2", "ft²", "0.09290304")),
        _q(
            "length",
            "ft",
            "m",
            (1, 2),
            _u("m", "m", 1),
            _u("ft", "ft", "0.3048"),
            _u("in", "in", "0.0254"),
            _u("cm", "cm", "0.01"),
        ),
        _q("pressure", "psi", "kpa", (0, 0), _u("kpa", "kPa", 1), _u("psi", "psi", _PSI), _u("bar", "bar", 100)),
        _q("temperature", "f", "c", (0, 0), _u("c", "°C", 1), _u("f", "°F", Decimal(5) / 9, Decimal(-160) / 9)),
        _q(
            "speed",
            "mph",
            "mps",
            (1, 1),
            _u("mps", "m/s", 1),
            _u("mph", "mph", "0.44704"),
            _u("kmh", "km/h", 1 / Decimal("3.6")),
        ),
        _q(
            "radiation",
            "mj_m2",
            "mj_m2",
            (1, 1),
            _u("mj_m2", "MJ/m²", 1),
            _u("langley", "langley", "0.04184"),
            _u("kwh_m2", "kWh/m²", "3.6"),
        ),
        _q("duration", "min", "min", (0, 0), _u("min", "min", 1), _u("h", "h", 60), _u("s", "s", Decimal(1) / 60)),
    )
}

_IN_WORDS = {  # as people write units out: the code
    "foot": "ft", "feet": "ft", "meter": "m", "meters": "m", "metre": "m", "metres": "m", "inch": "in", "inches": "in",
    "gallon": "gal", "gallons": "gal", "gals": "gal", "us gal": "gal", "liter": "l", "liters": "l", "litre": "l",
    "litres": "l", "cubic feet": "ft3", "cubic metres": "m3", "cubic meters": "m3", "hcf": "ccf", "sqft": "ft2",
    "sq ft": "ft2", "square feet": "ft2", "square metres": "m2", "square meters": "m2", "gal/h": "gph",
    "gallons per hour": "gph", "gal/min": "gpm", "litres per hour": "lph", "liters per hour": "lph", "gph/ft": "gph_ft",
    "l/h/m": "lph_m", "minute": "min", "minutes": "min", "hour": "h", "hours": "h",
}  # fmt: skip
_WHOLE = 1e15  # floats from here on have no decimals worth rounding
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)$")


def parse_number(text: str) -> Decimal:
    """A number as a person writes it: ``12.5``, ``12,5``, ``1 234``, ``1,234.5``.

    One comma or point is the decimal mark; when both occur the last one is. A single comma followed by
    exactly three digits could mean either and is refused, so 1,234 is never read as 1.234 by accident.

    Raises:
        EntryError: the text is not a number, or could be read two ways.
    """
    compact = text.strip().replace("\u202f", "").replace("\u00a0", "").replace(" ", "").replace("'", "")
    if re.fullmatch(r"[+-]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?", compact):
        if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", compact):
            plain = compact.replace(",", "")
            raise EntryError(f"“{text}” can be read two ways. Write {plain} or {compact.replace(',', '.')}.")
        compact = compact.replace(",", "")
    elif re.fullmatch(r"[+-]?[1-9]\d{0,2}(\.\d{3})+,\d+", compact):
        compact = compact.replace(".", "")
    if not _NUMBER.fullmatch(compact):
        raise EntryError(f"“{text}” is not a number. Expected digits such as 12.5 or 12,5.")
    try:
        return Decimal(compact.replace(",", "."))
    except InvalidOperation as error:  # pragma: no branch - the pattern above admits only decimals
        raise EntryError(f"“{text}” is not a number.") from error


def amount_and_unit(text: str) -> tuple[str, str]:
    """The number and the unit of ``0.35in`` or ``12,5 mm`` as they stand; the unit may be "".

    Raises:
        EntryError: there is no number in it.
    """
    found = re.fullmatch(r"\s*([+-]?[\d.,'\s\u00a0\u202f]*\d[.,]?)\s*([^\d\s.,].*?)?\s*", text)
    if not found:
        raise EntryError(f"“{text}” is not an amount. Expected a number, with or without its unit: 0.35 or 0.35in.")
    return found[1], found[2] or ""


def unit_named(word: str, quantity_name: str) -> str:
    """The code of a unit written as code, symbol or in words, in capitals or not; the word itself when it is none."""
    plain = " ".join(word.lower().rstrip(".").split())
    plain = _IN_WORDS.get(plain, plain)
    return next((u.code for u in quantity(quantity_name).units.values() if plain in (u.code, u.symbol.lower())), word)


def quantity(name: str) -> Quantity:
    """The quantity called ``name``; a KeyError here is a mistake in the program, not in an entry."""
    return QUANTITIES[name]


def to_base(value: Decimal | float | str, unit: str, quantity_name: str) -> float:
    """``value`` in ``unit`` as the quantity's metric base unit."""
    u = quantity(quantity_name).units[unit]
    return float(Decimal(str(value)) * u.factor + u.offset)


def from_base(value: float, unit: str, quantity_name: str) -> float:
    """A metric base value in ``unit``."""
    u = quantity(quantity_name).units[unit]
    return (float(value) - float(u.offset)) / float(u.factor)


def shown_unit(quantity_name: str, system: System) -> Unit:
    """The unit a quantity is shown in for the reader's choice of system."""
    q = quantity(quantity_name)
    return q.units[q.us if system == "us" else q.metric]


def show(value: float | None, quantity_name: str, system: System, decimals: int | None = None) -> str:
    """A base value as text with its unit, for the reader's system: ``1,240 gal``."""
    if value is None or value != value:  # noqa: PLR0124 - NaN is the one value unlike itself
        return "not known"
    unit = shown_unit(quantity_name, system)
    q = quantity(quantity_name)
    places = decimals if decimals is not None else (q.decimals_us if system == "us" else q.decimals_metric)
    number = from_base(value, unit.code, quantity_name)
    text = f"{_half_up(number, places):,.{places}f}"
    if text.strip("-0.,") == "":
        text = text.lstrip("-")
    return f"{text} {unit.symbol}".replace("-", "−")


def _half_up(number: float, places: int) -> Decimal | float:
    """Rounded as a person rounds: 0.125 to two decimals is 0.13, not the even 0.12."""
    if abs(number) >= _WHOLE:
        return number
    return Decimal(repr(float(number))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def volume_symbol(unit: str) -> str:
    """How a unit of volume is written everywhere: ``m³`` of m3, ``imp gal`` of imp_gal."""
    return quantity("volume").units[unit].symbol


def register_text(value: Decimal | float, step: Decimal | float) -> str:
    """A register as its face shows it: thousands marked and as many decimals as its step has: ``1,384.310``.

    What was written down with more decimals than the step has keeps them.
    """
    places = max(decimals(Decimal(str(step))), decimals(Decimal(str(value))))
    return f"{Decimal(str(value)):,.{places}f}"


def decimals(number: Decimal) -> int:
    """Decimals of a number without its trailing zeros."""
    exponent = number.normalize().as_tuple().exponent
    return max(-exponent, 0) if isinstance(exponent, int) else 0


def spanned(low: str, high: str) -> str:
    """Two shown amounts as a range, a unit they share said once: ``12 to 15 gal``, ``$3 to $4``."""
    number, _, unit = low.partition(" ")
    return f"{number if unit and high.endswith(f' {unit}') else low} to {high}"

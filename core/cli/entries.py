"""Short typed words into values: an amount with its unit, an instant, now."""

from __future__ import annotations

import re
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from core.book.kinds import Measured
from core.days import Moment, check_year, parse_moment
from core.errors import EntryError
from core.units import System, parse_number, quantity, shown_unit


def amount_and_unit(text: str) -> tuple[str, str]:
    """The number and the unit of ``0.35in`` or ``12,5 mm`` as they stand; the unit may be "".

    Raises:
        EntryError: there is no number in it.
    """
    found = re.fullmatch(r"\s*([+-]?[\d.,'\s\u00a0\u202f]*\d[.,]?)\s*([^\d\s.,].*?)?\s*", text)
    if not found:
        raise EntryError(f"“{text}” is not an amount. Expected a number, with or without its unit: 0.35 or 0.35in.")
    return found[1], found[2] or ""


def measured(text: str, quantity_name: str, system: System) -> Measured:
    """An amount such as ``0.35in``; without a unit the one the reader's system shows.

    Raises:
        EntryError: not a number, or not a unit of this quantity.
    """
    number, unit = amount_and_unit(text)
    units = quantity(quantity_name).units
    code = shown_unit(quantity_name, system).code if not unit else unit_named(unit, quantity_name)
    if code not in units:
        raise EntryError(f"“{text}”: “{unit}” is not a unit here. Expected {', '.join(units)}.")
    return Measured(format(parse_number(number), "f"), code, quantity_name)


def unit_named(word: str, quantity_name: str) -> str:
    """The code of a unit written as code or symbol, in capitals or not; the word itself when it is none."""
    plain = word.strip().lower()
    return next((u.code for u in quantity(quantity_name).units.values() if plain in (u.code, u.symbol.lower())), word)


def instant(text: str | None, zone: ZoneInfo, now: datetime | None = None) -> Moment:
    """The instant a person gave, or now to the minute when none was given."""
    if text is not None and text.strip().lower() != "now":
        return parse_moment(text, zone)
    at = (now or datetime.now(UTC)).replace(second=0, microsecond=0)
    offset = at.astimezone(zone).utcoffset()
    return Moment(at.astimezone(UTC), int(offset.total_seconds() // 60) if offset else 0)


def end_of(text: str, zone: ZoneInfo) -> datetime:
    """The instant up to which something is looked at; a day stands for all of it."""
    try:
        moment = parse_moment(text, zone)
    except (ValueError, OverflowError) as error:
        raise EntryError(f"“{text}” is not a date or time that exists.") from error
    check_year(moment.utc, text)
    if moment.exact != "day":
        return moment.utc
    following = moment.local.date() + timedelta(days=1)
    return datetime.combine(following, time(0), zone).astimezone(UTC) - timedelta(seconds=1)

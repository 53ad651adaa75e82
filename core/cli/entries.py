"""Short typed words into values: an amount with its unit, an instant, now."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from core.book.kinds import Measured
from core.days import Moment, check_year, parse_moment
from core.errors import EntryError
from core.units import System, shown_unit


def measured(text: str, quantity_name: str, system: System) -> Measured:
    """An amount such as ``0.35in``; without a unit the one the reader's system shows.

    Raises:
        EntryError: not a number, or not a unit of this quantity.
    """
    return Measured.read(text, quantity_name, shown_unit(quantity_name, system).code)


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

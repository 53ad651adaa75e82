"""Instants and local days. Instants are kept in UTC with the offset they were written in and how exact they are.

A day is the home's local day: 23 and 25 hours twice a year where clocks change.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from core.errors import EntryError

Exact = Literal["minute", "hour", "day"]

_MOMENT = re.compile(
    r"(?P<day>\d{4}-\d{2}-\d{2})"
    r"(?:[T ](?P<hour>\d{1,2})(?::(?P<minute>\d{2})(?::(?P<second>\d{2}))?)?)?"
    r"\s*(?P<offset>Z|[+-]\d{2}:?\d{2})?$"
)

_TWELVE = re.compile(r"\b(\d{1,2})(?::(\d{2}))?\s*([ap])\.?m\b\.?", re.IGNORECASE)

YEARS = (1700, 2200)  # what every table library at hand can hold, and no slip of the pen such as 0226


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant as a person wrote it.

    Attributes:
        utc: aware datetime in UTC.
        offset_minutes: the offset from UTC it was written in.
        exact: how exact it is: to the minute, the hour, or only the day (then ``utc`` is local noon).
    """

    utc: datetime
    offset_minutes: int
    exact: Exact = "minute"

    @property
    def local(self) -> datetime:
        """The wall clock the writer saw, with its offset."""
        return self.utc.astimezone(timezone(timedelta(minutes=self.offset_minutes)))

    def __str__(self) -> str:
        """Text that :func:`parse_moment` reads back to the same moment, offset included."""
        wall = self.local
        if self.exact == "day":
            return f"{wall:%Y-%m-%d}"
        offset = f"{wall:%z}"
        stamp = f"{wall:%Y-%m-%d %H}" if self.exact == "hour" else f"{wall:%Y-%m-%d %H:%M}"
        if wall.second and self.exact == "minute":
            stamp = f"{wall:%Y-%m-%d %H:%M:%S}"
        return f"{stamp}{offset[:3]}:{offset[3:]}"


def time_zone(name: str) -> ZoneInfo:
    """The IANA time zone called ``name``.

    Raises:
        EntryError: no such zone.
    """
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise EntryError(f"“{name}” is not a time zone. Expected a name such as America/Denver.") from error


def in_24_hours(text: str) -> str:
    """The text with each time of twelve hours in it written in 24: ``5am`` is ``05:00``, ``5:30 pm`` is ``17:30``.

    12 am is midnight and 12 pm noon (NIST's usage, which warns of both; from memory).
    """

    def rewrite(found: re.Match[str]) -> str:
        hour = int(found[1])
        if not 1 <= hour <= 12:
            return found[0]
        return f"{hour % 12 + (12 if found[3].lower() == 'p' else 0):02}:{found[2] or '00'}"

    return _TWELVE.sub(rewrite, text)


def parse_moment(text: str, zone: ZoneInfo, *, second_pass: bool | None = None) -> Moment:
    """An instant such as ``2026-07-14 07:30``, ``2026-07-14T07:30-06:00``, ``2026-07-14 07`` or ``2026-07-14``.

    A time of twelve hours is taken too: ``2026-07-14 7:30 am``.

    Without an offset the home's zone holds. In the doubled autumn hour ``second_pass`` picks the first
    (False) or second (True) time round; None refuses the doubt. A wall time skipped in spring is refused.

    Raises:
        EntryError: not an instant, or a wall time that happened twice or never.
    """
    found = _MOMENT.match(text.strip()) or _MOMENT.match(in_24_hours(text.strip()))
    if not found:
        raise EntryError(f"“{text}” is not a date or time. Expected 2026-07-14 or 2026-07-14 07:30.")
    try:
        return _moment(found, zone, second_pass, text)
    except (ValueError, OverflowError) as error:
        raise EntryError(f"“{text}” is not a date or time that exists.") from error


def _moment(found: re.Match[str], zone: ZoneInfo, second_pass: bool | None, text: str) -> Moment:
    day = date.fromisoformat(found["day"])
    if found["hour"] is None:
        if found["offset"]:
            raise EntryError(f"“{text}” has an offset but no hour.")
        noon = datetime.combine(day, time(12), zone)
        return Moment(noon.astimezone(UTC), _minutes(noon), "day")
    wall_time = time(int(found["hour"]), int(found["minute"] or 0), int(found["second"] or 0))
    exact: Exact = "minute" if found["minute"] is not None else "hour"
    if found["offset"]:
        offset = _offset(found["offset"])
        aware = datetime.combine(day, wall_time, timezone(timedelta(minutes=offset)))
        return Moment(aware.astimezone(UTC), offset, exact)
    first = datetime.combine(day, wall_time, zone)
    again = first.replace(fold=1)
    if first.utcoffset() != again.utcoffset():
        exists = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) == first.replace(tzinfo=None)
        if not exists:
            raise EntryError(f"“{text}” never happened: clocks jumped over it. Expected a time that existed.")
        if second_pass is None:
            raise EntryError(f"“{text}” happened twice that night. Add the offset, such as {first:%z} or {again:%z}.")
        first = again if second_pass else first
    return Moment(first.astimezone(UTC), _minutes(first), exact)


def parse_day(text: str) -> date:
    """A calendar day, ``2026-07-14``.

    Raises:
        EntryError: not a day that exists.
    """
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise EntryError(f"“{text}” is not a day. Expected year-month-day such as 2026-07-14.") from error


def day_start(day: date, zone: ZoneInfo) -> datetime:
    """The first instant of a local day, in UTC."""
    return datetime.combine(day, time(0), zone).astimezone(UTC)


def same_day(moment: datetime, ahead: datetime, zone: ZoneInfo) -> datetime:
    """``ahead``, or the last second of the local day of ``moment`` where that comes first: what is rounded up late in
    the evening is still of today, whose care and whose month it is.
    """
    midnight = day_start(moment.astimezone(zone).date() + timedelta(days=1), zone)
    return min(ahead, midnight - timedelta(seconds=1))


def month_days(month: str) -> tuple[date, date]:
    """First day of a month ``2026-07`` and first day of the next.

    Raises:
        EntryError: not a month.
    """
    try:
        first = date.fromisoformat(f"{month.strip()}-01")
    except ValueError as error:
        raise EntryError(f"“{month}” is not a month. Expected year-month such as 2026-07.") from error
    check_year(first, month)
    return first, (first + timedelta(days=32)).replace(day=1)


def check_year(value: date, written: object) -> None:
    """Refuse what lies outside the years a book holds.

    Raises:
        EntryError: it does; the sentence quotes it as ``written``.
    """
    if not YEARS[0] <= value.year < YEARS[1]:
        raise EntryError(f"“{written}” is not in a year of this book. Expected {YEARS[0]} to {YEARS[1] - 1}.")


def _minutes(moment: datetime) -> int:
    offset = moment.utcoffset()
    return int(offset.total_seconds() // 60) if offset is not None else 0


def _offset(text: str) -> int:
    if text == "Z":
        return 0
    sign = -1 if text[0] == "-" else 1
    digits = text[1:].replace(":", "")
    return sign * (int(digits[:2]) * 60 + int(digits[2:]))

"""The home's wall clock in CSV cells: instants read and written the way a person says them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Final
from zoneinfo import ZoneInfo

from core.days import YEARS, Exact, Moment, parse_moment
from core.errors import EntryError

_DAY_ELSEWHERE = re.compile(r"(\d{4}-\d{2}-\d{2})(Z|[+-]\d{2}:\d{2})$")  # the lexical form of xsd:date
A_YEAR: Final = f"in a year from {YEARS[0]} to {YEARS[1] - 1}"
A_MOMENT: Final = "a date such as 2026-07-14, or with a time 2026-07-14 07:30"


@dataclass(frozen=True, slots=True)
class Refused:
    """A cell that cannot be taken; ``expected`` says what can."""

    expected: str


@dataclass(frozen=True, slots=True)
class Doubled:
    """A wall time that happened twice; the order of the file may tell which one is meant."""

    text: str
    first: Moment
    second: Moment


class WallClock:
    """Reads and writes instants on the clock of one time zone.

    Nearly all days have one offset from UTC from end to end; those are kept, so that a hundred thousand
    readings cost a few additions each instead of as many look-ups in the zone's table.
    """

    def __init__(self, zone: ZoneInfo) -> None:
        self.zone = zone
        self._days: dict[str, tuple[datetime, int]] = {}  # date: its first instant, its one offset
        self._dates: dict[str, datetime] = {}  # date: its midnight at Greenwich
        self._tails: dict[str, tuple[timedelta, Exact, int | None]] = {}  # time of day: how far from there, its offset
        self._offsets: dict[date, int | None] = {}

    def read(self, text: str) -> Moment | Doubled | Refused:
        """The instant ``text`` stands for; a wall time of the doubled autumn hour is left open."""
        text = text.strip()
        tail = self._tails.get(text[10:])
        if tail is not None:
            since, exact, offset = tail
            if offset is None:
                day = self._days.get(text[:10])
                if day is not None:
                    return Moment(day[0] + since, day[1], exact)
            elif text[:10] in self._dates:
                return Moment(self._dates[text[:10]] + since, offset, exact)
        return self._read_slowly(text)

    def write(self, moment: Moment) -> str:
        """Text that :meth:`read` takes back to the same moment: no offset where the home's clock says it all."""
        utc = moment.utc
        if moment.offset_minutes == self._steady_offset(utc.date()):
            wall = utc + timedelta(minutes=moment.offset_minutes)
            if moment.exact == "minute":
                return wall.replace(tzinfo=None).isoformat(" ", "seconds" if wall.second else "minutes")
            if moment.exact == "hour" and not wall.minute:
                return f"{wall:%Y-%m-%d %H}"
        if moment.exact == "day":
            text = f"{moment.local:%Y-%m-%d}"
            offset = f"{moment.local:%z}"
            return text if self.read(text) == moment else f"{text}{offset[:3]}:{offset[3:]}"
        full = str(moment)
        plain = full[: -len("+00:00")]
        return plain if self.read(plain) == moment else full

    def _read_slowly(self, text: str) -> Moment | Doubled | Refused:
        elsewhere = _DAY_ELSEWHERE.match(text)
        try:
            if elsewhere:
                noon = datetime.fromisoformat(f"{elsewhere[1]}T12:00{elsewhere[2]}")
                return Moment(noon.astimezone(UTC), _minutes(noon), "day")
            moment = parse_moment(text, self.zone)
        except EntryError as error:
            return self._refused_or_doubled(text, str(error))
        except (ValueError, OverflowError):
            return Refused(f"{A_MOMENT}, that exists")
        if not YEARS[0] <= moment.utc.year < YEARS[1]:
            return Refused(f"{A_MOMENT}, {A_YEAR}")
        self._remember(text, moment)
        return moment

    def _refused_or_doubled(self, text: str, sentence: str) -> Doubled | Refused:
        if "happened twice" in sentence:
            passes = (parse_moment(text, self.zone, second_pass=second) for second in (False, True))
            return Doubled(text, *passes)
        if "never happened" in sentence:
            return Refused("a time that existed; clocks jumped over this one that night")
        return Refused(A_MOMENT + (", that exists" if "exists" in sentence else ""))

    def _remember(self, text: str, moment: Moment) -> None:
        day, tail = date.fromisoformat(text[:10]), text[10:]
        if "+" in tail or "-" in tail or "Z" in tail:
            greenwich = datetime.combine(day, time(0), UTC)
            self._dates[text[:10]] = greenwich
            self._tails[tail] = (moment.utc - greenwich, moment.exact, moment.offset_minutes)
            return
        midnight, noon, end = (
            datetime.combine(d, t, self.zone).utcoffset()
            for d, t in ((day, time(0)), (day, time(12)), (day + timedelta(days=1), time(0)))
        )
        if midnight is None or not midnight == noon == end or midnight.seconds % 60:
            return
        offset = int(midnight.total_seconds() // 60)
        start = datetime.combine(day, time(0), timezone(midnight)).astimezone(UTC)
        self._days[text[:10]] = (start, offset)
        self._tails[tail] = (moment.utc - start, moment.exact, None)

    def _steady_offset(self, day: date) -> int | None:
        """The zone's offset in minutes if it holds all through a UTC day and the ones beside it, else None."""
        if day not in self._offsets:
            around = [
                datetime.combine(day + timedelta(days=n), time(0), UTC).astimezone(self.zone).utcoffset()
                for n in (-1, 0, 1, 2)
            ]
            offset = around[0]
            steady = offset is not None and len(set(around)) == 1 and offset.seconds % 60 == 0
            self._offsets[day] = int(offset.total_seconds() // 60) if steady and offset is not None else None
        return self._offsets[day]


def _minutes(moment: datetime) -> int:
    offset = moment.utcoffset()
    return int(offset.total_seconds() // 60) if offset is not None else 0

"""Controllers' clocks: from the time a controller shows to the instant it happened.

A clock check tells how far the clock was from the local time. What it tells holds back to the check before it,
which is when the clock was last put right or last known; back to the beginning for the first one. After the
last check the clock is right if it was put right, else as far off as it was. One that is found off by the hour of a
change of clocks, within weeks of it, was not set at the change: that hour holds back to the change only.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.instants import HOUR_MS, MINUTE_MS, Days, Ints, from_ms, to_ms, wall_to_ms

NOT_SET_DAYS, ABOUT_MINUTES = 60, 20  # how soon it is noticed, and how far off clocks run; common practice, no source


@dataclass(frozen=True, slots=True)
class Clock:
    """A controller's clock.

    Attributes:
        follows_dst: it changes with daylight saving time; otherwise it keeps one offset from UTC.
        checked_at: instants of its checks, in order, milliseconds.
        minutes: one more than checks: for each stretch between checks, minutes fast against local time when it
            follows daylight saving time, else its offset from UTC. Empty while it was never checked.
    """

    zone: ZoneInfo
    follows_dst: bool = True
    checked_at: tuple[int, ...] = ()
    minutes: tuple[int, ...] = ()

    def instants(self, shown: Days) -> Ints:
        """The instants (milliseconds) at which the clock showed wall times ``shown`` (datetime64).

        A clock that was never checked and does not follow daylight saving time keeps the zone's winter offset.
        """
        if self.follows_dst:
            nominal = wall_to_ms(shown, self.zone)
            if not self.minutes:
                return nominal
            return nominal - self._stretch(nominal) * MINUTE_MS
        as_utc = shown.astype("datetime64[ms]").astype(np.int64)
        nominal = as_utc - winter_offset(shown, self.zone) * MINUTE_MS
        return as_utc - self._stretch(nominal) * MINUTE_MS if self.minutes else nominal

    def _stretch(self, nominal: Ints) -> Ints:
        return np.asarray(self.minutes, dtype=np.int64)[np.searchsorted(self.checked_at, nominal)]


def winter_offset(shown: Days, zone: ZoneInfo) -> Ints:
    """Minutes east of UTC without daylight saving, per time: the lesser of January's and July's that year."""
    year = shown.astype("datetime64[Y]").astype(np.int64) + 1970
    by_year = {int(y): min(_offset(datetime(int(y), m, 1, tzinfo=UTC), zone) for m in (1, 7)) for y in np.unique(year)}
    return (
        np.array([by_year[int(y)] for y in year], dtype=np.int64)
        if len(by_year) != 1
        else np.full(len(year), next(iter(by_year.values())), dtype=np.int64)
    )


def clock_of(controller: str | None, controllers: pd.DataFrame, checks: pd.DataFrame, zone: ZoneInfo) -> Clock:
    """The clock of a controller; a zone without one is watered by the clock on the wall."""
    found = controllers[controllers["code"] == controller] if controller else controllers.iloc[:0]
    if found.empty:
        return Clock(zone)
    follows = bool(found["follows_dst"].iloc[0])
    mine = checks[checks["controller"] == controller].sort_values("at", kind="stable")
    if mine.empty:
        return Clock(zone, follows)
    at, fast = to_ms(mine["at"]), mine["offset_minutes"].to_numpy(dtype=np.int64)
    if follows:
        at, fast = _with_changes(at, fast, zone)
    right_after = 0 if bool(mine["put_right"].iloc[-1]) else int(fast[-1])
    minutes = np.append(fast, right_after)
    if not follows:
        local = [_offset(t.to_pydatetime(), zone) for t in from_ms(at)]
        minutes = minutes + np.array([*local, local[-1]], dtype=np.int64)
    return Clock(zone, follows, tuple(at.tolist()), tuple(minutes.tolist()))


def _with_changes(at: Ints, fast: Ints, zone: ZoneInfo) -> tuple[Ints, Ints]:
    """Checks, with one more at each change of clocks that was not set: how far off the clock was until then."""
    told: list[tuple[int, int]] = []
    for when, minutes in zip(at.tolist(), fast.tolist(), strict=True):
        change = _change_before(when, zone)
        since = told[-1][0] if told else when - NOT_SET_DAYS * 24 * HOUR_MS
        if change and change[0] > since and abs(minutes - change[1]) <= ABOUT_MINUTES:
            told.append((change[0], minutes - change[1]))
        told.append((when, minutes))
    return np.array([t for t, _ in told], dtype=np.int64), np.array([m for _, m in told], dtype=np.int64)


def _change_before(at: int, zone: ZoneInfo) -> tuple[int, int] | None:
    """The latest change of clocks in the weeks before an instant, and how many minutes fast one is that is not set."""
    hours = at - np.arange(NOT_SET_DAYS * 24 + 1) * HOUR_MS
    offsets = [_offset(datetime.fromtimestamp(t / 1000, UTC), zone) for t in hours.tolist()]
    back = next((k for k, minutes in enumerate(offsets) if minutes != offsets[0]), None)
    if back is None:
        return None
    return int(hours[back - 1] // HOUR_MS * HOUR_MS), offsets[back] - offsets[0]


def _offset(moment: datetime, zone: ZoneInfo) -> int:
    return int((moment.astimezone(zone).utcoffset() or timedelta()).total_seconds() // 60)

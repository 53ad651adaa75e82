"""Controllers' clocks: from the time a controller shows to the instant it happened.

A clock check tells how far the clock was from the local time. What it tells holds back to the check before it,
which is when the clock was last put right or last known; back to the beginning for the first one. After the
last check the clock is right if it was put right, else as far off as it was.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.instants import MINUTE_MS, Days, Ints, from_ms, to_ms, wall_to_ms


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
    at = to_ms(mine["at"])
    fast = mine["offset_minutes"].to_numpy(dtype=np.int64)
    right_after = 0 if bool(mine["put_right"].iloc[-1]) else int(fast[-1])
    minutes = np.append(fast, right_after)
    if not follows:
        local = [_offset(t.to_pydatetime(), zone) for t in from_ms(at)]
        minutes = minutes + np.array([*local, local[-1]], dtype=np.int64)
    return Clock(zone, follows, tuple(at.tolist()), tuple(minutes.tolist()))


def _offset(moment: datetime, zone: ZoneInfo) -> int:
    return int((moment.astimezone(zone).utcoffset() or timedelta()).total_seconds() // 60)

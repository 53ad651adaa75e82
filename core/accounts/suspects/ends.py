"""Where a stretch of slow readings begins and ends: a fault starts and stops when it likes, within a reading.

The quick search takes every reading of a stretch as touched in full and cuts loud readings back. Near what it found
the readings are weighed here as they are, the first and the last of them as touched in part.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.accounts.instants import Flags, Floats
from core.accounts.suspects.case import Case, Rows

PARTS = np.linspace(0.0, 1.0, 11)  # of its column that the first or the last reading may hold
WHOLE = 0.5  # how often it holds all of it: a run each day, or a fault found at a reading
SIDES: tuple[tuple[int, ...], ...] = ((), (0,), (-1,), (0, -1))  # readings of a stretch that may be touched in part
EITHER = float(np.log(2))  # that only one is, it could be either
ENDED = 2.0  # gain it takes to say of what seems to go on that it ended in the last readings
AMOUNTS = np.linspace(0.0, 1.0, 25)  # quantiles, of the amounts that readings and stretches near it ask for


@dataclass(frozen=True, slots=True)
class Least:
    """What a stretch must hold: so many readings that last so many hours together, or a time that is long enough in
    however few of them. Readings of one book may be a day and a quarter of a year apart.
    """

    readings: int = 1
    hours: float = 0.0
    alone_hours: float = np.inf

    def holds(self, readings: Rows, hours: Floats) -> Flags:
        """Whether stretches of so many readings and hours hold enough."""
        together = (readings >= self.readings) & (hours >= self.hours)
        result: Flags = together | ((readings >= 1) & (hours >= self.alone_hours))
        return result


@dataclass(frozen=True, slots=True)
class Ends:
    """The first reading and the end of a stretch, ``part`` of its column in each reading, and ``chosen``: the gain
    that choosing these parts adds by itself.
    """

    first: int
    end: int
    part: Floats
    chosen: float


def closest(case: Case, rows: Rows, column: Floats, sign: int, starts: Rows, ends: Rows, least: Least) -> Ends | None:
    """The likeliest of some stretches that lie near each other, or None where none has the sign.

    Args:
        rows, column: all readings with something of the column. starts, ends: the stretches, as places in these.
        least: what a stretch must touch in full, so that only of longer ones the ends may be in part.
    """
    low, high, last = int(starts.min()), int(ends.max()), ends == len(rows)
    rows, column, starts, ends = rows[low:high], column[low:high], starts - low, ends - low
    amounts = _amounts(case, rows, column, sign, starts, ends)
    if not len(amounts):
        return None
    gain = case.gain(rows, PARTS[:, None, None] * amounts[:, None] * column)
    whole, most = gain[-1], gain.max(axis=0)
    some = np.log(np.exp(gain - most).mean(axis=0)) + most
    edge = np.logaddexp(np.log(WHOLE) + whole, np.log(1 - WHOLE) + some)
    total = np.zeros((len(amounts), len(rows) + 1))
    np.cumsum(whole, axis=1, out=total[:, 1:])
    begins, stops = (edge - whole)[:, starts], (edge - whole)[:, ends - 1]
    choices = np.stack([np.zeros_like(begins), begins - EITHER, stops - EITHER, begins + stops])  # as in SIDES
    hours = case.ledger.hours[rows]
    upto = np.concatenate([[0.0], np.cumsum(hours)])
    for n, sides in enumerate(SIDES):  # without the readings that are touched in part
        lasts = upto[ends] - upto[starts] - (0 in sides) * hours[starts] - (-1 in sides) * hours[ends - 1]
        choices[n, :, ~least.holds(ends - starts - len(sides), lasts)] = -np.inf
    if last.any():
        choices[2:, :, last] -= ENDED
        choices[:, :, ~last] -= ENDED
    scored = choices + total[:, ends] - total[:, starts]
    choice, which, best = (int(n) for n in np.unravel_index(int(scored.argmax()), scored.shape))
    first, end = int(starts[best]), int(ends[best])
    part, chosen = np.ones(end - first), 0.0
    for side in SIDES[choice]:
        at = range(first, end)[side]
        part[side] = PARTS[int(gain[:, which, at].argmax())]
        chosen += float(most[which, at] - edge[which, at])
    kept = np.flatnonzero(part > 0)
    return Ends(low + first + int(kept[0]), low + first + int(kept[-1]) + 1, part[kept[0] : kept[-1] + 1], chosen)


def _amounts(case: Case, rows: Rows, column: Floats, sign: int, starts: Rows, ends: Rows) -> Floats:
    """Amounts worth trying: what single readings ask for, and what stretches do on the whole."""
    left, weight = case.left[rows], 1 / case.reference.sigma[rows] ** 2
    sums = np.concatenate(
        [np.zeros((1, 2)), np.cumsum(np.column_stack([left, column]) * (weight * column)[:, None], 0)]
    )
    part = sums[ends] - sums[starts]
    asked = np.concatenate([left / column, part[:, 0] / part[:, 1]])
    asked = asked[asked * sign > 0]
    return np.unique(np.quantile(asked, AMOUNTS)) if len(asked) else asked

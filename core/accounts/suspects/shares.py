"""Hourly readings with runs: the share of what a zone should bring that each stretch of its runs brought.

What the house uses in such an hour is known by its whole distribution, not only by its mean: where it often uses
nothing, the least that the meter shows is the run itself. So shares are told by how likely they make the readings, for
a stretch of runs and for all others at once, whatever the regression thought that the zone brings.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.accounts.instants import Flags, Floats, Ints
from core.accounts.noise import a_little_busier
from core.accounts.suspects.case import Case, Rows
from core.accounts.suspects.view import MOST_CLOSED, MOST_GOING, windows

SHARES = np.concatenate([np.arange(0, 0.45, 0.1), np.arange(0.5, 1.49, 0.02), 1.5 * 1.12 ** np.arange(15)])
FINER = np.linspace(-0.02, 0.02, 9)  # of a share found roughly
BETWEEN = np.linspace(0.0, 1.0, 11)  # of the way from one share to another
GOING = 0.9  # of the runs that a stretch which goes on may cover: what is normal is also known from emitters
MIRRORED = 0.05  # shares so near are the same
EARLY = 0.5  # times its length: a stretch with fewer runs before it is the first of all as good as
LEAST_LITRES = 0.5  # in an interval, to count as one with a run
APART_HOURS = 0.5  # between readings with one run and those with the next


@dataclass(frozen=True, slots=True)
class Of:
    """What shares are of.

    Attributes:
        litres: per interval. now: the share that the case takes for granted.
        usual, spread: share that all others should have brought, and its standard deviation.
    """

    litres: Floats
    now: float
    usual: float
    spread: float

    def gain(self, case: Case, rows: Rows, shares: Floats) -> Floats:
        """Gain of each share (rows) in each interval (columns)."""
        return case.gain(rows, (shares[:, None] - self.now) * self.litres[rows])

    def prior(self, shares: Floats) -> Floats:
        """Log density of a share to begin with."""
        result: Floats = -0.5 * ((shares - self.usual) / self.spread) ** 2
        return result


@dataclass(frozen=True, slots=True)
class Shift:
    """A stretch of runs that brought another share than all others.

    Attributes:
        rows: intervals. amount: share more (negative: less) than ``others``, the share that all others brought.
        likelier: log-likelihood gained over the share that the case takes for granted, in these intervals at least;
            gain: over any one share of all runs, and what is left of it when shares may wander by themselves.
        going: whether there is no later run. part: of each reading that it touches: all of it.
    """

    rows: Rows
    amount: float
    others: float
    gain: float
    likelier: float
    going: bool
    part: float = 1.0


def shifts(case: Case, of: Of, wander: float, count: int, least: float) -> list[Shift]:
    """Up to ``count`` disjoint stretches of most gain, of ``least`` or more.

    Args:
        wander: how far shares stray from stretch to stretch when nothing is wrong.
    """
    rows = case.fine[of.litres[case.fine] > LEAST_LITRES]
    bounds = _runs(case, rows)
    size = len(bounds) - 1
    starts, ends = windows(size, 1, None)
    part = news(starts, ends, size)
    starts, ends = starts[part], ends[part]
    if not len(starts):
        return []
    total = np.zeros((size + 1, len(SHARES)))
    np.cumsum(np.add.reduceat(of.gain(case, rows, SHARES).T, bounds[:-1]), axis=0, out=total[1:])
    inside = total[ends] - total[starts]
    outside = total[-1] + of.prior(SHARES) - inside
    plain = _best(case, of, rows, SHARES[int((total[-1] + of.prior(SHARES)).argmax())])[1]
    gain = inside.max(axis=1) + outside.max(axis=1) - plain
    found: list[Shift] = []
    for _ in range(2 * count):
        if len(found) == count or gain.max() < least:
            break
        best = int(gain.argmax())
        mine, others = int(inside[best].argmax()), int(outside[best].argmax())
        first, end = _ends(total[:, mine] - total[:, others], int(starts[best]), int(ends[best]))
        inner = slice(bounds[first], bounds[end])
        if end - first > 1:  # the first and the last of them may belong to it in part
            by_hour = np.diff(of.gain(case, rows, SHARES[[others, mine]]), axis=0)[0]
            inner = slice(*_ends(np.concatenate([[0.0], np.cumsum(by_hour)]), inner.start, inner.stop))
        outer = np.delete(rows, inner)
        share, rest = _best(case, of, outer, SHARES[others])
        shift = _shift(case, of, rows[inner], SHARES[mine], share, rest - plain, wander, end == size)
        if not any(_mirrored(shift, each) for each in found):
            found.append(shift)
        gain = np.where((ends <= first) | (starts >= end), gain, -1.0)
    return found


def news(starts: Ints, ends: Ints, size: int) -> Flags:
    """Which stretches of so many runs may be what changed: what held for most of the time is what is normal, and what
    came after it is what changed.
    """
    length, early = ends - starts, starts < EARLY * (ends - starts)
    result: Flags = length <= np.where(ends == size, GOING, np.where(early, 1 - MOST_GOING, MOST_CLOSED)) * size
    return result


def _mirrored(one: Shift, other: Shift) -> bool:
    """Whether it says of all other runs that they are the odd ones: the same two shares, the other one as usual."""
    shares = np.array([one.others - other.others - other.amount, one.others + one.amount - other.others])
    return bool(np.abs(shares).max() < MIRRORED * max(one.others, other.others, 1.0))


def _best(case: Case, of: Of, rows: Rows, share: float) -> tuple[float, float]:
    """The likeliest share of all of ``rows`` near one that was found roughly, and what it gains."""
    near = share + FINER
    gain = of.gain(case, rows, near).sum(axis=1) + of.prior(near)
    return float(near[gain.argmax()]), float(gain.max())


def _runs(case: Case, rows: Rows) -> Ints:
    """Where the readings of one run end and those of the next begin, both ends included."""
    if not len(rows):
        return np.zeros(1, dtype=np.int64)
    apart = case.ledger.start[rows[1:]] - case.ledger.end[rows[:-1]] > APART_HOURS
    return np.concatenate([[0], np.flatnonzero(apart) + 1, [len(rows)]])


def _ends(total: Floats, first: int, end: int) -> tuple[int, int]:
    """First run and end of the stretch of most gain near one found among few lengths; ``total``: gain so far."""
    reach, middle, size = 2 + (end - first) // 4, (first + end) // 2, len(total) - 1
    low = max(first - reach, 0)
    begin = low + int(total[low : middle + 1].argmin())
    if end == size:
        return begin, end
    low = max(middle, begin) + 1
    return begin, low + int(total[low : end + reach + 1].argmax())


def _shift(
    case: Case, of: Of, rows: Rows, mine: float, others: float, rest: float, wander: float, going: bool
) -> Shift:
    """The shift with its share found closely; ``rest``: gained by ``others`` in all other readings."""
    near = np.maximum(mine + FINER * max(mine, 1.0), 0.0)
    mine = float(near[of.gain(case, rows, near).sum(axis=1).argmax()])
    way = (mine - others) * BETWEEN
    left = case.left[rows] - (others + way[:, None] - of.now) * of.litres[rows]
    along = a_little_busier(case.noise.log_density(rows, left), case.noise.relabelled(rows, 1).log_density(rows, left))
    usual = along[0] - case.plain[rows].sum()
    along = along - along[0]
    strays = float((along - 0.5 * (way / wander) ** 2).max())
    here = float(along[-1] + usual)
    gain = min(rest + here, float(along[-1]) - strays)
    return Shift(rows, mine - others, others, gain, max(rest, 0.0) + here, going)

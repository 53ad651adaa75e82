"""What a column from t0 to t1 adds to the regression of a meter's readings, for very many t0 and t1.

Each candidate is one more column beside level, season, weekdays, appliances and delivery factors. What those
could explain themselves is projected out, so a leak cannot hide in the level nor a clogged zone in its factor,
and their priors keep them from bending to fit. Stretches are searched with least squares (gain z squared over
2) and the best of them fitted afresh, resistant to odd readings, and weighed by the household's own noise.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from core.accounts.delivery import Ridge, ridge
from core.accounts.instants import Floats
from core.accounts.suspects.case import Case, Rows
from core.accounts.suspects.ends import Least, closest

ANY = Least()
CLIP = 3.5  # no single reading speaks louder than this, in standard deviations
GOES_ON = 0.5  # part of the last reading from which on a stretch has not ended in it
SLACK = 0.75  # of the gain wanted that the quick search must promise
MOST_GOING, MOST_CLOSED = 0.75, 0.5  # of the readings that a stretch may cover
APART_HOURS = 72.0  # of hourly readings between two slow ones, which say for themselves what ran then
LENGTHS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 22, 27, 33, 40, 50, 62, 77, 95, 120, 150, 190, 240, 300)


@dataclass(frozen=True)
class Stretch:
    """One stretch: the intervals it touches, the part of the column that each holds, the amount per unit of it, the
    gain; whether it goes on.

    ``likelier`` is the log-likelihood gained, ``gain`` what is left of it when the amount may wander by itself.
    ``fitted``: the nuisance estimates beside it, delivery factors last.
    """

    rows: Rows
    part: Floats
    amount: float
    gain: float
    likelier: float
    going: bool
    fitted: Floats


@dataclass(frozen=True)
class View:
    """The slow readings of a case, ready to be asked about columns.

    Attributes:
        rows: intervals. x, prior, prior_sd, lowest: the regression behind what is normal.
        indoor: expected indoor litres; drift: wander of their level, share.
        weight, inverse, left: of the least squares with readings cut back; raw: what is to be explained.
        plain: log-likelihood without any column, priors included.
        block: of rows that no long time of hourly readings lies between, for each.
    """

    case: Case
    rows: Rows
    x: Floats
    prior: Floats
    prior_sd: Floats
    lowest: Floats
    indoor: Floats
    drift: float
    weight: Floats
    inverse: Floats
    left: Floats
    raw: Floats
    plain: float
    block: Rows

    @classmethod
    def of(cls, case: Case) -> View:
        """The view of a case."""
        d, rows, reference = case.reference.design, case.slow, case.reference
        x, sigma = d.x[rows], reference.sigma[rows]
        raw = x @ reference.estimate + case.left[rows]
        weight = 1 / sigma**2
        normal = x.T @ (x * weight[:, None]) + np.diag(1 / d.prior_sd**2)
        inverse = np.asarray(np.linalg.inv(normal), dtype=np.float64)
        fit = ridge(x, raw, sigma, d.prior, d.prior_sd, d.lowest)
        plain = float(case.noise.log_density(rows, fit.residual).sum()) - _bent(fit, d.prior, d.prior_sd)
        # readings cut back to what may be said aloud, then fitted afresh by least squares with the priors
        tame = x @ fit.value + np.clip(fit.residual / sigma, -CLIP, CLIP) * sigma
        left = tame - x @ (inverse @ (x.T @ (weight * tame) + d.prior / d.prior_sd**2))
        indoor, drift = reference.indoor[rows], reference.wander
        hourly = np.zeros(len(case.left))
        hourly[case.fine] = case.ledger.hours[case.fine]
        told = np.cumsum(hourly)
        block = np.cumsum(np.diff(told[rows], prepend=told[rows[:1]]) > APART_HOURS, dtype=np.intp)
        return cls(
            case, rows, x, d.prior, d.prior_sd, d.lowest, indoor, drift, weight, inverse, left, raw, plain, block
        )

    def stretches(
        self,
        column: Floats,
        sign: int,
        wander: float,
        count: int,
        gain_from: float,
        least: Least = ANY,
        most_hours: float = np.inf,
        going: bool | None = None,
        whole: bool = False,
    ) -> list[Stretch]:
        """Best disjoint stretches for a column (per row of the view).

        Stretches that reach the last reading are tried from every start, closed ones in steps of length. None goes on
        over a time that hourly readings tell of.

        Args:
            sign: of the amount.
            wander: standard deviation by which the amount itself strays from stretch to stretch when nothing is
                wrong, beside what the wandering level of indoor use makes of it.
            gain_from: stretches that promise less are not looked at closely.
            least: what one must hold. most_hours: how long one may last.
            going: only stretches that reach the last reading (True) or end before (False).
            whole: whether one may cover all of the column, as where nothing of it is expected.
        """
        used = np.flatnonzero(column)
        size = len(used)
        if not size:
            return []
        c, x = column[used], self.x[used]
        wc = self.weight[used] * c
        parts = np.column_stack([wc * self.left[used], wc * c, wc * self.indoor[used], wc[:, None] * x])
        sums = np.concatenate([np.zeros((1, parts.shape[1])), np.cumsum(parts, axis=0)])
        upto = np.concatenate([[0.0], np.cumsum(self.case.ledger.hours[self.rows[used]])])
        starts, ends = windows(size, 1, going)
        block = self.block[used]
        within = (block[starts] == block[ends - 1]) & least.holds(ends - starts, upto[ends] - upto[starts])
        within &= upto[ends] - upto[starts] <= most_hours + 0.5
        starts, ends = starts[within], ends[within]
        if not whole:
            # what held for most of the time is what is normal, and what came after it is what changed
            part = ends - starts <= np.where(ends == size, MOST_GOING, MOST_CLOSED) * size
            starts, ends = starts[part], ends[part]
        found: list[Stretch] = []
        if not len(starts):
            return []
        # readings cut back understate large amounts, which wandering would then seem to explain: look without it too
        surer, gain = self._score(sums, starts, ends, sign, wander)
        taken = np.zeros(size + 1, dtype=np.int64)  # readings of stretches found, counted up to each
        for _ in range(count):
            wandering = surer.max() >= SLACK * gain_from
            # what wandering leaves of a gain says whether, but saturates; where it begins and ends the gain itself says
            best = int((np.where(surer >= SLACK * gain_from, gain, -1.0) if wandering else gain).argmax())
            if gain[best] < SLACK * gain_from:
                break
            a, b = _near(int(starts[best]), int(ends[best]), size, going)
            free = (taken[b] == taken[a]) & (block[a] == block[b - 1]) & least.holds(b - a, upto[b] - upto[a])
            near = closest(self.case, self.rows[used], c, sign, a[free], b[free], least) if free.any() else None
            first, end = (near.first, near.end) if near else (int(starts[best]), int(ends[best]))
            low, high = min(first, int(starts[best])), max(end, int(ends[best]))
            apart = (ends <= low) | (starts >= high)
            surer, gain = np.where(apart, surer, -1.0), np.where(apart, gain, -1.0)
            if near is None:
                continue
            taken[first + 1 :] += np.minimum(np.arange(1, size - first + 1), end - first)
            part = sums[end] - sums[first]
            strays = float(np.hypot(wander, self.drift * part[2] / (part[1] + 1e-12)))
            touched = used[first:end]
            amount, likelier, sd, fitted = self._refit(column[touched] * near.part, touched)
            if amount * sign > 0:
                likelier -= near.chosen
                gained = min(likelier, 0.5 * amount**2 / (sd**2 + strays**2))
                goes_on = end == size and near.part[-1] >= GOES_ON
                found.append(Stretch(self.rows[touched], near.part, amount, gained, likelier, goes_on, fitted))
        return found

    def freed(self, row: int) -> float:
        """What the likelihood of all others gains when the regression need not fit an interval."""
        at = np.searchsorted(self.rows, [row])
        likelier = self._refit(np.ones(1), at)[1]
        fitted = self.case.noise.log_density(self.rows[at], np.zeros(1)) - self.case.plain[self.rows[at]]
        return max(likelier - float(fitted[0]), 0.0)

    def spread_of(self, column: Floats, among: slice) -> float:
        """Standard deviation of the amount of a column over the readings ``among``, wandering of the level included."""
        c, x, weight = column[among], self.x[among], self.weight[among]
        whole = float((weight * c * c).sum())
        own = (weight * c) @ x
        free = max(whole - float(own @ self.inverse @ own), 1e-3 * whole)
        strays = self.drift * float((weight * c * self.indoor[among]).sum()) / whole
        return float(np.hypot(1 / np.sqrt(free), strays))

    def _refit(self, column: Floats, touched: Rows) -> tuple[float, float, float, Floats]:
        """The amount by Huber's reweighting of the whole regression, the log-likelihood gained, the amount's standard
        deviation, and the other estimates.
        """
        own = np.zeros(len(self.rows))
        own[touched] = column
        scale = float(np.abs(own).max())
        fit = ridge(
            np.column_stack([self.x, own / scale]),
            self.raw,
            1 / np.sqrt(self.weight),
            np.append(self.prior, 0.0),
            np.append(self.prior_sd, 1e6),
            np.append(self.lowest, -np.inf),
        )
        amount = float(fit.value[-1]) / scale
        variance = float(fit.covariance[-1, -1]) / scale**2
        likelier = float(self.case.noise.log_density(self.rows, fit.residual).sum()) - self.plain
        return amount, likelier - _bent(fit, self.prior, self.prior_sd), float(np.sqrt(variance)), fit.value[:-1]

    def _score(self, sums: Floats, starts: Rows, ends: Rows, sign: int, wander: float) -> tuple[Floats, Floats]:
        """Gain of each stretch when its amount may wander by itself, and when it may not; -1 for the wrong sign."""
        surer, gain = np.full(len(starts), -1.0), np.full(len(starts), -1.0)
        # what is left of a column beside the others is never less than nothing: the sign is known before
        right = np.flatnonzero((sums[ends, 0] - sums[starts, 0]) * sign > 0)
        part = sums[ends[right]] - sums[starts[right]]
        own = part[:, 3:]
        free = part[:, 1] - ((own @ self.inverse) * own).sum(axis=1)
        free = np.maximum(free, 1e-3 * part[:, 1] + 1e-12)
        amount2 = (part[:, 0] / free) ** 2
        strays = wander**2 + (self.drift * part[:, 2] / (part[:, 1] + 1e-12)) ** 2
        surer[right], gain[right] = 0.5 * amount2 / (1 / free + strays), 0.5 * amount2 * free
        return surer, gain


def _bent(fit: Ridge, prior: Floats, prior_sd: Floats) -> float:
    """Log-prior lost by estimates that stray from their priors."""
    return 0.5 * float((((fit.value[: len(prior)] - prior) / prior_sd) ** 2).sum())


@lru_cache(maxsize=64)
def windows(size: int, least: int, going: bool | None) -> tuple[Rows, Rows]:
    """Starts and ends (past the last) of the stretches to try."""
    starts, ends = [], []
    if going is not False:
        starts.append(np.arange(0, max(size - least + 1, 0)))
        ends.append(np.full(len(starts[0]), size))
    for length in LENGTHS if going is not True else ():
        if least <= length < size:
            first = np.arange(0, size - length)
            starts.append(first)
            ends.append(first + length)
    none = np.empty(0, np.intp)
    return (np.concatenate(starts), np.concatenate(ends)) if starts else (none, none)


def _near(first: int, end: int, size: int, going: bool | None) -> tuple[Rows, Rows]:
    """Stretches with ends shifted a little."""
    firsts = np.arange(max(first - 4, 0), min(first + 5, size))
    latest = size - 1 if going is False else size
    ends = np.arange(size if going else max(end - 4, 1), min(end + 4, latest) + 1)
    a, b = (grid.ravel() for grid in np.meshgrid(firsts, ends, indexing="ij"))
    keep = b > a
    return a[keep], b[keep]

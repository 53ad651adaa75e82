"""Slow readings, a day and longer: what a column from t0 to t1 adds to the regression, for very many t0 and t1.

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
from core.accounts.reference import Design
from core.accounts.suspects.case import Case, Rows

CLIP = 3.5  # no single reading speaks louder than this, in standard deviations
SLACK = 0.75  # of the gain wanted that the quick search must promise
LENGTHS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 22, 27, 33, 40, 50, 62, 77, 95, 120, 150, 190, 240, 300)


@dataclass(frozen=True)
class Stretch:
    """One stretch of slow readings: indices into ``rows`` (last included), amount per unit of the column, gain."""

    first: int
    last: int
    amount: float
    gain: float


@dataclass(frozen=True)
class SlowView:
    """The slow readings of a case, ready to be asked about columns."""

    rows: Rows
    x: Floats
    weight: Floats
    inverse: Floats  # covariance of the nuisance estimates
    left: Floats  # residual with what the nuisance columns can explain projected out
    raw: Floats  # what the columns have to explain, nothing cut back
    plain: float  # log-likelihood of the slow readings without any column, priors included
    design: Design
    case: Case
    indoor: Floats
    drift: float

    @classmethod
    def of(cls, case: Case) -> SlowView:
        """View of a case."""
        design = case.reference.design
        rows = case.rows[~case.ledger.fine[case.rows]]
        x = design.x[rows]
        sigma = case.reference.sigma[rows]
        weight = 1 / sigma**2
        normal = x.T @ (x * weight[:, None]) + np.diag(1 / design.prior_sd**2)
        inverse = np.asarray(np.linalg.inv(normal), dtype=np.float64)
        raw = x @ case.reference.estimate + case.left[rows]
        fit = ridge(x, raw, sigma, design.prior, design.prior_sd, design.lowest)
        plain = float(case.noise.log_density(rows, fit.residual).sum()) - _bent(fit, design)
        # readings cut back to what may be said aloud, then fitted afresh by least squares with the priors
        tame = x @ fit.value + np.clip(fit.residual / sigma, -CLIP, CLIP) * sigma
        left = tame - x @ (inverse @ (x.T @ (weight * tame) + design.prior / design.prior_sd**2))
        return cls(
            rows, x, weight, inverse, left, raw, plain, design, case, case.reference.indoor[rows], case.reference.wander
        )

    def stretches(
        self,
        column: Floats,
        sign: int,
        wander: float,
        count: int,
        gain_from: float,
        least: int = 1,
        going: bool | None = None,
    ) -> list[Stretch]:
        """Best disjoint stretches for a column (per slow reading).

        Stretches that reach the last reading are tried from every start, closed ones in steps of length.

        Args:
            sign: of the amount.
            wander: standard deviation by which the amount itself strays from stretch to stretch when nothing is
                wrong, beside what the wandering level of indoor use makes of it.
            gain_from: stretches that promise less are not looked at closely.
            least: readings. going: only stretches that reach the last reading (True) or end before (False).
        """
        used = np.flatnonzero(column)
        if len(used) < least:
            return []
        c, x = column[used], self.x[used]
        wc = self.weight[used] * c
        parts = np.column_stack([wc * self.left[used], wc * c, wc * self.indoor[used], wc[:, None] * x])
        sums = np.concatenate([np.zeros((1, parts.shape[1])), np.cumsum(parts, axis=0)])
        starts, ends = _windows(len(used), least, going)
        found: list[Stretch] = []
        gain = self._score(sums, starts, ends, sign, wander)
        for _ in range(count):
            best = int(gain.argmax()) if len(gain) else -1
            if best < 0 or gain[best] < SLACK * gain_from:
                break
            a, b = _near(int(starts[best]), int(ends[best]), len(used), least)
            pick = int(self._score(sums, a, b, sign, wander).argmax())
            first, end = int(a[pick]), int(b[pick])
            part = sums[end] - sums[first]
            strays = float(np.hypot(wander, self.drift * part[2] / (part[1] + 1e-12)))
            stretch = self._refit(column, int(used[first]), int(used[end - 1]) + 1, strays)
            if stretch.amount * sign > 0:
                found.append(stretch)
            gain = np.where((ends <= first) | (starts >= end), gain, -1.0)
        return found

    def _refit(self, column: Floats, first: int, end: int, wander: float) -> Stretch:
        """The stretch with its amount by Huber's reweighting of the whole regression, nothing cut back."""
        own = np.zeros_like(column)
        own[first:end] = column[first:end]
        scale = float(np.abs(own).max())
        d = self.design
        fit = ridge(
            np.column_stack([self.x, own / scale]),
            self.raw,
            1 / np.sqrt(self.weight),
            np.append(d.prior, 0.0),
            np.append(d.prior_sd, 1e6),
            np.append(d.lowest, -np.inf),
        )
        amount = float(fit.value[-1]) / scale
        variance = float(fit.covariance[-1, -1]) / scale**2
        likelier = float(self.case.noise.log_density(self.rows, fit.residual).sum()) - self.plain
        return Stretch(first, end - 1, amount, (likelier - _bent(fit, d)) * variance / (variance + wander**2))

    def _score(self, sums: Floats, starts: Rows, ends: Rows, sign: int, wander: float) -> Floats:
        part = sums[ends] - sums[starts]
        own = part[:, 3:]
        free = part[:, 1] - ((own @ self.inverse) * own).sum(axis=1)
        free = np.maximum(free, 1e-3 * part[:, 1] + 1e-12)
        amount = part[:, 0] / free
        strays = wander**2 + (self.drift * part[:, 2] / (part[:, 1] + 1e-12)) ** 2
        return np.where(amount * sign > 0, 0.5 * amount**2 / (1 / free + strays), -1.0)


def _bent(fit: Ridge, design: Design) -> float:
    """Log-prior lost by estimates that stray from their priors."""
    size = len(design.prior)
    return 0.5 * float((((fit.value[:size] - design.prior) / design.prior_sd) ** 2).sum())


@lru_cache(maxsize=64)
def _windows(size: int, least: int, going: bool | None) -> tuple[Rows, Rows]:
    """Starts and ends (past the last) of the stretches to try; the last reading but one counts as the last."""
    starts, ends = [], []
    if going is not False:
        starts.append(np.arange(0, max(size - least + 1, 0)))
        ends.append(np.full(len(starts[0]), size))
    for length in LENGTHS if going is not True else ():
        if least <= length < size - 1:
            first = np.arange(0, size - 1 - length)
            starts.append(first)
            ends.append(first + length)
    none = np.empty(0, np.intp)
    return (np.concatenate(starts), np.concatenate(ends)) if starts else (none, none)


def _near(first: int, end: int, size: int, least: int) -> tuple[Rows, Rows]:
    """Stretches with ends shifted a little; one that reaches the last reading still does."""
    firsts = np.arange(max(first - 4, 0), min(first + 5, size))
    ends = np.array([size]) if end == size else np.arange(max(end - 4, 1), min(end + 4, size - 2) + 1)
    a, b = (grid.ravel() for grid in np.meshgrid(firsts, ends, indexing="ij"))
    keep = b - a >= least
    return a[keep], b[keep]

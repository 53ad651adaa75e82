"""Slow readings, a day and longer: what a column from t0 to t1 adds to the regression, for very many t0 and t1.

Each candidate is one more column beside level, season, weekdays, appliances and delivery factors. What those
could explain themselves is projected out, so a leak cannot hide in the level nor a clogged zone in its factor,
and their priors keep them from bending to fit. Stretches are searched with least squares (gain z squared over
2) and the best of them fitted afresh, resistant to odd readings, and weighed by the household's own noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.accounts.delivery import Ridge, ridge
from core.accounts.instants import Floats
from core.accounts.reference import Design
from core.accounts.suspects.case import Case, Rows

CLIP = 3.5  # no single reading speaks louder than this, in standard deviations
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
        plain = float(case.reference.noise.log_density(rows, fit.residual).sum()) - _bent(fit, design)
        # readings cut back to what may be said aloud, then fitted afresh by least squares with the priors
        tame = x @ fit.value + np.clip(fit.residual / sigma, -CLIP, CLIP) * sigma
        left = tame - x @ (inverse @ (x.T @ (weight * tame) + design.prior / design.prior_sd**2))
        return cls(rows, x, weight, inverse, left, raw, plain, design, case)

    def stretches(self, column: Floats, sign: int, wander: float, count: int, least: int = 1) -> list[Stretch]:
        """Best disjoint stretches for a column (per slow reading), ``sign`` of its amount fixed (0: either).

        ``wander`` is the standard deviation by which the amount strays from stretch to stretch when nothing is
        wrong. Stretches that reach the last reading are tried from every start, closed ones in steps of length.
        """
        size = len(self.rows)
        if size == 0 or not np.any(column):
            return []
        wc = self.weight * column
        sums = np.concatenate(
            [
                np.zeros((1, 2 + self.x.shape[1])),
                np.cumsum(np.column_stack([wc * self.left, wc * column, wc[:, None] * self.x]), axis=0),
            ]
        )
        starts, ends = _windows(size, least)
        found: list[Stretch] = []
        _, gain = self._score(sums, starts, ends, sign, wander)
        for _ in range(count):
            best = int(gain.argmax()) if len(gain) else -1
            if best < 0 or gain[best] <= 0:
                break
            first, end = int(starts[best]), int(ends[best])
            near_first = np.arange(max(first - 4, 0), min(first + 5, size))
            near_end = np.arange(max(end - 4, 1), min(end + 5, size) + 1) if end < size else np.array([size])
            a, b = (g.ravel() for g in np.meshgrid(near_first, near_end, indexing="ij"))
            keep = b - a >= least
            a, b = a[keep], b[keep]
            _, local_gain = self._score(sums, a, b, sign, wander)
            pick = int(local_gain.argmax())
            stretch = self._refit(column, int(a[pick]), int(b[pick]), wander)
            if stretch.amount * (sign or 1) > 0:
                found.append(stretch)
            apart = (ends <= a[pick]) | (starts >= b[pick])
            gain = np.where(apart, gain, -1.0)
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
        likelier = float(self.case.reference.noise.log_density(self.rows, fit.residual).sum()) - self.plain
        return Stretch(first, end - 1, amount, (likelier - _bent(fit, d)) * variance / (variance + wander**2))

    def _score(self, sums: Floats, starts: Rows, ends: Rows, sign: int, wander: float) -> tuple[Floats, Floats]:
        part = sums[ends] - sums[starts]
        own = part[:, 2:]
        free = part[:, 1] - np.einsum("ij,jk,ik->i", own, self.inverse, own)
        free = np.maximum(free, 1e-3 * part[:, 1] + 1e-12)
        amount = part[:, 0] / free
        gain = 0.5 * amount**2 / (1 / free + wander**2)
        if sign:
            gain = np.where(amount * sign > 0, gain, -1.0)
        return amount, gain


def _bent(fit: Ridge, design: Design) -> float:
    """Log-prior lost by estimates that stray from their priors."""
    size = len(design.prior)
    return 0.5 * float((((fit.value[:size] - design.prior) / design.prior_sd) ** 2).sum())


def _windows(size: int, least: int) -> tuple[Rows, Rows]:
    """Starts and ends (past the last) of the stretches to try."""
    starts = [np.arange(0, max(size - least + 1, 0))]
    ends = [np.full(len(starts[0]), size)]
    for length in LENGTHS:
        if least <= length < size:
            first = np.arange(0, size - length)
            starts.append(first)
            ends.append(first + length)
    return np.concatenate(starts), np.concatenate(ends)

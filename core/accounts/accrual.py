"""Quantities that accrue over time at piecewise constant rates, so that any span of time asks for its share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from core.accounts.instants import Floats


@dataclass(frozen=True, slots=True)
class Accrual:
    """A total that grows linearly between ``at`` (hours since 1970 UTC, ascending) where it is ``total``."""

    at: Floats
    total: Floats

    @classmethod
    def of_spans(cls, start: Floats, end: Floats, amount: Floats) -> Accrual:
        """Amounts that each accrue evenly from ``start`` to ``end`` (after ``start``); spans may overlap."""
        if not len(start):
            return cls(np.zeros(1), np.zeros(1))
        rate = amount / (end - start)
        at = np.concatenate([start, end])
        order = np.argsort(at, kind="stable")
        at = at[order]
        running = np.cumsum(np.concatenate([rate, -rate])[order])
        grown = np.concatenate([[0.0], np.cumsum(running[:-1] * np.diff(at))])
        return cls(at, grown)

    @classmethod
    def of_rates(cls, edges: Floats, rate: Floats) -> Accrual:
        """``rate`` per hour between successive ``edges`` (one more than there are rates)."""
        return cls(edges, np.concatenate([[0.0], np.cumsum(rate * np.diff(edges))]))

    def upto(self, at: npt.ArrayLike) -> Floats:
        """What has accrued by each instant; nothing accrues outside the known time."""
        return np.interp(np.asarray(at, dtype=np.float64), self.at, self.total)

    def between(self, start: npt.ArrayLike, end: npt.ArrayLike) -> Floats:
        """What accrues from ``start`` to ``end``."""
        result: Floats = self.upto(end) - self.upto(start)
        return result

"""What every suspect is judged on, and the search for the stretch of readings that speaks most for one."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from core.accounts.findings import FindingKind
from core.accounts.instants import Floats
from core.accounts.ledger import Flags, Ledger
from core.accounts.reference import DRIFT, Reference

Rows = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Suspect:
    """One hypothesis with the readings it explains.

    Attributes:
        kind: in the words of findings.
        zones: the zone it points at, best first; more than one when they cannot be told apart; () for none.
        rows: intervals it touches; ``litres``: what it adds to each (negative: takes away).
        since, until: hours since 1970 UTC; ``until`` None while it goes on.
        gain: how many times likelier (natural log) the readings are with it than without.
        cost: how unlikely such a thing is to begin with, and how many places it could have been looked for.
        rate: litres an hour while it lasts.
        rivals: other suspects for the same readings, nearly as good.
        detail: numbers for its sentences.
    """

    kind: FindingKind
    zones: tuple[str, ...]
    rows: Rows
    litres: Floats
    since: float
    until: float | None
    gain: float
    cost: float
    rate: float
    rivals: tuple[Suspect, ...] = ()
    detail: dict[str, float | str] = field(default_factory=dict)

    @property
    def score(self) -> float:
        """Evidence left after its cost."""
        return self.gain - self.cost

    @property
    def sds(self) -> float:
        """Evidence in standard deviations: what a normal error would have to be to look like this."""
        return float(np.sqrt(2 * max(self.gain, 0.0)))

    @property
    def total(self) -> float:
        """Litres it explains."""
        return float(self.litres.sum())


@dataclass(frozen=True)
class Case:
    """A meter's readings against what is normal, less what is already explained."""

    ledger: Ledger
    reference: Reference
    left: Floats
    rows: Rows
    plain: Floats  # log density of ``left`` in ``rows``

    @classmethod
    def of(cls, ledger: Ledger, reference: Reference) -> Case:
        """The case with nothing explained yet."""
        rows = np.flatnonzero(ledger.usable)
        return cls(ledger, reference, reference.left, rows, reference.noise.log_density(rows, reference.left[rows]))

    def explained(self, suspects: list[Suspect]) -> Case:
        """The case with these suspects taken as true."""
        left = self.left.copy()
        for each in suspects:
            left[each.rows] -= each.litres
        return replace(self, left=left, plain=self.reference.noise.log_density(self.rows, left[self.rows]))

    def gain(self, rows: Rows, litres: Floats) -> Floats:
        """Log-likelihood gained in each of ``rows`` by explaining ``litres`` there (shape (..., rows))."""
        left = self.left[rows]
        noise = self.reference.noise
        result: Floats = noise.log_density(rows, left - litres) - noise.log_density(rows, left)
        return result

    def excess(self, rows: Rows) -> Floats:
        """Litres above expected in ``rows``."""
        indoor = np.where(self.ledger.fine[rows], self.reference.indoor[rows], 0.0)
        result: Floats = self.left[rows] - indoor
        return result

    def flow(self, zone: int) -> float:
        """Litres an hour a zone really brings when it runs, by its latest run."""
        mine = np.flatnonzero(self.ledger.runs.zone == zone)
        return float(self.ledger.runs.flow[mine[-1]] * self.reference.factor[zone]) if len(mine) else 0.0

    def drift_share(self, rows: Rows, zones: bool = True) -> float:
        """Share of a long stretch's evidence that stands although level and factors are only known so well."""
        sigma2 = float((self.reference.sigma[rows] ** 2).sum())
        coarse = rows[~self.ledger.fine[rows]]
        drift = (DRIFT * self.reference.indoor[coarse].sum()) ** 2 - (
            (DRIFT * self.reference.indoor[coarse]) ** 2
        ).sum()
        if zones:
            paper = self.ledger.paper[rows].sum(axis=0)
            drift += float(paper @ self.reference.factor_covariance @ paper)
        return sigma2 / (sigma2 + max(drift, 0.0)) if sigma2 > 0 else 1.0


def best_stretches(gain: Floats, count: int) -> list[tuple[int, int, int, float]]:
    """Up to ``count`` disjoint stretches of most gain: (hypothesis, first, last, gain), best first.

    Args:
        gain: hypotheses by readings in order of time.
    """
    found: list[tuple[int, int, int, float]] = []
    if gain.size == 0:
        return found
    work = gain.copy()
    for _ in range(count):
        total = np.cumsum(work, axis=1)
        before = np.concatenate([np.zeros((len(work), 1)), total[:, :-1]], axis=1)
        lowest = np.minimum.accumulate(before, axis=1)
        best = total - lowest
        which, last = np.unravel_index(int(best.argmax()), best.shape)
        if best[which, last] <= 0:
            break
        first = int(before[which, : last + 1].argmin())
        found.append((int(which), first, int(last), float(best[which, last])))
        work[:, first : last + 1] = -1e6
    return found


def reading_hours(ledger: Ledger) -> float:
    """Hours between readings, as a rule."""
    return float(np.median(ledger.hours[ledger.usable])) if ledger.usable.any() else 24.0


def whole(mask: Flags) -> Rows:
    """Indices where a mask holds."""
    return np.flatnonzero(mask)

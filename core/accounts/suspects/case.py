"""What every suspect is judged on, and the search for the stretch of readings that speaks most for one."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

import numpy as np
import numpy.typing as npt

from core.accounts.findings import FindingKind
from core.accounts.instants import Floats
from core.accounts.ledger import Ledger
from core.accounts.noise import Noise
from core.accounts.reference import Reference

Rows = npt.NDArray[np.intp]
YEAR_HOURS = 8766.0
MARGIN = 0.0  # how much likelier than its rarity a suspect must be before anybody is told, natural log
SuspectKind = FindingKind | Literal["busier", "away"]  # the last two explain and are not told


@dataclass(frozen=True)
class Suspect:
    """One hypothesis with the readings it explains.

    Attributes:
        kind: in the words of findings, or a household fuller or emptier than usual.
        zones: the zone it points at, best first; more than one when they cannot be told apart; () for none.
        rows: intervals it touches; ``litres``: what it adds to each (negative: takes away).
        since, until: hours since 1970 UTC; ``until`` None while it goes on.
        gain: how many times likelier (natural log) the readings are with it than without.
        cost: how unlikely such a thing is to begin with, and how many places it could have been looked for.
        rate: litres an hour while it lasts.
        rivals: other suspects for the same readings, nearly as good.
        detail: numbers for its sentences.
    """

    kind: SuspectKind
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

    @property
    def told(self) -> bool:
        """Whether it is a finding, not just who was at home."""
        return self.kind not in ("busier", "away")


@dataclass(frozen=True)
class Case:
    """A meter's readings against what is normal, less what is already explained.

    Attributes:
        left: as in Reference, less what is explained; ``noise``: what it is weighed by.
        rows: intervals that may be reasoned from.
    """

    ledger: Ledger
    reference: Reference
    noise: Noise
    left: Floats
    rows: Rows

    @classmethod
    def of(cls, ledger: Ledger, reference: Reference) -> Case:
        """The case with nothing explained yet."""
        return cls(ledger, reference, reference.noise, reference.left, np.flatnonzero(ledger.usable))

    def explained(self, suspects: list[Suspect]) -> Case:
        """The case with these suspects taken as true."""
        left, noise = self.left.copy(), self.noise
        for each in suspects:
            fine = self.ledger.fine[each.rows]
            if each.told:
                left[each.rows] -= each.litres
            else:
                left[each.rows[~fine]] -= each.litres[~fine]
                noise = noise.relabelled(each.rows[fine], each.kind == "away")
        return replace(self, left=left, noise=noise)

    @cached_property
    def fine(self) -> Rows:
        """Intervals of about an hour."""
        return self.rows[self.ledger.fine[self.rows]]

    @cached_property
    def slow(self) -> Rows:
        """All other intervals."""
        return self.rows[~self.ledger.fine[self.rows]]

    @cached_property
    def plain(self) -> Floats:
        """Log density of what is left, per interval (0 where not reasoned from)."""
        result = np.zeros(len(self.left))
        result[self.rows] = self.noise.log_density(self.rows, self.left[self.rows])
        return result

    def gain(self, rows: Rows, litres: Floats) -> Floats:
        """Log-likelihood gained in each of ``rows`` by explaining ``litres`` there (shape (..., rows))."""
        result: Floats = self.noise.log_density(rows, self.left[rows] - litres) - self.plain[rows]
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

    def rarity(self, rows: Rows, times: float) -> float:
        """Cost of what happens ``times`` a year and could have begun at any reading of the pace of ``rows``."""
        hours = float(np.median(self.ledger.hours[rows])) if len(rows) else 24.0
        return MARGIN + float(np.log(max(YEAR_HOURS / hours / times, 1.0)))

    def run_rarity(self, times: float) -> float:
        """Cost of something that happens to a run ``times`` a year, at any of the year's runs."""
        runs = self.ledger.runs
        span = max((self.ledger.as_of - self.ledger.hour_edges[0]) / YEAR_HOURS, 0.5)
        return MARGIN + float(np.log(max(runs.counted.sum() / span / times, 1.0)))

    def drift_share(self, rows: Rows) -> float:
        """Share of a long stretch's evidence that stands although flows are only known so well."""
        sigma2 = float((self.reference.sigma[rows] ** 2).sum())
        paper = self.ledger.paper[rows].sum(axis=0)
        drift = float(paper @ self.reference.factor_covariance @ paper)
        return sigma2 / (sigma2 + max(drift, 0.0)) if sigma2 > 0 else 1.0


def best_stretches(gain: Floats, count: int, least: float) -> list[tuple[int, int, int, float]]:
    """Up to ``count`` disjoint stretches of most gain, of ``least`` or more: (hypothesis, first, last, gain).

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
        if best[which, last] <= max(least, 0.0):
            break
        first = int(before[which, : last + 1].argmin())
        found.append((int(which), first, int(last), float(best[which, last])))
        work[:, first : last + 1] = -1e6
    return found


def reading_hours(ledger: Ledger) -> float:
    """Hours between readings of late, as a rule."""
    return float(np.median(ledger.hours[ledger.usable][-60:])) if ledger.usable.any() else 24.0

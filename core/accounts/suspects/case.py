"""What every suspect is judged on, and the search for the stretch of readings that speaks most for one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

import numpy as np
import numpy.typing as npt

from core.accounts.findings import FindingKind
from core.accounts.hourly import FINE_HOURS
from core.accounts.instants import Floats
from core.accounts.ledger import Ledger
from core.accounts.noise import Noise
from core.accounts.reference import Reference

Rows = npt.NDArray[np.intp]
YEAR_HOURS = 8766.0
MARGIN, SELDOM_HOURS = 1.0, 50.0  # see Case.margin: of readings up to so far apart; seldomer ones are few enough
Weigh = Callable[["Case", Rows], Floats]  # gains by hypothesis and row
SuspectKind = FindingKind | Literal["busier", "away", "fewer", "draws"]  # the last four explain and are not told

POURING: tuple[SuspectKind, ...] = ("steady", "stuck_open", "one_off")  # water that flows for a while beside the usual
WAVERS = 0.1  # how far its flow strays from its mean, with the pressure; common practice, no source


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
    def rank(self) -> float:
        """What it is compared by with others of the same readings, for all of which use and flow wander the same."""
        return max(self.gain, float(self.detail.get("likelier", self.gain))) - self.cost

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
        """Whether it is a finding, not just who was at home or what the house draws by itself."""
        return not self.at_home and self.kind != "draws"

    @property
    def at_home(self) -> bool:
        """Whether it says who was at home."""
        return self.kind in ("busier", "away", "fewer")


@dataclass(frozen=True)
class Case:
    """A meter's readings against what is normal, less what is already explained.

    Attributes:
        left: as in Reference, less what is explained; ``noise``: what it is weighed by.
        rows: intervals that may be reasoned from.
        plain: log density of what is left, per interval (0 where not reasoned from).
        kept: tables of gains that were asked for; when something is explained only its readings are weighed again.
    """

    ledger: Ledger
    reference: Reference
    noise: Noise
    left: Floats
    rows: Rows
    plain: Floats
    kept: dict[Weigh, Floats]

    @classmethod
    def of(cls, ledger: Ledger, reference: Reference) -> Case:
        """The case with nothing explained yet."""
        rows, plain = np.flatnonzero(ledger.usable), np.zeros(len(ledger.start))
        plain[rows] = reference.noise.log_density(rows, reference.left[rows])
        return cls(ledger, reference, reference.noise, reference.left, rows, plain, {})

    def explained(self, suspects: list[Suspect]) -> Case:
        """The case with these suspects taken as true."""
        left, noise = self.left.copy(), self.noise
        for each in suspects:
            fine = self.ledger.fine[each.rows]
            if not each.at_home:
                left[each.rows] -= each.litres
                if each.kind in POURING:
                    noise = noise.wavering(each.rows[fine], WAVERS * np.abs(each.litres[fine]))
            else:
                left[each.rows[~fine]] -= each.litres[~fine]
                noise = noise.relabelled(each.rows[fine], int(each.detail["fuller"]))
        touched = np.zeros(len(left), dtype=bool)
        for each in suspects:
            touched[each.rows] = True
        rows, plain = np.flatnonzero(touched & self.ledger.usable), self.plain.copy()
        plain[rows] = noise.log_density(rows, left[rows])
        wrong = [each.rows for each in suspects if "newest" in each.detail]  # such a number says nothing of its time
        kept = np.setdiff1d(self.rows, np.concatenate(wrong)) if wrong else self.rows
        rest = replace(self, left=left, noise=noise, plain=plain, rows=kept, kept={})
        changed = np.flatnonzero(touched[self.fine])
        for weigh, table in self.kept.items():
            rest.kept[weigh] = table.copy()
            rest.kept[weigh][:, changed] = weigh(rest, self.fine[changed])
        return rest

    def table(self, weigh: Weigh) -> Floats:
        """Gains of each hypothesis in all fine intervals: ``weigh`` tells them for a case and rows of its choice."""
        if weigh not in self.kept:
            self.kept[weigh] = weigh(self, self.fine)
        return self.kept[weigh]

    @cached_property
    def fine(self) -> Rows:
        """Intervals of about an hour."""
        return self.rows[self.ledger.fine[self.rows]]

    @cached_property
    def slow(self) -> Rows:
        """All other intervals."""
        return self.rows[~self.ledger.fine[self.rows]]

    def to_the_end(self, rows: Rows) -> bool:
        """Whether these go on to the last reading, which may be no more than the beginning of an hour."""
        over = self.ledger.end[self.rows[-1]] - self.ledger.end[rows[-1]]
        return bool(over < FINE_HOURS[0])

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

    @cached_property
    def margin(self) -> float:
        """How much likelier than its rarity a suspect must be, natural log: the more, the oftener one looks."""
        return MARGIN if reading_hours(self.ledger) < SELDOM_HOURS else 0.0

    def rarity(self, rows: Rows, times: float) -> float:
        """Cost of what happens ``times`` a year and could have begun at any reading of the pace of ``rows``."""
        hours = float(np.median(self.ledger.hours[rows])) if len(rows) else 24.0
        return self.margin + float(np.log(max(YEAR_HOURS / hours / times, 1.0)))

    def scarcity(self, rows: Rows, gain: float, times: float) -> float:
        """Cost of a stretch that happens ``times`` a year.

        It could have begun anywhere, but starts nearer to each other than what it takes to gain one unit of evidence
        cannot be told apart, so that a weak stretch of months had fewer places to be looked for than a strong hour.
        """
        hours = float(self.ledger.hours[rows].sum())
        places = min(YEAR_HOURS * max(gain, 1.0) / hours, YEAR_HOURS * len(rows) / hours)
        return self.margin / 2 + float(np.log(max(places / times, 1.0)))

    def run_rarity(self, times: float) -> float:
        """Cost of something that happens to a run ``times`` a year, at any of the year's runs."""
        runs = self.ledger.runs
        span = max((self.ledger.as_of - self.ledger.hour_edges[0]) / YEAR_HOURS, 0.5)
        return self.margin + float(np.log(max(runs.counted.sum() / span / times, 1.0)))


def best_stretches(gain: Floats, count: int, least: float) -> list[tuple[int, int, int, float]]:
    """Up to ``count`` disjoint stretches of most gain, of ``least`` or more: (hypothesis, first, last, gain).

    Args:
        gain: hypotheses by readings in order of time.
    """
    found: list[tuple[int, int, int, float]] = []
    if gain.size == 0:
        return found
    best = _best_ending(gain)
    for _ in range(count):
        which, last = (int(n) for n in np.unravel_index(int(best.argmax()), best.shape))
        if best[which, last] <= max(least, 0.0):
            break
        begun = np.flatnonzero(best[which, :last] < 0)
        first = int(begun[-1]) + 1 if len(begun) else 0
        found.append((which, first, last, float(best[which, last])))
        # stretches that ran through the one found begin behind it, up to where all would have begun anew anyway
        best[:, first : last + 1] = -1.0
        anew = best[:, last + 1 :] < 0
        reach = anew.shape[1] if not anew.any(axis=1).all() else int(anew.argmax(axis=1).max())
        best[:, last + 1 : last + 1 + reach] = _best_ending(gain[:, last + 1 : last + 1 + reach])
    return found


def _best_ending(gain: Floats) -> Floats:
    """Gain of the best stretch that ends with each reading; one that begins anew with a loss stays below nothing."""
    total = np.zeros((len(gain), gain.shape[1] + 1))
    np.cumsum(gain, axis=1, out=total[:, 1:])
    result: Floats = total[:, 1:] - np.minimum.accumulate(total[:, :-1], axis=1)
    return result


def reading_hours(ledger: Ledger) -> float:
    """Hours between readings of late, as a rule."""
    return float(np.median(ledger.hours[ledger.usable][-60:])) if ledger.usable.any() else 24.0

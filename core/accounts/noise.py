"""How likely a leftover is in this household when nothing is wrong.

Hourly readings: the household's own distribution of indoor use by hour of day, with its zeros and its long
tail, so that water in an hour that is usually dry weighs what it should. Longer readings: a normal
distribution with a heavier upper tail, since homes have odd days with more but none with less than nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from core.accounts.densities import FULLER, KINDS, LEVELS, densities, nodes_of, position
from core.accounts.instants import Flags, Floats, Ints
from core.accounts.ledger import Ledger
from core.accounts.presence import NOBODY

TAIL_FROM = 1.645  # where the upper tail of slow readings begins, standard deviations
TAIL_SHARE = 0.05  # of readings beyond it
TAIL_SCALE = (0.45, 1.5)  # mean excess over it: of a normal distribution, and of the most restless household
ODD_DOWN = 1e-4
AWAY = KINDS * (len(FULLER) + 1)  # classes: kinds of hours of a house as usual, then ever fuller, and of an empty one
MIDDLES = LEVELS[:-1] + np.diff(LEVELS) / 2
BUSIER, BUSIER_SD = (0.05, 0.1, 0.2, 0.4), 0.12  # shares of a household twice as full, and how they are spread
ENOUGH = 10  # hours of one kind to know it by; fewer weigh little against the hours beside it
# of hours that may be of a finer step than they are weighed by: those lose a little by it, while hours of a coarser one
# would be odd each time it turns, however usual their use
FINER = 0.95
ZENITH = 200.0  # beyond so many standard deviations nothing gets less likely


@dataclass(frozen=True, slots=True)
class Noise:
    """Densities of what is left of a reading after zones and other use are taken off.

    For fine intervals the leftover is the indoor use itself; for others it is the difference from expected
    indoor use. ``log_density(rows, x)`` knows which.
    """

    fine: Flags
    table: Floats  # class, level, node: density per litre
    nodes: Floats
    step: float
    label: Ints
    level: Ints
    sigma: Floats
    tail: float

    def log_density(self, rows: npt.NDArray[np.intp], left: Floats) -> Floats:
        """Log density per litre of leftovers ``left`` (shape (..., len(rows))) in the intervals ``rows``."""
        result = np.empty(left.shape)
        fine = self.fine[rows]
        if fine.all():
            return self._fine(rows, left)
        coarse = ~fine
        result[..., coarse] = self._coarse(rows[coarse], left[..., coarse])
        if fine.any():
            result[..., fine] = self._fine(rows[fine], left[..., fine])
        return result

    @property
    def learned(self) -> bool:
        """Whether there are hourly readings to know densities from."""
        return self.table.size > 0

    def weighing(self, run_sd: Floats, sigma: Floats, slow_z: Floats) -> Noise:
        """The same with what runs add to fine intervals, and the spread and tail of the others.

        Args:
            run_sd: extra standard deviation in intervals with runs, litres.
            sigma: standard deviation of the leftover of slow intervals, litres.
            slow_z: leftovers of slow intervals in standard deviations, to learn the tail from.
        """
        level = np.minimum(np.searchsorted(MIDDLES, run_sd), len(LEVELS) - 1)
        return replace(self, level=level, sigma=sigma, tail=_tail(slow_z))

    def spread(self, rows: npt.NDArray[np.intp]) -> Floats:
        """Robust standard deviation of indoor use in fine intervals: half the width of the middle two thirds."""
        share = self.table[:, 0] * np.gradient(self.nodes)
        share = np.cumsum(share / share.sum(axis=1, keepdims=True), axis=1)
        low, high = (self.nodes[(share < q).sum(axis=1)] for q in (0.16, 0.84))
        result: Floats = np.maximum((high - low) / 2, self.step / 2)[self.label[rows]]
        return result

    def relabelled(self, rows: npt.NDArray[np.intp], fuller: int) -> Noise:
        """The same densities with the house taken as so many steps fuller in ``rows``; as empty for -1."""
        label = self.label.copy()
        label[rows] = AWAY if fuller < 0 else np.where(label[rows] < AWAY, self._up(rows, fuller), label[rows])
        return replace(self, label=label)

    def wavering(self, rows: npt.NDArray[np.intp], sd: float | Floats) -> Noise:
        """The same densities with at least so many litres of extra spread in each of ``rows``."""
        least = np.searchsorted(MIDDLES, sd)
        if not np.any(least):
            return self
        level = self.level.copy()
        level[rows] = np.maximum(level[rows], least)
        return replace(self, level=level)

    def learned_with(self, litres: float, share: float) -> Noise:
        """The densities as they would have been learned with so many litres more in this share of the hours."""
        at = self._position(self.nodes - litres)
        low = at.astype(np.int64)
        part = at - low
        more = self.table[..., low] * (1 - part) + self.table[..., low + 1] * part
        return replace(self, table=(1 - share) * self.table + share * more)

    def could(self, rows: npt.NDArray[np.intp], fuller: int) -> Flags:
        """Whether the house could be so many steps fuller than it is taken to be, or empty (-1), in ``rows``."""
        result: Flags = self.label[rows] < (AWAY if fuller < 0 else AWAY - fuller * KINDS)
        return result

    def _up(self, rows: npt.NDArray[np.intp], fuller: int) -> Ints:
        result: Ints = np.minimum(self.label[rows] + fuller * KINDS, AWAY - KINDS + self.label[rows] % KINDS)
        return result

    def _coarse(self, rows: npt.NDArray[np.intp], left: Floats) -> Floats:
        sigma = self.sigma[rows]
        z = np.clip(left / sigma, -ZENITH, ZENITH)
        core = np.exp(-0.5 * z * z) / 2.5066
        up = TAIL_SHARE / self.tail * np.exp(-(z - TAIL_FROM) / self.tail)
        down = ODD_DOWN / (4 * (1 + np.abs(z) / 4) ** 2)
        result: Floats = np.log(np.where(z > TAIL_FROM, np.maximum(core, up), core + down) / sigma)
        return result

    def _fine(self, rows: npt.NDArray[np.intp], left: Floats) -> Floats:
        at = self._position(left)
        low = at.astype(np.int64)
        part = at - low
        size = len(self.nodes)
        base = (self.label[rows] * len(LEVELS) + self.level[rows]) * size + low
        flat = self.table.ravel()
        result: Floats = np.log(flat[base] * (1 - part) + flat[base + 1] * part)
        return result

    def _position(self, x: Floats) -> Floats:
        """Fractional index of ``x`` among the nodes, which mirror about 0."""
        return position(x / self.step, len(self.nodes))


def a_little_busier(usual: Floats, fuller: Floats) -> Floats:
    """Log density summed over readings (last axis) of a household that may have been a little busier for a while.

    Args:
        usual, fuller: log densities of each reading in the household as usual, and in one that is one step fuller.
    """
    best = usual.sum(axis=-1)
    for share in BUSIER:
        mixed = np.logaddexp(np.log(1 - share) + usual, np.log(share) + fuller).sum(axis=-1)
        best = np.maximum(best, mixed - 0.5 * (share / BUSIER_SD) ** 2)
    return np.asarray(best)


def make_noise(ledger: Ledger, use: Floats, clean: Flags) -> Noise:
    """Learn the densities of fine intervals.

    Args:
        use: litres of indoor use in each interval as far as known.
        clean: fine intervals to learn from.
    """
    step = max(1.0, float(np.quantile(ledger.step[ledger.fine], FINER))) if ledger.fine.any() else 1.0
    nodes = nodes_of(step)
    middle = _middle(ledger)
    people, unsure = ledger.visiting[middle], ledger.unsure[middle]
    label = _kinds(ledger)
    label = np.where(people < NOBODY, AWAY, label + KINDS * np.searchsorted(FULLER, people))
    same = np.zeros(len(label), dtype=np.int64)
    noise = Noise(ledger.fine, np.empty((0, 0, 0)), nodes, step, label, same, np.ones(len(label)), TAIL_SCALE[0])
    if not ledger.fine.any():
        return noise
    learn = clean & ledger.fine & (people > 0.5) & (people <= FULLER[0]) & ~unsure
    return replace(noise, table=densities(use[learn], label[learn], step, ledger.home_people))


def seldom(ledger: Ledger, clean: Flags) -> Flags:
    """Which intervals are of a kind of hour (of workdays or of weekends) that few of those to learn from are of."""
    kind = _kinds(ledger)
    result: Flags = np.bincount(kind[clean & ledger.fine], minlength=KINDS)[kind] < ENOUGH
    return result


def _middle(ledger: Ledger) -> Ints:
    """The local hour of the middle of each interval, as an index into those of the record."""
    return ledger.hour_of((ledger.start + ledger.end) / 2)


def _kinds(ledger: Ledger) -> Ints:
    """The kind of hour of each interval: 24 of workdays, then 24 of weekends."""
    how = ledger.hour_of_week[_middle(ledger)]
    result: Ints = how % 24 + 24 * (how >= 120)
    return result


def _tail(z: Floats) -> float:
    """Mean excess of the upper tail, drawn to a normal one's while readings are few; the largest three do not count."""
    over = np.sort(z[z > TAIL_FROM])[:-3] - TAIL_FROM
    low, high = TAIL_SCALE
    return float(np.clip((over.sum() + 8 * low) / (len(over) + 8), low, high))

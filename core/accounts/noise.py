"""How likely a leftover is in this household when nothing is wrong.

Hourly readings: the household's own distribution of indoor use by hour of day, with its zeros and its long
tail, so that water in an hour that is usually dry weighs what it should. Longer readings: a normal
distribution with a heavier upper tail, since homes have odd days with more but none with less than nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import erfc

import numpy as np
import numpy.typing as npt

from core.accounts.instants import Floats, Ints
from core.accounts.ledger import Flags, Ledger

# litres of extra spread in hours with a run
_LEVELS = np.array([0.0, 1.5, 2.5, 4.0, 6.0, 9.0, 14.0, 22.0, 35.0, 60.0, 100.0, 170.0, 300.0, 600.0])
_LINEAR = 24  # nodes at whole register steps
_GROWTH = 1.14
_TOP = 40_000.0
_FLOOR = 1e-7  # share of hours with a use no household shows, such as less than nothing
BLUR_L = 3.0  # litres by which single uses of one sort differ; common practice, no source
ODD_UP = 0.004  # share of hours with an unusual large use
TAIL_FROM = 1.645  # where the upper tail of slow readings begins, standard deviations
TAIL_SHARE = 0.05  # of readings beyond it
TAIL_SCALE = (0.45, 1.5)  # mean excess over it: of a normal distribution, and of the most restless household
ODD_DOWN = 1e-4
KINDS = 48  # of hours: 24 of workdays and of weekends
FULLER = (1.3, 2.0, 2.8)  # shares of usual use from which a house is up to twice, thrice, four times as full
AWAY = KINDS * (len(FULLER) + 1)  # classes: kinds of hours of a house as usual, then ever fuller, and of an empty one
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
        level = np.minimum(np.searchsorted(_LEVELS[:-1] + np.diff(_LEVELS) / 2, run_sd), len(_LEVELS) - 1)
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

    def could(self, rows: npt.NDArray[np.intp], fuller: int) -> Flags:
        """Whether the house could be so many steps fuller than it is taken to be, or empty (-1), in ``rows``."""
        result: Flags = self.label[rows] < (AWAY if fuller < 0 else AWAY - fuller * KINDS)
        return result

    def _up(self, rows: npt.NDArray[np.intp], fuller: int) -> Ints:
        result: Ints = np.minimum(self.label[rows] + fuller * KINDS, AWAY - KINDS + self.label[rows] % KINDS)
        return result

    def _fuller(self, pmf: Floats) -> list[Floats]:
        """Densities of ever fuller households: uses of each number of people as usual, added to each other."""
        result, less = [], pmf
        for _ in FULLER:
            more = np.stack([self._added(a, b) for a, b in zip(less, pmf, strict=True)])
            half = np.sqrt(less * more)
            result.append(0.5 * half / half.sum(axis=1, keepdims=True) + 0.5 * more)
            less = more
        return result

    def _added(self, one: Floats, other: Floats) -> Floats:
        """Density of the sum of two uses, neither less than nothing."""
        count = len(self.nodes)
        low, part = _sums(count)
        pairs = np.outer(one[count // 2 :], other[count // 2 :]).ravel()
        shares = np.bincount(low, pairs * (1 - part), count) + np.bincount(low + 1, pairs * part, count)
        return np.asarray(shares + _FLOOR, dtype=np.float64)

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
        base = (self.label[rows] * len(_LEVELS) + self.level[rows]) * size + low
        flat = self.table.ravel()
        result: Floats = np.log(flat[base] * (1 - part) + flat[base + 1] * part)
        return result

    def _position(self, x: Floats) -> Floats:
        """Fractional index of ``x`` among the nodes, which mirror about 0."""
        return _position(x / self.step, len(self.nodes))


def _position(size: Floats, count: int) -> Floats:
    """Fractional index of ``size`` (in register steps) among ``count`` nodes."""
    at = np.abs(size)
    far = at > _LINEAR
    at[far] = _LINEAR + np.log(at[far] / _LINEAR) / np.log(_GROWTH)
    result: Floats = np.clip(count // 2 + np.copysign(at, size), 0, count - 1.001)
    return result


@lru_cache(maxsize=8)
def _sums(count: int) -> tuple[Ints, Floats]:
    """Where each pair of nodes from 0 up goes when their uses add up: the node below, the share of the one above."""
    steps = _steps(count // 2)
    at = _position((steps[:, None] + steps[None]).ravel(), count)
    low = at.astype(np.int64)
    return low, at - low


def _steps(most: int) -> Floats:
    """Nodes from 0 up in register steps: whole steps, then growing ones, ``most`` beside the first."""
    return np.concatenate([np.arange(_LINEAR + 1.0), _LINEAR * _GROWTH ** np.arange(1, most - _LINEAR + 1)])


def _nodes(step: float) -> Floats:
    """Litres at the nodes, which mirror about 0, for a register that steps by ``step``."""
    steps = _steps(_LINEAR + _count(step))
    return np.concatenate([-steps[:0:-1], steps]) * step


def make_noise(ledger: Ledger, use: Floats, clean: Flags) -> Noise:
    """Learn the densities of fine intervals.

    Args:
        use: litres of indoor use in each interval as far as known.
        clean: fine intervals to learn from.
    """
    step = max(1.0, float(np.median(ledger.step[ledger.fine]))) if ledger.fine.any() else 1.0
    nodes = _nodes(step)
    middle = ledger.hour_of((ledger.start + ledger.end) / 2)
    how = ledger.hour_of_week[middle]
    people = ledger.people[middle]
    label = how % 24 + 24 * (how >= 120)
    label = np.where(people < 0.5, AWAY, label + KINDS * np.searchsorted(FULLER, people))
    same = np.zeros(len(label), dtype=np.int64)
    noise = Noise(ledger.fine, np.empty((0, 0, 0)), nodes, step, label, same, np.ones(len(label)), TAIL_SCALE[0])
    if not ledger.fine.any():
        return noise
    learn = clean & ledger.fine & (people > 0.5) & (people <= FULLER[0])
    counts = np.zeros((KINDS, len(nodes)))
    at = noise._position(use[learn])
    low = at.astype(np.int64)
    np.add.at(counts, (label[learn], low), 1 - (at - low))
    np.add.at(counts, (label[learn], low + 1), at - low)
    pmf = _smoothed(counts, nodes, ledger)
    quiet = pmf[:24][np.argmax(pmf[:24, len(nodes) // 2])]
    away = 0.9 * (nodes == 0) + 0.1 * quiet
    pmf = np.concatenate([pmf, *noise._fuller(pmf), away[None]])
    width = np.gradient(nodes)
    spread = np.stack([pmf, *(pmf @ each for each in _transports(step))], axis=1)
    return replace(noise, table=spread / width)


def _tail(z: Floats) -> float:
    """Mean excess of the upper tail, drawn to a normal one's while readings are few; the largest three do not count."""
    over = np.sort(z[z > TAIL_FROM])[:-3] - TAIL_FROM
    low, high = TAIL_SCALE
    return float(np.clip((over.sum() + 8 * low) / (len(over) + 8), low, high))


def _count(step: float) -> int:
    return int(np.ceil(np.log(_TOP / step / _LINEAR) / np.log(_GROWTH)))


def _smoothed(counts: Floats, nodes: Floats, ledger: Ledger) -> Floats:
    """Share of each node by class, drawn towards like hours, all hours and a wide tail, never zero."""
    zero = len(nodes) // 2
    total = counts.sum(axis=0) + 1e-9
    step = nodes[zero + 1]
    blur = np.where(np.abs(np.arange(len(nodes)) - zero) <= _LINEAR, min(0.8, BLUR_L / step), 1.0)
    near = np.exp(-0.5 * ((np.arange(len(nodes))[:, None] - np.arange(len(nodes))[None]) / blur[:, None]) ** 2)
    near[: zero + 1, :] = 0  # what is never below nothing stays so; zero hours stay zero
    near[:, : zero + 1] = 0
    near[np.arange(zero + 1), np.arange(zero + 1)] = 1
    near /= near.sum(axis=1, keepdims=True)
    size = np.maximum(nodes, 0)
    level = max(float((size * total).sum() / total.sum()), ledger.home_people * 2.0, 1.0)
    wide = np.where(nodes > 0, np.gradient(nodes) / (size + level) ** 2, 0)
    wide /= wide.sum()
    start = (
        np.where(nodes == 0, 0.3, 0) + 0.7 * np.where(nodes > 0, np.exp(-size / level) * np.gradient(nodes), 0) / level
    )
    everywhere = (total @ near + 24 * start / start.sum()) / (total.sum() + 24)
    by_hour = counts[:24] + counts[24:]
    neighbours = by_hour + 0.5 * (np.roll(by_hour, 1, axis=0) + np.roll(by_hour, -1, axis=0))
    hour = (neighbours @ near + 6 * everywhere) / (neighbours.sum(axis=1, keepdims=True) + 6)
    kind = (counts @ near + 25 * np.tile(hour, (2, 1))) / (counts.sum(axis=1, keepdims=True) + 25)
    pmf = (1 - ODD_UP / 4) * kind + ODD_UP / 4 * wide
    result: Floats = np.maximum(pmf, _FLOOR * np.gradient(nodes))
    return result


@lru_cache(maxsize=8)
def _transports(step: float) -> tuple[Floats, ...]:
    """For each level but the first: where the share at each node goes when a normal error of that spread is added."""
    nodes = _nodes(step)
    edges = np.concatenate([[-np.inf], (nodes[1:] + nodes[:-1]) / 2, [np.inf]])
    beyond = (nodes[:, None] - edges[None, :]) / np.sqrt(2)
    below = np.frompyfunc(erfc, 1, 1)  # twice the normal distribution
    return tuple(np.diff(below(beyond / sd).astype(np.float64) / 2, axis=1) for sd in _LEVELS[1:])

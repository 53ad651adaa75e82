"""How likely a leftover is in this household when nothing is wrong.

Hourly readings: the household's own distribution of indoor use by hour of day, with its zeros and its long
tail, so that water in an hour that is usually dry weighs what it should. Longer readings: a normal
distribution with a heavier upper tail, since homes have odd days with more but none with less than nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from core.accounts.instants import Floats, Ints
from core.accounts.ledger import Flags, Ledger

_LEVELS = np.array([0.0, 4.0, 10.0, 25.0, 60.0, 150.0, 400.0, 1000.0])  # litres of extra spread in hours with a run
_LINEAR = 24  # nodes at whole register steps
_GROWTH = 1.14
_TOP = 40_000.0
_FLOOR = 1e-7  # share of hours with a use no household shows, such as less than nothing
ODD_UP = 0.004  # share of hours with an unusual large use
TAIL_FROM = 1.645  # where the upper tail of slow readings begins, standard deviations
TAIL_SHARE = 0.05  # of readings beyond it
TAIL_SCALE = (0.45, 1.5)  # mean excess over it: of a normal distribution, and of the most restless household
ODD_DOWN = 1e-4
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
        zero = len(self.nodes) // 2
        size = np.abs(x) / self.step
        beyond = _LINEAR + np.log(np.maximum(size, _LINEAR) / _LINEAR) / np.log(_GROWTH)
        at = np.where(size <= _LINEAR, size, beyond)
        result: Floats = np.clip(zero + np.copysign(at, x), 0, len(self.nodes) - 1.001)
        return result


def make_noise(
    ledger: Ledger, use: Floats, clean: Flags, sigma: Floats, run_sd: Floats, slow_z: Floats, slow: Flags
) -> Noise:
    """Learn the densities.

    Args:
        use: litres of indoor use in each interval as far as known (fine intervals).
        clean: fine intervals to learn from.
        sigma: standard deviation of the leftover of the other intervals, litres.
        run_sd: extra standard deviation in intervals with runs, litres.
        slow_z: leftovers of the other intervals in standard deviations; ``slow``: those to learn the tail from.
    """
    step = max(1.0, float(np.median(ledger.step[ledger.fine]))) if ledger.fine.any() else 1.0
    steps = np.concatenate([np.arange(_LINEAR + 1.0), _LINEAR * _GROWTH ** np.arange(1, _count(step) + 1)])
    nodes = np.concatenate([-steps[:0:-1], steps]) * step
    middle = ledger.hour_of((ledger.start + ledger.end) / 2)
    how = ledger.hour_of_week[middle]
    people = ledger.people[middle]
    label = np.where(people < 0.5, 48, how % 24 + 24 * (how >= 120))
    level = np.minimum(np.searchsorted(_LEVELS, run_sd * 1.2), len(_LEVELS) - 1)
    tail = _tail(slow_z[slow])
    noise = Noise(ledger.fine, np.empty(0), nodes, step, label, level, sigma, tail)
    if not ledger.fine.any():
        return noise
    learn = clean & ledger.fine & (people > 0.5) & (people < 1.6)
    counts = np.zeros((48, len(nodes)))
    at = noise._position(use[learn])
    low = at.astype(np.int64)
    np.add.at(counts, (label[learn], low), 1 - (at - low))
    np.add.at(counts, (label[learn], low + 1), at - low)
    pmf = _smoothed(counts, nodes, ledger)
    quiet = pmf[:24][np.argmax(pmf[:24, len(nodes) // 2])]
    away = 0.9 * (nodes == 0) + 0.1 * quiet
    pmf = np.concatenate([pmf, away[None]])
    width = np.gradient(nodes)
    spread = np.stack([pmf if s == 0 else pmf @ _transport(nodes, s) for s in _LEVELS], axis=1)
    return Noise(ledger.fine, spread / width, nodes, step, label, level, sigma, tail)


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
    near = np.exp(-0.5 * ((np.arange(len(nodes))[:, None] - np.arange(len(nodes))[None]) / 1.0) ** 2)
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
    neighbours = by_hour + 0.25 * (np.roll(by_hour, 1, axis=0) + np.roll(by_hour, -1, axis=0))
    hour = (neighbours @ near + 6 * everywhere) / (neighbours.sum(axis=1, keepdims=True) + 6)
    kind = (counts @ near + 12 * np.tile(hour, (2, 1))) / (counts.sum(axis=1, keepdims=True) + 12)
    pmf = (1 - ODD_UP / 4) * kind + ODD_UP / 4 * wide
    result: Floats = np.maximum(pmf, _FLOOR * np.gradient(nodes))
    return result


def _transport(nodes: Floats, sd: float) -> Floats:
    """Where the share at each node goes when a normal error of ``sd`` is added."""
    from scipy.special import ndtr  # noqa: PLC0415 - only hours with runs need it

    edges = np.concatenate([[-np.inf], (nodes[1:] + nodes[:-1]) / 2, [np.inf]])
    result: Floats = np.diff(ndtr((edges[None, :] - nodes[:, None]) / sd), axis=1)
    return result

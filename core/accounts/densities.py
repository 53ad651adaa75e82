"""What an hour of this household may hold: densities of indoor use by kind of hour, as a register shows it.

A register shows whole steps, so that an hour's use q (steps) is shown as the whole number below or above it, the nearer
the likelier: with the share 1 - |k - q| (arithmetic, where the register stands anywhere in its step at the hour's
beginning). The shares of whole steps that were read are parted into uses between the steps; a leak then adds to these,
not to what was shown.
"""

from __future__ import annotations

from functools import lru_cache
from math import erfc

import numpy as np

from core.accounts.instants import Floats, Ints

# litres of extra spread in hours with a run
LEVELS = np.array([0.0, 1.5, 2.5, 4.0, 6.0, 9.0, 14.0, 22.0, 35.0, 60.0, 100.0, 170.0, 300.0, 600.0])
KINDS = 48  # of hours: 24 of workdays and of weekends
WAKING = (np.arange(KINDS) % 24 >= 7) & (np.arange(KINDS) % 24 < 23)
OTHER_HOURS = 0.5, 0.02  # share of a hosting house's use as in any waking hour, by day and by night; no source
FULLER = (1.3, 2.0, 2.8)  # shares of usual use from which a house is up to twice, thrice, four times as full
BLUR_L = 3.0  # litres by which single uses of one sort differ; common practice, no source
ODD_UP = 0.001  # share of hours with an unusual large use
_LINEAR = 24  # nodes at whole register steps, each divided into
_PARTS = 4
_GROWTH = 1.14
_TOP = 40_000.0
_FLOOR = 1e-7  # share of hours with a use no household shows, such as less than nothing
_TURNS = 40  # of parting; what is left of the shares is far below what a year of hours could show


def nodes_of(step: float, parts: int = _PARTS) -> Floats:
    """Litres at the nodes, which mirror about 0, for a register that steps by ``step``."""
    most = int(np.ceil(np.log(_TOP / step / _LINEAR) / np.log(_GROWTH)))
    steps = _steps(_LINEAR * parts + most, parts)
    return np.concatenate([-steps[:0:-1], steps]) * step


def position(size: Floats, count: int, parts: int = _PARTS) -> Floats:
    """Fractional index of ``size`` (in register steps) among ``count`` nodes."""
    far = np.abs(size) > _LINEAR
    at = np.abs(size) * parts
    at[far] = _LINEAR * parts + np.log(at[far] / (_LINEAR * parts)) / np.log(_GROWTH)
    result: Floats = np.clip(count // 2 + np.copysign(at, size), 0, count - 1.001)
    return result


def densities(use: Floats, kind: Ints, step: float, people: int) -> Floats:
    """Density per litre by class, level of extra spread, and node.

    Args:
        use: litres of indoor use in hours to learn from; kind: 0 to 47 for each.
        step: of the register, litres. people: usually at home.

    Returns:
        Classes are the kinds of a house as usual, then of ever fuller ones, and at last one of an empty house.
    """
    whole = nodes_of(step, 1)
    counts = np.zeros((KINDS, len(whole)))
    at = position(np.maximum(use, 0.0) / step, len(whole), 1)
    low = at.astype(np.int64)
    np.add.at(counts, (kind, low), 1 - (at - low))
    np.add.at(counts, (kind, low + 1), at - low)
    parted = _parted(_smoothed(counts, whole, people)[:, len(whole) // 2 :])
    quiet = parted[:24][np.argmax(parted[:24, 0])]
    away = 0.9 * (np.arange(len(quiet)) == 0) + 0.1 * quiet
    nodes = nodes_of(step)
    width = np.gradient(nodes)
    shown = np.maximum(np.concatenate([*_fuller(parted), _shown(away[None])]), _FLOOR * width)
    spread = np.stack([shown, *(shown @ each for each in _transports(step))], axis=1)
    result: Floats = spread / width
    return result


def _steps(most: int, parts: int) -> Floats:
    """Nodes from 0 up in register steps: parts of a step, then growing ones, ``most`` beside the first."""
    linear = np.arange(_LINEAR * parts + 1.0) / parts
    return np.concatenate([linear, _LINEAR * _GROWTH ** np.arange(1, most - _LINEAR * parts + 1)])


def _parted(shares: Floats) -> Floats:
    """Shares of uses between the steps from shares of whole steps (from 0 up), which they would be shown as.

    Richardson's and Lucy's iteration (textbook), from uses that lie evenly about what was shown. Larger uses stay.
    """
    away = np.abs(np.arange(_LINEAR + 1)[:, None] - np.arange(_LINEAR * _PARTS) / _PARTS)
    kernel = np.maximum(1 - away, 0.0)
    linear, far = shares[:, : _LINEAR + 1].copy(), shares[:, _LINEAR:].copy()
    linear[:, -1] *= 1 / (1 + _LINEAR * (_GROWTH - 1))  # of the last node, what lies this side of it
    far[:, 0] -= linear[:, -1]
    found = linear @ kernel
    for _ in range(_TURNS):
        found = found * ((linear / (found @ kernel.T)) @ kernel)
    return np.concatenate([found, far], axis=1)


def _shown(uses: Floats) -> Floats:
    """Shares by node, of both signs, that a register shows of uses from 0 up, wherever it stood at the beginning."""
    size, linear = uses.shape[1], _LINEAR * _PARTS
    at = np.arange(1 - _PARTS, linear)[:, None] - np.arange(linear)
    kernel = np.maximum(1 - np.abs(at) / _PARTS, 0.0) / _PARTS
    kernel = np.concatenate([kernel, 1 - kernel.sum(axis=0, keepdims=True)])
    result = np.zeros((len(uses), 2 * size - 1))
    result[:, size - _PARTS : size + linear] = uses[:, :linear] @ kernel.T
    result[:, size + linear - 1 :] += uses[:, linear:]
    return result


def _fuller(parted: Floats) -> list[Floats]:
    """Shares shown of a household as usual and of ever fuller ones: uses of each of them as usual, added to each other;
    half of the time of half as many more.
    """
    result = [_shown(parted)]
    less = result[0]
    # guests keep hours of their own, and their hosts stay in with them
    other = np.where(WAKING, *OTHER_HOURS)[:, None]
    uses = hosting = (1 - other) * parted + other * parted[WAKING].mean(axis=0)
    for _ in FULLER:
        uses = np.stack([_added(a, b) for a, b in zip(uses, hosting, strict=True)])
        more = _shown(uses)
        half = np.sqrt(less * more)
        result.append(0.5 * half / half.sum(axis=1, keepdims=True) + 0.5 * more)
        less = more
    return result


def _added(one: Floats, other: Floats) -> Floats:
    """Shares of the sum of two uses, neither less than nothing."""
    low, part = _sums(len(one))
    pairs = np.outer(one, other).ravel()
    shares = np.bincount(low, pairs * (1 - part), len(one)) + np.bincount(low + 1, pairs * part, len(one))
    return np.asarray(shares[: len(one)], dtype=np.float64)


@lru_cache(maxsize=8)
def _sums(size: int) -> tuple[Ints, Floats]:
    """Where each pair of nodes from 0 up goes when their uses add up: the node below, the share of the one above."""
    steps = _steps(size - 1, _PARTS)
    at = position((steps[:, None] + steps[None]).ravel(), 2 * size - 1) - (size - 1)
    low = at.astype(np.int64)
    return low, at - low


def _smoothed(counts: Floats, nodes: Floats, people: int) -> Floats:
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
    level = max(float((size * total).sum() / total.sum()), people * 2.0, 1.0)
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
    result: Floats = (1 - ODD_UP) * kind + ODD_UP * wide
    return result


@lru_cache(maxsize=8)
def _transports(step: float) -> tuple[Floats, ...]:
    """For each level but the first: where the share at each node goes when a normal error of that spread is added."""
    nodes = nodes_of(step)
    edges = np.concatenate([[-np.inf], (nodes[1:] + nodes[:-1]) / 2, [np.inf]])
    beyond = (nodes[:, None] - edges[None, :]) / np.sqrt(2)
    below = np.frompyfunc(erfc, 1, 1)  # twice the normal distribution
    return tuple(np.diff(below(beyond / sd).astype(np.float64) / 2, axis=1) for sd in LEVELS[1:])

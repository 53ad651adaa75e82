"""Readings of another register typed in among this meter's: the numbers jump to and fro between two levels."""

from __future__ import annotations

import numpy as np

from core.accounts.instants import Flags, Floats
from core.accounts.steps import LEAST_BOUND_L, SMALL_BACK_L

ALIKE = 0.2  # the way over and the way back differ by what was used meanwhile, at most this share; our own choice
LEAST_JUMPS = 2  # upwards, so that a fall lies between: one register never does that, and a misread does it once
LEAST_READINGS = 3  # of the other register: two odd ones may be two misreads


def of_another(value_l: Floats, step_l: Floats, changed: Flags) -> Flags:
    """Readings that follow each other but not the register that most readings are of.

    Asked for are steps up and down in turn, each about as large as the one before and far larger than those between
    them, over which both levels only ever rise. A changed register never comes back to the old one's level; where
    somebody wrote of a change, nothing is carried over it.

    Args:
        value_l, step_l: readings in order and their resolution, litres; ``changed``: the first of a new register.
    """
    other = np.zeros(len(value_l), dtype=bool)
    rise = np.diff(value_l)
    falls = rise <= -np.maximum(np.maximum(step_l[1:], SMALL_BACK_L), LEAST_BOUND_L)
    if not falls.any():
        return other
    rise = np.where(changed[1:], np.inf, rise)  # like no other step
    ends = np.flatnonzero(falls | changed[1:])
    done = -1
    for fall in np.flatnonzero(falls & ~changed[1:]):
        if fall <= done:
            continue
        steps = [*_alike(rise, int(fall), -1)[::-1], int(fall), *_alike(rise, int(fall), +1)]
        done = steps[-1]
        if (rise[steps] > 0).sum() < LEAST_JUMPS:
            continue
        before, after = ends[ends < steps[0]], ends[ends > steps[-1]]
        first = int(before[-1]) + 1 if len(before) else 0
        last = int(after[0]) + 1 if len(after) else len(value_l)
        place = np.arange(first, last)
        starts_high = bool(rise[steps[0]] < 0)
        high = (np.searchsorted(steps, place) % 2 == 0) == starts_high
        found = _fewer(high)
        if found.sum() >= LEAST_READINGS and all(_rises(value_l[place[level]]) for level in (high, ~high)):
            other[place[found]] = True
    return other


def _alike(rise: Floats, at: int, way: int) -> list[int]:
    """The steps beyond one, forwards or backwards, that take it back and make it again in turn."""
    found: list[int] = []
    size, up = abs(float(rise[at])), rise[at] > 0
    at += way
    while 0 <= at < len(rise):
        step = abs(float(rise[at]))
        if step > ALIKE * size:
            if abs(step - size) > ALIKE * size or (rise[at] > 0) == up:
                break
            found.append(at)
            size, up = step, not up
        at += way
    return found


def _fewer(high: Flags) -> Flags:
    """The readings of the level that has fewer; of equally many those unlike the first."""
    highs = int(high.sum())
    own = bool(high[0]) if 2 * highs == len(high) else 2 * highs > len(high)
    fewer: Flags = high != own
    return fewer


def _rises(value_l: Floats) -> bool:
    return bool((np.diff(value_l) >= -SMALL_BACK_L).all())

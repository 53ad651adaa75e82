"""Chance, reproducible on every machine and Python version.

Only ``random.Random.random`` is drawn from, the one method whose sequence Python promises to keep.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")
SEED = "bunchgrass-2"


class Dice:
    """A stream of chance of its own for each topic, so that a change in one topic leaves the others alone."""

    def __init__(self, topic: str) -> None:
        self._random = random.Random(f"{SEED}/{topic}")

    def uniform(self, low: float = 0.0, high: float = 1.0) -> float:
        return low + (high - low) * self._random.random()

    def chance(self, probability: float) -> bool:
        return self._random.random() < probability

    def normal(self, mean: float = 0.0, sd: float = 1.0) -> float:
        radius = math.sqrt(-2.0 * math.log(1.0 - self._random.random()))
        return mean + sd * radius * math.cos(2.0 * math.pi * self._random.random())

    def about(self, mean: float, share: float) -> float:
        """A positive number around ``mean``: lognormal with coefficient of variation ``share``."""
        width = math.sqrt(math.log(1.0 + share * share))
        return mean * math.exp(width * self.normal() - width * width / 2.0)

    def whole(self, low: int, high: int) -> int:
        return low + min(int(self._random.random() * (high - low + 1)), high - low)

    def pick(self, choices: Sequence[T]) -> T:
        return choices[self.whole(0, len(choices) - 1)]

    def count(self, mean: float) -> int:
        """How often something happens that happens ``mean`` times on average (Poisson)."""
        limit, product, n = math.exp(-mean), 1.0, -1
        while product > limit:
            product *= self._random.random()
            n += 1
        return n

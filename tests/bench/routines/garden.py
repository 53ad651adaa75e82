"""The zones of a garden, their programs over the seasons, and the water of each run.

Flows, run times and the weeks in which people change their controllers are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.bench.routines.clock import Clock, Floats
from tests.bench.routines.pouring import pour

# so many runs a week are spread over these days, counted from the first
SPREAD = {
    2: (0, 3),
    3: (0, 2, 4),
    4: (0, 2, 4, 6),
    5: (0, 1, 3, 4, 6),
    6: (0, 1, 2, 3, 4, 5),
    7: (0, 1, 2, 3, 4, 5, 6),
}


@dataclass(frozen=True)
class Zone:
    """A zone: gallons an hour it truly gives and by its emitters, weekdays and minutes of a run at midsummer.

    Attributes:
        scatter: how much its flow differs from run to run, as a share.
    """

    code: str
    true_gph: float
    paper_gph: float
    weekdays: frozenset[int]
    minutes: float
    scatter: float


@dataclass(frozen=True)
class Run:
    """One run as the book has it, in minutes of the record; ``strength`` is its flow as a share of the zone's."""

    zone: int
    day: int
    since: float
    until: float
    strength: float


@dataclass(frozen=True)
class Garden:
    """Zones, runs, and how late the controller's clock is, in minutes."""

    zones: list[Zone]
    runs: list[Run]
    late: float

    def gallons_a_minute(self, run: Run) -> float:
        return self.zones[run.zone].true_gph / 60 * run.strength

    def give(self, flow: Floats, run: Run, gallons_a_minute: float, later: float = 0.0) -> None:
        """Add a flow over the time a run truly takes, or so much later."""
        pour(flow, run.since + self.late + later, run.until + self.late + later, gallons_a_minute)

    def flow(self, minutes: int) -> Floats:
        """Gallons in each minute of the record."""
        flow = np.zeros(minutes)
        for run in self.runs:
            self.give(flow, run, self.gallons_a_minute(run))
        return flow


def draw_garden(rng: np.random.Generator, clock: Clock) -> Garden:
    """Two to four zones of one controller, one after the other, once or twice a day."""
    count = int(rng.integers(2, 5))
    alike = str(rng.choice(["same", "own"], p=[0.65, 0.35])) == "same"
    shared = _weekdays(rng)
    starts = [float(rng.choice([4, 5, 5.5, 6, 6.5, 20, 21])) * 60]
    if rng.random() < 0.3:  # and again half a day later, or at half past five
        starts.append((starts[0] + 720) % 1440 if starts[0] < 720 else 330.0)
    zones = [_zone(rng, k, shared if alike else None, len(starts) > 1) for k in range(count)]
    runs = _runs(rng, clock, zones, starts)
    strengths = [1 + zones[run[0]].scatter * rng.normal() for run in runs]
    late = float(np.clip(2 * rng.normal(), -5, 5))
    return Garden(zones, [Run(*run, strength) for run, strength in zip(runs, strengths, strict=True)], late)


def _weekdays(rng: np.random.Generator) -> frozenset[int]:
    spread = SPREAD[int(rng.integers(2, 8))]
    first = int(rng.integers(7))
    return frozenset((day + first) % 7 for day in spread)


def _zone(rng: np.random.Generator, k: int, weekdays: frozenset[int] | None, twice: bool) -> Zone:
    """A zone; its true flow is up to a fifth off what its emitters add up to."""
    true = float(np.exp(rng.uniform(np.log(18), np.log(130))))
    off = float(np.clip(1 + 0.12 * rng.normal(), 0.8, 1.2))
    weekdays = _weekdays(rng) if weekdays is None else weekdays
    minutes = float(rng.choice([15, 20, 30, 40, 45, 60, 75, 90])) / (1.5 if twice else 1)
    return Zone(f"z{k + 1}", true, true / off, weekdays, minutes, scatter=float(rng.uniform(0.02, 0.04)))


def _runs(
    rng: np.random.Generator, clock: Clock, zones: list[Zone], starts: list[float]
) -> list[tuple[int, int, float, float]]:
    """Zone, day, begin and end of each run: from April to October, less in spring and autumn."""
    opens, closes = (4, int(rng.integers(10, 30))), (10, int(rng.integers(5, 25)))
    summer, autumn = (6, int(rng.integers(1, 12))), (8, int(rng.integers(22, 31)))
    in_spring, in_autumn = rng.uniform(0.55, 0.8), rng.uniform(0.5, 0.75)
    runs = []
    for day, date in enumerate(clock.dates[:-1]):
        today = (date.month, date.day)
        if not opens <= today < closes:
            continue
        share = in_spring if today < summer else 1.0 if today < autumn else in_autumn
        for start in starts:
            minute = start
            for k, zone in enumerate(zones):
                if date.weekday() in zone.weekdays:
                    lasts = max(round(zone.minutes * share), 5)
                    begin = float(round(clock.minute(day, minute)))
                    runs.append((k, day, begin, begin + lasts))
                    minute += lasts
    return runs

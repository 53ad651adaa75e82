"""Faults of known kind, size and date in a home: what each adds to the water through the meter, or takes from it.

Sizes follow what fails in drip systems: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.bench.routines.clock import Floats
from tests.bench.routines.garden import Run
from tests.bench.routines.home import Home
from tests.bench.routines.pouring import pour

DAY = 1440  # minutes
LASTING = ("steady", "more_than_set", "less_than_set", "another_schedule")  # go on until somebody does something
LEARN = 60  # days of every record before anything breaks
SHIFTS = (1, 2, 3, 4, 6, 8, 10, 12)  # hours


@dataclass(frozen=True)
class Breakage:
    """One thing gone wrong.

    Attributes:
        zones: codes of those it is in; of none where it is not the garden's.
        since: minute of the record at which it began. change: gallons more or less in each minute.
    """

    zones: frozenset[str]
    since: float
    change: Floats


def draw_breakage(rng: np.random.Generator, home: Home, kind: str) -> Breakage | None:
    """A fault of a kind, or None where what was drawn is none to speak of."""
    change = np.zeros(home.clock.minutes)
    day = int(rng.integers(LEARN, home.clock.days - 12))
    if kind == "steady":
        return _leak(rng, home, day, change)
    if kind == "one_off":
        return _single_use(rng, home, day, change)
    learned, ends = home.clock.minute(LEARN, 0), home.clock.minutes - 3000
    late = [i for i, run in enumerate(home.garden.runs) if run.since > learned and run.until < ends]
    if not late:
        return None
    i = int(rng.choice(late))
    if kind == "stuck_open":
        return _stuck(rng, home, i, change)
    first = home.garden.runs[i]
    if kind in ("more_than_set", "less_than_set"):
        return _other_flow(rng, home, first, kind, change)
    return (_not_delivered if kind == "not_delivered" else _moved)(rng, home, first, change)


def _leak(rng: np.random.Generator, home: Home, day: int, change: Floats) -> Breakage:
    """Water moving day and night, for five months at most."""
    gph = float(np.exp(rng.uniform(np.log(0.3), np.log(12))))
    since = home.clock.minute(day, rng.uniform(0, DAY))
    pour(change, since, min(since + DAY * 150, home.clock.minutes - 1), gph / 60)
    return Breakage(frozenset(), since, change)


def _single_use(rng: np.random.Generator, home: Home, day: int, change: Floats) -> Breakage:
    """Something large once in the daytime: a pool filled, a hose forgotten."""
    gallons = float(np.exp(rng.uniform(np.log(60), np.log(3000))))
    hours = max(rng.uniform(1, 8), gallons / 550)  # no more than a house's pipe gives
    since = home.clock.minute(day, rng.uniform(7, 19) * 60)
    pour(change, since, since + hours * 60, gallons / hours / 60)
    return Breakage(frozenset(), since, change)


def _after(home: Home, first: Run, minutes: float, zones: set[int]) -> list[Run]:
    """Runs of these zones from ``first`` on, for so long."""
    until = first.since + minutes
    return [run for run in home.garden.runs if first.since <= run.since < until and run.zone in zones]


def _codes(home: Home, zones: set[int]) -> frozenset[str]:
    return frozenset(home.garden.zones[k].code for k in zones)


def _stuck(rng: np.random.Generator, home: Home, i: int, change: Floats) -> Breakage | None:
    """The valve stays open after a run: for hours, or until its next run closes it, a week at most."""
    garden, run = home.garden, home.garden.runs[i]
    lasts = float(np.exp(rng.uniform(np.log(2), np.log(72)))) * 60
    following = next((r.since for r in garden.runs[i + 1 :] if r.zone == run.zone), home.clock.minutes - 1.0)
    if rng.random() < 0.3:
        lasts = np.inf
    since = run.until + garden.late
    until = min(since + lasts, following + garden.late, since + 7 * DAY, home.clock.minutes - 1)
    if until - since < 110:
        return None
    pour(change, since, until, garden.gallons_a_minute(run))
    return Breakage(_codes(home, {run.zone}), since, change)


def _other_flow(rng: np.random.Generator, home: Home, first: Run, kind: str, change: Floats) -> Breakage:
    """A line off or broken, or clogged emitters, for four months at most."""
    share = float(rng.uniform(1.25, 3) if kind == "more_than_set" else rng.uniform(0.15, 0.75))
    for run in _after(home, first, DAY * 120, {first.zone}):
        home.garden.give(change, run, home.garden.gallons_a_minute(run) * (share - 1))
    return Breakage(_codes(home, {first.zone}), first.since, change)


def _not_delivered(rng: np.random.Generator, home: Home, first: Run, change: Floats) -> Breakage:
    """One zone or all of them stay dry for one to twenty days."""
    zones = set(range(len(home.garden.zones))) if rng.random() < 0.5 else {first.zone}
    days = float(np.exp(rng.uniform(0, np.log(20))))
    for run in _after(home, first, DAY * days, zones):
        home.garden.give(change, run, -home.garden.gallons_a_minute(run))
    return Breakage(_codes(home, zones), first.since, change)


def _moved(rng: np.random.Generator, home: Home, first: Run, change: Floats) -> Breakage:
    """Every run comes some hours early or late, for two months at most."""
    hours = float(rng.choice([-1, 1]) * rng.choice(SHIFTS))
    until = home.clock.minutes - 1000  # the last may come half a day late
    for run in _after(home, first, min(DAY * 60, until - first.since), set(range(len(home.garden.zones)))):
        rate = home.garden.gallons_a_minute(run)
        home.garden.give(change, run, -rate)
        home.garden.give(change, run, rate, later=hours * 60)
    return Breakage(frozenset(), first.since, change)

"""Who is there on which day: trips, business, a student, guests; and what of it the people wrote down.

How often people leave and how they write it down is invented, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from tests.bench.routines.clock import Clock
from tests.bench.routines.people import Person, Span

WRITES = 0.65  # of trips and visits


@dataclass(frozen=True)
class Written:
    """A stretch of days with another number of people, as somebody wrote it into the book; ``until`` is not in it."""

    since: date
    until: date
    people: int
    reason: str


@dataclass
class Presence:
    """Who is there, by day.

    Attributes:
        there: by day and person. guests: how many. hours_away: minutes of the day on which nobody is in.
    """

    clock: Clock
    there: NDArray[np.bool_]
    guests: NDArray[np.int_]
    hours_away: list[list[Span]]
    away: NDArray[np.bool_]
    written: list[tuple[int, int, int, str]]  # first day, day after the last, people, reason

    def in_at(self, day: int, minute: float) -> bool:
        """Whether the house is not left empty at this minute of the day."""
        return not any(a <= minute < b for a, b in self.hours_away[day])

    def whole_day(self, day: int) -> bool:
        """Whether somebody of the family is there and no trip begins or ends."""
        return bool(self.there[day].any()) and not self.hours_away[day]

    def book(self) -> list[Written]:
        """What the people wrote down, by date."""
        dates = self.clock.dates
        return [Written(dates[a], dates[b], n, why) for a, b, n, why in sorted(self.written, key=lambda w: w[0])]


def draw_presence(rng: np.random.Generator, clock: Clock, family: list[Person]) -> Presence:
    """A year or so of coming and going."""
    days, people = clock.days, len(family)
    home = Presence(
        clock,
        there=np.ones((days, people), bool),
        guests=np.zeros(days, int),
        hours_away=[[] for _ in range(days)],
        away=np.zeros(days, bool),
        written=[],
    )
    _trips(rng, home)
    for k, who in enumerate(family):
        if who.kind == "worker":  # nights away on business
            for _ in range(rng.poisson(3)):
                day = int(rng.integers(days))
                home.there[day : day + int(rng.integers(1, 4)), k] = False
    if people >= 3 and rng.random() < 0.12:  # the eldest child goes to college
        for day in clock.find(8, 20):
            until = min(day + 300, days)
            home.there[day:until, people - 1] = False
            if _writes(rng):
                home.written.append((day, until, people - 1, "other"))
    _visits(rng, home)
    return home


def _writes(rng: np.random.Generator) -> bool:
    return bool(rng.random() < WRITES)


def _trips(rng: np.random.Generator, home: Presence) -> None:
    """A summer holiday, a winter one, long weekends."""
    clock = home.clock
    if rng.random() < 0.6:
        for day in clock.find(int(rng.integers(6, 9)), int(rng.integers(1, 29))):
            _trip(rng, home, day, day + int(rng.integers(7, 16)), _writes(rng))
    if rng.random() < 0.25:
        for day in clock.find(int(rng.choice([1, 2, 3])), int(rng.integers(1, 28))):
            _trip(rng, home, day, day + int(rng.integers(4, 9)), _writes(rng))
    for _ in range(rng.poisson(2.5)):
        day = int(rng.integers(clock.days))
        day += (4 - clock.dates[day].weekday()) % 7  # leaves on a Friday
        _trip(rng, home, day, day + 3, _writes(rng))


def _trip(rng: np.random.Generator, home: Presence, first: int, until: int, writes: bool) -> None:
    """All leave in the course of the first day and are back in the course of the last."""
    until = min(until, home.clock.days)
    if until <= first or home.away[max(first - 1, 0) : until + 1].any():
        return
    home.away[first:until] = True
    if until - first == 1:  # the record ends with the day of leaving
        home.there[first:until] = False
    else:
        home.there[first + 1 : until - 1] = False
        home.hours_away[first].append((rng.uniform(8, 17) * 60, 1600))
        home.hours_away[until - 1].append((-60, rng.uniform(12, 20) * 60))
    if writes:
        how = "nights"
        if until - first > 2:
            how = str(rng.choice(["nights", "day of return too", "whole days"], p=[0.6, 0.25, 0.15]))
        since = first + (how == "whole days")
        home.written.append((since, max(until - (how != "day of return too"), first + 1), 0, "away"))


def _visits(rng: np.random.Generator, home: Presence) -> None:
    """Thanksgiving, Christmas, some time in the warm half of the year."""
    clock = home.clock
    if rng.random() < 0.4:
        for day in clock.find(11, 23):
            _visit(rng, home, day - 1, day + int(rng.integers(2, 4)))
    if rng.random() < 0.5:
        for day in clock.find(12, 22):
            _visit(rng, home, day, day + int(rng.integers(3, 10)))
    if rng.random() < 0.5:
        for day in clock.find(int(rng.choice([4, 5, 6, 7, 8, 9])), int(rng.integers(1, 28))):
            _visit(rng, home, day, day + int(rng.integers(2, 8)))


def _visit(rng: np.random.Generator, home: Presence, first: int, until: int) -> None:
    first, until = max(first, 0), min(until, home.clock.days)
    if until <= first or home.away[first:until].any() or home.guests[first:until].any():
        return
    guests = int(rng.choice([1, 2, 3, 4], p=[0.3, 0.4, 0.15, 0.15]))
    writes = _writes(rng)
    home.guests[first:until] = guests
    if writes and not any(a < until and first < b for a, b, _, _ in home.written):
        home.written.append((first, until, home.there.shape[1] + guests, "guests"))

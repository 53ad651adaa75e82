"""The water of a house from what its people do: toilets, taps, showers, meals, laundry.

Fixtures and how often they are used are round numbers from daily life and from the labels of fixtures, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from tests.bench.routines.absences import Presence
from tests.bench.routines.clock import Floats
from tests.bench.routines.people import Day, Person, about, day_of
from tests.bench.routines.pouring import Draws

WASH_DAYS = [0.12, 0.1, 0.1, 0.1, 0.1, 0.24, 0.24]  # how likely each weekday is one, from Monday


@dataclass(frozen=True)
class Fixtures:
    """What is built in, and the household's habits with it. Gallons.

    Attributes:
        flush: one. shower_gpm: gallons a minute. load: one of the washing machine; loads: a week.
        wash_days: weekdays on which washing is done. dishwasher: there is one; dishes: one run;
        dishes_share: chance of a run in a day. baths: children have baths.
    """

    flush: float
    shower_gpm: float
    load: float
    loads: float
    wash_days: tuple[int, ...]
    dishwasher: bool
    dishes: float
    dishes_share: float
    baths: bool


def draw_fixtures(rng: np.random.Generator, people: int) -> Fixtures:
    """What a house of so many people has."""
    flush = float(rng.choice([1.28, 1.6, 2.2, 3.5], p=[0.35, 0.4, 0.15, 0.1]))
    shower_gpm = rng.uniform(1.5, 2.4)
    load = rng.uniform(28, 40) if rng.random() < 0.3 else rng.uniform(12, 20)
    loads = 0.8 + people * rng.uniform(0.7, 1.5)
    wash_days = tuple(range(7))
    if rng.random() < 0.75:
        wash_days = tuple(rng.choice(7, size=int(rng.integers(1, 4)), replace=False, p=WASH_DAYS).tolist())
    return Fixtures(
        flush=flush,
        shower_gpm=shower_gpm,
        load=load,
        loads=loads,
        wash_days=wash_days,
        dishwasher=bool(rng.random() < 0.75),
        dishes=rng.uniform(3, 6),
        dishes_share=min(0.95, 0.25 + 0.15 * people),
        baths=bool(rng.random() < (0.5 if people > 2 else 0.12)),
    )


def no_school(day: date) -> bool:
    """Summer and Christmas holidays."""
    return (
        day.month == 7
        or (day.month == 6 and day.day > 12)
        or (day.month == 8 and day.day < 22)
        or (day.month == 12 and day.day > 21)
    )


@dataclass
class House:
    """A house in use: what draws water in it, day after day."""

    rng: np.random.Generator
    fixtures: Fixtures
    presence: Presence
    draws: Draws

    def live(self, family: list[Person], visitors: list[Person]) -> Floats:
        """Every day of the record; gallons of each."""
        by_day = np.zeros(self.presence.clock.days)
        for day in range(len(by_day)):
            before = len(self.draws.gallons)
            there, guests = self.presence.there[day], int(self.presence.guests[day])
            self._day(day, [who for k, who in enumerate(family) if there[k]] + visitors[:guests], guests)
            by_day[day] = sum(self.draws.gallons[before:])
        return by_day

    def _day(self, day: int, crowd: list[Person], guests: int) -> None:
        date_ = self.presence.clock.dates[day]
        days: list[Day] = []
        for who in crowd:
            days.append(day_of(self.rng, who, date_.weekday(), no_school(date_), day // 7))
            self._one_person(day, who, days[-1])
        if crowd:
            self._dinner(day, len(crowd), guests, days)
            if date_.weekday() in self.fixtures.wash_days:
                someone_home = date_.weekday() >= 5 or any(who.kind == "home" for who in crowd)
                self._laundry(day, guests, someone_home)

    def _one_person(self, day: int, who: Person, course: Day) -> None:
        """Toilet, taps, and a shower or a child's bath."""
        rng, at_home = self.rng, self.presence.in_at
        self._flush(day, course.wake + rng.uniform(0, 15))
        if rng.random() < 0.9:
            self._flush(day, course.sleep - rng.uniform(2, 30))
        if rng.random() < who.night:
            self._flush(day, (course.sleep + rng.uniform(60, 400)) % 1440)
        for begin, end in course.spans:
            if end <= begin:
                continue
            for minute in rng.uniform(begin, end, rng.poisson(who.flushes * (end - begin) / 60)):
                self._flush(day, minute)
            for minute in rng.uniform(begin, end, rng.poisson(who.taps * (end - begin) / 60)):
                if at_home(day, minute):
                    self.draws.add(day, minute, 1, min(about(rng, 0.45, 0.9), 6))
        if rng.random() < who.shower:
            minute = course.wake + rng.uniform(8, 40) if who.morning else course.sleep - rng.uniform(30, 130)
            if at_home(day, minute):
                minutes = about(rng, who.shower_minutes, 0.33)
                self.draws.add(day, minute, minutes, minutes * self.fixtures.shower_gpm)
        elif self.fixtures.baths and who.kind == "child" and rng.random() < 0.6:
            minute = course.sleep - rng.uniform(40, 100)
            if at_home(day, minute):
                self.draws.add(day, minute, 8, rng.uniform(18, 35))

    def _flush(self, day: int, minute: float) -> None:
        """A toilet, and most times the hands."""
        if self.presence.in_at(day, minute):
            self.draws.add(day, minute, 2, self.fixtures.flush * (1 + 0.06 * self.rng.normal()))
            if self.rng.random() < 0.8:
                self.draws.add(day, minute + 1, 1, about(self.rng, 0.35, 0.5))

    def _dinner(self, day: int, crowd: int, guests: int, days: list[Day]) -> None:
        """Cooking and dishes, if somebody is in at dinner time."""
        rng, has = self.rng, self.fixtures
        dinner = 18.6 * 60 + 35 * rng.normal()
        at_table = any(a <= dinner <= b for each in days for a, b in each.spans)
        if at_table and self.presence.in_at(day, dinner):
            for _ in range(3):
                minute = dinner + rng.uniform(-40, 40)
                gallons = 0.8 + 0.3 * crowd if has.dishwasher else 1.3 + 0.7 * crowd
                self.draws.add(day, minute, 2, about(rng, gallons, 0.4))
        if has.dishwasher and rng.random() < min(0.98, has.dishes_share + 0.1 * guests):
            minute = dinner + rng.uniform(40, 150)
            if self.presence.in_at(day, minute):
                for k, part in enumerate((0.3, 0.2, 0.25, 0.25)):  # rinses and washes, 25 minutes apart
                    self.draws.add(day, minute + 25 * k, 2, has.dishes * part)

    def _laundry(self, day: int, guests: int, someone_home: bool) -> None:
        """Loads one after the other, in the morning or after work."""
        rng, has = self.rng, self.fixtures
        loads = has.loads / len(has.wash_days) * (1 + 0.3 * guests)
        minute = (rng.uniform(9, 13) if someone_home else rng.uniform(18, 19.5)) * 60
        count = int(loads) + int(rng.random() < loads % 1) + int(rng.random() < 0.15) - int(rng.random() < 0.15)
        for _ in range(min(count, 5)):
            if self.presence.in_at(day, minute):
                gallons = has.load * rng.choice([0.8, 1, 1, 1.15])
                for k, part in enumerate((0.45, 0.3, 0.25)):  # a wash and two rinses
                    self.draws.add(day, minute + 17 * k, 4, gallons * part)
            minute += rng.uniform(50, 80)

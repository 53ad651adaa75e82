"""Two people and their visitors: every draw indoors as an event of its own, by weekday habits.

Marek leaves at half past seven on weekdays; Tilda works at home on Tuesdays and Thursdays.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import numpy as np

from maker import story
from maker.clock import MINUTES, days, minute
from maker.dice import Dice

USUAL = 2


def sleepers(day: date) -> int:
    """How many people spend the day at home or sleep there."""
    return next((people for first, after, people, *_ in story.VISITS if first <= day < after), USUAL)


def away(when: datetime) -> bool:
    return sleepers(when.date()) == 0


class _House:
    def __init__(self) -> None:
        self.gallons = np.zeros(MINUTES)
        self.dice = Dice("indoors")

    def draw(self, day: date, hour: float, gallons: float, gpm: float) -> None:
        """Water from ``hour`` o'clock at ``gpm`` until ``gallons`` are through."""
        start = minute(datetime.combine(day, time(0))) + int(hour * 60)
        lasts = max(gallons / gpm, 0.01)
        whole = int(np.ceil(lasts))
        if start >= 0 and start + whole < MINUTES:
            shares = np.full(whole, gpm)
            shares[-1] = gallons - gpm * (whole - 1)
            self.gallons[start : start + whole] += shares

    def person(self, day: date, home_all_day: bool, rises: float, share: float = 1.0) -> None:
        dice, weekend = self.dice, day.weekday() >= 5
        sleeps = dice.normal(22.6, 0.4)
        for _ in range(dice.count((6.6 if home_all_day else 4.8) * share)):
            hour = dice.uniform(rises, sleeps)
            if not home_all_day and 8 < hour < 16.7:
                hour = dice.pick((rises + dice.uniform(0, 1), dice.uniform(16.8, sleeps)))
            self.draw(day, hour, dice.about(1.33, 0.06), 2.2)
            self.draw(day, hour + 0.05, dice.about(0.35, 0.4), 0.9)
        if dice.chance(0.2 * share):
            self.draw(day, dice.uniform(0.5, 5.0), 1.33, 2.2)
        summer = 0.06 if day.month in (6, 7, 8) else 0.0
        if dice.chance((0.78 if weekend else 0.88) + summer):
            self.draw(day, rises + dice.normal(0.4, 0.15), dice.about(16.4, 0.27), 2.05)
        for _ in range(dice.count((17 if home_all_day else 12) * share)):
            hour = dice.uniform(rises, sleeps)
            if home_all_day or not 8 < hour < 16.7:
                self.draw(day, hour, dice.about(0.7, 0.8), 1.1)

    def household(self, day: date, people: int) -> None:
        dice, weekday = self.dice, day.weekday()
        load = 1.0 + 0.25 * (people - USUAL)
        self.draw(day, dice.normal(18.4, 0.5), dice.about(6.5, 0.35) * load, 1.3)
        if dice.chance(0.5 * load):
            self.draw(day, dice.normal(20.6, 0.6), 3.7, 1.4)
        for _ in range(dice.count((0.1, 0.05, 0.7, 0.1, 0.1, 1.9, 0.6)[weekday] * load)):
            start = dice.normal(10.5, 1.5) if weekday >= 5 else dice.normal(18.8, 0.7)
            for part, after in ((6.5, 0.0), (4.5, 0.35), (4.2, 0.55)):
                self.draw(day, start + after, part * dice.about(1.0, 0.08), 2.6)
        if weekday == 6 and dice.chance(0.4):
            self.draw(day, dice.normal(20.2, 0.4), dice.about(29.0, 0.1), 4.0)
        if weekday == 5:
            self.draw(day, dice.normal(11.8, 0.8), dice.about(6.0, 0.4), 1.6)


def indoors() -> np.ndarray:
    """Gallons drawn indoors in every minute of the sample."""
    house = _House()
    for day in days():
        people = sleepers(day)
        if people == 0:
            continue
        weekend = day.weekday() >= 5 or (day.month, day.day) in ((12, 25), (1, 1), (7, 3))
        late = 1.6 if weekend else 0.0
        house.person(day, weekend, house.dice.normal(5.9, 0.12) + late)
        house.person(day, weekend or day.weekday() in (1, 3), house.dice.normal(6.8, 0.2) + late * 0.7)
        for _ in range(people - USUAL):
            house.person(day, house.dice.chance(0.5), house.dice.normal(8.2, 0.5), 0.9)
        house.household(day, people)
    for start, lasts in story.QUIET:
        first = minute(start)
        house.gallons[first : first + lasts] = 0.0
    return house.gallons


def next_hour_at_home(day: date, dice: Dice) -> datetime:
    """A time on ``day`` when somebody would take the hose."""
    hour = dice.normal(9.6, 0.7) if day.weekday() >= 5 else dice.normal(19.0, 0.6)
    return datetime.combine(day, time(0)) + timedelta(minutes=int(hour * 60))

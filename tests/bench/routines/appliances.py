"""What draws water without anybody: softener, ice maker, humidifier; and what is done outdoors with a hose.

Sizes and habits are round numbers from daily life, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.bench.routines.absences import Presence
from tests.bench.routines.clock import Clock, Floats
from tests.bench.routines.people import about
from tests.bench.routines.pouring import Draws

# minutes after it begins, minutes, share of the water: backwash, brine and slow rinse, fast rinse, refill
REGENERATION = ((0, 10, 0.25), (12, 60, 0.4), (75, 10, 0.2), (88, 8, 0.15))


@dataclass(frozen=True)
class Outdoors:
    """A use of the hose that nobody wrote down; minutes of the record, gallons.

    Attributes:
        what: "hose", "car" or "pots".
    """

    what: str
    since: float
    until: float
    gallons: float


def draw_appliances(rng: np.random.Generator, presence: Presence, draws: Draws, used: Floats) -> tuple[str, Floats]:
    """What the home record says draws water by itself, and the humidifier's gallons in each minute.

    Args:
        used: gallons of each day, by which a softener counts.
    """
    clock, has = presence.clock, []
    if rng.random() < 0.3:
        _soften(rng, draws, used)
        has.append("softener")
    if rng.random() < 0.3:
        _make_ice(rng, presence, draws)
        has.append("ice maker")
    flow = np.zeros(clock.minutes)
    if rng.random() < 0.22:
        _humidify(rng, clock, flow)
        has.append("humidifier")
    written = rng.random() <= 0.85  # the others did not say
    return ", ".join(has) if written else "", flow


def _soften(rng: np.random.Generator, draws: Draws, used: Floats) -> None:
    """Regenerates in the small hours after so many gallons."""
    capacity, gallons, minute = rng.uniform(450, 1500), rng.uniform(35, 75), float(rng.choice([120, 120, 180]))
    left = capacity * rng.uniform(0.2, 1)
    for day in range(len(used) - 1):
        left -= used[day]
        if left < capacity * 0.1:
            for after, minutes, part in REGENERATION:
                draws.add(day + 1, minute + after, minutes, gallons * part)
            left = capacity


def _make_ice(rng: np.random.Generator, presence: Presence, draws: Draws) -> None:
    """Fills of a tenth of a gallon around the clock, few while the family is away."""
    a_day = rng.uniform(0.5, 2.0)
    for day in range(presence.clock.days):
        fills = rng.poisson(a_day / 0.1 * (1 if presence.there[day].any() else 0.15))
        for minute in rng.uniform(0, 1440, fills):
            draws.add(day, minute, 1, 0.1)


def _humidify(rng: np.random.Generator, clock: Clock, flow: Floats) -> None:
    """Runs with the furnace in bouts, more the colder it is; cold spells last some days."""
    most, spell = rng.uniform(0.2, 0.8), 0.0
    for day in range(clock.days):
        spell = 0.8 * spell + 0.6 * rng.normal() * 0.35
        season = np.cos((clock.dates[day].timetuple().tm_yday - 15) / 365 * 2 * np.pi)  # coldest in mid-January
        level = np.clip(season - 0.35 + spell, 0, 1) * most
        if level > 0:
            for half_hour in range(48):
                if rng.random() < 0.7:
                    since = int(clock.minute(day, 30 * half_hour))
                    until = since + int(rng.integers(8, 25))
                    flow[max(since, 0) : until] += level / 60 * 1.7


def draw_outdoors(rng: np.random.Generator, presence: Presence, draws: Draws) -> list[Outdoors]:
    """Hose and car wash at weekends, pots on summer evenings, in homes that do so."""
    uses: list[Outdoors] = []
    clock = presence.clock

    def use(what: str, day: int, minute: float, minutes: float, gallons: float) -> None:
        draws.add(day, minute, minutes, gallons)
        since = clock.minute(day, minute)
        uses.append(Outdoors(what, since, since + minutes, gallons))

    hose, car = rng.random() < 0.6, rng.random() < 0.35
    pots = rng.random() < 0.4
    for day in range(clock.days):
        if not presence.whole_day(day):
            continue
        month, weekend = clock.dates[day].month, clock.dates[day].weekday() >= 5
        warm = 5 <= month <= 9
        if hose and warm and weekend and rng.random() < 0.3:
            minutes = about(rng, 13, 0.45)
            use("hose", day, rng.uniform(9, 19) * 60, minutes, min(minutes * rng.uniform(2.5, 5), 160))
        if car and 3 < month < 11 and weekend and rng.random() < 0.17:
            use("car", day, rng.uniform(10, 17) * 60, rng.uniform(20, 45), rng.uniform(30, 90))
        if pots and warm and rng.random() < 0.35:
            use("pots", day, rng.uniform(18, 20.5) * 60, 6, rng.uniform(4, 14))
    return uses

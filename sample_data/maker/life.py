"""The simulation itself: two years of minutes, every gallon under the name of what it was used for."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

import numpy as np

from maker import people, story, weather
from maker.clock import FIRST, MINUTES, at, days, minute, on_controller
from maker.dice import Dice
from maker.garden import VALVES
from maker.pipes import Pipes
from maker.plants import Patch

FIRST_REGISTER = 618_240.37  # gallons through the meter when the sample begins
BIRD_BATH = (date(2026, 5, 16), date(2026, 10, 4), 3)


@dataclass
class Hose:
    """One use of the hose: when, gallons in truth, what for, and what was written about it."""

    start: int
    minutes: int
    gallons: float
    what: str
    written: bool


@dataclass
class Opening:
    """A valve open from ``start`` for ``minutes``; ``why`` is program, hand or stuck."""

    zone: str
    start: float
    minutes: float
    why: str


@dataclass
class Life:
    """Everything that truly happened.

    ``parts`` holds gallons per minute of the simulation for every part; they add up to what the meter turned.
    ``faults`` holds gallons per minute that a fault added (or, below zero, took away) and that the parts include.
    """

    sky: list[weather.Day]
    parts: dict[str, np.ndarray] = field(default_factory=dict)
    faults: dict[str, np.ndarray] = field(default_factory=dict)
    openings: list[Opening] = field(default_factory=list)
    skipped: list[Opening] = field(default_factory=list)
    hoses: list[Hose] = field(default_factory=list)
    rain_holds: list[tuple[date, date]] = field(default_factory=list)
    healthy_gph: dict[str, float] = field(default_factory=dict)
    unmetered: list[tuple[date, float]] = field(default_factory=list)

    def register(self, minutes: np.ndarray | list[int] | int) -> np.ndarray:
        """What the meter shows at the beginning of minutes, in gallons with decimals."""
        return self._turned[np.asarray(minutes)]

    def close(self) -> None:
        total = np.sum([self.parts[name] for name in sorted(self.parts)], axis=0)
        self._turned = FIRST_REGISTER + np.concatenate([[0.0], np.cumsum(total)])


def live() -> Life:
    """Run the two years."""
    life = Life(weather.make())
    life.parts["indoor"] = people.indoors()
    leak = np.zeros(MINUTES)
    leak[minute(story.LEAK_FROM) : minute(story.LEAK_FIXED)] = story.LEAK_GPH / 60
    shut, lasts = minute(story.HOUSE_SHUT[0]), story.HOUSE_SHUT[1]
    leak[shut : shut + lasts] = 0.0
    life.parts["leak"] = leak
    pipes = Pipes()
    _rain_holds(life)
    _controller(life)
    _hose(life, pipes)
    _valves(life, pipes)
    life.close()
    return life


def paused(life: Life, zone: str, day: date) -> bool:
    """Whether the controller was off on purpose for a zone on a day."""
    scope, since, until = story.REPAIR_PAUSE
    spans = [*story.WINTERS, *life.rain_holds, *([(since, until)] if scope == zone else [])]
    return any(first <= day and (after is None or day < after) for first, after in spans)


def clock_fast(day: date) -> float:
    """Minutes the controller's clock was fast on a day."""
    right = [when.date() for when, _, put_right in story.CLOCK_LOOKS if put_right and when.date() < day]
    return (day - max(right, default=FIRST)).days * story.CLOCK_GAIN_PER_DAY


def _rain_holds(life: Life) -> None:
    """After half an inch in two days of the watering season the controller rests for three days."""
    for before, today in zip(life.sky, life.sky[1:], strict=False):
        day = today.day
        if day.month not in (5, 6, 9) or before.rain + today.rain < 0.5:
            continue
        if life.rain_holds and day < life.rain_holds[-1][1] + timedelta(days=9):
            continue
        life.rain_holds.append((day + timedelta(days=1), day + timedelta(days=4)))


def _controller(life: Life) -> None:
    dice = Dice("valves")
    dead, alive = minute(story.BATTERY_DEAD), minute(story.BATTERY_NEW)
    for day in days():
        for setting in story.SETTINGS:
            if not setting.waters_on(day) or paused(life, setting.zone, day):
                continue
            for start in setting.start_times:
                begins = on_controller(day, start, clock_fast(day))
                lasts = setting.minutes * setting.percent / 100
                late, slow = dice.uniform(0, 0.4), dice.normal(0, 0.15)
                opening = Opening(setting.zone, begins + late, lasts + slow, "program")
                (life.skipped if dead <= begins < alive else life.openings).append(opening)
                if setting.zone == story.STUCK_ZONE and day == story.STUCK_NIGHT:
                    ends = begins + late + lasts + slow
                    rest = minute(story.CLOSED_ITSELF) - ends
                    life.openings.append(Opening(setting.zone, ends, rest, "stuck"))
    for zone, start, lasts, *_ in story.HAND_RUNS:
        life.openings.append(Opening(zone, minute(start), lasts, "hand"))
    life.openings.sort(key=lambda o: (o.start, o.zone))


def _hose(life: Life, pipes: Pipes) -> None:
    """The pool, the car, the grass patch when it looks thirsty, the bird bath."""
    dice = Dice("hose")
    plan: list[tuple[datetime, int, str, bool]] = [
        (*story.POOL_UNWRITTEN, "pool", False),
        (*story.POOL_WRITTEN, "pool", True),
        (at(date(2025, 5, 3), 14, 20), 6, "car", True),
        (at(date(2025, 8, 24), 10, 15), 7, "car", True),
        (at(date(2026, 4, 18), 15, 5), 6, "car", True),
        (at(date(2026, 7, 5), 16, 40), 7, "car", True),
        (at(date(2026, 9, 12), 11, 10), 9, "windows and siding", True),
    ]
    patch, last = Patch(), FIRST
    for today in life.sky:
        day = today.day
        patch.day(today)
        season = date(day.year, 4, 26) <= day <= date(day.year, 10, 5)
        if season and people.sleepers(day) and patch.looks_dry and (day - last).days >= 2 and dice.chance(0.8):
            lasts = dice.whole(6, 10)
            careful = date(2026, 7, 15) <= day < date(2026, 8, 1)  # proud of the hourly file
            written = dice.chance(0.86) or careful
            plan.append((people.next_hour_at_home(day, dice), lasts, "grass patch", written))
            patch.water(lasts * 5.0)
            last = day
    for when, lasts, what, written in sorted(plan):
        start = minute(when)
        full = sum(pipes.hose_gpm(m) for m in range(start, start + lasts))
        gallons = full * (0.98 if what == "pool" else dice.about(0.9, 0.07))
        life.hoses.append(Hose(start, lasts, gallons, what, written))
    for name, written in (("other_written", True), ("other_unwritten", False)):
        series = np.zeros(MINUTES)
        for use in life.hoses:
            if use.written is written:
                series[use.start : use.start + use.minutes] += use.gallons / use.minutes
        life.parts[name] = series
    first, after, every = BIRD_BATH
    for day in days(first, after)[::every]:
        life.parts["other_written"][minute(at(day, 8, dice.whole(0, 50)))] += dice.about(2.0, 0.25)
    for day in (date(2025, 6, 8), date(2025, 6, 29), date(2026, 5, 24), date(2026, 6, 6), date(2026, 6, 21)):
        life.unmetered.append((day, dice.about(8.0, 0.1)))


def _open_share(openings: list[Opening]) -> np.ndarray:
    """The share of every minute in which a valve stood open."""
    share = np.zeros(MINUTES)
    for opening in openings:
        ends = opening.start + opening.minutes
        for m in range(int(opening.start), int(np.ceil(ends))):
            share[m] += min(ends, m + 1) - max(opening.start, m)
    return np.minimum(share, 1.0)


def _clog(m: int) -> float:
    """The share of the clogged zone's passages that was open."""
    first, cleaned = minute(datetime.combine(story.CLOG_FROM, time(0))), minute(story.CLOG_CLEANED)
    if not first <= m < cleaned:
        return 1.0
    return 1.0 - (1.0 - story.CLOG_LEFT) * ((m - first) / (cleaned - first)) ** 1.15


def _valves(life: Life, pipes: Pipes) -> None:
    opened = {z: _open_share([o for o in life.openings if o.zone == z]) for z in sorted(VALVES)}
    stuck = _open_share([o for o in life.openings if o.why == "stuck"])
    hour_break = minute(datetime.combine(story.BREAK_FROM, time(0)))
    hour_fixed = minute(at(story.BREAK_FIXED, 9))
    for zone in opened:
        life.parts[f"zone.{zone}"] = np.zeros(MINUTES)
    for fault in ("stuck_open", "more_than_set", "less_than_set"):
        life.faults[fault] = np.zeros(MINUTES)
    healthy: dict[str, list[float]] = {z: [] for z in opened}
    running = np.flatnonzero(np.sum([opened[z] for z in opened], axis=0))
    for m in running:
        here = frozenset(z for z in opened if opened[z][m] > 0)
        broken = story.BREAK_ZONE if story.BREAK_ZONE in here and hour_break <= m < hour_fixed else ""
        clog = {story.CLOG_ZONE: round(_clog(int(m)), 4)} if story.CLOG_ZONE in here else {}
        real = pipes.flows(int(m), here, clog, broken)
        sound = pipes.flows(int(m), here, {}, "")
        for zone in sorted(here):
            through = real[zone] / 60 * opened[zone][m]
            life.parts[f"zone.{zone}"][m] += through
            difference = through - sound[zone] / 60 * opened[zone][m]
            if broken == zone:
                life.faults["more_than_set"][m] += difference
            elif zone == story.CLOG_ZONE and clog[zone] < 1.0:
                life.faults["less_than_set"][m] += difference
            elif len(here) == 1 and opened[zone][m] == 1.0:
                healthy[zone].append(real[zone])
        if stuck[m] > 0:
            life.faults["stuck_open"][m] += real[story.STUCK_ZONE] / 60 * stuck[m]
    life.healthy_gph = {zone: float(np.mean(flows)) for zone, flows in healthy.items()}
    life.faults["not_delivered"] = np.zeros(MINUTES)
    for opening in life.skipped:
        gph = life.healthy_gph[opening.zone]
        life.faults["not_delivered"][int(opening.start)] -= gph * opening.minutes / 60

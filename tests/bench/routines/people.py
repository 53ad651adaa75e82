"""Who lives in a home and how one of their days goes: when they wake, are in, and sleep.

Habits and their spread are round numbers from daily life, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

Span = tuple[float, float]  # minutes of the local day, from and to; past 1440 it is the night after
SHIFTS = (("day", "late", "night"), ("late", "late", "day"), ("night",), ("day", "night"))  # week by week, in turn


@dataclass(frozen=True)
class Person:
    """One person's habits. Times are minutes of the local day.

    Attributes:
        kind: "worker" (out on weekdays), "home", "shift" or "child".
        wake, late_wake: on a day of work and on a free one. back: from work. sleep: goes to bed.
        stays: share of days a worker works at home. shifts: see SHIFTS. off: turns the free days of a shift worker.
        shower: chance of one in a day. morning: it is taken in the morning. shower_minutes: usual length.
        outings: a day, of who is at home. flushes, taps: an hour awake at home. night: chance of a flush at night.
    """

    kind: str
    wake: float
    late_wake: float
    back: float
    sleep: float
    stays: float
    shifts: tuple[str, ...]
    off: int
    shower: float
    morning: bool
    shower_minutes: float
    outings: float
    flushes: float
    night: float
    taps: float


@dataclass(frozen=True)
class Day:
    """Awake at home (spans), wake and sleep."""

    spans: list[Span]
    wake: float
    sleep: float


def about(rng: np.random.Generator, median: float, spread: float) -> float:
    """A lognormal number by its median."""
    return float(median * np.exp(spread * rng.normal()))


def draw_person(rng: np.random.Generator, kind: str) -> Person:
    """Someone's habits; the order of the draws is what a seed stands for."""
    wake, sleep = rng.normal(6.4, 0.6) * 60, rng.normal(22.6, 0.6) * 60
    back = rng.normal(17.4, 0.6) * 60
    stays = rng.choice([0, 0, 0.2, 0.4])
    shifts = SHIFTS[rng.integers(4)]
    off = int(rng.integers(7))
    shower, morning = rng.uniform(0.55, 1.0), bool(rng.random() < 0.6)
    outings = rng.uniform(0.5, 1.6)
    shower_minutes = about(rng, 7.5, 0.25)
    flushes, night, taps = rng.uniform(0.2, 0.36), rng.choice([0, 0.1, 0.3, 0.6]), rng.uniform(0.7, 1.5)
    if kind == "child":
        sleep, wake, morning = rng.normal(20.8, 0.5) * 60, rng.normal(6.9, 0.3) * 60, bool(rng.random() < 0.25)
    return Person(
        kind=kind,
        wake=wake,
        late_wake=wake + rng.uniform(20, 130),
        back=back,
        sleep=sleep,
        stays=float(stays),
        shifts=shifts,
        off=off,
        shower=shower,
        morning=morning,
        shower_minutes=shower_minutes,
        outings=outings,
        flushes=flushes,
        night=float(night),
        taps=taps,
    )


def draw_family(rng: np.random.Generator) -> list[Person]:
    """One to five people; past two they are children."""
    people = int(rng.choice([1, 2, 3, 4, 5], p=[0.2, 0.34, 0.18, 0.18, 0.10]))
    adults = min(people, 2)
    family = [
        draw_person(rng, str(rng.choice(["worker", "home", "shift"], p=[0.5, 0.35, 0.15]))) for _ in range(adults)
    ]
    return family + [draw_person(rng, "child") for _ in range(people - adults)]


def day_of(rng: np.random.Generator, who: Person, weekday: int, no_school: bool, week: int) -> Day:
    """How someone's day goes.

    Args:
        weekday: 0 is Monday. no_school: it is holidays. week: of the record, for who works in shifts.
    """
    kind, free = who.kind, weekday >= 5
    if kind == "shift":
        if (week * 7 + weekday + who.off) % 7 < 5:
            return _shift(rng, who.shifts[week % len(who.shifts)])
        kind = "home"
    wake = (who.late_wake if free else who.wake) + (45 if free else 18) * rng.normal()
    sleep = who.sleep + (35 if weekday in (4, 5) else 0) + 30 * rng.normal()
    wake = min(max(wake, 240), sleep - 300)
    if kind == "child" and (free or no_school):
        kind = "home"
    if kind == "worker" and (free or rng.random() < who.stays):
        kind = "home"
    if kind == "home":
        return Day(_in_and_out(rng, wake, sleep, who.outings), wake, sleep)
    leave = wake + 65 + 12 * rng.normal()
    back = (who.back if kind == "worker" else 15.4 * 60) + 35 * rng.normal()
    spans = [(wake, leave), (min(back, sleep - 60), sleep)]
    if rng.random() < 0.15:  # out again in the evening
        begin = spans[1][0]
        spans[1:] = [(begin, min(begin + 60, sleep - 120)), (sleep - 45, sleep)]
    return Day(spans, wake, sleep)


def _shift(rng: np.random.Generator, shift: str) -> Day:
    """A day of work early, late or at night, when one sleeps from eight in the morning."""
    if shift == "day":
        wake = 300 + 15 * rng.normal()
        return Day([(wake, wake + 45), (15 * 60 + 30 * rng.normal(), 21.5 * 60)], wake, 21.5 * 60)
    if shift == "late":
        wake = 9 * 60 + 30 * rng.normal()
        return Day([(wake, 13.5 * 60), (22.5 * 60, 24.5 * 60)], wake, 24.5 * 60)
    wake = 15 * 60 + 30 * rng.normal()
    return Day([(6.7 * 60, 8 * 60), (wake, 21.3 * 60)], wake, 8 * 60)


def _in_and_out(rng: np.random.Generator, wake: float, sleep: float, outings: float) -> list[Span]:
    """At home all day but for a few errands."""
    spans, since = [], wake
    for _ in range(rng.poisson(outings)):
        leave = rng.uniform(wake + 60, sleep - 120)
        back = leave + about(rng, 110, 0.6)
        if leave > since + 30 and back < sleep - 30:
            spans.append((since, leave))
            since = back
    return [*spans, (since, sleep)]

"""Invented homes with everything about them known, to measure how well findings find.

Nothing here comes from core: own clock (minutes since a first midnight), own units (gallons), own equations.
Sizes of fixtures are round numbers from memory of end-use studies; faults follow what fails in drip systems.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd

GAL_L = 3.785411784
TICK = 5  # minutes
DAY = 1440 // TICK
START = datetime(2025, 1, 1, tzinfo=UTC)
ZONE_NAMES = ("aster", "birch", "cedar", "dill")
# toilet, tap and the like: share of events by hour of the day
AWAKE = np.array([2, 1, 1, 1, 2, 8, 22, 30, 24, 16, 13, 13, 15, 13, 11, 12, 15, 20, 23, 22, 19, 17, 12, 6], float)


@dataclass
class Fault:
    """What was done to a home. Minutes since the first midnight; gallons."""

    kind: str
    zone: int | None = None
    since: float = 0.0
    until: float = np.inf
    size: float = 0.0


@dataclass
class House:
    """A home for one stretch of time: true flow per tick, its programs, and what its people wrote down."""

    rng: np.random.Generator
    days: int
    people: int
    indoor: np.ndarray
    zones: list[dict] = field(default_factory=list)
    household: list[dict] = field(default_factory=list)
    runs: list[tuple[int, float, float]] = field(default_factory=list)  # zone, start, end as the program says
    softener: bool = False
    clock_late: float = 0.0


def build(seed: int, days: int = 400) -> House:
    """A home with people, habits, zones and programs, and no fault."""
    rng = np.random.default_rng(seed)
    people = int(rng.integers(1, 6))
    ticks = days * DAY
    presence = np.full(days, float(people))
    wrote: list[dict] = []
    for reason, times, who in (("away", rng.poisson(2.0), 0), ("guests", rng.poisson(2.0), None)):
        for _ in range(times):
            first = int(rng.integers(10, days - 12))
            last = first + int(rng.integers(2, 10))
            if (presence[first:last] != people).any():
                continue
            count = 0 if who == 0 else people + int(rng.integers(1, 4))
            presence[first:last] = count
            if rng.random() < 0.85:
                wrote.append({"since": first, "until": last, "people": count, "reason": reason})
    flow = np.zeros(ticks)
    weekday = (np.arange(days) + START.weekday()) % 7
    busy = 1 + 0.25 * rng.standard_normal(7) * 0.6 + np.where(np.arange(7) >= 5, rng.uniform(0, 0.25), 0)
    night_owl = int(rng.integers(-1, 3))
    hours = np.roll(AWAKE, night_owl) / AWAKE.sum()
    thrift = rng.lognormal(0, 0.25)
    yearly = 1 + rng.uniform(0, 0.05) * np.cos(2 * np.pi * (np.arange(days) - rng.uniform(0, 365)) / 365)
    rates = (
        (5.2, 1.28 + 2.0 * rng.random(), 0.12, 1),  # toilet: times a person and day, gallons, spread, minutes
        (0.75, 16.0 * rng.lognormal(0, 0.2), 0.35, 8),  # shower
        (13.0, 0.8, 0.8, 1),  # tap
        (0.28, rng.uniform(14, 36), 0.12, 40),  # clothes
        (0.35, rng.uniform(3, 7), 0.1, 50),  # dishes
        (0.05, 30.0, 0.2, 12),  # bath
    )
    for often, size, spread, minutes in rates:
        mean = often * presence * busy[weekday] * yearly * (thrift if size < 10 else 1.0)
        if minutes == 40:
            mean *= np.array([0.7, 0.6, 0.7, 0.7, 0.7, 1.9, 1.7])[weekday]
        count = rng.poisson(np.clip(mean, 0, None))
        day = np.repeat(np.arange(days), count)
        hour = rng.choice(24, len(day), p=hours if minutes != 40 else _daytime(hours))
        begin = day * DAY + (hour * 60 + rng.integers(0, 60, len(day))) // TICK
        volume = size * rng.lognormal(0, spread, len(day))
        spans = max(int(minutes * (0.6 if minutes > 20 else 1) // TICK), 1)
        for k in range(spans):
            np.add.at(flow, np.minimum(begin + k, ticks - 1), volume / spans)
    house = House(rng, days, people, flow, household=wrote)
    if rng.random() < 0.35:
        house.softener = True
        every, size = int(rng.integers(2, 8)), rng.uniform(35, 65)
        for day in range(int(rng.integers(0, every)), days, every):
            if presence[day] > 0:
                at = day * DAY + 2 * 60 // TICK
                flow[at : at + 14] += size / 14
    for _ in range(rng.poisson(25)):  # the odd bucket, a car, the dog
        day = int(np.clip(rng.normal(200, 60), 1, days - 2))
        if presence[day] > 0:
            at = day * DAY + int(rng.integers(9, 20)) * 60 // TICK
            flow[at : at + 3] += rng.uniform(4, 30) / 3
    _garden(house)
    return house


def _daytime(hours: np.ndarray) -> np.ndarray:
    shape = hours * np.where((np.arange(24) >= 7) & (np.arange(24) < 22), 1, 0.02)
    return shape / shape.sum()


def _garden(house: House) -> None:
    rng = house.rng
    at = float(rng.integers(4 * 60, 7 * 60) // 5 * 5)
    count = int(rng.integers(2, 5))
    kind = rng.choice(["weekdays", "every", "daily"])
    shared = frozenset(rng.choice(7, int(rng.integers(2, 4)), replace=False).tolist())
    for k in range(count):
        minutes = float(rng.choice([20, 30, 45, 60, 75, 90, 120]))
        own = kind == "weekdays" and rng.random() < 0.4
        days = shared if not own else frozenset(rng.choice(7, int(rng.integers(2, 5)), replace=False).tolist())
        every = int(rng.integers(1, 4))
        paper = float(np.exp(rng.uniform(np.log(18), np.log(130))))
        house.zones.append(
            {
                "code": ZONE_NAMES[k],
                "paper": paper,
                "true": paper * float(np.clip(rng.normal(0.98, 0.08), 0.75, 1.2)),
                "start": at,
                "minutes": minutes,
                "waters": (lambda d, days=days: d % 7 in days)
                if kind == "weekdays"
                else (lambda d, every=every: d % every == 0)
                if kind == "every"
                else (lambda _: True),
            }
        )
        at += minutes + float(rng.choice([0, 0, 0, 5, 30]))
    house.clock_late = float(rng.normal(0, 2))
    opens, closes = int(rng.integers(90, 125)), int(rng.integers(285, 310))
    for day in range(house.days):
        if opens <= day % 365 < closes:
            for k, zone in enumerate(house.zones):
                if zone["waters"](day):
                    begin = day * 1440 + zone["start"]
                    house.runs.append((k, begin, begin + zone["minutes"]))


def metered(house: House, faults: list[Fault]) -> np.ndarray:
    """True gallons per tick with these faults."""
    rng = np.random.default_rng(house.days * 7 + len(house.runs))
    flow = house.indoor.copy()
    end_of_time = house.days * 1440.0
    stuck = [f for f in faults if f.kind == "stuck_open"]
    for k, begin, end in house.runs:
        zone = house.zones[k]
        rate = zone["true"] * float(rng.normal(1, 0.025))  # drawn for every run, so that a fault changes no other
        if any(f.zone == k and f.since < begin + 1 and end <= f.until for f in stuck):
            continue  # the valve stands open already
        share, late = 1.0, house.clock_late
        for f in faults:
            hit = f.zone in (k, None) and f.since <= begin + 1 and begin < f.until
            if hit and f.kind in ("more_than_set", "less_than_set"):
                share *= f.size
            elif hit and f.kind == "not_delivered":
                share = 0.0
            elif hit and f.kind == "another_schedule":
                late += f.size * 60
        _pour(flow, begin + late, end + late, rate * share)
    for f in faults:
        if f.kind == "steady":
            _pour(flow, f.since, min(f.until, end_of_time), f.size)
        elif f.kind == "stuck_open":
            _pour(flow, f.since + house.clock_late, min(f.until, end_of_time), house.zones[f.zone]["true"] * f.size)
        elif f.kind == "one_off":
            _pour(flow, f.since, f.until, f.size / ((f.until - f.since) / 60))
    return flow


def _pour(flow: np.ndarray, begin: float, end: float, gph: float) -> None:
    """Add a constant flow between two minutes, ticks cut at its ends in proportion."""
    begin, end = max(begin, 0.0), min(end, len(flow) * TICK - 1e-6)
    if end <= begin:
        return
    a, b = int(begin // TICK), int(end // TICK)
    if a == b:
        flow[a] += gph * (end - begin) / 60
        return
    flow[a] += gph * ((a + 1) * TICK - begin) / 60
    flow[b] += gph * (end - b * TICK) / 60
    flow[a + 1 : b] += gph * TICK / 60


def read_times(house: House, pace: str) -> np.ndarray:
    """Minutes at which the register is read."""
    rng = np.random.default_rng(house.people * 1000 + len(house.runs))
    if pace == "hourly":
        return np.arange(0, house.days * 1440 + 1, 60.0)
    step = {"daily": 1, "weekly": 7}[pace]
    at = np.arange(1, house.days, step) * 1440 + 450.0
    at = at + rng.normal(0, 25 if pace == "daily" else 90, len(at)).round()
    keep = rng.random(len(at)) > 0.02
    keep[[0, -1]] = True
    return at[keep]


def readings(flow: np.ndarray, at: np.ndarray, step: float) -> np.ndarray:
    """Gallons between readings of a register that shows whole steps."""
    total = np.concatenate([[0.0], np.cumsum(flow)])
    register = np.floor((123_457.3 + np.interp(at / TICK, np.arange(len(total)), total)) / step) * step
    return np.diff(register)


def moment(minute: float) -> datetime:
    """An instant of the home's clock (UTC)."""
    return START + timedelta(minutes=float(minute))


def frames(house: House, volume_gal: np.ndarray, at: np.ndarray, step: float) -> dict[str, pd.DataFrame]:
    """The frames an account takes: intervals, runs, flows, other_use, household."""
    epoch = pd.Timestamp(START)
    stamp = epoch + pd.to_timedelta(at, unit="min")
    intervals = pd.DataFrame(
        {
            "meter": "main",
            "start": stamp[:-1],
            "end": stamp[1:],
            "volume_l": volume_gal * GAL_L,
            "sd_l": step * GAL_L / np.sqrt(6),
            "resolution_l": step * GAL_L,
            "source": "register",
            "estimated": False,
            "note": "",
        }
    )
    runs = pd.DataFrame(house.runs, columns=["k", "begin", "end"]).astype({"k": int})
    runs = pd.DataFrame(
        {
            "zone": [house.zones[k]["code"] for k in runs["k"]],
            "label": "a",
            "day": (epoch + pd.to_timedelta(runs["begin"] // 1440, unit="D")).dt.tz_localize(None),
            "start": epoch + pd.to_timedelta(runs["begin"], unit="min"),
            "end": epoch + pd.to_timedelta(runs["end"], unit="min"),
            "minutes": runs["end"] - runs["begin"],
            "basis": "presumed",
            "why": "",
        }
    )
    paper = [z["paper"] * GAL_L for z in house.zones]
    flows = pd.DataFrame(
        {
            "zone": [z["code"] for z in house.zones],
            "since": pd.NaT,
            "until": pd.NaT,
            "paper_lph": paper,
            "tested_lph": np.nan,
            "flow_lph": paper,
            "sd_share": 0.15,
            "source": "emitters",
        }
    )
    other = pd.DataFrame(
        columns=[
            "start",
            "start_exact",
            "end",
            "end_exact",
            "what",
            "volume_l",
            "spread",
            "meter",
            "zone",
            "planting",
            "every_days",
        ]
    )
    day0 = epoch.tz_localize(None)
    household = pd.DataFrame(
        [
            {
                "since": day0 + pd.Timedelta(days=h["since"]),
                "until": day0 + pd.Timedelta(days=h["until"]),
                "people": h["people"],
                "reason": h["reason"],
            }
            for h in house.household
        ],
        columns=["since", "until", "people", "reason"],
    )
    return {"intervals": intervals, "runs": runs, "flows": flows, "other_use": other, "household": household}

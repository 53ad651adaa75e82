"""Faults of known kind, size and date in simulated homes, and what an account said of them (see ``judge``)."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from core.accounts.account import MeterAccount, account
from tests.bench import household_sim as sim
from tests.bench.judge import (
    HOURS,
    KINDS,
    OF_RUNS,
    Clean,
    Floats,
    Told,
    alike_a_year,
    judged,
    robust_deviation,
    said,
    signal_so_far,
    tells_of_more_since,
)

DAY = 1440.0  # minutes
Build = Callable[[int], sim.House]  # a home by its seed


def lasting(rng: np.random.Generator, house: sim.House, kind: str) -> sim.Fault:
    """A leak or a single large use somewhere after the first four months."""
    last = house.days - 8
    if kind == "steady":
        since = float(rng.uniform(120, last - 40)) * DAY
        length = float(rng.uniform(10, 90)) * DAY if rng.random() < 0.4 else np.inf
        return sim.Fault(kind, None, since, since + length, float(np.exp(rng.uniform(np.log(0.3), np.log(12)))))
    since = float(rng.uniform(120, last)) * DAY
    return sim.Fault(kind, None, since, since + float(rng.uniform(60, 480)), float(np.exp(rng.uniform(4.1, 8))))


def draw_fault(rng: np.random.Generator, house: sim.House, kind: str) -> sim.Fault:
    """A fault of a kind; those of zones begin with one of the season's runs."""
    if kind in ("steady", "one_off"):
        return lasting(rng, house, kind)
    season = [r for r in house.runs if 125 * DAY < r[1] < (house.days - 22) * DAY]
    zone, begin, end = season[int(rng.integers(len(season)))]
    if kind == "stuck_open":
        after = [r[1] for r in house.runs if r[0] == zone and r[1] > end]
        until = end + float(np.exp(rng.uniform(np.log(120), np.log(60 * 60))))
        if rng.random() < 0.3 and after:
            until = after[0]
        return sim.Fault(kind, zone, end, until, float(rng.uniform(0.9, 1.05)))
    until = begin + float(rng.uniform(4, 60)) * DAY
    if kind == "not_delivered":
        whole = rng.random() < 0.5
        return sim.Fault(kind, None if whole else zone, begin - 1, begin + float(rng.uniform(1, 20)) * DAY, 0.0)
    if kind == "another_schedule":
        return sim.Fault(kind, None, begin - 1, until, float(rng.choice([-6, -3, -2, 2, 3, 5, 8, 12])))
    low, high = (1.25, 3.0) if kind == "more_than_set" else (0.15, 0.8)
    return sim.Fault(kind, zone, begin - 1, until, float(rng.uniform(low, high)))


def per_reading_spread(house: sim.House, at: Floats, step: float, pace: str) -> Floats:
    """s of each reading, by what the house alone uses."""
    alone, slot = sim.readings(house.indoor, at, step), slots(at, pace)
    spread = np.array([robust_deviation(alone[slot == k]) for k in range(slot.max() + 1)])
    result: Floats = np.maximum(spread[slot], step / np.sqrt(6))
    return result


def slots(at: Floats, pace: str) -> NDArray[np.intp]:
    """Which readings are alike: hours of the week, or all of a slower pace."""
    return (at[:-1] // 60).astype(np.intp) % 168 if pace == "hourly" else np.zeros(len(at) - 1, np.intp)


def ask(house: sim.House, frames: dict[str, pd.DataFrame], as_of: datetime) -> MeterAccount:
    """The account as of a date."""
    names = ("intervals", "runs", "flows", "other_use", "household")
    drinks = "softener" if house.softener else ""
    return account(*(frames[n] for n in names), house.people, drinks, ZoneInfo("UTC"), as_of)


def book(house: sim.House, faults: list[sim.Fault], at: Floats, step: float) -> dict[str, pd.DataFrame]:
    """What the home would bring to an account."""
    return sim.frames(house, sim.readings(sim.metered(house, faults), at, step), at, step)


def felt(house: sim.House, fault: sim.Fault, at: Floats) -> Floats:
    """Gallons more or less that a fault leaves in each reading."""
    change = sim.metered(house, [fault]) - sim.metered(house, [])
    total = np.concatenate([[0.0], np.cumsum(change)])
    result: Floats = np.diff(np.interp(at / sim.TICK, np.arange(len(total)), total))
    return result


def one_case(build: Build, seed: int, pace: str, kind: str) -> Told | None:
    """Build, break, meter and ask; None when the fault touches no reading."""
    house = build(seed)
    rng = np.random.default_rng(seed * 31 + KINDS.index(kind))
    step = 1.0 if rng.random() < 0.6 else 10.0
    fault = draw_fault(rng, house, kind)
    at = sim.read_times(house, pace)
    change = felt(house, fault, at)
    touched = np.flatnonzero(np.abs(change) > 1e-6)
    if not len(touched):
        return None
    s = per_reading_spread(house, at, step, pace)
    signal = signal_so_far(change[touched], s[touched], kind)
    end = len(touched) - 1
    if fault.until == np.inf:  # ask a while into it
        enough = np.flatnonzero(signal >= rng.uniform(4, 12))
        end = int(enough[0]) if len(enough) else end
    as_of = sim.moment(at[touched[end] + 1])
    so_far = np.where(np.arange(len(change)) <= touched[end], change, 0.0)
    alone, slot = sim.readings(house.indoor, at, step), slots(at, pace)
    every = 24 if pace == "hourly" and kind in OF_RUNS else 1
    return judged(
        ask(house, book(house, [fault], at, step), as_of).findings,
        seed=seed,
        pace=pace,
        step=step,
        kind=kind,
        zones={z["code"] for k, z in enumerate(house.zones) if fault.zone in (None, k)},
        signal=float(signal[end]),
        gallons=float(change[touched[: end + 1]].sum()),
        since=sim.moment(fault.since if kind == "stuck_open" else at[touched[0]]),
        first=sim.moment(at[touched[0]]),
        as_of=as_of,
        alike=alike_a_year(alone, slot, so_far, every, HOURS[pace]),
        days=(as_of - sim.START).days,
    )


def clean_case(build: Build, seed: int, pace: str) -> Clean:
    """A home with nothing wrong, asked at its end."""
    house = build(seed)
    step = 1.0 if seed % 5 < 3 else 10.0
    at = sim.read_times(house, pace)
    found = ask(house, book(house, [], at, step), sim.moment(at[-1])).findings
    return Clean(seed, pace, step, len(found), house.days, said(found))


def leak_case(build: Build, seed: int, pace: str, gph: float, days: float, step: float) -> bool:
    """Whether a steady leak is told within so many days, by a register that shows whole ``step`` gallons."""
    house = build(seed)
    at = sim.read_times(house, pace)
    begin = float(np.random.default_rng(seed + 99).uniform(150, house.days - days - 2)) * DAY
    frames = book(house, [sim.Fault("steady", None, begin, np.inf, gph)], at, step)
    found = ask(house, frames, sim.moment(at[at <= begin + days * DAY][-1])).findings
    return tells_of_more_since(found, sim.moment(begin))


def hide_case(build: Build, seed: int, pace: str) -> dict[int, bool]:
    """For 7 and 30 days: whether a leak of the size the account says could just hide is told once the days are over."""
    house = build(seed)
    rng = np.random.default_rng(seed + 5)
    step = 1.0 if rng.random() < 0.6 else 10.0
    at = sim.read_times(house, pace)
    begin = float(at[int(rng.integers(int(len(at) * 0.55), int(len(at) * 0.85)))])
    told = {}
    for each in ask(house, book(house, [], at, step), sim.moment(begin)).hide:
        if each.rate_lph is not None:
            frames = book(house, [sim.Fault("steady", None, begin, np.inf, each.rate_lph / sim.GAL_L)], at, step)
            found = ask(house, frames, sim.moment(at[at <= begin + each.days * DAY + 30][-1])).findings
            told[each.days] = tells_of_more_since(found, sim.moment(begin))
    return told

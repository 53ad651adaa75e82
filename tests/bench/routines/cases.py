"""Homes with routines, whole and broken, and what an account says of them (see ``tests.bench.judge``).

The one place at which these homes meet the engine is ``ask``.
"""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from core.accounts.account import account
from core.accounts.findings import Finding
from tests.bench.judge import (
    HOURS,
    KINDS,
    OF_RUNS,
    Clean,
    Told,
    alike_a_year,
    judged,
    robust_deviation,
    said,
    signal_so_far,
    tells_of_more_since,
)
from tests.bench.routines.breakages import DAY, LASTING, draw_breakage
from tests.bench.routines.clock import Floats
from tests.bench.routines.home import Home, build
from tests.bench.routines.pouring import pour
from tests.bench.routines.readings import between, frames, read_times, readings, step_of

PACE_MINUTES = {"weekly": 7 * DAY, "daily": DAY, "hourly": 60}
SEED_OF = {"weekly": 1, "daily": 2, "hourly": 3}  # draws other faults at each pace
TRIES = 60  # at a fault with a signal
FAIR = 4.0  # the least signal that counts


def kind_of(seed: int, pace: str) -> str:
    """The kind of fault a seed stands for: at slower paces runs at another hour leave no signal."""
    kinds = KINDS if pace == "hourly" else tuple(k for k in KINDS if k != "another_schedule")
    return kinds[seed % len(kinds)]


def ask(home: Home, flow: Floats, at: Floats, step: float, as_of: datetime) -> tuple[Finding, ...]:
    """What the engine finds, strongest first, with ``flow`` through the meter."""
    f = frames(home, flow, at, step)
    return account(
        f["intervals"],
        f["runs"],
        f["flows"],
        f["other_use"],
        f["household"],
        home.people,
        home.drinks,
        home.clock.tz,
        as_of,
    ).findings


def per_reading_spread(home: Home, at: Floats, step: float, pace: str) -> Floats:
    """s of each reading, by what the house alone uses.

    It is taken from readings of the usual length; one that reaches over a gap has the wandering of all it holds.
    """
    alone, minutes, least = readings(home.indoor, at, step), np.diff(at), step / np.sqrt(6)
    slot = slots(home, at, pace)
    usual = np.abs(minutes - PACE_MINUTES[pace]) <= (0.5 if pace == "hourly" else 0.3 * PACE_MINUTES[pace])
    s = np.full(len(alone), least)
    for each in np.unique(slot[usual]):
        s[slot == each] = max(robust_deviation(alone[usual & (slot == each)]), least)
    result: Floats = s * np.sqrt(np.maximum(minutes / PACE_MINUTES[pace], 1))
    return result


def slots(home: Home, at: Floats, pace: str) -> NDArray[np.intp]:
    """Which readings are alike: hours of the week by the home's clock, or all of a slower pace."""
    if pace != "hourly":
        return np.zeros(len(at) - 1, np.intp)
    local = (pd.Timestamp(home.clock.start) + pd.to_timedelta(at[:-1], unit="min")).tz_convert(home.clock.tz)
    return np.asarray(local.dayofweek * 24 + local.hour, dtype=np.intp)


def fault_case(seed: int, pace: str) -> Told | None:
    """Build, break, meter and ask: at the end of a fault, or a while into one that lasts; None without a signal."""
    rng = np.random.default_rng([seed, 31, SEED_OF[pace]])
    home, step, kind = build(seed), step_of(seed), kind_of(seed, pace)
    at = read_times(home, pace)
    s = per_reading_spread(home, at, step, pace)
    for _ in range(TRIES):
        broken = draw_breakage(rng, home, kind)
        if broken is None:
            continue
        change = np.diff(between(broken.change, at))
        touched = np.flatnonzero(np.abs(change) > 1e-6)
        if not len(touched):
            continue
        signal = signal_so_far(change[touched], s[touched], kind)
        wanted = rng.uniform(4, 12) if kind in LASTING else FAIR
        enough = np.flatnonzero(signal >= wanted) if kind in LASTING else np.flatnonzero(signal[-1:] >= wanted)
        if len(enough):
            end = int(enough[0]) if kind in LASTING else len(touched) - 1
            break
    else:
        return None
    as_of = home.clock.when(at[touched[end] + 1])
    first = home.clock.when(at[touched[0]])
    so_far = np.where(np.arange(len(change)) <= touched[end], change, 0.0)
    so_far[np.abs(so_far) <= 1e-6] = 0.0
    every = 24 if pace == "hourly" and kind in OF_RUNS else 1
    return judged(
        ask(home, home.flow + broken.change, at, step, as_of),
        seed=seed,
        pace=pace,
        step=step,
        kind=kind,
        zones=set(broken.zones),
        signal=float(signal[end]),
        gallons=float(change[touched[: end + 1]].sum()),
        since=home.clock.when(broken.since) if kind == "stuck_open" else first,
        first=first,
        as_of=as_of,
        alike=alike_a_year(readings(home.indoor, at, step), slots(home, at, pace), so_far, every, HOURS[pace]),
        days=(as_of - home.clock.start).days,
    )


def clean_case(seed: int, pace: str) -> Clean:
    """A home with nothing wrong, asked at its end."""
    home, step = build(seed), step_of(seed)
    at = read_times(home, pace)
    as_of = home.clock.when(at[-1])
    found = ask(home, home.flow, at, step, as_of)
    unwritten = sum(of_a_hose(home, f, as_of) for f in found)
    return Clean(seed, pace, step, len(found), home.clock.days, said(found), unwritten)


def of_a_hose(home: Home, finding: Finding, as_of: datetime) -> bool:
    """Whether a single use was found, or what may be one, within whose time a garden was hosed or a car washed, which
    nobody wrote down.
    """
    when, until = home.clock.when, finding.until or as_of
    may_be = {finding.kind, *(rival.kind for rival in finding.rivals)}
    return "one_off" in may_be and any(
        use.what in ("hose", "car") and when(use.since) < until and when(use.until) > finding.since
        for use in home.outdoors
    )


def leak_case(seed: int, pace: str, gph: float, days: int, step: float) -> bool:
    """Whether a steady leak is told within so many days, by a register that shows whole ``step`` gallons."""
    home = build(seed)
    at = read_times(home, pace)
    rng = np.random.default_rng([seed, 41, days])
    day = int(rng.integers(90, home.clock.days - days - 8))
    since = at[np.searchsorted(at, home.clock.minute(day, rng.uniform(0, DAY)))]
    leak = np.zeros(home.clock.minutes)
    pour(leak, since, home.clock.minutes - 1, gph / 60)
    as_of = home.clock.when(at[at <= since + days * DAY + 1][-1])
    return tells_of_more_since(ask(home, home.flow + leak, at, step, as_of), home.clock.when(since))

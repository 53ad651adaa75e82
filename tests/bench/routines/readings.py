"""How a home's meter is read, and the home as an account takes it: the frames of the book."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pandas as pd

from tests.bench.routines.clock import Clock, Floats
from tests.bench.routines.home import Home

GALLON_L = 3.785411784  # litres: 231 cubic inches, by definition (NIST Handbook 44, appendix C)
CUBIC_FOOT = 1728 / 231  # gallons: cubic inches of either
START = 12_345.6  # gallons the register shows at the beginning


def read_times(home: Home, pace: str) -> Floats:
    """Minutes at which the register is read: by a logger with gaps, at midnight, or by people more or less on time."""
    rng = np.random.default_rng([home.seed, 5, {"weekly": 1, "daily": 2, "hourly": 3}[pace]])
    if pace == "hourly":
        return _logged(rng, home.clock.minutes)
    at = np.unique(_daily(rng, home.clock) if pace == "daily" else _weekly(rng, home.clock))
    return at[(at >= 0) & (at < home.clock.minutes)]


def _logged(rng: np.random.Generator, minutes: int) -> Floats:
    """Every hour; one logger in four loses single hours and now and then up to a day."""
    at: Floats = np.arange(0, minutes, 60, dtype=float)
    if rng.random() < 0.25:
        keep = rng.random(len(at)) > rng.uniform(0.003, 0.02)
        for _ in range(rng.poisson(1.5)):
            i = int(rng.integers(len(at)))
            keep[i : i + int(rng.integers(3, 30))] = False
        at = at[keep]
    return at


def _daily(rng: np.random.Generator, clock: Clock) -> Floats:
    """At midnight by itself, or in the morning by somebody."""
    if rng.random() < 0.6:
        at: Floats = np.array([clock.minute(day, 0) for day in range(clock.days + 1)])
        at = at[1 if at[0] < 0 else 0 :]
        return at[rng.random(len(at)) > 0.02] if rng.random() < 0.4 else at
    usual, spread = rng.uniform(6.5, 9.5) * 60, rng.choice([5, 20, 45])
    at = np.array([float(round(clock.minute(d, usual + spread * rng.normal()))) for d in range(clock.days)])
    luck = rng.random(len(at))
    return at[luck > float(rng.choice([0, 0.03, 0.08]))]  # some forget more often than others


def _weekly(rng: np.random.Generator, clock: Clock) -> Floats:
    """On one day of the week, by some people a day early or late."""
    weekday, usual = int(rng.choice([5, 6, 0])), rng.uniform(7.5, 18) * 60
    spread = rng.choice([0, 30, 100])
    at = []
    for day in range(clock.days):
        if clock.dates[day].weekday() == weekday and rng.random() > 0.03:
            off = int(rng.choice([-1, 0, 1], p=[0.04, 0.92, 0.04])) if spread else 0
            read = min(max(day + off, 0), clock.days - 1)
            at.append(float(round(clock.minute(read, usual + spread * rng.normal()))))
    return np.array(at)


def step_of(seed: int) -> float:
    """Gallons the home's register shows: one, ten, a litre or a cubic foot."""
    steps = [1.0, 10.0, 1 / GALLON_L, CUBIC_FOOT]
    return float(np.random.default_rng([seed, 9]).choice(steps, p=[0.5, 0.25, 0.12, 0.13]))


def readings(flow: Floats, at: Floats, step: float) -> Floats:
    """Gallons between readings of a register that shows whole steps."""
    register = np.floor((between(flow, at) + START) / step + 1e-9) * step
    result: Floats = np.diff(register)
    return result


def between(flow: Floats, at: Floats) -> Floats:
    """Gallons from the beginning to each of these minutes."""
    total = np.concatenate([[0.0], np.cumsum(flow)])
    result: Floats = np.interp(at, np.arange(len(total)), total)
    return result


def frames(home: Home, flow: Floats, at: Floats, step: float) -> dict[str, pd.DataFrame]:
    """The frames an account takes, for a meter through which ``flow`` went: gallons a minute."""
    epoch = pd.Timestamp(home.clock.start)
    stamp = epoch + pd.to_timedelta(at, unit="min")
    intervals = pd.DataFrame(
        {
            "meter": "main",
            "start": stamp[:-1],
            "end": stamp[1:],
            "volume_l": readings(flow, at, step) * GALLON_L,
            "sd_l": step * GALLON_L / np.sqrt(6),  # two ends, each even within a step: variance step^2 / 12 each
            "resolution_l": step * GALLON_L,
            "source": "register",
            "estimated": False,
            "note": "",
        }
    )
    zones, given = home.garden.zones, home.garden.runs
    runs = pd.DataFrame(
        {
            "zone": [zones[run.zone].code for run in given],
            "label": "a",
            "day": pd.to_datetime([home.clock.dates[0] + timedelta(days=run.day) for run in given]),
            "start": epoch + pd.to_timedelta([run.since for run in given], unit="min"),
            "end": epoch + pd.to_timedelta([run.until for run in given], unit="min"),
            "minutes": [run.until - run.since for run in given],
            "basis": "presumed",
            "why": "",
        }
    )
    paper = [zone.paper_gph * GALLON_L for zone in zones]
    flows = pd.DataFrame(
        {
            "zone": [zone.code for zone in zones],
            "since": pd.NaT,
            "until": pd.NaT,
            "paper_lph": paper,
            "tested_lph": np.nan,
            "flow_lph": paper,
            "sd_share": 0.15,
            "source": "emitters",
        }
    )
    other_use = pd.DataFrame(
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
    household = pd.DataFrame(
        [(pd.Timestamp(w.since), pd.Timestamp(w.until), w.people, w.reason) for w in home.written],
        columns=["since", "until", "people", "reason"],
    )
    return {"intervals": intervals, "runs": runs, "flows": flows, "other_use": other_use, "household": household}

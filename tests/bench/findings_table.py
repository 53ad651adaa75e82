"""The lines a measurement of the findings prints, whichever generator its homes are from."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from multiprocessing import get_context
from typing import Any, TypeVar

import numpy as np

from tests.bench.conftest import note
from tests.bench.judge import KINDS, PACES, ZONED, Clean, Told

STRONG, FAIR = 6.0, 4.0
SELDOM = 1.0  # times a year
CELLS = {"weekly": [(3.0, 35)], "daily": [(4.0, 14), (2.0, 60)], "hourly": [(1.0, 3), (0.5, 7)]}  # gal/h, days
STEPS = (1.0, 10.0)  # gallons a register shows

# the project's bars
BAR = {
    "strong told": {"weekly": "95 %", "daily": "97 %", "hourly": "99 %"},
    "fair told": {"weekly": "70 %", "daily": "75 %", "hourly": "85 %"},
    "right kind first": {"daily": "80 %", "hourly": "95 %"},
    "right zone": {"daily": "75 %", "hourly": "95 %"},
    "volume": {"weekly": "25 %", "daily": "20 %", "hourly": "10 %"},
}
LEAK_BAR = {(3.0, 35): "93 %", (4.0, 14): "95 %", (2.0, 60): "97 %", (1.0, 3): "98 %", (0.5, 7): "95 %"}

# gal/h, days, gallons the register shows: whether it was told, home by home
Leaks = Mapping[tuple[float, int, float], list[bool]]


Measured = TypeVar("Measured")


def every_pace(measure: Callable[[Executor, str], Measured]) -> dict[str, Measured]:
    """What ``measure`` finds at each pace, many homes at once."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # each core has a home of its own
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        return {pace: measure(pool, pace) for pace in PACES}


def each(pool: Executor, work: Callable[..., Any], *rows: Iterable[Any]) -> list[Any]:
    """The work done on each row, a few homes at a time to a process."""
    return list(pool.map(work, *rows, chunksize=4))


def measure_leaks(pool: Executor, work: Callable[..., bool], seeds: Sequence[int], pace: str) -> Leaks:
    """Each steady leak of a pace in each home by each register; ``work`` takes seed, pace, gal/h, days and gallons."""
    return {
        (gph, days, step): each(pool, work, seeds, *([value] * len(seeds) for value in (pace, gph, days, step)))
        for gph, days in CELLS[pace]
        for step in STEPS
    }


def share(values: list[bool]) -> str:
    return f"{np.mean(values):.0%}" if values else "-"


def signals(cases: list[Told]) -> list[Told]:
    """Cases with a signal: at slower paces runs at another hour leave none."""
    return [c for c in cases if c.kind != "another_schedule" or c.pace == "hourly"]


def strong(cases: list[Told]) -> list[Told]:
    return [c for c in signals(cases) if c.signal >= STRONG]


def quantile(values: list[float]) -> float:
    return float(np.quantile(values, 0.8)) if values else np.nan


def table(name: str, pace: str, cases: list[Told]) -> None:
    """The lines of one pace, or of one register at one pace."""

    def line(what: str, values: list[bool]) -> None:
        bar = BAR[what].get(pace)
        note(f"{name}: {what}", f">= {bar}" if bar else "-", share(values), f"of {len(values)}")

    big = strong(cases)
    told = [c for c in big if c.told]
    line("strong told", [c.told for c in big])
    seldom = [c.told for c in big if c.alike < SELDOM]
    note(f"{name}:    of these, as the house alone strays in no year", "", share(seldom), f"of {len(seldom)}")
    line("fair told", [c.told for c in signals(cases) if FAIR <= c.signal < STRONG])
    line("right kind first", [c.kind_right for c in told])
    line("right zone", [c.zone_right for c in told if c.kind in ZONED])
    sharp = [c.start_off_h for c in told if c.kind in ("stuck_open", "not_delivered")]
    other = [c.start_off_h for c in told if c.kind not in ("stuck_open", "not_delivered")]
    if pace == "daily":
        note(
            f"{name}: start off, stuck and not delivered (80 %)", "24 h", f"{quantile(sharp):.1f} h", f"of {len(sharp)}"
        )
        note(f"{name}: start off, others (80 %)", "96 h", f"{quantile(other):.1f} h", f"of {len(other)}")
    else:
        bar = "168 h" if pace == "weekly" else "3 h"
        note(f"{name}: start off (80 %)", bar, f"{quantile(sharp + other):.1f} h", f"of {len(told)}")
    off = [c.volume_off for c in told if c.kind != "another_schedule" and abs(c.gallons) > 1]
    note(f"{name}: volume off (80 %)", BAR["volume"][pace], f"{quantile(off):.0%}", f"of {len(off)}")
    for kind in KINDS:
        mine = [c for c in big if c.kind == kind]
        hit = [c for c in mine if c.told]
        place = f"zone {share([c.zone_right for c in hit])}; " if kind in ZONED else ""
        volume = f"; volume {quantile([c.volume_off for c in hit]):.0%}" if kind != "another_schedule" else ""
        beside = f"of {len(mine)}; kind {share([c.kind_right for c in hit])}; {place}"
        beside += f"start {quantile([c.start_off_h for c in hit]):.0f} h{volume}" if hit else ""
        note(f"{name}:    {kind}", "", share([c.told for c in mine]), beside)


def holds(cases: list[Told], least_told: float, least_kind: float, least_zone: float) -> None:
    """Fail where strong signals are told, or told rightly, less often than these shares."""
    big = strong(cases)
    told = [c for c in big if c.told]
    assert np.mean([c.told for c in big]) >= least_told, [c.note for c in big if not c.told]
    assert np.mean([c.kind_right for c in told]) >= least_kind
    assert np.mean([c.zone_right for c in told if c.kind in ZONED]) >= least_zone


def false_lines(name: str, calm: Sequence[Clean], broken: Sequence[Told]) -> float:
    """False findings a home-year where nothing is wrong, and beside a fault; the first is handed back."""
    rates = [false_a_year(calm), false_a_year(broken)]
    note(f"{name}: false findings a home-year, nothing wrong", "<= 0.3", f"{rates[0]:.2f}", f"of {len(calm)} homes")
    note(f"{name}: false findings a home-year, beside a fault", "-", f"{rates[1]:.2f}", f"of {len(broken)} homes")
    return rates[0]


def false_a_year(cases: Sequence[Clean | Told]) -> float:
    return sum(c.false for c in cases) / (sum(c.days for c in cases) / 365)


def leak_lines(name: str, leaks: Leaks) -> None:
    """How often each steady leak was told in time."""
    for (gph, days, step), told in leaks.items():
        what = f"{name}: steady {gph:g} gal/h in {days} days, {step:g} gal register"
        note(what, f">= {LEAK_BAR[gph, days]}", share(told), f"of {len(told)}")

"""Conflicts between programs as they are set: too much open at once, runs outside what the local rule allows.

clashes(programs, limits, capacity_lph, first) -> list[Clash]
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Literal

from core.notation import DayPattern, Starts
from core.water.program import Limits

SPAN_DAYS = 60  # long enough for weekdays, odd and even dates and intervals to meet
CAPACITY_SHARE = 0.8  # of the faucet's flow a system should draw: 75 to 80 % [common practice, no source]


@dataclass(frozen=True, slots=True)
class SetProgram:
    """A program as the controller is set, minutes after the seasonal percent, with its zone's flow."""

    zone: str
    label: str
    days: DayPattern
    starts: Starts
    minutes: float
    flow_lph: float


@dataclass(frozen=True, slots=True)
class Clash:
    """A conflict: its sort, the zones in it, the first day it happens, how bad, and a sentence.

    ``amount`` is litres per hour beyond the supply, or minutes outside the allowed hours, or 0.
    """

    kind: Literal["over_supply", "outside_hours", "forbidden_day"]
    zones: tuple[str, ...]
    day: date
    amount: float
    sentence: str


@dataclass(frozen=True, slots=True)
class _Run:
    begin: float  # minutes from the first midnight
    end: float
    program: SetProgram


def clashes(programs: Sequence[SetProgram], limits: Limits, capacity_lph: float | None, first: date) -> list[Clash]:
    """Conflicts of the programs over the sixty days from ``first``, each sort and set of zones told once.

    Args:
        programs: of all zones on one supply and controller.
        limits: the local rule's days and hours.
        capacity_lph: flow of the supply; 80 % of it is taken as usable. None: not known, not checked.
        first: the first day looked at.
    """
    runs = sorted(_runs(programs, first), key=lambda r: r.begin)
    found: dict[tuple[str, tuple[str, ...]], Clash] = {}
    for clash in [*_over_supply(runs, capacity_lph, first), *_against_rule(runs, limits, first)]:
        known = found.get((clash.kind, clash.zones))
        if known is None or (clash.amount > known.amount + 1e-9 and clash.kind != "forbidden_day"):
            found[clash.kind, clash.zones] = clash
    return list(found.values())


def _runs(programs: Sequence[SetProgram], first: date) -> list[_Run]:
    out = []
    for day in range(SPAN_DAYS):
        for program in programs:
            if program.days.waters_on(first + timedelta(days=day)):
                begins = [day * 1440 + t.hour * 60 + t.minute for t in program.starts.times]
                out += [_Run(b, b + program.minutes, program) for b in begins]
    return out


def _over_supply(runs: Sequence[_Run], capacity_lph: float | None, first: date) -> list[Clash]:
    if capacity_lph is None:
        return []
    usable, out = CAPACITY_SHARE * capacity_lph, []
    for run in runs:
        open_now = [r for r in runs if r.begin <= run.begin < r.end]
        flows = {r.program.zone: r.program.flow_lph for r in open_now}
        over = sum(flows.values()) - usable
        if over > 1e-9:
            zones = tuple(sorted(flows))
            day = first + timedelta(days=int(run.begin // 1440))
            said = f"{' and '.join(zones)} together draw {sum(flows.values()):.0f} L/h at {_clock(run.begin):%H:%M}"
            said += f"; {usable:.0f} L/h of the supply should be drawn at most."
            out.append(Clash("over_supply", zones, day, over, said))
    return out


def _against_rule(runs: Sequence[_Run], limits: Limits, first: date) -> list[Clash]:
    out = []
    for run in runs:
        zone, day = run.program.zone, first + timedelta(days=int(run.begin // 1440))
        if limits.allowed is not None and not limits.allowed.waters_on(day):
            said = f"{zone} waters on {day:%A %d %B}; the local rule allows {limits.allowed}."
            out.append(Clash("forbidden_day", (zone,), day, 0.0, said))
        if limits.opens is not None and limits.closes is not None:
            opens = limits.opens.hour * 60 + limits.opens.minute
            after_opening = (run.begin - opens) % 1440
            outside = after_opening + run.program.minutes - limits.window_minutes
            outside = min(outside, run.program.minutes)
            if outside > 1e-9:
                said = f"{zone} runs {outside:.0f} minutes outside {limits.opens:%H:%M} to {limits.closes:%H:%M}."
                out.append(Clash("outside_hours", (zone,), day, outside, said))
    return out


def _clock(minute: float) -> time:
    return time(int(minute) // 60 % 24, int(minute) % 60)

"""How well findings find: faults of known kind, size and date in simulated homes, at three paces.

Run as ``python -m tests.bench.findings_bench [homes] [first seed]`` for the table kept in DEVELOPERS.md. Signal as the
project defines it: E the excess or shortfall summed over the readings it touches, n how many, s the household's own
robust deviation per reading at that pace (hour of week at hourly pace, never below resolution / sqrt 6); strong from
E = 6 s sqrt n, fair from 4.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from core.accounts.account import MeterAccount, account
from core.accounts.findings import Finding
from tests.bench import household_sim as sim

PACES = ("weekly", "daily", "hourly")
KINDS = ("steady", "stuck_open", "more_than_set", "less_than_set", "not_delivered", "one_off", "another_schedule")
ZONED = ("stuck_open", "more_than_set", "less_than_set", "not_delivered")


@dataclass
class Case:
    """One fault in one home at one pace, and what came of it."""

    seed: int
    pace: str
    step: float
    kind: str
    zones: tuple[str, ...]
    since: datetime
    until: datetime
    signal: float  # E / (s sqrt n)
    gallons: float
    told: Finding | None
    first: Finding | None
    false: int
    days: float
    note: str = ""

    @property
    def right_kind(self) -> bool:
        return self.first is not None and self.first.kind == self.kind

    @property
    def right_zone(self) -> bool:
        if self.first is None:
            return False
        named = {self.first.zone, *self.first.group}
        return bool(set(self.zones) & named)


def draw_fault(rng: np.random.Generator, house: sim.House, kind: str) -> sim.Fault:
    """A fault of a kind somewhere after the first four months."""
    last = house.days - 8
    season = [r for r in house.runs if 125 * 1440 < r[1] < (last - 14) * 1440]
    if kind == "steady":
        since = float(rng.uniform(120, last - 40)) * 1440
        length = float(rng.uniform(10, 90)) * 1440 if rng.random() < 0.4 else np.inf
        return sim.Fault(kind, None, since, since + length, float(np.exp(rng.uniform(np.log(0.3), np.log(12)))))
    if kind == "one_off":
        since = float(rng.uniform(120, last)) * 1440
        return sim.Fault(kind, None, since, since + float(rng.uniform(60, 480)), float(np.exp(rng.uniform(4.1, 8))))
    k, begin, end = season[int(rng.integers(len(season)))]
    if kind == "stuck_open":
        after = [r[1] for r in house.runs if r[0] == k and r[1] > end]
        length = float(np.exp(rng.uniform(np.log(120), np.log(60 * 60))))
        until = end + length
        if rng.random() < 0.3 and after:
            until = after[0]
        return sim.Fault(kind, k, end, until, float(rng.uniform(0.9, 1.05)))
    length = float(rng.uniform(4, 60)) * 1440
    if kind == "more_than_set":
        return sim.Fault(kind, k, begin - 1, begin + length, float(rng.uniform(1.25, 3.0)))
    if kind == "less_than_set":
        return sim.Fault(kind, k, begin - 1, begin + length, float(rng.uniform(0.15, 0.8)))
    if kind == "not_delivered":
        whole = rng.random() < 0.5
        return sim.Fault(kind, None if whole else k, begin - 1, begin + float(rng.uniform(1, 20)) * 1440, 0.0)
    hours = float(rng.choice([-6, -3, -2, 2, 3, 5, 8, 12]))
    return sim.Fault("another_schedule", None, begin - 1, begin + length, hours)


def per_reading_spread(house: sim.House, at: np.ndarray, step: float, pace: str) -> np.ndarray:
    """s of each reading: of what the house alone uses."""
    alone = sim.readings(house.indoor, at, step)
    least = step / np.sqrt(6)
    if pace != "hourly":
        return np.full(len(alone), max(1.4826 * np.median(np.abs(alone - np.median(alone))), least))
    slot = (at[:-1] // 60).astype(int) % 168
    spread = np.empty(168)
    for h in range(168):
        mine = alone[slot == h]
        spread[h] = 1.4826 * np.median(np.abs(mine - np.median(mine)))
    return np.maximum(spread[slot], least)


def ask(house: sim.House, frames: dict, as_of: datetime) -> MeterAccount:
    """The account as of a date."""
    drinks = "softener" if house.softener else ""
    return account(
        frames["intervals"],
        frames["runs"],
        frames["flows"],
        frames["other_use"],
        frames["household"],
        house.people,
        drinks,
        ZoneInfo("UTC"),
        as_of,
    )


def one_case(seed: int, pace: str, kind: str) -> Case | None:
    """Build, break, meter and ask; None when the fault touches no reading or is no signal at all."""
    house = sim.build(seed)
    rng = np.random.default_rng(seed * 31 + KINDS.index(kind) if kind in KINDS else seed)
    step = 1.0 if rng.random() < 0.6 else 10.0
    fault = draw_fault(rng, house, kind)
    at = sim.read_times(house, pace)
    clean, broken = sim.metered(house, []), sim.metered(house, [fault])
    tick_change = np.concatenate([[0.0], np.cumsum(broken - clean)])
    change = np.diff(np.interp(at / sim.TICK, np.arange(len(tick_change)), tick_change))
    touched = np.flatnonzero(np.abs(change) > 1e-6)
    if not len(touched):
        return None
    s = per_reading_spread(house, at, step, pace)
    size = np.abs(change) if kind == "another_schedule" else change
    signal = float(abs(size[touched].sum()) / np.sqrt((s[touched] ** 2).sum()))
    end = int(touched[-1])
    if fault.until == np.inf:  # ask a while into it
        whole = np.abs(np.cumsum(change[touched])) / np.sqrt(np.cumsum(s[touched] ** 2))
        strong = np.flatnonzero(whole >= rng.uniform(4, 12))
        end = int(touched[strong[0]] if len(strong) else touched[-1])
        signal = float(whole[strong[0]] if len(strong) else whole[-1])
    as_of = sim.moment(at[end + 1])
    frames = sim.frames(house, sim.readings(broken, at, step), at, step)
    found = ask(house, frames, as_of).findings
    since, until = sim.moment(at[touched[0]]), as_of
    pace_slack = timedelta(hours={"weekly": 24, "daily": 6, "hourly": 2}[pace])

    def over(f: Finding) -> bool:
        return f.since <= until + pace_slack and (f.until is None or f.until >= since - pace_slack)

    hits = [f for f in found if over(f)]
    zones = (
        ()
        if kind not in (*ZONED, "another_schedule")
        else tuple(z["code"] for k, z in enumerate(house.zones) if fault.zone in (None, k))
    )
    return Case(
        seed,
        pace,
        step,
        kind,
        zones,
        since if kind != "stuck_open" else sim.moment(fault.since),
        until,
        signal,
        float(change[touched[touched <= end]].sum()),
        hits[0] if hits else None,
        hits[0] if hits else None,
        len(found) - len(hits),
        (as_of - sim.START).days,
        _said([f for f in found if f not in hits]),
    )


def _said(found: list[Finding]) -> str:
    return "; ".join(
        f"{f.kind} {f.zone} {f.since:%m-%d %H}..{f.until and f.until.strftime('%m-%d %H')} {f.score:.1f} "
        f"{(f.volume.value or 0) / sim.GAL_L:.0f}gal"
        for f in found
    )


def clean_case(seed: int, pace: str) -> Case:
    """A home with nothing wrong, asked at its end."""
    house = sim.build(seed)
    step = 1.0 if seed % 5 < 3 else 10.0
    at = sim.read_times(house, pace)
    frames = sim.frames(house, sim.readings(sim.metered(house, []), at, step), at, step)
    found = ask(house, frames, sim.moment(at[-1])).findings
    return Case(seed, pace, step, "", (), sim.START, sim.START, 0.0, 0.0, None, None, len(found), house.days, _said(list(found)))


def leak_case(seed: int, pace: str, gph: float, days: float) -> bool:
    """Whether a steady leak is told within so many days."""
    house = sim.build(seed)
    rng = np.random.default_rng(seed + 99)
    step = 1.0 if rng.random() < 0.6 else 10.0
    at = sim.read_times(house, pace)
    begin = float(rng.uniform(150, house.days - days - 2)) * 1440
    frames = sim.frames(
        house, sim.readings(sim.metered(house, [sim.Fault("steady", None, begin, np.inf, gph)]), at, step), at, step
    )
    end = at[at <= begin + days * 1440][-1]
    found = ask(house, frames, sim.moment(end)).findings
    return any(f.until is None or f.until >= sim.moment(begin) for f in found)


def main() -> None:
    """Print the table."""
    homes = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
    verbose = "-v" in sys.argv
    paces = [p for p in PACES if p in sys.argv] or list(PACES)
    for pace in paces:
        cases = []
        for n in range(homes):
            case = one_case(first + n, pace, KINDS[n % len(KINDS)])
            if case is not None:
                cases.append(case)
        report(pace, cases, verbose)
        calm = [clean_case(first + n, pace) for n in range(max(homes // 3, 1))]
        years = sum(c.days for c in calm) / 365
        more = sum(c.false for c in cases) / max(sum(c.days for c in cases) / 365, 1e-9)
        print(
            f"  false findings a home-year, nothing wrong: {sum(c.false for c in calm) / years:.2f}; beside a fault: {more:.2f}"
        )
        if verbose:
            for c in calm:
                if c.false:
                    print("     clean", c.seed, c.step, c.note)
        for gph, days in {"weekly": [(3, 35)], "daily": [(4, 14), (2, 60)], "hourly": [(1, 3), (0.5, 7)]}[pace]:
            told = [leak_case(first + n, pace, gph, days) for n in range(max(homes // 2, 1))]
            print(f"  steady {gph} gph told in {days} days: {np.mean(told):.0%}")


def report(pace: str, cases: list[Case], verbose: bool) -> None:
    """One pace of the table."""
    signals = [c for c in cases if c.kind != "another_schedule" or pace == "hourly"]
    strong = [c for c in signals if c.signal >= 6]
    fair = [c for c in signals if 4 <= c.signal < 6]
    told = [c for c in strong if c.told]

    def share(values: list[bool]) -> str:
        return f"{np.mean(values):.0%} of {len(values)}" if values else "-"

    print(
        f"{pace}: strong told {share([c.told is not None for c in strong])}; fair told {share([c.told is not None for c in fair])}"
    )
    print(
        f"  right kind first {share([c.right_kind for c in told])}; right zone {share([c.right_zone for c in told if c.kind in ZONED])}"
    )
    starts = [abs((c.first.since - c.since).total_seconds()) / 3600 for c in told]
    volumes = [
        abs((c.first.volume.value or 0) / sim.GAL_L - c.gallons) / abs(c.gallons)
        for c in told
        if abs(c.gallons) > 1 and c.kind != "another_schedule"
    ]
    if starts:
        print(
            f"  start off, hours: median {np.median(starts):.1f}, 80 % {np.quantile(starts, 0.8):.1f}; "
            f"volume off: median {np.median(volumes):.0%}, 80 % {np.quantile(volumes, 0.8):.0%}"
        )
    for kind in KINDS:
        mine = [c for c in strong if c.kind == kind]
        if mine:
            hit = [c for c in mine if c.told]
            off = [abs((c.first.since - c.since).total_seconds()) / 3600 for c in hit]
            vol = [abs((c.first.volume.value or 0) / sim.GAL_L - c.gallons) / max(abs(c.gallons), 1) for c in hit]
            print(
                f"    {kind:16s} told {share([c.told is not None for c in mine])}; kind {share([c.right_kind for c in hit])}; "
                f"zone {share([c.right_zone for c in hit])}; start {np.median(off or [0]):.0f} h; volume {np.median(vol or [0]):.0%}"
            )
    if verbose:
        for c in cases:
            f = c.first
            if c.signal >= 4 and (f is None or not c.right_kind or (c.kind in ZONED and not c.right_zone)):
                got = (
                    "-"
                    if f is None
                    else f"{f.kind} {f.zone} {f.group} {f.since:%m-%d %H}..{f.until and f.until.strftime('%m-%d %H')} {f.score:.1f} {f.volume.value / sim.GAL_L:.0f}gal rivals {[(r.kind, r.zone) for r in f.rivals]}"
                )
                print(
                    f"     {c.seed} {c.step:g} {c.kind} {c.zones} {c.since:%m-%d %H}..{c.until:%m-%d %H} z {c.signal:.1f} {c.gallons:.0f}gal -> {got}"
                )


if __name__ == "__main__":
    main()

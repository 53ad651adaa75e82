"""A plain home as frames, its volumes written down by simple sums, for tests of the account."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.account import MeterAccount, account
from core.accounts.ledger import Ledger, make_ledger
from core.accounts.reference import learn
from core.accounts.suspects import Case
from tests.core.accounts.frames import table

START = datetime(2025, 1, 1, tzinfo=UTC)
UTC_ZONE = ZoneInfo("UTC")
PROGRAMS = {"hedge": (200.0, 5.0, (0, 2, 4)), "tubs": (90.0, 0.5, (0, 1, 3, 5))}  # L/h, hours from 5:00, weekdays


@dataclass
class PlainHome:
    """Two people, two zones, readings at one pace; ``indoor`` and ``zone_l`` are what the volumes were made of."""

    start: datetime
    intervals: pd.DataFrame
    runs: pd.DataFrame
    flows: pd.DataFrame
    indoor: np.ndarray
    zone_l: dict[str, np.ndarray]
    other_use: pd.DataFrame = field(default_factory=lambda: table("other_use"))
    household: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=["since", "until", "people", "reason"])
    )
    decisions: pd.DataFrame | None = None
    people: int = 2
    drinks: str = ""

    def at(self, day: float) -> datetime:
        """The instant so many days after the first reading."""
        return self.start + timedelta(days=day)

    def delivered(self, zone: str) -> np.ndarray:
        """Litres a zone brought in each interval."""
        return self.zone_l[zone]

    def account(self, as_of: datetime | None = None, tz: ZoneInfo | None = None, **more: Any) -> MeterAccount:
        """The account as of a date, by default the last reading."""
        if as_of is None:
            as_of = self.intervals["end"].max() if len(self.intervals) else self.at(30)
        return account(
            self.intervals,
            self.runs,
            self.flows,
            self.other_use,
            self.household,
            self.people,
            self.drinks,
            tz or UTC_ZONE,
            pd.Timestamp(as_of).to_pydatetime(),
            decisions=self.decisions,
            **more,
        )


def case_of(home: PlainHome, tz: ZoneInfo = UTC_ZONE, as_of: datetime | None = None) -> Case:
    """What the suspects are judged on, with nothing explained yet."""
    ledger = ledger_of(home, tz, as_of)
    nothing = np.zeros(len(ledger.start))
    return Case.of(ledger, learn(ledger, home.drinks, nothing, nothing.astype(bool)))


def ledger_of(home: PlainHome, tz: ZoneInfo = UTC_ZONE, as_of: datetime | None = None) -> Ledger:
    """The home's arrays as of a date, by default its last reading."""
    now = as_of or pd.Timestamp(home.intervals["end"].max()).to_pydatetime()
    return make_ledger(home.intervals, home.runs, home.flows, home.other_use, home.household, home.people, tz, now)


def plain_home(pace_days: float, days: int, first_day: int = 0, start: datetime = START) -> PlainHome:
    """Readings every ``pace_days`` for ``days`` days, runs from April to October."""
    rng = np.random.default_rng(int(days * 10 + pace_days * 100 + first_day))
    hours = days * 24
    begin = start + timedelta(days=first_day)
    clock = np.array([(begin.hour + h) % 24 for h in range(hours)])
    busy = np.where((clock >= 6) & (clock < 9) | (clock >= 17) & (clock < 22), 30.0, np.where(clock < 6, 0.0, 10.0))
    indoor = rng.gamma(2.0, 0.5, hours) * busy
    zones = {z: np.zeros(hours) for z in PROGRAMS}
    rows = []
    whole_days = first_day + days + 2
    for day in range(-1, whole_days):
        local = (start + timedelta(days=day)).replace(hour=0)
        if not 4 <= local.month <= 10:
            continue
        for zone, (flow, long, weekdays) in PROGRAMS.items():
            if local.weekday() not in weekdays:
                continue
            first = local + timedelta(hours=5 if zone == "tubs" else 3)
            span = timedelta(hours=long if zone == "tubs" else 2.0)
            rows.append(
                (zone, "a", pd.Timestamp(local.date()), first, first + span, span.total_seconds() / 60, "presumed", "")
            )
            for h in range(5):
                k = int((first - begin).total_seconds() // 3600) + h
                inside = min(max((first + span - (begin + timedelta(hours=k))).total_seconds() / 3600, 0), 1)
                if 0 <= k < hours:
                    zones[zone][k] += flow * inside
    per = max(round(pace_days * 24), 1)
    count = hours // per
    total = (indoor + sum(zones.values()))[: count * per].reshape(count, per).sum(axis=1)
    stamps = pd.to_datetime([begin + timedelta(hours=per * k) for k in range(count + 1)])
    intervals = pd.DataFrame(
        {
            "meter": "main",
            "start": stamps[:-1],
            "end": stamps[1:],
            "volume_l": np.round(total),
            "sd_l": 1 / np.sqrt(6),
            "resolution_l": 1.0,
            "source": "register",
            "estimated": False,
            "note": "",
        }
    )
    runs = pd.DataFrame(rows, columns=["zone", "label", "day", "start", "end", "minutes", "basis", "why"])
    if len(runs):
        runs["start"], runs["end"] = pd.to_datetime(runs["start"]), pd.to_datetime(runs["end"])
    else:
        runs = runs.astype({"start": "datetime64[ns, UTC]", "end": "datetime64[ns, UTC]", "day": "datetime64[ns]"})
    flows = pd.DataFrame(
        {
            "zone": list(PROGRAMS),
            "since": pd.NaT,
            "until": pd.NaT,
            "paper_lph": [p[0] for p in PROGRAMS.values()],
            "tested_lph": np.nan,
            "flow_lph": [p[0] for p in PROGRAMS.values()],
            "sd_share": 0.1,
            "source": "emitters",
        }
    )

    def by_interval(hourly: np.ndarray) -> np.ndarray:
        return hourly[: count * per].reshape(count, per).sum(axis=1)

    return PlainHome(start, intervals, runs, flows, by_interval(indoor), {z: by_interval(v) for z, v in zones.items()})


def runs_of(zone: str, starts: list[datetime], minutes: float) -> pd.DataFrame:
    """Presumed runs of one zone, all as long."""
    first = pd.to_datetime(starts)
    return pd.DataFrame(
        {
            "zone": zone,
            "label": "a",
            "day": first.tz_localize(None).normalize(),
            "start": first,
            "end": first + pd.Timedelta(minutes=minutes),
            "minutes": minutes,
            "basis": "presumed",
            "why": "",
        }
    )


def metered(home: PlainHome, added_l: np.ndarray | float = 0.0, step_l: float = 1.0) -> PlainHome:
    """The home as a register of whole steps shows it that stood at half of one at first; ``added_l`` by interval."""
    true = np.cumsum(home.indoor + sum(home.zone_l.values()) + added_l)
    shown = np.floor(np.concatenate([[0.0], true]) / step_l + 0.5) * step_l
    home.intervals["volume_l"] = np.diff(shown)
    home.intervals["resolution_l"], home.intervals["sd_l"] = step_l, step_l / np.sqrt(6)
    return home


def other_use(at: datetime, litres: float) -> pd.DataFrame:
    """One logged use through the main meter."""
    return table("other_use", {"start": at, "volume_l": litres, "spread": 10.0, "meter": "main"})


def decision(
    kind: str, meter: str, since: date, verdict: str, repaired_on: date | None, decided_at: datetime
) -> pd.DataFrame:
    """One decision as the book gives it."""
    return pd.DataFrame(
        {
            "finding": [kind],
            "meter": [meter],
            "zone": [None],
            "since": [pd.Timestamp(since)],
            "until": [pd.NaT],
            "verdict": [verdict],
            "repaired_on": [pd.NaT if repaired_on is None else pd.Timestamp(repaired_on)],
            "decided_at": [pd.Timestamp(decided_at)],
        }
    )

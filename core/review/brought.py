"""What runs brought by what the meter says: the flow it learned of each zone, and what strong findings say of it.

A line that came off its fitting brings more water, but not to the plants, so of one zone only what is missing counts
here; what all brought more in one proportion, as by other minutes, comes to the plants.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.account import MeterAccount
from core.accounts.evidence import AGAINST
from core.accounts.findings import Finding, means_no_water

Accounts = Mapping[str, MeterAccount]
HOURLY = timedelta(hours=2)  # a reading no longer than this says well enough when
WITHIN = timedelta(minutes=30)  # a finding begins and ends with runs as the controller's clock has them


def delivery_factors(accounts: Accounts) -> pd.DataFrame:
    """Real flow over expected by zone as all meters tell it, one row each: zone, factor, since, until."""
    found = [a.delivery[["zone", "factor"]] for a in accounts.values() if len(a.delivery)]
    factors = pd.concat(found, ignore_index=True) if found else pd.DataFrame(columns=["zone", "factor"])
    return factors.drop_duplicates("zone").assign(since=np.datetime64("NaT", "ns"), until=np.datetime64("NaT", "ns"))


def factors_as_told(accounts: Accounts, tz: ZoneInfo) -> pd.DataFrame:
    """The same with days on which a zone surely brought less than it should, or all another share; later rows hold."""
    usual = delivery_factors(accounts)
    by_zone = usual.set_index("zone")["factor"].to_dict()
    sure = [f for kind in ("less_than_set", "another_schedule") for f in _sure(accounts, kind)]
    other = [
        {"zone": zone, "factor": by_zone[zone] * (1 + f.share), "since": since, "until": until}
        for f in sure
        if f.share is not None and (f.zone is None or len(f.group) == 1)
        for since, until in [_days(f, tz)]
        for zone in f.group
        if zone in by_zone
    ]
    return pd.concat([usual, pd.DataFrame(other)], ignore_index=True) if other else usual


def evidence_as_told(accounts: Accounts, runs: pd.DataFrame) -> pd.DataFrame:
    """What the meters say of each zone and day with a run (zone, day, evidence, log_odds): by itself, and where that
    says nothing by the runs before and after, which brought no water for sure or by a person's word. A finding may
    begin and end anywhere in its first and last reading, so these add nothing unless they are of an hour or so.
    """
    columns = ["zone", "day", "evidence", "log_odds"]
    found = [a.evidence for a in accounts.values() if len(a.evidence)]
    evidence = pd.concat(found, ignore_index=True)[columns] if found else pd.DataFrame(columns=columns)
    for f, zones in _silent(accounts):
        first, last = _inside(f, accounts[f.meter].intervals)
        during = (runs["start"] >= first) & (runs["end"] <= last)
        whole = during.groupby([runs["zone"], runs["day"]]).all()
        silent = (evidence["evidence"] == "") & evidence["zone"].isin(zones)
        among = pd.MultiIndex.from_frame(evidence[["zone", "day"]]).isin(whole.index[whole])
        evidence.loc[silent & among, "evidence"] = AGAINST
    return evidence


def _silent(accounts: Accounts) -> Iterator[tuple[Finding, tuple[str, ...]]]:
    """Findings whose runs brought no water, and the zones of these: strong ones, unless a person named another cause,
    and any of which a person said that it was that.
    """
    for f in (f for account in accounts.values() for f in account.findings):
        said = means_no_water(f)
        strong = f.strength == "strong" and f.kind == "not_delivered"
        if said and f.cause is not None and f.cause.zone is not None:
            yield f, (f.cause.zone,)
        elif (said or (strong and f.cause is None)) and (f.zone is None or len(f.group) == 1):
            yield f, f.group  # else one of them, and which is not known


def _sure(accounts: Accounts, kind: str) -> Iterator[Finding]:
    """Strong findings of a kind, the strongest last."""
    for account in accounts.values():
        yield from (f for f in reversed(account.findings) if f.kind == kind and f.strength == "strong")


def _inside(finding: Finding, intervals: pd.DataFrame) -> tuple[pd.Timestamp, pd.Timestamp]:
    """From when to when it surely went on."""
    slow = intervals[intervals["end"] - intervals["start"] > HOURLY]
    since, until = pd.Timestamp(finding.since), pd.Timestamp(finding.until or intervals["end"].max())
    opening = slow[(slow["start"] <= since) & (slow["end"] > since)]
    closing = slow[(slow["start"] < until) & (slow["end"] >= until)] if finding.until else slow.iloc[:0]
    return (
        opening["end"].iloc[0] if len(opening) else since - WITHIN,
        closing["start"].iloc[0] if len(closing) else until + WITHIN,
    )


def _days(finding: Finding, tz: ZoneInfo) -> tuple[pd.Timestamp, pd.Timestamp | None]:
    """Its first local day and the day after its last (None while it goes on)."""
    since = pd.Timestamp(finding.since.astimezone(tz).date())
    if finding.until is None:
        return since, None
    return since, pd.Timestamp(finding.until.astimezone(tz).date() + timedelta(days=1))

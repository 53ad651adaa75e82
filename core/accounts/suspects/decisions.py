"""What a person decided about a finding, and what the meter says since a repair."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pandas as pd

from core.accounts.findings import Finding
from core.accounts.instants import HOUR_MS, day_edges
from core.accounts.ledger import Ledger, local_day
from core.accounts.suspects.words import say
from core.units import System


def with_decisions(
    findings: list[Finding], decisions: pd.DataFrame | None, ledger: Ledger, system: System
) -> tuple[Finding, ...]:
    """The findings with the latest verdict that matches each by kind, meter, zone and overlap of days."""
    if decisions is None or not len(decisions):
        return tuple(findings)
    made = decisions.loc[decisions["decided_at"] <= pd.Timestamp(datetime.fromtimestamp(ledger.as_of * 3600, UTC))]
    made = made.sort_values("decided_at")
    return tuple(_decided(f, made, findings, ledger, system) for f in findings)


def _decided(f: Finding, made: pd.DataFrame, all_found: list[Finding], ledger: Ledger, system: System) -> Finding:
    since = f.since.astimezone(ledger.zone).date()
    until = (f.until or ledger.when(ledger.as_of)).astimezone(ledger.zone).date()
    latest = None
    for row in made.to_dict("records"):
        same = row["finding"] == f.kind and _same(row["meter"], f.meter) and _same(row["zone"], f.zone, f.group)
        first = pd.Timestamp(row["since"]).date()
        last = date.max if pd.isna(row["until"]) else pd.Timestamp(row["until"]).date()
        if same and first <= until and last >= since:
            latest = row
    if latest is None or latest["verdict"] == "ask_again":
        return f
    after = ""
    if latest["verdict"] == "repaired":
        given = latest["since"] if pd.isna(latest["repaired_on"]) else latest["repaired_on"]
        after = _after_repair(f, pd.Timestamp(given).date(), all_found, ledger, system)
    return replace(f, decision=str(latest["verdict"]), after=after)


def _same(given: Any, own: str | None, group: tuple[str, ...] = ()) -> bool:
    return bool(pd.isna(given)) or given in ("", own) or given in group


def _after_repair(f: Finding, day: date, all_found: list[Finding], ledger: Ledger, system: System) -> str:
    """Whether readings since the repair bear it out."""
    repaired = float(day_edges(day, day, ledger.zone)[1] / HOUR_MS)
    since = ledger.usable & (ledger.start >= repaired - 1e-6)
    if not since.any():
        return "No reading since the repair yet, so the meter cannot say."
    through = local_day(float(ledger.end[since][-1]), ledger.zone)
    days = float(ledger.hours[since].sum()) / 24
    going = [
        g
        for g in all_found
        if g.kind == f.kind and g.zone == f.zone and (g.until is None or g.until.timestamp() / 3600 > repaired + 24)
    ]
    if going:
        rate = going[0].rate_lph
        how = f"at about {say(abs(rate), system, 'flow')}" if rate else "as before"
        return f"The meter contradicts the repair: it still shows this {how}, {days:.0f} days on."
    reach = f"{through.day} {through:%B %Y}"
    return f"The meter confirms the repair: nothing of it in {days:.0f} days of readings since, through {reach}."

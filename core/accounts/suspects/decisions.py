"""What a person decided about a finding, and what the meter says since a repair."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd

from core.accounts.findings import BACK, CONTRADICTS, Cause, Finding, Rival, Said
from core.accounts.instants import HOUR_MS, day_edges
from core.accounts.ledger import Ledger, local_day
from core.accounts.suspects.case import Case, Suspect
from core.accounts.suspects.words import say
from core.units import System

HOUR = timedelta(hours=1)
UNMETERED = 0.5  # days without a reading that are worth saying


def with_decisions(
    findings: list[Finding], decisions: pd.DataFrame | None, ledger: Ledger, system: System
) -> tuple[Finding, ...]:
    """The findings with the latest verdict about each, see :meth:`core.accounts.findings.Said.is_about`.

    What was said with an earlier one stands beside it, back to the last time a person asked to be asked again.
    """
    if decisions is None or not len(decisions):
        return tuple(findings)
    made = _made(decisions, ledger)
    return tuple(_decided(f, made, findings, ledger, system) for f in findings)


def settled_as(
    rivals: Sequence[Rival], meter: str, days: tuple[date, date], decisions: pd.DataFrame | None, ledger: Ledger
) -> int | None:
    """Which of the rivals of a stay a person has spoken of as a finding of these days, first and last; None for none.

    Who once said what became of some water is not asked whether it was guests.
    """
    if decisions is None or not len(decisions):
        return None
    latest = None
    for row in _made(decisions, ledger).to_dict("records"):
        said = _said(row)
        if said.meter in (None, "", meter) and said.of_the_time(*days, ledger.zone):
            which = [n for n, r in enumerate(rivals) if r.is_at(said.kind, said.zone)]
            if which:
                latest = None if row["verdict"] == "ask_again" else which[0]
    return latest


def _made(decisions: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    """Those made by now, in the order they were made."""
    now = pd.Timestamp(datetime.fromtimestamp(ledger.as_of * 3600, UTC))
    return decisions.loc[decisions["decided_at"] <= now].sort_values("decided_at", kind="stable")


def _decided(f: Finding, made: pd.DataFrame, all_found: list[Finding], ledger: Ledger, system: System) -> Finding:
    now = ledger.when(ledger.as_of)
    matching = [row for row in made.to_dict("records") if _said(row).is_about(f, all_found, now, ledger.zone)]
    if not matching or matching[-1]["verdict"] == "ask_again":
        return f
    latest, after, day = matching[-1], "", None
    if latest["verdict"] == "repaired":
        day = _day(latest["repaired_on"]) or _said(latest).first
        after = _after_repair(f, day, all_found, ledger, system)
    note, cause = _in_words(matching)
    return replace(f, decision=str(latest["verdict"]), after=after, note=note, cause=cause, repaired_on=day)


def _in_words(rows: list[dict[Hashable, Any]]) -> tuple[str, Cause | None]:
    """The words and the cause that stand: a cause found speaks for itself, other verdicts leave what was said of it."""
    notes: list[str] = []
    cause = None
    for row in rows:
        if row["verdict"] in ("explained", "ask_again"):
            notes, cause = [], None
        if row["verdict"] == "ask_again":
            continue
        notes += [row["note"]] if row.get("note") and row["note"] not in notes else []
        kind, zone = (None if pd.isna(row.get(name)) else str(row[name]) for name in ("cause", "cause_zone"))
        cause = Cause(kind, zone) if kind else cause
    return "; ".join(notes), cause


def _said(row: dict[Hashable, Any]) -> Said:
    meter, zone = (None if pd.isna(row[name]) else str(row[name]) for name in ("meter", "zone"))
    return Said(
        kind=row["finding"],
        meter=meter,
        zone=zone,
        first=pd.Timestamp(row["since"]).date(),
        last=_day(row["until"]),
        decided_at=row["decided_at"].to_pydatetime(),
        repaired_on=_day(row["repaired_on"]) if row["verdict"] == "repaired" else None,
    )


def _day(stamp: Any) -> date | None:
    return None if pd.isna(stamp) else pd.Timestamp(stamp).date()


def _after_repair(f: Finding, day: date, all_found: list[Finding], ledger: Ledger, system: System) -> str:
    """Whether readings since the repair bear it out.

    Only the finding itself that goes on speaks against it, or one of its kind and zone that begins within days of it
    and is the same leak taken for two; a leak months later is no fault of this repair.
    """
    repaired = float(day_edges(day, day, ledger.zone)[1] / HOUR_MS)
    since = ledger.usable & (ledger.start >= repaired - 1e-6)
    if not since.any():
        return "No reading since the repair yet, so the meter cannot say."
    told_by = float(ledger.end[ledger.end > repaired].min())  # no reading says on which of its days water stopped
    last = float(ledger.end[since].max())
    through = local_day(last, ledger.zone)
    days, unread = (through - day).days, _unread_days(ledger, repaired, last)
    metered = None if unread < UNMETERED or days < 2 else max(days - round(unread), 1)  # some reading began since
    going = [
        g
        for g in all_found
        if (g.kind, g.zone) == (f.kind, f.zone)
        and (g is f or abs(g.since.timestamp() / 3600 - repaired) <= BACK / HOUR)
        and g.ran_past(day, ledger.zone)
        and (g.until is None or g.until.timestamp() / 3600 > told_by)
    ]
    if going:
        rate = going[0].rate_lph
        how = f"at about {say(abs(rate), system, 'flow')}" if rate else "as before"
        ended = going[0].until
        if ended is not None and ended < ledger.when(last):
            stopped = ended.astimezone(ledger.zone).date()
            shows = f"showed this {how} until {stopped.day} {stopped:%B %Y}, {_days((stopped - day).days)} on"
        else:
            shows = f"still shows this {how}, {_days(days)} on"
            shows += "" if metered is None else f", {metered} of them metered"
        if f.strength == "weak":  # which is too little to say that a person's work was in vain
            return f"The meter cannot confirm the repair: it {shows}, on weak evidence."
        return f"{CONTRADICTS}: it {shows}."
    reach = f"{through.day} {through:%B %Y}"
    nothing = f"{_days(days)} since" if metered is None else f"{_days(metered)} metered of the {_days(days)} since"
    return f"The meter confirms the repair: nothing of it in the {nothing}, through {reach}."


def to_its_repair(suspect: Suspect, found: Finding, case: Case) -> Suspect:
    """A leak that a person mended, to the day of that: within the last reading that holds it, or the next one, which
    alone is too long to tell of some days and of which it takes no more than is left over.
    """
    ledger, day = case.ledger, found.repaired_on
    if suspect.kind != "steady" or suspect.until is None or day is None or found.contradicted:
        return suspect
    mended = float(day_edges(day, day, ledger.zone).mean() / HOUR_MS)  # some time of that day
    if ledger.start[suspect.rows[-1]] < mended < suspect.until:
        return replace(suspect, until=mended)
    begun = ledger.usable & ~ledger.fine & (np.abs(ledger.start - suspect.until) < 1.0)
    rows = np.flatnonzero(begun & (ledger.start < mended) & (ledger.end > mended))
    if not len(rows):
        return suspect
    more = min(suspect.rate * (mended - suspect.until), max(float(case.left[rows[0]]), 0.0))
    litres = np.append(suspect.litres, more)
    return replace(suspect, rows=np.append(suspect.rows, rows[0]), litres=litres, until=mended)


def _unread_days(ledger: Ledger, repaired: float, last: float) -> float:
    """How many of the days from the end of a repair's day to the last reading no reading tells of."""
    begun, ended = (np.clip(edge[ledger.usable], repaired, last) for edge in (ledger.start, ledger.end))
    return (last - repaired - float((ended - begun).sum())) / 24


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"

"""The account of one meter: balance, baseline, delivery, findings, evidence, and what could hide."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.balance import day_frame, interval_frame
from core.accounts.baseline import describe
from core.accounts.delivery import delivery_frame
from core.accounts.evidence import evidence_frame
from core.accounts.findings import Finding
from core.accounts.hide import Hide, what_could_hide
from core.accounts.instants import Flags, Floats
from core.accounts.lasting import lived
from core.accounts.lateness import late_minutes
from core.accounts.ledger import Ledger, make_ledger
from core.accounts.reference import learn
from core.accounts.suspects import (
    BENDING,
    LOCAL,
    Case,
    Stay,
    as_decided,
    clock_off,
    findings,
    restless,
    standing,
    stays,
)
from core.figures import Figure
from core.units import System

TURNS = 3  # of learning what is normal and taking findings off
FIRST = 1  # rounds of the first turn, whose suspects only clear the way for learning: the strongest will do
SETTLED_SD, SETTLED_LOG = 0.05, 0.005  # see _settled


@dataclass(frozen=True)
class MeterAccount:
    """What one meter says as of a date. Litres; instants UTC; days local.

    Attributes:
        intervals: see :func:`core.accounts.balance.interval_frame`.
        by_day: see :func:`core.accounts.balance.day_frame`.
        baseline: indoor litres on a typical day, with working and a note on what it cannot know.
        delivery: see :func:`core.accounts.delivery.delivery_frame`.
        findings: strongest first.
        stays: guests and trips that nobody wrote down, as far as readings of days and weeks show them.
        evidence: see :func:`core.accounts.evidence.evidence_frame`.
        hide: what could hide for 7 and 30 days; metered_through: end of the last known interval.
    """

    meter: str
    intervals: pd.DataFrame
    by_day: pd.DataFrame
    baseline: Figure
    delivery: pd.DataFrame
    findings: tuple[Finding, ...]
    stays: tuple[Stay, ...]
    evidence: pd.DataFrame
    hide: tuple[Hide, ...]
    metered_through: datetime | None


def account(
    intervals: pd.DataFrame,
    runs: pd.DataFrame,
    flows: pd.DataFrame,
    other_use: pd.DataFrame,
    household: pd.DataFrame,
    home_people: int,
    drinks: str,
    tz: ZoneInfo,
    as_of: datetime,
    *,
    pauses: pd.DataFrame | None = None,
    held: pd.DataFrame | None = None,
    decisions: pd.DataFrame | None = None,
    system: System = "us",
    names: Mapping[str, str] | None = None,
    warmest: pd.DataFrame | None = None,
    south: bool = False,
) -> MeterAccount:
    """Account for one meter with the readings that ended by ``as_of``.

    Args:
        intervals: of one meter, as meter_intervals gives them (own use where meters are nested).
        runs, flows: of the zones behind this meter, as runs_between and zone_flows give them.
        other_use, household, pauses, decisions: book frames; other use counts where its meter is this one.
        held: runs of these zones that the shutdown for winter holds off, as runs_held gives them.
        home_people: people usually at home behind this meter; 0 for a meter of the garden alone.
        names: of the zones by code, for sentences; a zone without one is called by its code.
        drinks: appliances that use water by themselves, as in the home record.
        warmest: day (each once), tmax_c: what a cooler goes by; the time of year stands in for other days.
        south: whether the home is south of the equator.

    Raises:
        ValueError: intervals of more than one meter.
    """
    ledger = written = make_ledger(
        intervals, runs, flows, other_use, household, home_people, tz, as_of, pauses, held, warmest, south=south
    )
    explained, aside = np.zeros(len(ledger.start)), np.zeros(len(ledger.start), dtype=bool)
    case = _case(ledger, drinks, explained, aside)
    if ledger.fine.any() and ledger.zones:
        use, usual = ledger.volume - ledger.other, case.reference
        late = late_minutes(ledger, use, usual.indoor, usual.sigma, ledger.fine & ledger.usable)
        if late:
            ledger = ledger.later(late)
            case = _case(ledger, drinks, explained, aside)
    explained = restless(case)  # a leak of most of the record would be learned as the house's own
    if explained.any():
        case = _case(ledger, drinks, explained, aside)
    suspects = standing(case, FIRST)
    for turn in range(1, TURNS):
        before = explained
        explained, aside = np.zeros_like(explained), np.zeros_like(aside)
        for each in suspects:
            explained[each.rows] += each.litres
            if each.kind in LOCAL or (each.at_home and each.kind != "fewer"):  # of which all that follows would be lost
                aside[each.rows] = True
            elif each.kind in BENDING and len(each.zones) > 1:  # runs of all zones gone wrong say nothing of any
                aside[each.rows[ledger.fine[each.rows]]] = True
        if np.allclose(before, explained, atol=1.0):
            suspects = standing(case) if turn == 1 else suspects
            break
        fresh = _case(ledger, drinks, explained, aside)
        if turn > 1 and _settled(case, fresh):
            break
        case, suspects = fresh, standing(fresh)
    suspects = as_decided(suspects, case, decisions, system, names or {})
    reference = case.reference
    known = np.isfinite(ledger.volume)
    return MeterAccount(
        meter=ledger.meter,
        intervals=interval_frame(ledger, reference),
        by_day=day_frame(ledger, reference),
        baseline=describe(ledger, reference.baseline),
        delivery=delivery_frame(
            ledger, reference.factor, reference.factor_sd, reference.factor_covariance, names or {}
        ),
        findings=findings(case, [*suspects, *clock_off(case, written)], decisions, system, names or {}),
        stays=stays(suspects, case, system, names or {}),
        evidence=evidence_frame(case, suspects),
        hide=what_could_hide(case, system),
        metered_through=ledger.when(float(ledger.end[known].max())) if known.any() else None,
    )


def _case(ledger: Ledger, drinks: str, explained: Floats, aside: Flags) -> Case:
    """What the suspects are judged on, learned with the findings taken off."""
    ledger = lived(ledger, explained, aside)
    return Case.of(ledger, learn(ledger, drinks, explained, aside))


def _settled(before: Case, after: Case) -> bool:
    """Whether what is normal is so much the same that the same suspects would stand: no reading is left further from
    where it was than a small part of its spread, and their log densities have hardly changed on average.
    """
    rows = after.rows
    moved = np.abs(after.left - before.left)[rows] / after.reference.sigma[rows]
    weighed = np.abs(after.plain - before.plain)[rows]
    return bool(moved.max(initial=0.0) < SETTLED_SD and weighed.sum() < SETTLED_LOG * len(rows))

"""What the meter says about each run: confirmed, contradicted, or nothing at this pace."""

from __future__ import annotations

import numpy as np
import pandas as pd

from core.accounts.suspects.case import Case

FOR, AGAINST = "meter confirms", "meter contradicts"  # words of the column ``evidence``
SURE = 3.0  # twenty to one, as a natural logarithm
LONGEST_HOURS = 50.0  # readings longer than this say nothing about one day


def evidence_frame(case: Case) -> pd.DataFrame:
    """One row per zone and local day with a run: zone, day, evidence, log_odds.

    ``evidence`` is FOR, AGAINST or "". Runs recorded as not having happened are judged
    as well: confirmed means that no water came. ``log_odds`` compares the runs of that day with no water at all
    (natural log; 0 where the readings cannot say).
    """
    ledger = case.ledger
    columns = ["zone", "day", "evidence", "log_odds"]
    if not len(ledger.runs.start):
        return pd.DataFrame(columns=columns)
    frames = []
    for k, code in enumerate(ledger.zones):
        runs = ledger.runs.of(ledger.runs.zone == k)
        if not len(runs.start):
            continue
        odds = _log_odds(case, k)
        first = np.searchsorted(ledger.end, runs.start, side="right")
        last = np.searchsorted(ledger.start, runs.end, side="left")
        total = np.concatenate([[0.0], np.cumsum(odds)])
        value = np.where(last > first, total[np.maximum(last, first)] - total[first], 0.0)
        missed = runs.of(~runs.counted)
        value[~runs.counted] = -_ran_anyway(case, k, missed.start, missed.end, missed.flow)
        frame = pd.DataFrame({"zone": code, "day": runs.day.astype("datetime64[ns]"), "log_odds": value})
        frames.append(frame.groupby(["zone", "day"])["log_odds"].sum().reset_index())
    whole = pd.concat(frames, ignore_index=True)
    whole["evidence"] = np.where(whole["log_odds"] > SURE, FOR, np.where(whole["log_odds"] < -SURE, AGAINST, ""))
    return whole[columns]


def _log_odds(case: Case, k: int) -> np.ndarray:
    """Per interval: how much likelier it is that the zone's runs in it came than that they did not."""
    ledger = case.ledger
    odds = np.zeros(len(ledger.start))
    expected = case.reference.zones[:, k]
    rows = case.rows[(expected[case.rows] > 0.5) & (ledger.hours[case.rows] <= LONGEST_HOURS)]
    if len(rows):
        odds[rows] = -case.gain(rows, -expected[rows])
    return odds


def _ran_anyway(case: Case, k: int, start: np.ndarray, end: np.ndarray, flow: np.ndarray) -> np.ndarray:
    """Per run recorded as not having happened: how much likelier it is that it did, from the intervals it lies in."""
    ledger = case.ledger
    odds = np.zeros(len(start))
    mask = np.zeros(len(ledger.start), dtype=bool)
    mask[case.rows] = ledger.hours[case.rows] <= LONGEST_HOURS
    for n in np.flatnonzero(np.isfinite(start) & (flow > 0)):
        lo, hi = np.searchsorted(ledger.end, start[n], side="right"), np.searchsorted(ledger.start, end[n], side="left")
        rows = np.arange(lo, hi)[mask[lo:hi]]
        if not len(rows):
            continue
        inside = np.minimum(ledger.end[rows], end[n]) - np.maximum(ledger.start[rows], start[n])
        odds[n] = case.gain(rows, flow[n] * case.reference.factor[k] * inside.clip(0)).sum()
    return odds

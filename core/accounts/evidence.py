"""What the meter says about each run: confirmed, contradicted, or nothing at this pace."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from core.accounts.instants import Flags, Floats
from core.accounts.suspects.case import Case, Suspect

FOR, AGAINST = "meter confirms", "meter contradicts"  # words of the column ``evidence``
OTHER_SHARES = ("more_than_set", "less_than_set", "another_schedule")  # kinds of suspect whose runs came
HARDLY = -0.6  # with less than so much missing of what they should bring runs came, if short
SURE = 3.0  # twenty to one, as a natural logarithm
LONGEST_HOURS = 50.0  # readings longer than this say nothing about one day
LEAST_OWN, MOST_USUAL, TURNS = 1.0, 3.0, 20  # see _usual: to a run that its own reading says so much of, no more


def evidence_frame(case: Case, suspects: Sequence[Suspect] = ()) -> pd.DataFrame:
    """One row per zone and local day with a run: zone, day, evidence, log_odds.

    ``evidence`` is FOR, AGAINST or "". Runs recorded as not having happened are judged
    as well: confirmed means that no water came. ``log_odds`` compares the runs of that day with no water at all
    (natural log; 0 where the readings cannot say). By the hour a run that its reading speaks for is also believed for
    how many of the zone's runs came, unless the one before or after it did not: in an hour in which it runs every day
    the house is little known, and a habit of using just as much just then would have to have begun with the program.

    Args:
        suspects: that stand; where they say that runs brought another share, that share is what should have come.
    """
    ledger = case.ledger
    columns = ["zone", "day", "evidence", "log_odds"]
    other = [s for s in suspects if s.kind in OTHER_SHARES and float(s.detail.get("share", HARDLY)) > HARDLY]
    shares = _shares(case, other)
    beside = [*other, *(s for s in suspects if s.at_home)]  # a house with fewer people in it says nothing of runs
    case = case.explained(beside) if beside else case
    if not len(ledger.runs.start):
        return pd.DataFrame(columns=columns)
    frames = []
    for k, code in enumerate(ledger.zones):
        runs = ledger.runs.of(ledger.runs.zone == k)
        if not len(runs.start):
            continue
        odds = _log_odds(case, k, shares[:, k])
        first = np.searchsorted(ledger.end, runs.start, side="right")
        last = np.searchsorted(ledger.start, runs.end, side="left")
        total = np.concatenate([[0.0], np.cumsum(odds)])
        value = np.where(last > first, total[np.maximum(last, first)] - total[first], 0.0)
        missed = runs.of(~runs.counted)
        value[~runs.counted] = -_ran_anyway(case, k, missed.start, missed.end, missed.flow)
        hourly = runs.counted & (value != 0) & np.append(ledger.fine, False)[first]
        value[hourly & (value > LEAST_OWN) & ~_beside_missed(runs.start, value)] += _usual(value[hourly])
        frame = pd.DataFrame({"zone": code, "day": runs.day.astype("datetime64[ns]"), "log_odds": value})
        frames.append(frame.groupby(["zone", "day"])["log_odds"].sum().reset_index())
    whole = pd.concat(frames, ignore_index=True)
    whole["evidence"] = np.where(whole["log_odds"] > SURE, FOR, np.where(whole["log_odds"] < -SURE, AGAINST, ""))
    return whole[columns]


def _beside_missed(start: Floats, odds: Floats) -> Flags:
    """Which runs have one before or after them that surely brought nothing."""
    order = np.argsort(start, kind="stable")
    missed = np.concatenate([[False], odds[order] < -SURE, [False]])
    result = np.empty(len(start), dtype=bool)
    result[order] = missed[:-2] | missed[2:]
    return result


def _usual(odds: Floats) -> float:
    """Log odds that a run came, by how many of all did: the likeliest share, with one more that came and one that did
    not (Laplace's rule of succession), never less than nothing.
    """
    share = 0.5
    for _ in range(TURNS):
        came = 1 / (1 + np.exp(-np.clip(odds + np.log(share / (1 - share)), -50, 50)))
        share = (float(came.sum()) + 1) / (len(odds) + 2)
    return float(np.clip(np.log(share / (1 - share)), 0.0, MOST_USUAL))


def _shares(case: Case, suspects: Sequence[Suspect]) -> Floats:
    """Per interval and zone, of what its runs should bring: what they brought by these suspects."""
    shares = np.ones_like(case.reference.zones)
    for each in suspects:
        if len(each.zones) == 1 or each.detail.get("all"):
            which = [case.ledger.zones.index(z) for z in each.zones]
            shares[each.rows[:, None], which] += float(each.detail["share"])
    return shares


def _log_odds(case: Case, k: int, share: Floats) -> np.ndarray:
    """Per interval: how much likelier it is that the zone's runs in it came, in their share, than that they did not."""
    ledger = case.ledger
    odds = np.zeros(len(ledger.start))
    expected = np.maximum(case.reference.zones[:, k] * share, 0.0)
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

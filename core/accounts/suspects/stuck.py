"""Stuck open: a valve that did not close after its run, so that water went on at about the zone's flow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.accounts.instants import Floats
from core.accounts.ledger import Runs
from core.accounts.suspects.case import Case, Rows, Suspect
from core.accounts.suspects.view import View

TIMES, FINE_TIMES = 1.8, 1.5  # a year, at any of the year's runs; at hourly pace others show how often it does not
LONGEST_HOURS = 240.0
LENGTHS = float(np.log(LONGEST_HOURS))  # from an hour to the longest, each tenfold as likely as the next
PARTS = np.linspace(0.76, 1.16, 21)  # of the zone's flow
PARTS_COST = float(np.log(3))
LOOK_HOURS = 12  # of hourly readings after each run, searched quickly
QUICK = PARTS[::2]  # of the zone's flow, tried there
SOON, SOON_HOURS = 0.25, 2.0  # grit seldom lets go by itself so soon; common practice, no source
UNTIL_NEXT = 0.3  # of stuck valves close after their next run; common practice, no source
CLOSE = 3.0
LONG_HOURS, LONG_COST = 50.0, 1.5  # in a longer reading more may have happened that nobody wrote down
LEAST_COST = 5.0  # as for a single large use: few readings a year are no reason to believe less


def stuck_open(case: Case, _: View) -> list[Suspect]:
    """For each run, the excess that follows its end at about its zone's flow."""
    found: list[Suspect] = []
    for k, code in enumerate(case.ledger.zones):
        flow = case.flow(k)
        runs = case.ledger.runs.of(case.ledger.runs.counted & (case.ledger.runs.zone == k))
        if flow > 0 and len(runs.start):
            cost = case.run_rarity(FINE_TIMES)
            found += [
                _after(case, case.fine, code, flow, cost, runs, int(run)) for run in _fine(case, flow, runs, cost)
            ]
            found += _slow(case, code, flow, case.run_rarity(TIMES), runs)
    return _by_interval(case, found)


def _fine(case: Case, flow: float, runs: Runs, cost: float) -> Rows:
    """Runs after which the next hours look as if the zone went on."""
    rows, ledger = case.fine, case.ledger
    if len(rows) < 3:
        return np.empty(0, np.intp)
    at = np.searchsorted(ledger.end[rows], runs.end, side="right")
    index = np.minimum(at[:, None] + np.arange(LOOK_HOURS), len(rows) - 1)
    touched = rows[index]
    reach = (at[:, None] + np.arange(LOOK_HOURS) < len(rows)) & (ledger.start[touched] < runs.end[:, None] + LOOK_HOURS)
    open_hours = np.clip(ledger.end[touched] - np.maximum(ledger.start[touched], runs.end[:, None]), 0, None)
    flat = touched.ravel()
    # no flow gains more than a house that used nothing of it would
    most = np.where(reach, np.maximum(case.gain(flat, case.left[flat]).reshape(touched.shape), 0.0), 0.0)
    could = np.flatnonzero(most.sum(axis=1) > cost)
    touched, reach, open_hours = touched[could], reach[could], open_hours[could]
    gain = case.gain(touched.ravel(), QUICK[:, None] * flow * open_hours.ravel()).reshape(len(QUICK), *touched.shape)
    best = np.cumsum(np.where(reach, gain, 0.0), axis=2).max(axis=(0, 2), initial=0.0)
    result: Rows = could[best > cost]
    return result


def _slow(case: Case, code: str, flow: float, cost: float, runs: Runs) -> list[Suspect]:
    """Slow readings with an excess that some run's zone could have brought since its end."""
    rows, ledger = case.slow, case.ledger
    if not len(rows):
        return []
    at = np.minimum(np.searchsorted(ledger.end[rows], runs.end, side="right"), len(rows) - 1)
    row = rows[at]
    inside = (ledger.start[row] <= runs.end) & (ledger.end[row] > runs.end)
    room = 1.1 * flow * (ledger.end[row] - runs.end) + 2 * case.reference.sigma[row]
    left = case.left[row]
    fits = inside & (left > np.maximum(0.5 * flow, 2.5 * case.reference.sigma[row])) & (left < room)
    # of several runs within one reading the latest that leaves room enough
    last = np.flatnonzero(fits)
    last = last[np.append(at[last][1:] != at[last][:-1], True)] if len(last) else last
    found = [_within(case, int(row[n]), code, flow, cost, runs, int(n)) for n in last]
    full = inside & (np.abs(left - flow * (ledger.end[row] - runs.end)) < 0.2 * room + 3 * case.reference.sigma[row])
    onward = np.minimum(at + 1, len(rows) - 1)
    # the first of several may hold only its last minutes
    full &= (onward > at) & (case.left[rows[onward]] > 2.5 * case.reference.sigma[rows[onward]])
    return found + [_after(case, rows, code, flow, cost, runs, int(n)) for n in np.flatnonzero(full)]


def _within(case: Case, row: int, code: str, flow: float, cost: float, runs: Runs, run: int) -> Suspect:
    """A valve that closed again before the reading: any length is possible, or until the zone's next run."""
    left, end = float(case.left[row]), float(runs.end[run])
    hours = min(left / flow, float(case.ledger.end[row]) - end)
    density = (1 - UNTIL_NEXT) / (LENGTHS * left) * (SOON if hours < SOON_HOURS else 1.0)
    if run + 1 < len(runs.start) and runs.start[run + 1] < case.ledger.end[row]:
        sd = np.hypot(case.reference.sigma[row], 0.07 * left)
        z = (left - flow * (runs.start[run + 1] - end)) / sd
        density += UNTIL_NEXT * float(np.exp(-0.5 * z**2)) / (2.5066 * sd)
    gain = float(np.log(density) - case.plain[row])
    return _make(code, np.array([row]), np.array([left]), end, end + hours, gain, cost, flow, flow)


def _after(case: Case, rows: Rows, code: str, flow: float, cost: float, runs: Runs, run: int) -> Suspect:
    """A valve open over several readings, the last perhaps in part."""
    ledger, end = case.ledger, float(runs.end[run])
    at = int(np.searchsorted(ledger.end[rows], end, side="right"))
    touched = rows[at : at + int(LONGEST_HOURS)]
    touched = touched[ledger.start[touched] < end + LONGEST_HOURS]
    open_hours = np.clip(ledger.end[touched] - np.maximum(ledger.start[touched], end), 0, None)
    # while the valve stands open its own runs add nothing
    zone = ledger.zones.index(code)
    own = ledger.drawn[zone].between(np.maximum(ledger.start[touched], end), np.maximum(ledger.end[touched], end))
    open_hours = np.clip(open_hours - own * case.reference.factor[zone] / flow, 0, None)
    litres = PARTS[:, None] * flow * open_hours
    whole = np.cumsum(case.gain(touched, litres), axis=1) - PARTS_COST
    hours = np.maximum(np.cumsum(open_hours), 1.0)
    going = np.log(np.clip(np.log(LONGEST_HOURS / hours) / LENGTHS, 0.05, 1.0))
    before = np.concatenate([np.full((len(PARTS), 1), -PARTS_COST), whole[:, :-1]], axis=1)
    excess = np.clip(case.excess(touched), 0, litres)
    sigma = np.where(ledger.fine[touched], np.maximum(0.3 * flow, 4.0), case.reference.sigma[touched])
    part = before + case.gain(touched, excess) + np.log(np.minimum(sigma * 2.5 / (LENGTHS * flow * hours), 0.5))
    table = part.copy()
    if touched[-1] == case.rows[-1]:
        table[:, -1] = np.maximum(part[:, -1], whole[:, -1] + going[-1])
    which, last = np.unravel_index(int(table.argmax()), table.shape)
    still = bool(touched[last] == case.rows[-1] and table[which, last] > part[which, last])
    taken = litres[which, : last + 1].copy()
    if not still:
        taken[-1] = excess[which, last]
    begun = max(float(ledger.start[touched[last]]), end)
    until = begun + float(taken[-1] / (PARTS[which] * flow))
    rate = float(PARTS[which] * flow)
    gain = float(table[which, last])
    return _make(code, touched[: last + 1], taken, end, None if still else until, gain, cost, rate, flow, until - end)


def _make(
    code: str,
    rows: Rows,
    litres: Floats,
    since: float,
    until: float | None,
    gain: float,
    cost: float,
    rate: float,
    flow: float,
    hours: float | None = None,
) -> Suspect:
    hours = hours if hours is not None or until is None else until - since
    return Suspect(
        "stuck_open",
        (code,),
        rows,
        litres,
        since,
        until,
        gain,
        cost,
        rate,
        detail={"flow": flow, "hours": hours or 0.0},
    )


def _by_interval(case: Case, found: list[Suspect]) -> list[Suspect]:
    """One suspect for each slow reading it begins in: its chance is that of all zones that fit, those named."""
    result: list[Suspect] = []
    shared: dict[tuple[int, int], list[Suspect]] = {}
    for each in found:
        if case.ledger.fine[each.rows[0]]:
            result.append(each)
        else:
            shared.setdefault((int(each.rows[0]), len(each.rows)), []).append(each)
    for group in shared.values():
        ranked = sorted(group, key=lambda s: -s.gain)
        near = [s for s in ranked if s.gain > ranked[0].gain - CLOSE]
        zones = tuple(dict.fromkeys(s.zones[0] for s in near))
        gain = float(np.logaddexp.reduce([s.gain for s in near]))
        cost = max(ranked[0].cost, LEAST_COST + float(np.log(len(near))))
        cost += LONG_COST if case.ledger.hours[group[0].rows[0]] > LONG_HOURS else 0.0
        result.append(replace(ranked[0], zones=zones, gain=gain, cost=cost))
    return result

"""One fault that readings of two paces show: a logger is put in or dies while it goes on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.accounts.instants import Floats
from core.accounts.suspects.case import Case, Rows, Suspect
from core.accounts.suspects.no_rest import night_rate

DAY = 24  # hourly readings; a leak that begins or ends this near to where they do may go on beyond
ALIKE, NIGHTS = 0.5, 2  # of a leak's rate, in at least so many nights
OF_RUNS = ("more_than_set", "less_than_set", "not_delivered")


def over_slow(case: Case, leak: Suspect) -> Suspect:
    """A leak by hourly readings, with the slow ones that it goes on in before the first or after the last of these."""
    rows, hours = leak.rows, case.ledger.hours
    before, after = case.slow[:0], case.slow[:0]
    if rows[0] - case.fine[0] < DAY:
        before = case.slow[case.slow < case.fine[0]]
    if case.fine[-1] - rows[-1] < DAY:
        after = case.slow[case.slow > case.fine[-1]]
    back, on = (case.gain(each, leak.rate * hours[each]) for each in (before, after))
    reach_back, reach_on = _reach(back[::-1]), _reach(on)
    if reach_back + reach_on == 0:
        return leak
    before, after = before[len(before) - reach_back :], after[:reach_on]
    touched: Rows = np.concatenate([before, rows, after])
    return replace(
        leak,
        rows=touched,
        litres=np.concatenate([leak.rate * hours[before], leak.litres, leak.rate * hours[after]]),
        since=float(case.ledger.start[touched[0]]),
        until=None if case.to_the_end(touched) else float(case.ledger.end[touched[-1]]),
        gain=leak.gain + float(back[len(back) - reach_back :].sum() + on[:reach_on].sum()),
    )


def leaks_on(case: Case, leak: Suspect) -> Suspect:
    """A leak of slow readings up to the first hourly one, going on where the nights that follow hold about as much."""
    after = case.fine[case.fine > leak.rows[-1]]
    if not len(after) or (case.slow > leak.rows[-1]).any() or night_rate(case, after, NIGHTS) < ALIKE * leak.rate:
        return leak
    return replace(
        leak,
        rows=np.concatenate([leak.rows, after]),
        litres=np.concatenate([leak.litres, leak.rate * case.ledger.hours[after]]),
        until=None,
    )


def runs_on(case: Case, last: int, zones: tuple[str, ...], share: float) -> bool:
    """Whether the runs of some zones that slow readings saw change by ``share`` bring no other amount in the hours that
    follow the last of these, by their flow on paper; True where no run of theirs follows.
    """
    ledger, reference, rows = case.ledger, case.reference, case.fine[case.fine > last]
    mine = np.isin(ledger.zones, zones)
    paper = ledger.paper[rows][:, mine].sum(axis=1)
    rows, paper = rows[paper > 0], paper[paper > 0]
    if not len(rows):
        return True
    others = reference.indoor[rows] + ledger.other[rows] + reference.zones[rows][:, ~mine].sum(axis=1)
    came = float((ledger.volume[rows] - others).sum() / paper.sum())
    return abs(came - (1 + share)) < abs(came - 1)


def joined(case: Case, standing: list[Suspect]) -> list[Suspect]:
    """Suspects of one sort and zone become one where no run of the zone lies between those of either pace."""
    whole: list[Suspect] = []
    for each in sorted(standing, key=lambda s: s.since):
        place = next((k for k, s in enumerate(whole) if _goes_on_in(case, s, each)), None)
        if place is None:
            whole.append(each)
        else:
            whole[place] = _one(whole[place], each)
    return sorted(whole, key=lambda s: -s.score)


def _goes_on_in(case: Case, one: Suspect, then: Suspect) -> bool:
    if one.kind not in OF_RUNS or (one.kind, set(one.zones)) != (then.kind, set(then.zones)):
        return False
    last, first = int(one.rows[-1]), int(then.rows[0])
    other_pace = bool(case.ledger.fine[last] != case.ledger.fine[first])
    of_zones = case.ledger.paper[last + 1 : first][:, [case.ledger.zones.index(z) for z in one.zones]]
    return other_pace and last < first and not of_zones.any()


def _one(first: Suspect, then: Suspect) -> Suspect:
    stronger = max(first, then, key=lambda s: s.score)
    runs = float(first.detail["runs"]) + float(then.detail["runs"])
    share = first.total + then.total
    normal = first.total / float(first.detail["share"]) + then.total / float(then.detail["share"])
    return replace(
        stronger,
        rows=np.concatenate([first.rows, then.rows]),
        litres=np.concatenate([first.litres, then.litres]),
        since=first.since,
        until=then.until,
        gain=first.gain + then.gain,
        detail=stronger.detail | {"runs": runs, "share": share / normal},
    )


def _reach(gain: Floats) -> int:
    """How many readings in a row from the first on speak for it together, most of all."""
    total = np.cumsum(gain)
    return int(total.argmax()) + 1 if len(total) and total.max() > 0 else 0

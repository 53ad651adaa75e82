"""Other lengths: runs longer or shorter than written down, of all zones in one proportion or of one alone, as when
somebody turns the controller's minutes up for the heat and does not write it down. A changed pressure looks much alike.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from core.accounts.accrual import Accrual
from core.accounts.instants import Flags, Floats
from core.accounts.suspects.case import Case, Rows, Suspect, SuspectKind
from core.accounts.suspects.ends import Least
from core.accounts.suspects.shares import news
from core.accounts.suspects.view import View, windows

KIND: SuspectKind = "another_schedule"
TIMES = 1.0  # a year; common practice, no source, as are the shares and costs below
# more or less than written, of all zones and of one alone; beyond three times somebody programs it anew
LEAST_SHARE, LEAST_ALONE, MOST_SHARE = 0.15, 0.25, 2.0
NOTHING = -0.6  # with less than that they hardly ran at all, which is another suspect
WANDER, OTHERS_SD = 0.04, 0.15  # of what zones bring, from month to month, and of what they should by their emitters
LEAST, FROM, MOST = 4, 6.0, 2  # waterings of a stretch, the gain from which it is looked at, stretches in one round
# of its size; of what another flow may look like as well; of one zone alone; of minutes set back unwritten too
SIZE_COST, FLOW_COST, ALONE_COST, ENDED_COST = 1.0, 3.0, 3.0, 2.0
MOST_ALONE = 0.5  # of the waterings in which one zone alone was changed: before that it was as written
APART_HOURS = 2.0  # between the last run of one watering and the first of the next
FOLLOWS_HOURS = 0.2  # a run that begins so soon after another may follow it wherever that ends
# what a run does whose time comes before the one ahead of it is over, or a while after that: it waits for that, or it
# follows at once, or it comes at its time whatever else runs, as at a controller of its own
Order = Literal["waits", "follows", "comes"]
TRIED: tuple[tuple[float, Order], ...] = (  # shares tried at first
    *((share, order) for share in (0.55, 0.7, 0.85) for order in ("comes", "follows")),
    *((share, order) for share in (1.15, 1.3, 1.5, 1.75, 2.05, 2.5) for order in ("comes", "waits")),
)
NEAR, NEAR_OTHERS = np.linspace(0.84, 1.2, 19), np.linspace(-0.4, 0.6, 26)
CLEARER = 3.0  # by how much other minutes must beat another flow of one zone, natural log
FLOWS = np.concatenate([np.arange(0.0, 1.0, 0.1), 1.1 ** np.arange(1, 24)])  # of what it should be
LEAST_LITRES = 0.5  # in an interval, to count as touched


def other_minutes(case: Case, view: View) -> list[Suspect]:
    """Stretches in which the runs of all zones, or by the hour of one, took another share of the minutes written."""
    return [*_slow(case, view), *_fine(case)]


def _slow(case: Case, view: View) -> list[Suspect]:
    """By the regression of slow readings, which cannot tell the minutes of one zone from its flow."""
    ledger, expected = case.ledger, case.reference.zones.sum(axis=1)
    found = []
    for sign in (-1, +1) if len(ledger.zones) > 1 else ():
        for s in view.stretches(expected[view.rows], sign, WANDER, MOST, FROM, Least(LEAST)):
            zones = tuple(z for z, litres in zip(ledger.zones, ledger.paper[s.rows].T, strict=True) if litres.any())
            if _likely(s.amount) and len(zones) > 1:
                until = None if s.going else float(ledger.end[s.rows[-1]])
                litres, span = s.amount * s.part * expected[s.rows], (float(ledger.start[s.rows[0]]), until)
                found.append(_suspect(case, zones, s.rows, litres, span, (s.gain, s.likelier), s.amount))
    return found


def _fine(case: Case) -> list[Suspect]:
    """By the hours of hourly readings in which longer or shorter runs would have come."""
    each = _Waterings.of(case)
    if each is None:
        return []
    starts, ends = windows(each.count, LEAST, None)
    part = news(starts, ends, each.count)
    starts, ends = starts[part], ends[part]
    found: list[Suspect] = []
    for zones, totals in zip(_sets(case), _tried(case, each), strict=True):
        gain = (totals[:, ends] - totals[:, starts]).max(axis=0, initial=0.0)
        if zones.sum() == 1:
            gain[ends - starts > MOST_ALONE * each.count] = 0.0
        for _ in range(MOST):
            if not len(gain) or gain.max() < FROM:
                break
            best = int(gain.argmax())
            first, end = int(starts[best]), int(ends[best])
            which = int((totals[:, end] - totals[:, first]).argmax())
            suspect = _closely(case, each, zones, first, end, *TRIED[which])
            found += [suspect] if suspect else []
            gain = np.where((ends <= first) | (starts >= end), gain, 0.0)
    return found


def _sets(case: Case) -> list[Flags]:
    """Zones whose minutes may have been changed: all, and each alone."""
    count = len(case.ledger.zones)
    return [*([np.ones(count, dtype=bool)] if count > 1 else []), *np.eye(count, dtype=bool)]


@dataclass(frozen=True, slots=True)
class _Waterings:
    """Runs that follow each other, and the hourly readings from the first of them on for a while.

    Attributes:
        count: waterings with such readings. order, run: runs that count in order of time, and the watering of each.
        rows, row: readings, and the watering of each.
    """

    count: int
    order: Rows
    run: Rows
    rows: Rows
    row: Rows

    @classmethod
    def of(cls, case: Case) -> _Waterings | None:
        """Those of a case, or None without any."""
        ledger, runs = case.ledger, case.ledger.runs
        order = np.flatnonzero(runs.counted & (runs.litres > 0))
        if not len(order) or not len(case.fine):
            return None
        order = order[np.argsort(runs.start[order], kind="stable")]
        start, over = runs.start[order], np.maximum.accumulate(runs.end[order])
        new = np.concatenate([[True], start[1:] - over[:-1] > APART_HOURS])
        run, begins = np.cumsum(new) - 1, start[new]
        last = over[np.append(new[1:], True)]
        stops = np.minimum(last + MOST_SHARE * (last - begins), np.append(begins[1:], np.inf))
        row = np.searchsorted(begins, ledger.end[case.fine], side="left") - 1
        place = np.flatnonzero((row >= 0) & (ledger.start[case.fine] < stops[np.maximum(row, 0)]))
        if not len(place):
            return None
        seen, row = np.unique(row[place], return_inverse=True)  # only what hourly readings saw counts
        kept = np.isin(run, seen)
        return cls(len(seen), order[kept], np.searchsorted(seen, run[kept]), case.fine[place], row)

    def from_to(self, first: int, end: int) -> _Waterings:
        """Those from one to before another."""
        runs, rows = ((n >= first) & (n < end) for n in (self.run, self.row))
        return replace(self, order=self.order[runs], run=self.run[runs], rows=self.rows[rows], row=self.row[rows])


def _tried(case: Case, each: _Waterings) -> Floats:
    """Gains by set of zones, share tried at first, and waterings up to each."""
    usual = case.reference.zones[each.rows].sum(axis=1)
    total = np.zeros((len(_sets(case)), len(TRIED), each.count + 1))
    for of, zones in zip(total, _sets(case), strict=True):
        litres = np.stack([_litres(case, each, each.rows, zones, *one) for one in TRIED]) - usual
        for so_far, gains in zip(of, case.gain(each.rows, litres), strict=True):
            np.cumsum(np.bincount(each.row, gains, each.count), out=so_far[1:])
    return total


def _closely(
    case: Case, each: _Waterings, zones: Flags, first: int, end: int, share: float, order: Order
) -> Suspect | None:
    """The likeliest share near one found roughly, beside what all other waterings bring."""
    whole, usual, runs = case.reference.zones.sum(axis=1), case.reference.zones @ zones, case.ledger.runs
    inner = each.from_to(first, end)
    rows = inner.rows
    litres = np.stack([_litres(case, inner, rows, zones, s, order) for s in share * NEAR]) - whole[rows]
    gains = case.gain(rows, litres).sum(axis=1)
    best = int(gains.argmax())
    outer = np.setdiff1d(each.rows, rows)
    of_paper = float(usual.sum() / (case.ledger.paper @ zones).sum()) * (1 + NEAR_OTHERS)
    rest = case.gain(outer, NEAR_OTHERS[:, None] * usual[outer]).sum(axis=1) - 0.5 * ((of_paper - 1) / OTHERS_SD) ** 2
    same = case.gain(rows, NEAR_OTHERS[:, None] * usual[rows]).sum(axis=1) + rest  # one share for all waterings
    others = float(NEAR_OTHERS[rest.argmax()])
    amount = float(share * NEAR[best] / (1 + others) - 1)
    more = litres[best] - others * usual[rows]
    touched = np.abs(more) > LEAST_LITRES
    mine = inner.order[zones[runs.zone[inner.order]]]
    of = tuple(case.ledger.zones[k] for k in np.unique(runs.zone[mine]))
    if not _likely(amount, zones.sum() == 1) or len(of) < min(2, zones.sum()) or not touched.any():
        return None
    clearer = float(gains[best]) - _by_flow(case, rows, zones, others) > CLEARER
    if zones.sum() == 1 and not clearer:
        return None
    here, beside = float(gains[best]), float(rest.max() - same.max())
    # the flow of one zone bends that of all that run beside it as well, so that what this straightens is no reason
    likelier = here + (max(beside, 0.0) if clearer else 0.0)
    gain = min(here + beside, likelier, 0.5 * (amount / WANDER) ** 2)
    span = (float(runs.start[mine].min()), None if end == each.count else float(runs.end[mine].max()))
    return _suspect(case, of, rows[touched], more[touched], span, (gain, likelier), amount)


def _by_flow(case: Case, rows: Rows, zones: Flags, others: float) -> float:
    """What the likeliest flow of any one of these zones would gain instead, the others bringing ``others`` more."""
    flows = case.reference.zones[rows][:, zones]
    more = others * flows.sum(axis=1) + (FLOWS[:, None, None] - 1 - others) * flows.T
    return float(case.gain(rows, more).sum(axis=-1).max())


def _litres(case: Case, each: _Waterings, rows: Rows, zones: Flags, share: float, how: Order) -> Floats:
    """What all zones bring to each of ``rows`` if the runs of some took ``share`` of the minutes written, and in which
    order they then come.
    """
    runs, order, run = case.ledger.runs, each.order, each.run
    start, stop = runs.start[order], runs.end[order]
    shares = np.where(zones[runs.zone[order]], share, 1.0)
    begin, lasts = start.copy(), shares * (stop - start)
    nth = np.arange(len(order)) - np.searchsorted(run, run)  # of a run within its watering
    for n in range(1, int(nth.max(initial=0)) + 1 if how != "comes" else 0):
        now = np.flatnonzero(nth == n)
        over = begin[now - 1] + lasts[now - 1]
        gap = start[now] - stop[now - 1]
        waits = np.maximum(start[now], over)
        then = np.where(gap <= FOLLOWS_HOURS, over + gap, waits) if how == "follows" else waits
        begin[now] = np.where(gap < -1e-6, start[now], then)  # runs that overlap as written wait for nobody
    litres = shares * runs.litres[order] * case.reference.factor[runs.zone[order]]
    drawn = Accrual.of_spans(begin, begin + lasts, litres)
    return drawn.between(case.ledger.start[rows], case.ledger.end[rows])


def _likely(share: float, alone: bool = False) -> bool:
    return (LEAST_ALONE if alone else LEAST_SHARE) <= abs(share) < MOST_SHARE and share > NOTHING


def _suspect(
    case: Case,
    zones: tuple[str, ...],
    rows: Rows,
    litres: Floats,
    span: tuple[float, float | None],
    gain: tuple[float, float],
    share: float,
) -> Suspect:
    """``gain``: with the share wandering by itself, and without."""
    rate = float(litres.sum()) / max((span[1] or case.ledger.as_of) - span[0], 1.0)
    cost = case.run_rarity(TIMES * len(zones)) + FLOW_COST + SIZE_COST * abs(share)
    cost += (0.0 if span[1] is None else ENDED_COST) + (0.0 if len(zones) > 1 else ALONE_COST)
    detail: dict[str, float | str] = {"likelier": gain[1], "share": share, "all": float(len(zones) > 1)}
    return Suspect(KIND, zones, rows, litres, *span, gain[0], cost, rate, detail=detail)

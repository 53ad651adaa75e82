"""One-off: one large use that nobody wrote down, larger than this household's own odd days."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from core.accounts.instants import Floats
from core.accounts.suspects.appliances import rinses
from core.accounts.suspects.case import Case, Rows, Suspect
from core.accounts.suspects.view import View
from core.units import to_base

WINDOWS = (1, 2, 3, 5, 8, 12, 18, 24)  # readings, at hourly pace
LEAST_FLOW = to_base(12, "gph", "flow")  # of a use of some hours
RATES = LEAST_FLOW * 1.1 ** np.arange(46)  # litres an hour: up to nine hundred gallons
PARTS = (np.arange(8) + 0.5) / 8  # of its first and last hour, through which it may have flown
WHOLE = 0.8  # of the flow, from which on an hour counts as filled by it
LENGTHS_COST = 0.6  # that it could have had; windows of any length at one place hold much the same
MOST = 12
LEAST_L = to_base(40, "gal", "volume")  # below this nobody would go looking
SURPRISE, SURPRISE_ALONE = 4.0, 12.5  # of the sum: every few days of hours, and once in many years
SURE_RUNS = 3.0  # standard deviations of what runs bring that are no use of their own
FINE_TIMES = 5.0  # a year; at hourly pace more of them show
LEAST_GAIN = 1.0  # of a use that stands out, however many hours it is spread over
TIMES = 1.5  # a year
LEAST_COST = 5.0  # few readings a year are no reason to believe less
SIZES = 6.0  # natural log of the largest over the smallest use worth telling: a pool
VAST_COST, VAST_LOG = 3.0, 2.0  # of more than that at once; common practice, no source


def one_off(case: Case, _: View) -> list[Suspect]:
    """Readings, or hours in a row, that hold more than the household's own tail makes likely."""
    return [*_slow(case, case.slow), *_fine(case, case.fine)]


def surprise(value: Floats, among: Floats, alike: float) -> Floats:
    """How improbable values are (negative log of the upper tail) by an exponential tail learned from ``among``.

    A scale that was itself learned from few values makes large ones less surprising: the predictive tail is Lomax's
    (a gamma mixture of exponentials; textbook result).

    Args:
        alike: how many of ``among`` hold the same hours, so count for one.
    """
    if len(among) < 2:
        return np.zeros_like(value)
    ordered = np.sort(among)
    kept = ordered[: max(len(ordered) - 3, 2)]  # the largest do not make their own alibi
    high = float(np.quantile(kept, 0.95))
    beyond = kept[kept >= high] - high
    scale, count = max(float(beyond.mean()), 1e-6), max(len(beyond) / alike, 0.5)
    over = np.maximum(value - high, 0.0) / scale
    result: Floats = np.where(value > high, 3.0 + count * np.log1p(over / count), 0.0)
    return result


def _slow(case: Case, rows: Rows) -> list[Suspect]:
    """Single slow readings against the household's own tail; a use of any size is as likely as one ten times it."""
    if not len(rows):
        return []
    cost = max(case.rarity(rows, TIMES), LEAST_COST)
    left = np.maximum(case.left[rows], LEAST_L)
    gain = -np.log(SIZES * left) - case.plain[rows]
    beyond = np.log(left / LEAST_L) - SIZES
    vast = np.where(beyond > 0, VAST_COST + VAST_LOG * np.maximum(beyond, 0.0), 0.0)
    return [
        _make(case, rows[[k]], np.array([case.left[rows[k]]]), float(gain[k]), cost + float(vast[k]))
        for k in np.flatnonzero((gain > cost) & (case.left[rows] > LEAST_L))
        if not rinses(case, rows[[k]], case.left[rows[[k]]])
    ]


def _fine(case: Case, rows: Rows) -> list[Suspect]:
    """Hours in a row that one flow explains far better than the household does, and whose sum stands out as well.

    The flow alone would be deceived by a day of washing, whose hours do not come by chance; the sum alone by a house
    in which any hour may be a busy one.
    """
    if len(rows) < 48:
        return []
    excess = case.excess(rows)
    quiet = case.ledger.paper_total[rows] < 1e-6
    sums = np.concatenate([[0.0], np.cumsum(excess)])
    runs = np.concatenate([[0.0], np.cumsum(case.reference.run_sd[rows] ** 2)])
    cost = case.rarity(rows, FINE_TIMES) + LENGTHS_COST
    # how much likelier an hour would be if nothing of its use were the house's
    most = np.concatenate([[0.0], np.cumsum(case.noise.log_density(rows, np.zeros(len(rows))) - case.plain[rows])])
    found: list[tuple[float, int, int]] = []
    for width in (w for w in WINDOWS if len(rows) >= 4 * w):
        litres = sums[width:] - sums[:-width]
        sure = litres - SURE_RUNS * np.sqrt(runs[width:] - runs[:-width])
        odd = surprise(sure, litres[quiet[: len(litres)]][:: max(width // 2, 1)], 1.0 if width == 1 else 2.0)
        flowing = (odd > SURPRISE) & (most[width:] - most[:-width] > cost) & _could_flow(case.left[rows], width)
        for at in np.flatnonzero((litres > LEAST_L) & (flowing | (odd > SURPRISE_ALONE))):
            flow = _flow_gain(case, rows[at : at + width]) if flowing[at] else 0.0
            if flow > cost or odd[at] > SURPRISE_ALONE:
                found.append((max(flow, float(odd[at])), int(at), int(at + width)))
    spans: list[tuple[int, int]] = []
    taken = np.zeros(len(rows), dtype=bool)
    for _, first, last in sorted(found, reverse=True):
        if not taken[first:last].any():
            taken[first:last] = True
            spans.append((first, last))
        if len(spans) >= MOST:
            break
    suspects = []
    for first, last in (_whole(case, rows, excess, *span) for span in _joined(spans)):
        inside = np.flatnonzero(excess[first:last] > 0.15 * excess[first:last].max()) + first
        free = _free(case, rows[inside], excess[inside])
        if not rinses(case, rows[inside], excess[inside]):
            suspects.append(_make(case, rows[inside], excess[inside], max(free, cost + LEAST_GAIN), cost))
    return suspects


def _joined(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Windows that touch each other are one use."""
    joined: list[tuple[int, int]] = []
    for first, last in sorted(spans):
        if joined and first <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(last, joined[-1][1])
        else:
            joined.append((first, last))
    return joined


def _whole(case: Case, rows: Rows, excess: Floats, first: int, last: int) -> tuple[int, int]:
    """The window with the hours beside it that likelier held the same flow, or a part of it, than none; an hour that
    held a part of it is its first or last.
    """
    flow = float(excess[first:last].max())
    litres = flow * np.append(PARTS, 1.0)[:, None]

    def flowed(at: int, beside: int) -> bool:
        if not 0 <= at < len(rows) or excess[beside] < WHOLE * flow or last - first >= WINDOWS[-1]:
            return False
        return float(np.logaddexp.reduce(case.gain(rows[[at]], litres)[:, 0]) - np.log(len(litres))) > 0

    while flowed(first - 1, first):
        first -= 1
    while flowed(last, last - 1):
        last += 1
    return first, last


def _could_flow(left: Floats, width: int) -> npt.NDArray[np.bool_]:
    """Windows of so many hours whose middle ones could hold one flow that brought half of all."""
    if width < 3:
        return np.ones(len(left) - width + 1, dtype=bool)
    least = np.lib.stride_tricks.sliding_window_view(left[1:-1], width - 2).min(axis=1)
    sums = np.concatenate([[0.0], np.cumsum(left)])
    result: npt.NDArray[np.bool_] = least * width > 0.5 * (sums[width:] - sums[:-width])
    return result


def _flow_gain(case: Case, rows: Rows) -> float:
    """Gain of one flow through all of these hours, all of those between and a part of the first and last, which its
    ends divide anywhere. Of all flows that it could have been, each as likely as one ten times it.
    """
    litres = RATES[:, None] * case.ledger.hours[rows]
    ends = np.unique([0, len(rows) - 1])
    parts = case.gain(rows[ends], PARTS[:, None, None] * litres[:, ends])
    gain = np.logaddexp.reduce(parts, axis=0).sum(axis=1) - len(ends) * np.log(len(PARTS))
    if len(rows) > 2:
        gain = gain + case.gain(rows[1:-1], litres[:, 1:-1]).sum(axis=1)
    return float(np.logaddexp.reduce(gain) - np.log(len(RATES)))


def _free(case: Case, rows: Rows, excess: Floats) -> float:
    """Gain of hours whose amounts are free, each as likely as one ten times it.

    Whoever explains the same hours by a flow that is known beforehand pays for no such freedom; without this bound
    a use that nobody wrote down would explain everything best.
    """
    return float((-np.log(SIZES * np.maximum(excess, 1.0)) - case.plain[rows]).sum())


def _make(case: Case, rows: Rows, litres: Floats, gain: float, cost: float) -> Suspect:
    start, end = float(case.ledger.start[rows[0]]), float(case.ledger.end[rows[-1]])
    going = case.to_the_end(rows) and case.ledger.hours[rows[-1]] < 2
    return Suspect(
        "one_off", (), rows, litres, start, None if going else end, gain, cost, float(litres.sum() / (end - start))
    )

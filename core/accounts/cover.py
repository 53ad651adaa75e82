"""One cover of time from overlapping measured spans: the finest wins and nothing counts twice.

A meter may be read weekly, billed quarterly and logged hourly at once; a rain gauge read daily and totalled
monthly. Each stretch of time belongs to one span, and a longer span keeps only what the finer ones leave of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.accounts.instants import Flags, Floats, Ints


@dataclass(frozen=True, slots=True)
class Cover:
    """Disjoint pieces of time, in order.

    Attributes:
        start, end: milliseconds.
        amount, variance: of the piece; ``amount`` is NaN where the only span is unknown.
        owner: index of the span the piece comes from.
        cut: the piece is what finer spans left of its owner; ``shared``: one of several such pieces, so that
            the amount was divided by time alone.
    """

    start: Ints
    end: Ints
    amount: Floats
    variance: Floats
    owner: Ints
    cut: Flags
    shared: Flags


def finest_cover(start: Ints, end: Ints, amount: Floats, variance: Floats, doubtful: Flags) -> Cover:
    """Divide time among spans.

    Known spans come before unknown (NaN) ones, sound before doubtful, then the shorter, then the surer, then
    the earlier in the input. A span that finer ones cover in part keeps its amount less theirs (a finer span
    that reaches over its edge counts by time); the sum over a span that others cover wholly is theirs.

    Args:
        start, end: milliseconds, ``end`` after ``start``.
        amount: litres, mm; NaN when unknown.
        variance: of the amount.
        doubtful: estimated spans, used only where nothing sound is.
    """
    count = len(start)
    length = (end - start).astype(np.float64)
    best_first = np.lexsort((np.arange(count), variance, length, doubtful, np.isnan(amount)))
    edges = np.sort(np.concatenate([start, end]))
    edges = edges[np.append(True, edges[1:] != edges[:-1])[: len(edges)]]  # np.unique hashes first: slower here
    low, high = np.searchsorted(edges, start), np.searchsorted(edges, end)
    owner = np.full(max(len(edges) - 1, 0), -1, dtype=np.int64)
    worst_first = best_first[::-1]
    for span, a, b in zip(worst_first.tolist(), low[worst_first].tolist(), high[worst_first].tolist(), strict=True):
        owner[a:b] = span

    width = np.diff(edges).astype(np.float64)
    held = owner >= 0
    owned = np.bincount(owner[held], weights=width[held], minlength=count)
    share = np.zeros_like(width)
    share[held] = width[held] / length[owner[held]]
    part = np.where(held, amount[owner] * share, 0.0) if count else share
    part_variance = np.where(held, variance[owner] * share, 0.0) if count else share
    for span in best_first[((owned > 0) & (owned < length))[best_first]]:
        within = slice(low[span], high[span])
        mine = owner[within] == span
        rest = amount[span] - part[within][~mine].sum()
        rest_variance = variance[span] + part_variance[within][~mine].sum()
        portion = width[within][mine] / owned[span]
        part[within][mine] = rest * portion
        part_variance[within][mine] = rest_variance * portion

    first = np.flatnonzero(held & (owner != np.concatenate([[-1], owner[:-1]])))
    if not len(first):
        none = np.empty(0)
        whole_numbers, flags = none.astype(np.int64), none.astype(bool)
        return Cover(whole_numbers, whole_numbers, none, none, whole_numbers, flags, flags)
    changes = np.flatnonzero(owner != np.concatenate([owner[1:], [-2]])) + 1
    last = changes[held[changes - 1]]
    piece_owner = owner[first]
    cut = owned[piece_owner] < length[piece_owner]
    # An uncut span keeps its own figures: adding up its parts would only add rounding.
    total = np.where(cut, np.add.reduceat(part, first), amount[piece_owner])
    total_variance = np.where(cut, np.add.reduceat(part_variance, first), variance[piece_owner])
    pieces = np.bincount(piece_owner, minlength=count)
    return Cover(edges[first], edges[last], total, total_variance, piece_owner, cut, cut & (pieces[piece_owner] > 1))

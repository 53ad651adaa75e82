"""After shutdown: water at the drip line while the winter pause holds every run off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.accounts.ledger import Ledger
from core.accounts.suspects.case import Suspect


def winter_spans(ledger: Ledger) -> list[tuple[float, float]]:
    """Stretches (hours) in which the winter pause holds off the runs."""
    runs = ledger.runs
    held = runs.start[runs.winter & ~runs.counted]
    if not len(held):
        return []
    held = np.sort(held)
    breaks = np.flatnonzero(np.diff(held) > 24 * 8)
    firsts = held[np.concatenate([[0], breaks + 1])]
    lasts = held[np.concatenate([breaks, [len(held) - 1]])]
    return [(float(a), float(b) + 24 * 8) for a, b in zip(firsts, lasts, strict=True)]


def after_shutdown(ledger: Ledger, suspects: list[Suspect], garden_only: bool) -> list[Suspect]:
    """Call extra water that began after the shutdown by its name.

    On a meter that serves only the garden any such water is at the drip line. On a house meter only water that
    fits a zone is; the rest stays what it was, with the drip line among its rivals.
    """
    spans = winter_spans(ledger)
    result = []
    for each in suspects:
        winter = any(a <= each.since <= b for a, b in spans)
        extra = each.total > 0 and each.kind in ("steady", "one_off", "stuck_open", "another_schedule")
        if winter and extra and (garden_only or each.zones):
            result.append(replace(each, kind="after_shutdown", rivals=(each, *each.rivals)))
        elif winter and extra:
            result.append(replace(each, rivals=(*each.rivals, replace(each, kind="after_shutdown", rivals=()))))
        else:
            result.append(each)
    return result

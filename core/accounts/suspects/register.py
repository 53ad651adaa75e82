"""Misread: a register read or typed wrongly. Two meters: readings of another register mixed in."""

from __future__ import annotations

import numpy as np

from core.accounts.suspects.case import Case, Suspect


def misread(case: Case) -> list[Suspect]:
    """A reading that gives one interval too much and takes it back in the next, or makes the register fall."""
    ledger = case.ledger
    count = len(ledger.start)
    expected = case.reference.indoor + case.reference.zones.sum(axis=1)
    sigma = case.reference.sigma
    falls = ~np.isfinite(ledger.volume)
    suspects = []
    for i in range(count - 1):
        j = i + 1
        if abs(ledger.start[j] - ledger.end[i]) > 1e-6:
            continue
        a, b = case.reference.unexplained[i], case.reference.unexplained[j]
        found = None
        if falls[j] and np.isfinite(a) and a > 8 * sigma[i] and a > 3 * expected[i]:
            found = (np.array([i]), np.array([a]), a / sigma[i], a)
        elif falls[i] and np.isfinite(b) and b > 8 * sigma[j] and b > 3 * expected[j]:
            found = (np.array([j]), np.array([b]), b / sigma[j], -b)
        elif np.isfinite(a) and np.isfinite(b) and a * b < 0:
            size = min(abs(a), abs(b))
            together = abs(a + b) / np.hypot(sigma[i], sigma[j])
            if (
                size > 5 * max(sigma[i], sigma[j])
                and together < 3
                and min(ledger.volume[i], ledger.volume[j]) < 0.25 * min(expected[i], expected[j])
            ):
                found = (np.array([i, j]), np.array([a, b]), size / max(sigma[i], sigma[j]), a)
        if found is None:
            continue
        rows, litres, z, off = found
        gain = float(case.gain(rows, litres).sum())
        if z < 5:
            continue
        suspects.append(
            Suspect(
                "misread",
                (),
                rows,
                litres,
                float(ledger.end[i]),
                float(ledger.end[i]),
                gain,
                6.0,
                0.0,
                detail={"off": off},
            )
        )
    return suspects

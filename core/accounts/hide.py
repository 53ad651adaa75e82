"""What could hide: the smallest steady leak that this book's readings would tell within a week and a month."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.accounts.suspects.case import Case, reading_hours
from core.accounts.suspects.words import FLOW_LOW_L, say
from core.units import System

AT_LEAST = " Meters under-read very low flows, so take it as at least."
CHANCE = 1.2816  # standard normal at 90 %


@dataclass(frozen=True, slots=True)
class Hide:
    """The smallest steady leak (litres an hour) told with nine chances in ten within ``days``; None: none would be."""

    days: int
    rate_lph: float | None
    sentence: str


def what_could_hide(case: Case, system: System) -> tuple[Hide, ...]:
    """For 7 and 30 days at the book's present pace."""
    return tuple(_hide(case, days, system) for days in (7, 30))


def _hide(case: Case, days: int, system: System) -> Hide:
    if not len(case.rows):
        return Hide(days, None, f"Without readings no leak would be told within {days} days.")
    pace = reading_hours(case.ledger)
    count = int(days * 24 // pace)
    if count < 2:
        return Hide(days, None, f"At one reading every {pace / 24:.0f} days no leak would be told within {days} days.")
    recent = case.rows[-max(count * 4, 60) :]
    sigma = float(np.median(case.reference.sigma[recent]))
    need = np.sqrt(2 * 9.0) + CHANCE
    level = case.reference.baseline.level
    rate = need * np.sqrt(count * sigma**2 + (0.05 * level * pace * count) ** 2) / (count * pace)
    low = AT_LEAST if rate < FLOW_LOW_L else ""
    return Hide(
        days,
        float(rate),
        f"A steady leak under {say(rate, system, 'flow')}, {say(rate * 24, system)} a day, can hide for {days} days at "
        f"this pace.{low}",
    )

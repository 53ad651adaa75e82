"""Tests of a leak hunt made by hand, and the house they are made at."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from core.book.kinds import Meter
from core.care.leak_hunt import Code
from core.review.hunt import Hunt, Setting, Trial, hunts

GALLON_L = 3.785411784  # NIST Handbook 44, exact
FOOT3_L = 28.316846592
NIGHT = datetime(2026, 9, 2, 4, tzinfo=UTC)


def trial(
    code: Code,
    steps: float,
    hours: float,
    *,
    zone: str | None = None,
    step_l: float = GALLON_L,
    after: timedelta = timedelta(0),
) -> Trial:
    """A test whose register moved by so many of its steps."""
    moved = steps * step_l
    return Trial(
        code,
        zone,
        NIGHT + after,
        hours,
        moved,
        moved / hours,
        max(moved - step_l, 0) / hours,
        (moved + step_l) / hours,
        step_l,
    )


def at(setting: Setting, *tests: Trial) -> Hunt:
    (hunt,) = hunts(tests, setting)
    return hunt


HOUSE_ONLY = Setting("curb", GALLON_L)
CURB = Meter(code="curb", name="Curb meter", supply="town", unit="gal", digits=7)
GARDEN = Setting(
    "curb", GALLON_L, (("hedge", "Hedge"), ("tubs", "Tubs")), {"hedge": (160.0, 0.05), "tubs": (80.0, 0.15)}
)

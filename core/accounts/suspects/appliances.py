"""What appliances of the home record draw by themselves: as much of it, when they draw, is nothing to tell.

A humidifier's trickle in the cold months and a softener's rinse at night look like a leak and a single large use. What
exceeds them is told as ever; a leak as small as they are cannot be told from them.
"""

from __future__ import annotations

import numpy as np

from core.accounts.drinkers import drinking_hours
from core.accounts.instants import Floats
from core.accounts.suspects.case import Case, Rows
from core.accounts.suspects.words import say
from core.units import System, to_base

HUMIDIFIER_LPH = to_base(1.0, "gph", "flow")  # at most, over days; common practice, no source
RINSE_L, RINSE_HOURS = to_base(100, "gal", "volume"), (0, 6)  # of a softener, at night; common practice, no source
MOST_OF = 0.9  # of a stretch must lie in the humidifier's half of the year
ALL_NIGHT = ("humidifier", "fountain", "cooler", "pool")


def taken_for_them(case: Case, system: System) -> str:
    """Sentences on what the appliances of the home record hide; empty without any."""
    words = ""
    if "humidifier" in case.reference.drinks:
        limit = say(HUMIDIFIER_LPH, system, "flow")
        words += f" In the cold half of the year a leak under {limit} is taken for the humidifier."
    if "softener" in case.reference.drinks:
        when = " after midnight" if len(case.fine) else ""
        words += f" A single use under {say(RINSE_L, system)}{when} is taken for the softener."
    return words


def draws_at_night(case: Case) -> bool:
    """Whether any of them may draw all night, so that nights without a rest tell nothing."""
    return any(d in case.reference.drinks for d in ALL_NIGHT)


def trickles(case: Case, rows: Rows, rate_lph: float) -> bool:
    """Whether a humidifier draws as much in these readings."""
    if rate_lph > HUMIDIFIER_LPH:
        return False
    drawn = drinking_hours(case.ledger, case.reference.drinks).get("humidifier")
    if drawn is None:
        return False
    return bool((drawn[case.ledger.hour_of(case.ledger.start[rows])] > 0).mean() > MOST_OF)


def rinses(case: Case, rows: Rows, litres: Floats) -> bool:
    """Whether a softener may have used this; a reading longer than an hour or so holds some night."""
    if "softener" not in case.reference.drinks or litres.sum() > RINSE_L:
        return False
    clock = case.ledger.hour_of_week[case.ledger.hour_of(case.ledger.start[rows])] % 24
    return bool(np.all(~case.ledger.fine[rows] | ((clock >= RINSE_HOURS[0]) & (clock < RINSE_HOURS[1]))))

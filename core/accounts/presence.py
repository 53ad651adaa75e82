"""Who is at home, hour by hour, as far as it was written down.

Days are written, hours are lived: on the day somebody leaves and on the day they come back the house may be used as
ever or not at all, and the date written may be the last night away or the day of return. So these days count for half,
and are unsure.
"""

from __future__ import annotations

from datetime import timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from core.accounts.instants import HOUR_MS, Floats, day_edges

EMPTY = 0.06  # of usual use is drawn in an empty house; common practice, no source
NOBODY = 0.2  # share of usual use below which nobody is in
LASTING_DAYS = 60  # written for so long, a number of people is the usual one of its time, neither guests nor a trip
UNSURE = (1 + EMPTY) / 2  # of usual use on a day of leaving or coming back: anything between an empty house's and all
UNSURE_SD = (1 - EMPTY) / np.sqrt(12)


class Presence(NamedTuple):
    """Use to be expected of who is at home against the usual household, per local hour; whether that is unsure; and
    that of the household as it was for months, which guests and trips come on top of, with how many lived there.
    """

    share: Floats
    unsure: npt.NDArray[np.bool_]
    lasting: Floats
    residents: Floats


def presence(household: pd.DataFrame, usual: int, edges: Floats, zone: ZoneInfo) -> Presence:
    """Who is at home in the hours between ``edges`` (hours since 1970 UTC); ``usual``: people usually at home."""
    share, unsure = np.ones(len(edges) - 1), np.zeros(len(edges) - 1, dtype=bool)
    lasting, residents = np.ones(len(edges) - 1), np.full(len(edges) - 1, float(usual))

    def hours(since: pd.Timestamp, until: pd.Timestamp) -> npt.NDArray[np.bool_]:
        low, high = (day_edges(d.date(), d.date(), zone)[0] / HOUR_MS for d in (since, until))
        return np.asarray((edges[:-1] >= low - 0.5) & (edges[:-1] < high - 0.5))

    for row in household.to_dict("records"):
        since, until, people = pd.Timestamp(row["since"]), pd.Timestamp(row["until"]), int(row["people"])
        within = hours(since, until)
        share[within], unsure[within] = people_share(people, usual), False
        if people > 0 and until - since >= timedelta(days=LASTING_DAYS):
            lasting[within], residents[within] = share[within], people
        if people == 0:
            day = timedelta(days=1)
            within &= hours(since, since + day) | hours(until - day, until)
            share[within], unsure[within] = UNSURE, True
    return Presence(share, unsure, lasting, residents)


def people_share(people: int, usual: int) -> float:
    """Expected indoor use with ``people`` at home against the usual number.

    Most of a household's use goes with each person and the rest with the house while anybody is in; an empty house
    still draws a little. Common practice, no source.
    """
    if people == 0:
        return EMPTY
    if usual == 0:
        return 1.0
    return 0.3 + 0.7 * people / usual

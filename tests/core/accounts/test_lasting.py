"""A household that was smaller for months, as written down: what it really uses is learned from its own time."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from core.accounts.lasting import lived
from tests.core.accounts import books
from tests.core.accounts.books import ledger_of

FROM_DAY = 200


def smaller(pace: float, share: float, days: int = 365, from_day: int = FROM_DAY) -> books.PlainHome:
    """Of two people one leaves for good, which is written down; the house then uses ``share`` of what it did."""
    home = books.plain_home(pace, days)
    per_day = round(1 / pace) if pace < 1 else 1 / pace
    gone = np.arange(len(home.intervals)) >= from_day * per_day
    home.intervals["volume_l"] -= np.round(np.where(gone, home.indoor * (1 - share), 0))
    home.household = pd.DataFrame(
        [(pd.Timestamp(home.at(from_day).date()), pd.Timestamp(home.at(1000).date()), 1, "other")],
        columns=["since", "until", "people", "reason"],
    )
    return home


def share_of(home: books.PlainHome) -> float:
    """Of usual use that the house is taken to draw in the last local hour of the record."""
    ledger = ledger_of(home)
    nothing = np.zeros(len(ledger.start))
    return float(lived(ledger, nothing, nothing.astype(bool)).people[-1])


@pytest.mark.parametrize("pace", [1 / 24, 1, 7])
@pytest.mark.parametrize("share", [0.45, 0.8])
def test_the_share_is_learned_at_every_pace(pace: float, share: float) -> None:
    """The rule of thumb says 0.65 for one person of two."""
    assert share_of(smaller(pace, share)) == pytest.approx(share, abs=0.06)


def test_nothing_is_unexplained_then_and_nothing_found() -> None:
    home = smaller(1, 0.45)
    found = home.account()
    assert [f.kind for f in found.findings] == []
    assert found.stays == ()
    days = found.by_day
    left = days[(days["part"] == "unexplained") & (days["day"] >= pd.Timestamp(home.at(FROM_DAY).date()))]["volume_l"]
    assert abs(left.sum()) < 0.05 * home.indoor[FROM_DAY:].sum()


def test_hourly_readings_of_that_time_alone_do_not_change_the_years_before() -> None:
    """Two hundred daily readings, then hourly ones: the level before is that of the daily readings."""
    home, hourly = smaller(1, 0.45), smaller(1 / 24, 0.45)
    home.intervals = pd.concat([home.intervals[:FROM_DAY], hourly.intervals[FROM_DAY * 24 :]], ignore_index=True)
    found = home.account()
    assert [f.kind for f in found.findings] == []
    days = found.by_day
    before = days[(days["part"] == "indoor") & (days["day"] < pd.Timestamp(home.at(FROM_DAY).date()))]["volume_l"]
    assert before.sum() == pytest.approx(home.indoor[:FROM_DAY].sum(), rel=0.06)


def test_without_such_a_time_the_ledger_stays_as_it_is() -> None:
    home = books.plain_home(1, 100)
    ledger = ledger_of(home)
    nothing = np.zeros(len(ledger.start))
    assert lived(ledger, nothing, nothing.astype(bool)) is ledger

"""Readings a quarter of a year, a month and a day apart in one book: each is asked as its time tells."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from core.accounts.suspects.ends import Least
from tests.core.accounts import books
from tests.core.accounts.frames import GALLON_L

LEAK_L_DAY = 118 * GALLON_L


def billed_then_daily() -> books.PlainHome:
    """Two quarters, five months and 240 days of one home; a leak from day 111 to day 224."""
    home = books.plain_home(1, 572)
    ends = np.cumsum([92, 92, 31, 29, 31, 30, 31, *[1] * 236])
    starts = np.concatenate([[0], ends[:-1]])
    volume = home.intervals["volume_l"].to_numpy()
    leak = [LEAK_L_DAY * max(min(b, 224) - max(a, 111), 0) for a, b in zip(starts, ends, strict=True)]
    rows = home.intervals.iloc[: len(ends)].copy()
    rows["start"] = [home.at(int(a)) for a in starts]
    rows["end"] = [home.at(int(b)) for b in ends]
    rows["volume_l"] = [volume[a:b].sum() for a, b in zip(starts, ends, strict=True)] + np.array(leak)
    home.intervals = rows
    return home


def test_a_leak_of_the_bills_is_found_among_daily_readings() -> None:
    home = billed_then_daily()
    [leak] = home.account().findings
    assert leak.kind == "steady"
    assert leak.until is not None
    assert leak.volume.value == pytest.approx(113 * LEAK_L_DAY, rel=0.1)
    assert home.at(92) <= pd.Timestamp(leak.since) < home.at(125)
    assert home.at(215) < pd.Timestamp(leak.until) <= home.at(244)


def test_what_a_stretch_must_hold() -> None:
    """Two readings of four days together, or one of a fortnight."""
    enough = Least(2, 96.0, alone_hours=336.0)
    held = enough.holds(np.array([1, 1, 2, 2, 4]), np.array([168.0, 336.0, 48.0, 96.0, 96.0]))
    assert held.tolist() == [False, True, False, True, True]


def test_somebody_who_moved_out_is_asked_about_and_no_runs_are_missed() -> None:
    """Half of the house's use from day 236 on, in July, when zones run on six days of seven."""
    home = books.plain_home(1, 300)
    gone = np.arange(len(home.intervals)) >= 236
    home.intervals["volume_l"] -= np.where(gone, home.indoor / 2, 0).round()
    found = home.account()
    assert found.findings == ()
    [stay] = found.stays
    assert stay.people == pytest.approx(-1.0, abs=0.25)
    assert stay.until is None
    assert abs((stay.since - home.at(236)).days) <= 4


def test_runs_are_judged_in_the_house_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    """A zone of 160 L, four mornings a week, and about as much less a day in the house from day 236 on."""
    monkeypatch.setattr(books, "PROGRAMS", {"beds": (80.0, 2.0, (0, 2, 4, 6))})
    home = books.plain_home(1, 300)
    gone = np.arange(len(home.intervals)) >= 236
    home.intervals["volume_l"] -= np.where(gone, home.indoor / 2, 0).round()
    runs = home.account().evidence
    since = runs[runs["day"] >= pd.Timestamp(home.at(240).date())]["evidence"]
    assert (since == "meter contradicts").sum() == 0
    assert (since == "meter confirms").mean() > 0.6

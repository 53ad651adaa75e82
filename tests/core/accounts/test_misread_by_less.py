"""A register read wrongly by less than a reading's use: too much before it is what is missing after it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.core.accounts import books


def slipped(litres: float, at: int = 30, given_back: float = 1.0) -> books.PlainHome:
    """Weekly readings of a year; the number at the end of one week is off, and the next week gives it back."""
    home = books.plain_home(7, 378)
    home.intervals.loc[at, "volume_l"] += litres
    home.intervals.loc[at + 1, "volume_l"] -= litres * given_back
    return home


@pytest.mark.parametrize("litres", [1500.0, -1500.0])
def test_a_slip_is_named_with_its_reading(litres: float) -> None:
    """Of a house of about 2,450 L a week and runs of 4,570 L: too little to make the register fall."""
    home = slipped(litres)
    [finding] = home.account().findings
    assert finding.kind == "misread"
    assert pd.Timestamp(finding.since) == home.intervals["end"][30]
    assert ("too high" if litres > 0 else "too low") in " ".join(finding.evidence)


def test_what_the_next_week_does_not_give_back_is_no_slip() -> None:
    assert "misread" not in [f.kind for f in slipped(5000.0, given_back=0.0).account().findings]


def test_weeks_that_stray_by_chance_are_no_slips() -> None:
    """Twenty quiet years of weeks."""
    for first_day in range(20):
        home = books.plain_home(7, 364, first_day=first_day)
        assert "misread" not in [f.kind for f in home.account().findings], first_day
    assert np.isfinite(home.intervals["volume_l"]).all()

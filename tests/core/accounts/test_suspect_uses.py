"""One large use, and who was at home: the first is told, the second explains and alarms nobody. Homes by hand."""

from __future__ import annotations

from datetime import timedelta

import pandas as pd
import pytest

from core.accounts.suspects import standing
from tests.core.accounts import books

HOURLY, MAY = 1 / 24, 120
JUNE = 151


def hourly_home(days: int = 70) -> books.PlainHome:
    return books.plain_home(HOURLY, days, first_day=MAY)


def at(day: float) -> int:
    return round((day - MAY) * 24)


def kinds(home: books.PlainHome) -> set[str]:
    """Everything that stands, also what is not told."""
    return {s.kind for s in standing(books.case_of(home))}


# --- one large use ----------------------------------------------------------------------------------------------


def test_a_large_use_has_its_hours_and_volume() -> None:
    home = hourly_home()
    noon = at(JUNE + 0.5)
    home.intervals.loc[noon : noon + 2, "volume_l"] += 500.0
    found = home.account().findings
    assert [(f.kind, f.zone) for f in found] == [("one_off", None)]
    assert abs(found[0].since - home.at(JUNE + 0.5)) <= timedelta(hours=1)
    assert found[0].until is not None
    assert abs(found[0].until - home.at(JUNE + 0.5 + 3 / 24)) <= timedelta(hours=1)
    assert found[0].volume.value == pytest.approx(1500, rel=0.1)


def test_a_bath_is_no_large_use() -> None:
    home = hourly_home()
    home.intervals.loc[at(JUNE + 0.5), "volume_l"] += 120.0
    assert home.account().findings == ()


def test_two_large_uses_are_two_findings() -> None:
    home = hourly_home()
    for day, litres in ((JUNE + 0.5, 1200.0), (JUNE + 9.6, 2000.0)):
        home.intervals.loc[at(day), "volume_l"] += litres
    found = home.account().findings
    assert [f.kind for f in found] == ["one_off", "one_off"]
    assert sorted(round(f.volume.value or 0, -2) for f in found) == [1200.0, 2000.0]


def test_at_weekly_pace_it_is_known_to_the_reading() -> None:
    home = books.plain_home(7, 350)
    home.intervals.loc[30, "volume_l"] += 12_000.0
    found = home.account().findings
    assert [f.kind for f in found] == ["one_off"]
    assert (found[0].since, found[0].until) == (home.at(30 * 7), home.at(31 * 7))
    assert found[0].volume.value == pytest.approx(12_000, rel=0.1)


# --- who was at home --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("pace", [1, HOURLY])
def test_guests_nobody_wrote_down_alarm_nobody(pace: float) -> None:
    """Six days with twice the use of every waking hour."""
    home = books.plain_home(pace, 200) if pace == 1 else hourly_home()
    first, last = (150, 156) if pace == 1 else (at(JUNE), at(JUNE + 6))
    home.intervals.loc[first : last - 1, "volume_l"] += home.indoor[first:last].round()
    assert home.account().findings == ()


def test_an_empty_house_explains_and_is_not_told() -> None:
    home = hourly_home()
    gone = slice(at(JUNE), at(JUNE + 8))
    home.intervals.iloc[gone, home.intervals.columns.get_loc("volume_l")] -= home.indoor[gone].round()
    assert "away" in kinds(home)
    assert home.account().findings == ()


def test_an_empty_house_does_not_silence_runs_that_brought_nothing() -> None:
    home = hourly_home()
    gone = slice(at(JUNE), at(JUNE + 8))
    home.intervals.iloc[gone, home.intervals.columns.get_loc("volume_l")] = 0.0
    found = home.account().findings
    assert {f.kind for f in found} == {"not_delivered"}
    assert set(found[0].group) == {"hedge", "tubs"}


def test_guests_written_down_are_expected() -> None:
    home = hourly_home()
    first, last = at(JUNE), at(JUNE + 6)
    home.intervals.loc[first : last - 1, "volume_l"] += home.indoor[first:last].round()
    unwritten = kinds(home)
    home.household = pd.DataFrame(
        {
            "since": [pd.Timestamp(home.at(JUNE).date())],
            "until": [pd.Timestamp(home.at(JUNE + 6).date())],
            "people": [4],
            "reason": ["guests"],
        }
    )
    assert kinds(home) == set()
    assert unwritten <= {"busier"}

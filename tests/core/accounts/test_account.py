"""The account of a meter at any pace: it closes, it survives bad input, and it names what was done to a home."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from core.accounts.account import MeterAccount
from core.accounts.delivery import delivery_frame
from tests.core.accounts import books

DENVER = ZoneInfo("America/Denver")


def _closes(found: MeterAccount) -> None:
    parts = found.intervals[["indoor_l", "zones_l", "other_l", "unexplained_l"]].sum(axis=1, skipna=False)
    known = found.intervals["metered_l"].notna()
    np.testing.assert_allclose(parts[known], found.intervals["metered_l"][known], rtol=0, atol=1e-9)
    metered = found.by_day[found.by_day["kind"] == "metered"]
    assert metered["volume_l"].sum() == pytest.approx(found.intervals["metered_l"].sum(), abs=1e-6)


@pytest.mark.parametrize("pace_days", [91, 30, 7, 1, 1 / 24])
def test_closes_at_any_pace(pace_days: float) -> None:
    found = books.plain_home(pace_days, days=200).account()
    _closes(found)
    zones = [c for c in found.intervals if c.startswith("zone:")]
    np.testing.assert_allclose(found.intervals[zones].sum(axis=1), found.intervals["zones_l"])


def test_mixed_paces_in_one_book_close() -> None:
    home = books.plain_home(7, days=120)
    daily = books.plain_home(1, days=40, first_day=120)
    hourly = books.plain_home(1 / 24, days=20, first_day=160)
    home.intervals = pd.concat([home.intervals, daily.intervals, hourly.intervals], ignore_index=True)
    home.runs = hourly.runs
    found = home.account()
    _closes(found)
    assert found.findings == ()


def test_no_reading_leaves_the_published_prior() -> None:
    home = books.plain_home(1, days=30)
    home.intervals = home.intervals.iloc[:0]
    found = home.account()
    # two people at 55 gal a day (planning figure of Rancho Water CA and Menlo Park CA), 3.785411784 L a gallon
    assert found.baseline.value == pytest.approx(2 * 55 * 3.785411784)
    assert found.findings == ()
    assert found.metered_through is None
    assert len(found.intervals) == 0


def test_one_reading_closes_and_finds_nothing() -> None:
    home = books.plain_home(7, days=10)
    home.intervals = home.intervals.iloc[:1]
    found = home.account()
    _closes(found)
    assert found.findings == ()


def test_a_changed_register_and_months_of_gap_invent_nothing() -> None:
    home = books.plain_home(1, days=300)
    home.intervals.loc[100, ["volume_l", "note"]] = [np.nan, "register changed"]
    home.intervals = home.intervals.drop(index=range(140, 200)).reset_index(drop=True)
    found = home.account()
    _closes(found)
    assert np.isnan(found.intervals["unexplained_l"].iloc[100])
    assert found.findings == ()


def test_only_readings_until_then() -> None:
    home = books.plain_home(1, days=200)
    home.intervals.loc[150:, "volume_l"] += 1500.0
    early = home.account(as_of=home.at(149))
    late = home.account()
    assert early.findings == ()
    assert len(early.intervals) == 149
    assert late.findings[0].kind == "steady"


def test_readings_of_two_meters_are_refused() -> None:
    home = books.plain_home(1, days=20)
    home.intervals.loc[3, "meter"] = "other"
    with pytest.raises(ValueError, match="one meter"):
        home.account()


def test_stuck_valve_is_named_with_its_zone_at_daily_pace() -> None:
    home = books.plain_home(1, days=220)
    # the hedge (200 L/h) stayed open after its run of Wednesday 9 July, 3 to 5 h, until that of Friday
    home.intervals.loc[189, "volume_l"] += 200 * 19.0
    home.intervals.loc[190, "volume_l"] += 200 * 24.0
    home.intervals.loc[191, "volume_l"] += 200 * 3.0
    top = home.account().findings[0]
    assert top.kind == "stuck_open"
    assert "hedge" in (top.zone, *top.group)
    assert top.volume.value == pytest.approx(200 * 46, rel=0.1)
    assert top.strength == "strong"


def test_lasting_step_is_steady_with_its_rate_and_start() -> None:
    home = books.plain_home(1, days=220)
    home.intervals.loc[170:, "volume_l"] += 20 * 24.0
    top = home.account().findings[0]
    assert top.kind == "steady"
    assert top.until is None
    assert top.rate_lph == pytest.approx(20, rel=0.15)
    assert abs((top.since - home.at(170)).days) <= 2


def test_one_large_use_asks_what_was_filled() -> None:
    home = books.plain_home(1, days=220)
    home.intervals.loc[50, "volume_l"] += 9000.0
    found = home.account().findings
    assert [f.kind for f in found] == ["one_off"]
    assert "fill" in found[0].check_first


@pytest.mark.parametrize(("share", "kind"), [(1.7, "more_than_set"), (0.45, "less_than_set")])
def test_changed_delivery_is_told(share: float, kind: str) -> None:
    home = books.plain_home(1, days=240)
    hedge = home.delivered("hedge")
    home.intervals.loc[160:, "volume_l"] += ((share - 1) * hedge)[160:]
    top = home.account().findings[0]
    assert top.kind == kind
    assert top.zone == "hedge"


def test_dead_battery_is_runs_that_brought_nothing() -> None:
    home = books.plain_home(1, days=240)
    all_zones = home.delivered("hedge") + home.delivered("tubs")
    home.intervals.loc[150:160, "volume_l"] -= all_zones[150:161]
    top = home.account().findings[0]
    assert top.kind == "not_delivered"
    assert set(top.group) == {"hedge", "tubs"}


def test_a_misread_is_not_a_leak() -> None:
    home = books.plain_home(7, days=300)
    home.intervals.loc[20, "volume_l"] += 30_000.0
    home.intervals.loc[21, "volume_l"] -= 30_000.0
    found = home.account().findings
    assert [f.kind for f in found] == ["misread"]


@pytest.mark.parametrize("pace", [1, 3.5, 7])
@pytest.mark.parametrize(
    ("more_l", "first", "or_else"),
    [(20_000.0, "one_off", "misread"), (450_000.0, "misread", None)],  # a pool; no pool of a home holds so much
)
def test_a_newest_reading_far_too_high_may_be_misread(
    pace: float, more_l: float, first: str, or_else: str | None
) -> None:
    """Nothing has taken it back yet. The size of a pool is common practice, no source."""
    home = books.plain_home(pace, days=300)
    last = len(home.intervals) - 1
    home.intervals.loc[last, "volume_l"] += more_l
    (found,) = home.account().findings
    assert (found.kind, found.strength) == (first, "strong")
    assert or_else in {None, *(r.kind for r in found.rivals)}
    if first == "misread":
        assert found.until == home.intervals["end"].iloc[-1]
        assert "Look at that reading again" in found.check_first
        assert "look whether its dial still turns" in found.check_first


def test_a_number_gone_wrong_does_not_end_a_leak() -> None:
    home = books.plain_home(3.5, days=300)
    count = len(home.intervals)
    home.intervals.loc[count - 10 :, "volume_l"] += 10.0 * 84
    home.intervals.loc[count - 1, "volume_l"] += 450_000.0
    wrong, leak = home.account().findings
    assert (wrong.kind, leak.kind, leak.until) == ("misread", "steady", None)


def test_a_large_use_that_later_readings_leave_standing_is_no_misread() -> None:
    home = books.plain_home(3.5, days=300)
    home.intervals.loc[len(home.intervals) - 2, "volume_l"] += 20_000.0
    (found,) = home.account().findings
    assert (found.kind, found.rivals) == ("one_off", ())


def test_logged_use_is_no_finding_and_counts_as_other() -> None:
    home = books.plain_home(1, days=220)
    home.intervals.loc[50, "volume_l"] += 9000.0
    home.other_use = books.other_use(home.at(50) + timedelta(hours=8), 9000.0)
    found = home.account()
    assert found.findings == ()
    assert found.intervals["other_l"].sum() == pytest.approx(9000.0)


def test_empty_house_uses_less_and_alarms_nobody() -> None:
    home = books.plain_home(1, days=220)
    home.intervals.loc[60:70, "volume_l"] -= home.indoor[60:71] * 0.94
    first = home.at(60).date()
    home.household = pd.DataFrame(
        {
            "since": [pd.Timestamp(first)],
            "until": [pd.Timestamp(first + timedelta(days=11))],
            "people": [0],
            "reason": ["away"],
        }
    )
    assert home.account().findings == ()


def test_decision_sticks_and_the_meter_speaks_after_the_repair() -> None:
    home = books.plain_home(1, days=260)
    home.intervals.loc[170:219, "volume_l"] += 20 * 24.0
    repaired = home.at(220).date()
    home.decisions = books.decision("steady", "main", home.at(175).date(), "repaired", repaired, home.at(221))
    top = home.account().findings[0]
    assert top.decision == "repaired"
    assert "confirms" in top.after
    home.intervals.loc[220:, "volume_l"] += 20 * 24.0
    top = home.account().findings[0]
    assert top.decision == "repaired"
    assert "contradicts" in top.after


def test_a_decision_not_yet_made_is_not_known() -> None:
    home = books.plain_home(1, days=260)
    home.intervals.loc[170:, "volume_l"] += 20 * 24.0
    home.decisions = books.decision("steady", "main", home.at(175).date(), "harmless", None, home.at(300))
    assert home.account().findings[0].decision == ""


def test_days_are_local_and_complete_over_the_clock_change() -> None:
    home = books.plain_home(1 / 24, days=14, start=datetime(2025, 10, 28, 6, tzinfo=UTC))
    found = home.account(tz=DENVER)
    _closes(found)
    indoor = found.by_day[(found.by_day["part"] == "indoor") & (found.by_day["kind"] == "metered")]
    assert indoor["day"].dt.date.tolist() == [date(2025, 10, 28) + timedelta(days=d) for d in range(15)][: len(indoor)]


def test_zones_that_cannot_be_told_apart_are_called_by_their_names() -> None:
    """Only the sum of two is known; the name of each holds the code of the other."""
    ledger = books.ledger_of(books.plain_home(1, days=200))
    sum_known = np.array([[0.04, -0.039], [-0.039, 0.04]])
    names = {"hedge": "hedge by the tubs", "tubs": "tubs by the hedge"}
    found = delivery_frame(ledger, np.ones(2), np.full(2, 0.2), sum_known, names)
    notes = dict(zip(found["zone"], found["note"], strict=True))
    assert notes["hedge"].startswith("Runs together with tubs by the hedge, so the meter tells")
    assert notes["tubs"].startswith("Runs together with hedge by the tubs, so the meter tells")

"""Which findings a decision is about, and which readings speak against a repair."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from core.accounts.findings import Cause, Finding, Said
from core.accounts.ledger import make_ledger
from core.accounts.suspects import with_decisions
from core.figures import Figure
from tests.core.accounts import books

DENVER = ZoneInfo("America/Denver")
NOW = datetime(2026, 9, 1, 18, tzinfo=UTC)


def july(day: int, hour: int = 7, month: int = 7) -> datetime:
    return datetime(2026, month, day, hour, tzinfo=DENVER)


def finding(since: datetime, until: datetime | None = None, kind: str = "steady", **over: object) -> Finding:
    values: dict[str, object] = {
        "meter": "main", "zone": None, "group": (), "rate_lph": 10.0, "volume": Figure(100.0, "volume"),
        "strength": "fair", "score": 5.0,
    }  # fmt: skip
    return Finding(kind=kind, since=since, until=until, **(values | over))  # type: ignore[arg-type]


def said(first: int, last: int | None, made: datetime | None = None, **over: object) -> Said:
    until = None if last is None else date(2026, 7, last)
    values = {"kind": "steady", "meter": "main", "zone": None} | over
    return Said(first=date(2026, 7, first), last=until, decided_at=made or july(20), **values)  # type: ignore[arg-type]


def covers(decision: Said, found: Finding, now: datetime = NOW) -> bool:
    return decision.covers(found, now, DENVER)


# Days


def test_a_decision_sticks_while_dates_shift() -> None:
    for first in (8, 10, 14):
        assert covers(said(10, 20), finding(july(first)))
        assert covers(said(10, 20), finding(july(first), july(18)))


def test_the_finding_of_the_next_day_is_another_one() -> None:
    """One reading a day at 7: what ended with the reading of the 20th and what began with it share that day only."""
    assert not covers(said(10, 20), finding(july(20), july(25)))
    assert not covers(said(10, 20), finding(july(20)))
    assert not covers(said(20, 25), finding(july(10), july(20)))
    assert covers(said(10, 20), finding(july(19), july(25)))
    assert covers(said(20, 25), finding(july(10), july(21)))


def test_one_reading_decided_is_not_its_neighbour() -> None:
    first, second = (finding(july(d), july(d + 1), "one_off") for d in (19, 20))
    decision = said(19, 20, kind="one_off")
    assert covers(decision, first)
    assert not covers(decision, second)


def test_what_lasts_less_than_a_day_is_known_by_its_day() -> None:
    burst = finding(july(20, 9), july(20, 12), "one_off")
    assert covers(said(20, 20, kind="one_off"), burst)
    assert covers(said(10, 20, kind="one_off"), burst)
    assert not covers(said(10, 19, kind="one_off"), burst)


def test_decided_on_the_day_it_began_it_stays_decided() -> None:
    decision = said(20, 20)
    assert covers(decision, finding(july(20)), july(20, 12))
    assert covers(decision, finding(july(20)))
    assert covers(decision, finding(july(19)), july(20, 12)), "its start moved by a reading"


def test_a_decision_without_end_covers_only_what_had_begun_when_it_was_made() -> None:
    open_ended = said(10, None, made=july(20))
    assert covers(open_ended, finding(july(10)))
    assert covers(open_ended, finding(july(20)))
    assert not covers(open_ended, finding(july(22)))
    assert not covers(open_ended, finding(july(3, month=8), july(9, month=8)))


def test_a_repair_covers_nothing_that_began_weeks_after_it() -> None:
    """It may be written down months later: a repair of the 12th mends no leak of August."""
    repair = said(10, None, made=july(30, month=8), repaired_on=date(2026, 7, 12))
    assert covers(repair, finding(july(10), july(13)))
    assert covers(repair, finding(july(15))), "back within the week: not mended"
    assert not covers(repair, finding(july(3, month=8)))


def test_of_two_leaks_at_once_the_one_of_the_days_spoken_of_is_meant() -> None:
    """A yard leak from 20 July to 25 August, repaired on its last day, beside a small one from April to September."""
    repair = said(20, None, made=july(27, month=8), repaired_on=date(2026, 8, 25))
    yard = finding(july(20), july(25, month=8))
    small = finding(july(12, month=4), july(27, month=9))
    now = july(1, month=11)
    assert repair.is_about(yard, [yard, small], now, DENVER)
    assert not repair.is_about(small, [yard, small], now, DENVER)
    assert repair.is_about(small, [small], now, DENVER), "where it is the only one, its days have shifted"


def test_one_leak_that_falls_into_two_is_spoken_of_as_a_whole() -> None:
    repair = said(1, None, made=july(31), repaired_on=date(2026, 7, 31))
    first, then = finding(july(1), july(22)), finding(july(23), july(31))
    assert all(repair.is_about(f, [first, then], NOW, DENVER) for f in (first, then))


@pytest.mark.parametrize(
    ("over", "matches"),
    [
        ({"kind": "one_off"}, False),
        ({"meter": None}, True),
        ({"meter": ""}, True),
        ({"meter": "yard"}, False),
        ({"zone": "bed"}, True),
        ({"zone": "pots"}, True),
        ({"zone": "lawn"}, False),
    ],
)
def test_kind_meter_and_zone(over: dict[str, object], matches: bool) -> None:
    assert covers(said(10, 20, **over), finding(july(12), zone="bed", group=("bed", "pots"))) is matches


# The account


def home_with_leaks(*spans: tuple[int, int]) -> books.PlainHome:
    """A home read daily for 300 days, with 20 L/h more in the readings of each span."""
    home = books.plain_home(1, days=300)
    for first, last in spans:
        home.intervals.loc[first:last, "volume_l"] += 20 * 24.0
    return home


def steady(home: books.PlainHome) -> list[Finding]:
    return sorted((f for f in home.account().findings if f.kind == "steady"), key=lambda f: f.since)


def test_a_leak_months_after_a_repair_is_new_and_says_nothing_of_the_old_one() -> None:
    home = home_with_leaks((100, 139), (250, 299))
    repaired = home.at(140)
    home.decisions = books.decision("steady", "main", home.at(105).date(), "repaired", repaired.date(), repaired)
    old, new = steady(home)
    assert old.decision == "repaired"
    assert old.after.startswith("The meter confirms the repair")
    assert (new.decision, new.after) == ("", "")
    assert abs(new.since - home.at(250)) <= timedelta(days=2)


def test_the_leak_itself_going_on_contradicts_the_repair() -> None:
    home = home_with_leaks((200, 299))
    repaired = home.at(240)
    home.decisions = books.decision("steady", "main", home.at(205).date(), "repaired", repaired.date(), repaired)
    (leak,) = steady(home)
    assert leak.contradicted


def test_a_week_that_began_before_the_repair_says_nothing_against_it() -> None:
    """Read on Sundays, mended on a Thursday: until Sunday the reading holds water of before."""
    home = books.plain_home(7, days=364)
    home.intervals.loc[30:36, "volume_l"] += 20 * 24.0 * 7
    home.intervals.loc[37, "volume_l"] += 20 * 24.0 * 4
    repaired = home.at(37 * 7 + 4)
    home.decisions = books.decision("steady", "main", home.at(31 * 7).date(), "repaired", repaired.date(), home.at(300))
    (leak,) = steady(home)
    assert leak.until is not None
    assert leak.until.date() == repaired.date()
    assert leak.after.startswith("The meter confirms the repair")


def test_a_leak_runs_until_the_day_it_was_mended_on() -> None:
    """Billed by the month, mended on the tenth day of one: 20 L/h for 100 days, of which the last bill holds ten."""
    home = books.plain_home(30, days=420)
    home.intervals.loc[7:9, "volume_l"] += 20 * 24.0 * 30
    home.intervals.loc[10, "volume_l"] += 20 * 24.0 * 10
    repaired = home.at(310)
    home.decisions = books.decision("steady", "main", home.at(210).date(), "repaired", repaired.date(), home.at(320))
    (leak,) = steady(home)
    assert leak.until is not None
    assert leak.until.date() == repaired.date()
    assert leak.volume.value == pytest.approx(20 * 24 * 100, rel=0.1)
    assert leak.after.startswith("The meter confirms the repair")


def test_a_leak_back_within_the_week_contradicts_the_repair() -> None:
    home = home_with_leaks((100, 139), (144, 299))
    repaired = home.at(140)
    home.decisions = books.decision("steady", "main", home.at(105).date(), "repaired", repaired.date(), home.at(141))
    assert steady(home)[0].contradicted


@pytest.mark.parametrize(("back", "speaks"), [(143, "contradicts"), (160, "confirms")])
def test_one_leak_taken_for_two_contradicts_and_a_later_one_does_not(back: int, speaks: str) -> None:
    home = books.plain_home(1, days=300)
    other = (home.other_use, home.household, 2, ZoneInfo("UTC"), home.at(300))
    ledger = make_ledger(home.intervals, home.runs, home.flows, *other)
    two = [finding(home.at(100), home.at(139)), finding(home.at(back))]
    made = books.decision("steady", "main", home.at(105).date(), "repaired", home.at(139).date(), home.at(140))
    first, _ = with_decisions(two, made, ledger, "metric")
    assert first.after.startswith(f"The meter {speaks} the repair")


def after(**over: object) -> Finding:
    """A leak of days 100 to 200 of 300, after a repair on day 140."""
    home = books.plain_home(1, days=300)
    ledger = make_ledger(
        home.intervals, home.runs, home.flows, home.other_use, home.household, 2, ZoneInfo("UTC"), home.at(300)
    )
    made = books.decision("steady", "main", home.at(105).date(), "repaired", home.at(140).date(), home.at(141))
    return with_decisions([finding(home.at(100), home.at(200), **over)], made, ledger, "metric")[0]


def test_what_ended_since_is_not_said_to_go_on() -> None:
    """Day 200 after 1 January 2025 is 20 July, 60 days after the repair."""
    leak = after()
    assert leak.contradicted
    assert leak.after.endswith("it showed this at about 10.0 L/h until 20 July 2025, 60 days on.")


def test_weak_evidence_does_not_contradict_a_repair() -> None:
    leak = after(strength="weak")
    assert not leak.contradicted
    assert leak.after.startswith("The meter cannot confirm the repair: ")
    assert leak.after.endswith(", on weak evidence.")


def test_harmless_for_ever_was_never_meant() -> None:
    home = home_with_leaks((100, 139), (250, 299))
    home.decisions = books.decision("steady", "main", home.at(105).date(), "harmless", None, home.at(141))
    old, new = steady(home)
    assert (old.decision, new.decision) == ("harmless", "")


def test_the_latest_decision_that_covers_it_counts() -> None:
    home = home_with_leaks((200, 299))
    first, last = (
        books.decision("steady", "main", home.at(205).date(), verdict, None, home.at(at))
        for verdict, at in (("harmless", 210), ("ask_again", 220))
    )
    home.decisions = pd.concat([last, first], ignore_index=True)
    assert steady(home)[0].decision == ""


def weekly_leak() -> books.PlainHome:
    """Read every seventh day for 280 days; water runs by itself from the fifteenth reading on, to the end."""
    home = books.plain_home(7, days=280)
    home.intervals.loc[15:, "volume_l"] += 20 * 24.0 * 7
    return home


def repair(home: books.PlainHome, day: int) -> pd.DataFrame:
    """Of the leak, on a day of the record."""
    return books.decision("steady", "main", home.at(16 * 7).date(), "repaired", home.at(day).date(), home.at(day + 1))


def test_days_since_a_repair_are_days_of_the_calendar() -> None:
    """Mended on day 262, the third of a reading's week; the last reading is of day 280: 18 days on. Whole weeks within
    them are two, 14 days.
    """
    home = weekly_leak()
    home.decisions = repair(home, 262)
    (leak,) = steady(home)
    assert leak.after.endswith(", 18 days on.")


def test_days_without_a_reading_are_said_not_to_be_metered() -> None:
    """The week of days 266 to 273 gives no number: of the 18 days 11 are metered."""
    home = weekly_leak()
    home.decisions = repair(home, 262)
    home.intervals.loc[38, "volume_l"] = np.nan
    (leak,) = steady(home)
    assert leak.after.endswith(", 18 days on, 11 of them metered.")


def test_days_in_which_a_repair_held_are_counted_alike() -> None:
    """The leak of days 105 to 210, mended on day 208; the record ends with day 280, 72 days later."""
    home = books.plain_home(7, days=280)
    home.intervals.loc[15:29, "volume_l"] += 20 * 24.0 * 7
    home.decisions = repair(home, 208)
    (leak,) = steady(home)
    assert "nothing of it in the 72 days since, through" in leak.after


def told(*rows: tuple[str, str, str | None, str | None]) -> Finding:
    """A leak after decisions of verdict, note, cause and its zone, made one an hour."""
    home = books.plain_home(1, days=300)
    other = (home.other_use, home.household, 2, ZoneInfo("UTC"), home.at(300))
    ledger = make_ledger(home.intervals, home.runs, home.flows, *other)
    made = pd.concat(
        books.decision("steady", "main", home.at(105).date(), verdict, home.at(110).date(), home.at(140 + n)).assign(
            note=note, cause=cause, cause_zone=zone
        )
        for n, (verdict, note, cause, zone) in enumerate(rows)
    )
    return with_decisions([finding(home.at(100), home.at(139))], made, ledger, "metric")[0]


def test_a_repair_keeps_the_cause_and_the_words_it_was_found_with() -> None:
    leak = told(("explained", "loose line", "more_than_set", "bed"), ("repaired", "", None, None))
    assert (leak.decision, leak.note, leak.cause) == ("repaired", "loose line", Cause("more_than_set", "bed"))
    assert leak.repaired_on is not None
    assert told(("explained", "a", None, None), ("repaired", "b", None, None)).note == "a; b"


def test_another_cause_takes_the_place_of_the_first_and_asking_again_clears_it() -> None:
    leak = told(("explained", "toilet", "steady", None), ("explained", "no, the line", "more_than_set", "bed"))
    assert (leak.note, leak.cause) == ("no, the line", Cause("more_than_set", "bed"))
    leak = told(("explained", "toilet", "steady", None), ("ask_again", "", None, None), ("repaired", "", None, None))
    assert (leak.note, leak.cause) == ("", None)

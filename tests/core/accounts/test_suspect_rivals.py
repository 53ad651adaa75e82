"""What else it may be stays named as readings go by, and what was told once is not told as something else unsaid.

Homes are made by hand (books.py): a line off its fitting for some days of May, in a house that is read seldom or
daily; what was added is what is expected.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from core.accounts.account import MeterAccount
from core.accounts.findings import Finding, Rival, Said
from core.figures import Figure
from tests.core.accounts import books
from tests.core.accounts.books import PlainHome, metered

FIRST, LAST = 80, 90  # days of the record, of which the line was off
LATER = 120  # from which on a leak runs, if any
UTC_ZONE = ZoneInfo("UTC")
DATES = (92, 101, 118, 126, 140, 159)


def line_off(pace_days: float, times: float, *, leak: bool) -> PlainHome:
    """The tubs bring ``times`` as much again while their line is off; perhaps 9 L/h leak from some later day on."""
    home = books.plain_home(pace_days, 160, first_day=60)
    day = np.arange(len(home.indoor)) * pace_days
    odd = np.where((day >= FIRST) & (day < LAST), times * home.zone_l["tubs"], 0.0)
    return metered(home, odd + np.where(day >= LATER, 9.0 * 24 * pace_days, 0.0) * leak)


def named(account: MeterAccount, home: PlainHome) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Kinds and zones of all that the account says of the days the line was off."""
    middle = home.at(60 + (FIRST + LAST) / 2)
    for each in (*account.findings, *account.stays):
        if each.since <= middle and (each.until is None or each.until >= middle):
            if isinstance(each, Finding):
                yield each.kind, each.group
            yield from ((r.kind, r.group) for r in each.rivals)


@pytest.mark.parametrize("leak", [False, True])
@pytest.mark.parametrize("times", [8.0, 20.0])
def test_a_line_off_by_daily_readings_keeps_its_name(times: float, leak: bool) -> None:
    """A small zone's open line may bring many times what its emitters do."""
    home = line_off(1, times, leak=leak)
    for day in DATES:
        assert [*named(home.account(home.at(60 + day)), home)] == [("more_than_set", ("tubs",))]


@pytest.mark.parametrize("leak", [False, True])
@pytest.mark.parametrize("times", [8.0, 12.0])
def test_the_truth_stays_named_by_readings_days_apart(times: float, leak: bool) -> None:
    """Two readings a week cannot tell a line off from guests or a leak, whatever is found later; so all are named."""
    home = line_off(3.5, times, leak=leak)
    for day in DATES:
        said = [*named(home.account(home.at(60 + day)), home)]
        assert any(kind == "more_than_set" and "tubs" in zones for kind, zones in said), (day, said)


# Decisions


def guests_or_line_off() -> tuple[PlainHome, date]:
    """Asked a month later, whether guests were there; and the day on which a person says what it was."""
    home = line_off(3.5, 8.0, leak=False)
    assert len(home.account(home.at(60 + 126)).stays) == 1
    return home, home.at(60 + 92).date()


@pytest.mark.parametrize("verdict", ["explained", "harmless", "repaired"])
def test_who_said_what_it_was_is_not_asked_about_guests(verdict: str) -> None:
    home, day = guests_or_line_off()
    since, mended = home.at(60 + FIRST).date(), day if verdict == "repaired" else None
    home.decisions = books.decision("more_than_set", "main", since, verdict, mended, home.at(60 + 93))
    account = home.account(home.at(60 + 126))
    assert account.stays == ()
    (found,) = account.findings
    assert (found.kind, found.decision) == ("more_than_set", verdict)


@pytest.mark.parametrize(("since", "verdict"), [(FIRST, "ask_again"), (30, "harmless")])
def test_asked_again_or_of_another_time_it_is_asked(since: int, verdict: str) -> None:
    home, _ = guests_or_line_off()
    home.decisions = books.decision(
        "more_than_set", "main", home.at(60 + since).date(), verdict, None, home.at(60 + since + 12)
    )
    assert len(home.account(home.at(60 + 126)).stays) == 1


def july(day: int) -> datetime:
    return datetime(2026, 7, day, 7, tzinfo=UTC)


@pytest.mark.parametrize(
    ("kind", "zone", "first", "last", "about"),
    [
        ("steady", None, 10, 20, True),
        ("more_than_set", "bed", 10, 20, True),
        ("more_than_set", "lawn", 10, 20, False),
        ("one_off", None, 10, 20, False),
        ("steady", None, 13, 22, True),
        ("steady", None, 18, 28, False),
        ("steady", None, 17, 17, False),
        ("steady", None, 1, 31, False),
    ],
)
def test_a_decision_sticks_when_the_rival_becomes_the_first_name(
    kind: str, zone: str | None, first: int, last: int, about: bool
) -> None:
    """At least half of the longer of the two must be common: of eleven days, six."""
    rivals = (Rival("steady", None, (), ""), Rival("more_than_set", "hedge", ("hedge", "bed"), ""))
    found = Finding(
        "stuck_open", "main", "tubs", ("tubs",), july(10), july(20), 18.0, Figure(4000.0, "volume"), "strong", 7.0,
        rivals=rivals,
    )  # fmt: skip
    said = Said(kind, "main", zone, date(2026, 7, first), date(2026, 7, last), datetime(2026, 8, 5, tzinfo=UTC))
    assert said.covers(found, datetime(2026, 9, 1, tzinfo=UTC), UTC_ZONE) is about

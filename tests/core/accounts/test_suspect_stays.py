"""Guests and empty houses nobody wrote down, more than once in a book: each explains its own readings.

Homes are made by hand (books.py); what was added or taken away is what is expected.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray

from core.accounts.suspects import standing
from core.accounts.suspects.case import Suspect
from core.accounts.suspects.household import looks_like, unwritten
from core.accounts.suspects.view import View
from tests.core.accounts import books
from tests.core.accounts.books import PlainHome, case_of, metered
from tests.core.accounts.frames import GALLON_L

HOURLY, FIRST_DAY = 1 / 24, 1  # from 2 January on: no runs before April


def lively_home(guests: Sequence[tuple[int, int]], times: float, seed: int) -> PlainHome:
    """Two people with some 60 uses a day, and guests who use that much more on some spans of days; to the gallon."""
    home = books.plain_home(HOURLY, 110, first_day=FIRST_DAY)
    rng = np.random.default_rng(seed)
    hours = np.arange(len(home.indoor))
    clock, day = hours % 24, hours // 24
    often = np.select([clock < 6, clock < 9, clock < 17, clock < 22], [0.05, 1.2, 0.35, 1.0], 0.3)

    def uses(rate: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array([rng.gamma(1.5, 8.0, n).sum() for n in rng.poisson(rate)])

    home.indoor = uses(often)
    more = uses((times - 1) * often)
    full = np.any([(day >= first) & (day < end) for first, end in guests], axis=0)
    return metered(home, np.where(full, more, 0.0), GALLON_L)


@pytest.mark.parametrize("seed", [1, 2])
def test_guests_who_come_again_within_days_are_two_visits(seed: int) -> None:
    """Nine days each and four between; all of it together is longer than guests stay."""
    home = lively_home([(50, 59), (63, 72)], 4.0, seed)
    assert [s.kind for s in standing(case_of(home))] == ["busier", "busier"]
    account = home.account()
    assert account.findings == ()
    for stay, (first, end) in zip(account.stays, [(50, 59), (63, 72)], strict=True):
        assert stay.until is not None
        assert abs(stay.since - home.at(FIRST_DAY + first)) <= timedelta(days=1)
        assert abs(stay.until - home.at(FIRST_DAY + end)) <= timedelta(days=1)
        assert stay.people == pytest.approx(6, rel=0.35), "two people who use four times as much are eight"


@pytest.mark.parametrize("guests", [0, 3])
def test_guests_upon_another_number_of_people_for_long_are_asked_about(guests: int) -> None:
    """One of the two usual people is written for nine months around; who wrote the guests down too is not asked."""
    home = lively_home([(50, 59)], 4.0, 1)
    days, people = [(-90, 180), *([(50, 59)] if guests else [])], [1, *([guests] if guests else [])]
    first, last = ([pd.Timestamp(home.at(FIRST_DAY + day[end]).date()) for day in days] for end in (0, 1))
    home.household = pd.DataFrame({"since": first, "until": last, "people": people, "reason": "other"})
    account = home.account()
    assert account.findings == ()
    assert [round(stay.people) for stay in account.stays] == ([] if guests else [3]), "one uses four times as much"


def test_a_week_without_anybody_is_asked_about_by_the_hour() -> None:
    home = lively_home([], 1.0, 1)
    day = np.arange(len(home.indoor)) // 24
    metered(home, np.where((day >= 50) & (day < 57), -home.indoor, 0.0), GALLON_L)
    (stay,) = home.account().stays
    assert stay.people == pytest.approx(-2, rel=0.15)
    assert stay.volume_l == pytest.approx(-home.indoor[(day >= 50) & (day < 57)].sum(), rel=0.15)


def test_all_visits_of_a_spring_are_looked_at_together() -> None:
    """One left out would be told as a leak in the round in which the others are explained."""
    case = case_of(lively_home([(n, n + 3) for n in (15, 35, 55, 75, 95)], 5.0, 1))
    assert [s.kind for s in unwritten(case, View.of(case))] == ["busier"] * 5


@pytest.mark.parametrize("indoor", [0.85, 0.75])
def test_five_weeks_without_runs_are_sooner_a_dead_battery_than_a_journey(indoor: float) -> None:
    """As much less as the zones bring, by weekly readings, and over: few stay away so long and write nothing down."""
    home = books.plain_home(7, 64 * 7)
    dry = np.arange(len(home.indoor))
    runs = np.where((dry >= 26) & (dry < 31), 0.0, sum(home.zone_l.values()))
    home.intervals["volume_l"] = np.round(indoor * home.indoor + runs)
    found = home.account()
    assert [(f.kind, set(f.group)) for f in found.findings] == [("not_delivered", set(books.PROGRAMS))]
    assert found.stays == ()


@pytest.mark.parametrize("times", [1.6, 2.0, 3.0])
def test_a_leak_of_days_may_be_guests_and_says_so(times: float) -> None:
    """Eight days at daily pace up to the last reading: only the people there know which it was."""
    home = books.plain_home(1, 89, first_day=FIRST_DAY)
    day = np.arange(len(home.indoor))
    metered(home, np.where(day >= 81, (times - 1) * home.indoor, 0.0))
    (found,) = home.account().findings
    assert found.kind == "steady"
    assert "More people in the house" in found.check_first


def test_a_leak_larger_than_any_visit_asks_nobody() -> None:
    home = books.plain_home(1, 89, first_day=FIRST_DAY)
    day = np.arange(len(home.indoor))
    metered(home, np.where(day >= 81, 5 * home.indoor.mean(), 0.0))
    (found,) = home.account().findings
    assert found.kind == "steady"
    assert "people in the house" not in found.check_first


@pytest.mark.parametrize("days", [4, 6, 9])
def test_runs_that_did_not_come_may_be_an_empty_house(days: int) -> None:
    home = books.plain_home(1, 75, first_day=110)
    day = np.arange(len(home.indoor))
    metered(home, np.where(day >= len(day) - days, -home.indoor, 0.0))
    (found,) = home.account().findings
    assert found.kind == "not_delivered"
    assert "An empty house" in found.check_first


@pytest.mark.parametrize(("away", "who"), [(0, "away"), (1, "away"), (6, None), (9, None)])
def test_an_empty_house_that_is_written_down_is_not_asked_for_again(away: int, who: str | None) -> None:
    """Nine days on which nine tenths of what the house would use are missing, and so many of them written as away."""
    home = books.plain_home(1, 75, first_day=110)
    leaves, back = (pd.Timestamp(home.at(110 + 66 + day).date()) for day in (0, away))
    if away:
        home.household = pd.DataFrame({"since": [leaves], "until": [back], "people": [0], "reason": ["away"]})
    case, rows = case_of(home), np.arange(66, 75)
    since, until = float(case.ledger.start[66]), float(case.ledger.end[74])
    missing = -0.9 * case.reference.indoor[rows]
    silent = Suspect("not_delivered", ("hedge", "tubs"), rows, missing, since, until, 30.0, 10.0, -10.0)
    assert looks_like(silent, case) == who


def test_days_without_a_run_tell_a_zone_from_people() -> None:
    """The hedge brings as much again on its three days a week for two weeks, and the house no more on the others."""
    home = books.plain_home(1, 110, first_day=60)
    day = np.arange(len(home.indoor))
    metered(home, home.zone_l["hedge"] * (day >= len(day) - 14))
    (found,) = home.account().findings
    assert (found.kind, found.zone) == ("more_than_set", "hedge")
    assert "people in the house" not in found.check_first


@pytest.mark.parametrize(("gallons", "kinds"), [(60, set()), (140, {"one_off"})])
def test_a_softener_rinses_while_nobody_is_at_home(gallons: float, kinds: set[str]) -> None:
    """Up to 100 gallons in a day are taken for its rinse, and no more than these (common practice, no source)."""
    home = books.plain_home(1, 80, first_day=FIRST_DAY)
    home.drinks = "softener"
    day = np.arange(len(home.indoor))
    metered(home, np.where((day >= 50) & (day < 62), -home.indoor, 0.0) + gallons * GALLON_L * (day == 55))
    home.household = pd.DataFrame(
        {
            "since": [pd.Timestamp(home.at(50).date())],
            "until": [pd.Timestamp(home.at(62).date())],
            "people": [0],
            "reason": ["away"],
        }
    )
    assert {f.kind for f in home.account().findings} == kinds


def test_a_house_that_uses_nothing_between_visits_is_accounted_for() -> None:
    """By the hour, 120 days: nothing but for the thirty from the 30th on, in which two people live there."""
    home = books.plain_home(HOURLY, 120, first_day=FIRST_DAY)
    day = np.arange(len(home.intervals)) // 24
    home.intervals["volume_l"] = np.where((day >= 30) & (day < 60), np.round(home.indoor), 0.0)
    home.runs = home.runs.iloc[:0]
    found = home.account().stays
    assert found, "who was there is asked"
    assert all(np.isfinite([s.people, s.volume_l]).all() for s in found)

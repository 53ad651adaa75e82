"""When and where a finding was, in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from core.accounts.findings import Finding, FindingKind, Rival
from core.accounts.hide import Hide
from core.book.kinds import Home
from core.figures import Figure, Line
from core.review.month import PartUse
from core.review.naming import finding_place
from core.review.parts import DID_NOT_COME
from core.review.tell import (
    _days,
    _no_leak,
    _short,
    _use,
    beside,
    finding_dates,
    hiding,
    named,
    pace,
    rate_speaks,
)
from core.review.watch import News
from core.review.watch_words import sentence
from dashboard.words import finding_words
from tests.dashboard.invented import zone_month

DENVER = ZoneInfo("America/Denver")
NAMES = {"bed": "Border", "border": "Bed Border", "tubs": "Patio tubs"}


def finding(since: str = "2026-07-03T07:00", until: str | None = None, **over: object) -> Finding:
    """A finding by the clock in Denver."""
    begun, ended = (
        datetime.fromisoformat(t).replace(tzinfo=DENVER).astimezone(UTC) if t else None for t in (since, until)
    )
    values: dict[str, object] = {
        "kind": "steady", "meter": "curb", "zone": None, "group": (), "since": begun, "until": ended, "rate_lph": 5.0,
        "volume": Figure(100.0, "volume"), "strength": "fair", "score": 5.0,
    }  # fmt: skip
    return Finding(**(values | over))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("since", "until", "said"),
    [
        ("2026-07-16T05:00", "2026-07-16T09:00", "on 16 July"),
        ("2026-09-27T08:00", "2026-11-08T07:00", "from 27 September to 8 November"),
        ("2026-10-02T18:00", None, "since 2 October"),
        ("2026-07-03T22:30", "2026-07-04T05:00", "in the night of 3 July"),
        ("2026-07-31T18:00", "2026-08-01T10:00", "in the night of 31 July"),
        ("2026-07-03T07:35", "2026-07-04T07:20", "from 3 July to 4 July"),
        ("2026-07-03T12:00", "2026-07-04T02:00", "from 3 July to 4 July"),
        ("2026-07-03T21:00", "2026-07-04T16:00", "from 3 July to 4 July"),
        ("2026-07-03T21:00", "2026-07-05T06:00", "from 3 July to 5 July"),
    ],
)
def test_only_what_began_in_the_evening_and_ended_next_morning_is_a_night(
    since: str, until: str | None, said: str
) -> None:
    assert finding_dates(finding(since, until), DENVER) == said


@pytest.mark.parametrize(
    ("kind", "zone", "group", "said"),
    [
        ("steady", None, (), ""),
        ("stuck_open", "tubs", ("tubs",), "Patio tubs"),
        ("stuck_open", "tubs", (), "Patio tubs"),
        ("stuck_open", "bed", ("bed", "border", "tubs"), "Border, Bed Border or Patio tubs"),
        ("not_delivered", "bed", ("bed", "border"), "Border and Bed Border"),
        ("another_schedule", "bed", ("bed", "gone"), "Border and gone"),
        ("more_than_set", None, ("bed", "border"), "Border and Bed Border"),
    ],
)
def test_zones_are_joined_by_or_where_it_is_one_of_them(
    kind: str, zone: str, group: tuple[str, ...], said: str
) -> None:
    assert finding_place(finding(kind=kind, zone=zone, group=group), NAMES) == said


def test_other_minutes_are_of_all_zones_or_of_one_of_those_that_cannot_be_told_apart() -> None:
    one, everything = (
        finding(kind="another_schedule", zone=z, group=("bed", "border"), share=0.5) for z in ("bed", None)
    )
    assert finding_place(one, NAMES) == "Border or Bed Border"
    assert finding_place(everything, NAMES) == "Border and Bed Border"


def test_the_one_zone_that_went_short_is_named_once() -> None:
    one = replace(zone_month("tubs", "Patio tubs", 100.0, 100.0), stress_days=15)
    assert _short((one,)) == "Patio tubs went short of water on 15 days."
    other = replace(zone_month("bed", "Border", 100.0, 100.0), stress_days=2)
    said = _short((one, other))
    assert said == "Patio tubs and 1 other zone went short of water, Patio tubs on 15 days."


def test_a_longer_span_that_tells_no_smaller_leak_is_no_sentence_of_its_own() -> None:
    week, month = Hide(7, 0.42, "Under 0.4 L/h for 7 days."), Hide(30, 0.41, "Under 0.4 L/h for 30 days.")
    assert hiding((week, month), "metric") == ("Under 0.4 L/h for 7 days. Nor do 30 days tell a smaller one.",)
    assert hiding((week, replace(month, rate_lph=0.2)), "metric") == (week.sentence, month.sentence)
    none = (replace(week, rate_lph=None), replace(month, rate_lph=None))
    assert hiding(none, "metric") == (month.sentence,), "nothing is known of either"


def test_a_span_too_short_for_the_readings_is_not_told_beside_one_that_is_not() -> None:
    """Weekly readings: of a week nothing can be said, of a month it can."""
    week = Hide(7, None, "One reading in 7 days does not tell how small a leak would show within 7 days.")
    month = Hide(30, 3.4, "Under 3.4 L/h for 30 days.")
    assert hiding((week, month), "metric") == (month.sentence,)


def test_what_did_not_come_has_no_flow_while_it_lasts() -> None:
    assert rate_speaks(finding(kind="less_than_set", rate_lph=-5.0))
    assert not rate_speaks(finding(kind="not_delivered", rate_lph=-276.9))


@pytest.mark.parametrize(("or_else", "said"), [((), "No leak shows in the readings."), (("steady",), "")])
def test_no_leak_is_not_said_beside_a_use_that_may_have_been_one(or_else: tuple[FindingKind, ...], said: str) -> None:
    """So much may have run in an afternoon or all the month: the readings tell no leak and exclude none."""
    rivals = tuple(Rival(kind, None, (), "") for kind in or_else)
    use = finding(until="2026-07-31T07:00", kind="one_off", rivals=rivals)
    hides = SimpleNamespace(accounts={"curb": SimpleNamespace(hide=(SimpleNamespace(rate_lph=1.0),))})
    figures = {"used": Figure(3000.0, "volume"), "unexplained": Figure(90.0, "volume", -10.0, 190.0)}
    assert _no_leak(hides, figures, (use,)) == said  # type: ignore[arg-type]


def told(left_l: float, settled: dict[str, float], *lines: Line) -> str:
    parts = (
        PartUse("indoor", "Indoor", Figure(2000.0, "volume")),
        PartUse("zone:bed", "Bed", Figure(1000.0, "volume", working=lines)),
    )
    figures = {
        "used": Figure(3000.0 + left_l, "volume"),
        "cost": Figure(None, "money"),
        "unexplained": Figure(left_l, "volume"),
    }
    return _use("July 2026", figures, parts, settled, "metric", "$")


def test_the_first_sentence_says_what_is_settled_of_what_is_left_over() -> None:
    assert told(300.0, {}).endswith("1,000 L in the garden, 2,000 L indoors, and 300 L that nobody can explain.")
    assert told(300.0, {"harmless": 120.0}).endswith(
        "and 300 L left over: 120 L you called harmless, the rest nobody can explain."
    )
    assert told(300.0, {"harmless": 300.0}).endswith("and 300 L left over; you called it harmless.")
    assert told(300.0, {"explained": 100.0, "repaired": 200.0}).endswith(
        "and 300 L left over: 100 L whose cause you found and 200 L from what you repaired."
    )
    assert told(-300.0, {"explained": 100.0}).endswith(
        "less 300 L that was expected but not metered: 100 L whose cause you found, the rest nobody can explain."
    )


def test_the_first_sentence_says_what_came_of_what_was_set() -> None:
    said = told(-250.0, {}, Line(DID_NOT_COME, 240.0, "l", ""))
    assert "1,000 L set for the garden (760 L of it came), 2,000 L indoors" in said


def test_missed_days_are_named_while_they_are_few_stretches() -> None:
    figures = {"missed": Figure(3.0, "days"), "unvouched": Figure(2.0, "days", working=(Line("Bed", 2, "days", ""),))}
    near = [date(2026, 8, 8), date(2026, 8, 9), date(2026, 8, 10)]
    assert (
        _days(figures, near) == "3 days known missed (Sat 8 to Mon 10 August); on 2 more days nobody can vouch for Bed."
    )
    apart = [date(2026, 8, d) for d in (1, 3, 5, 7)]
    assert _days(figures, apart) == "3 days known missed; on 2 more days nobody can vouch for Bed."


@pytest.mark.parametrize(
    ("kind", "litres", "said", "rate"),
    [
        ("steady", 100.0, "", "5.0 L/h while it lasts"),
        ("more_than_set", 100.0, "", "5.0 L/h more while it runs"),
        ("less_than_set", -100.0, " less than expected", "5.0 L/h less while it runs"),
        ("another_schedule", 100.0, " at other times than the book says", "5.0 L/h while it lasts"),
    ],
)
def test_an_amount_and_a_rate_say_what_they_stand_beside(kind: str, litres: float, said: str, rate: str) -> None:
    one = finding(kind=kind, volume=Figure(litres, "volume"), rate_lph=5.0 if litres > 0 else -5.0)
    assert (beside(one), pace(one, "metric")) == (said, rate)


@pytest.mark.parametrize(("litres", "said", "rate"), [(100.0, "", "more"), (-100.0, " less than expected", "less")])
def test_other_minutes_are_more_or_less_water_on_average(litres: float, said: str, rate: str) -> None:
    one = finding(kind="another_schedule", share=0.5, volume=Figure(litres, "volume"), rate_lph=litres / 20)
    assert (beside(one), pace(one, "metric")) == (said, f"5.0 L/h {rate} on average")


def test_a_finding_has_one_name_and_one_set_of_dates_in_the_month_the_watch_and_on_its_card() -> None:
    home = Home(name="Alder house", latitude=40.0, timezone="America/Denver", display="metric")
    picture = SimpleNamespace(home=home, tz=DENVER, zone_names=NAMES)
    stuck = finding("2026-06-12T22:00", "2026-06-13T06:00", kind="stuck_open", zone="tubs", group=("tubs",))
    assert named(picture, stuck) == (  # type: ignore[arg-type]
        "It may be a valve that did not close at Patio tubs in the night of 12 June, about 100 L."
    )
    watched = sentence(News(stuck, "new"), picture)  # type: ignore[arg-type]
    assert watched.startswith("It may be a valve that did not close at Patio tubs, in the night of 12 June 2026, about")
    assert finding_words(stuck, NAMES) == "Patio tubs: a valve that did not close"

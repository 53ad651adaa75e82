"""review: the month in words and for a script, on a review written by hand and on a small book."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pandas as pd
import pytest
from click.testing import Result

from core.accounts.findings import Cause, Finding, Rival
from core.book.kinds import MeterReading
from core.book.store import Book
from core.care.due import DueItem
from core.cli.month_json import month_as_data
from core.cli.month_text import month_in_words
from core.days import parse_moment
from core.figures import Figure, Line
from core.review.month import MonthReview, NextStep, PartUse, ZoneMonth
from core.units import System

Run = Callable[..., Result]

GAL = 3.785411784  # litres, NIST Handbook 44: 231 cubic inches


def figure(gallons: float, spread: float = 0.0) -> Figure:
    working = (Line("register", "41235", "", "your reading"), Line("in litres", gallons * GAL, "l", "your meter"))
    return Figure(gallons * GAL, "volume", (gallons - spread) * GAL, (gallons + spread) * GAL, working)


def july(system: System = "us") -> MonthReview:
    """A month as a review may tell it, every sort of thing in it once."""
    zone = ZoneMonth(
        zone="tubs",
        name="Patio tubs",
        hand=False,
        need=figure(100, 10),
        effective_rain=figure(5),
        applied=figure(120),
        percolated=figure(15),
        excess=figure(14),
        saved=figure(-20, 30),
        ran_days=9,
        missed_days=2,
        unvouched_days=3,
        stress_days=1,
        sentence="Patio tubs got more than needed.",
    )
    finding = Finding(
        kind="stuck_open",
        meter="curb",
        zone="tubs",
        group=("tubs", "hedge"),
        since=datetime(2026, 7, 16, 3, 58, tzinfo=UTC),
        until=None,
        rate_lph=45.0,
        volume=figure(334, 20),
        strength="strong",
        score=14.2,
        evidence=("It began at the end of a run.",),
        check_first="Look at the valve.",
        caution="Shut the water first.",
        rivals=(Rival("one_off", None, (), "Somebody filled something."),),
        cost=Figure(2.5, "money"),
    )
    told = ("Rinse the filter in 4 days.", "Mind your eyes.")
    due = DueItem("rinse", "Rinse the filter", date(2026, 8, 1), 4, None, *told)
    return MonthReview(
        month="2026-07",
        first=date(2026, 7, 1),
        last=date(2026, 7, 31),
        as_of=datetime(2026, 8, 1, 6, tzinfo=UTC),
        household="Alder house",
        system=system,
        currency="$",
        time_zone="America/Denver",
        metered_through=datetime(2026, 7, 30, 13, tzinfo=UTC),
        sentences=("July was dry.",),
        used=figure(1240),
        cost=Figure(81.256, "money"),
        saved=figure(-20, 30),
        saved_money=Figure(-0.4, "money"),
        unexplained=figure(334, 60),
        missed=Figure(2.0, "days"),
        unvouched=Figure(3.0, "days"),
        stress=Figure(1.0, "days"),
        parts=(
            PartUse("indoor", "Indoors", figure(786, 40), Figure(5, "money")),
            PartUse("zone:tubs", "Patio tubs", figure(120)),
            PartUse("unexplained", "Unexplained", figure(334, 60)),
        ),
        zones=(zone,),
        zone_names={"tubs": "Patio tubs", "hedge": "West hedge"},
        findings=(finding,),
        care_due=(due,),
        next_steps=(NextStep("Look at the tubs' valve.", "meter"),),
        cannot_know=("A slow leak can hide.",),
        days=pd.DataFrame({"day": pd.to_datetime(["2026-07-01"]), "part": ["indoor"], "volume_l": [float("nan")]}),
    )


def test_the_month_in_words() -> None:
    text = month_in_words(july())
    assert text.startswith("Alder house, July 2026\n======================\n\nJuly was dry.")
    rows = {line.split("  ")[0]: line.split() for line in text.splitlines()}
    assert rows["Indoors"] == ["Indoors", "786", "gal", "746", "to", "826", "gal", "$5.00"]
    assert rows["In all"] == ["In", "all", "1,240", "gal", "$81.26"]
    tubs = [line.split()[2:] for line in text.splitlines() if line.startswith("Patio tubs ")]
    assert tubs[1] == ["100", "gal", "5", "gal", "120", "gal", "14", "gal", "no", "9", "2", "3", "1"]
    flowing = " ".join(text.split())
    at = "2026-07-15 21:58"  # 03:58 UTC in Denver, six hours behind in July
    assert f"1. A valve that did not close at Patio tubs or West hedge: {at}, going on, 334 gal, $2.50." in flowing
    assert "Evidence: strong." in flowing
    for said in (
        "It began at the end of a run.",
        "Check first: Look at the valve.",
        "Caution: Shut the water first.",
        "Or: Somebody filled something.",
        "- Look at the tubs' valve.",
        "- Rinse the filter in 4 days.",
        "- Mind your eyes.",
        "- A slow leak can hide.",
    ):
        assert said in text
    assert "How the figures came about" not in text
    assert max(map(len, text.splitlines())) <= 100


def test_what_is_of_an_instant_is_said_once() -> None:
    month = july()
    wrong = replace(month.findings[0], kind="misread", zone=None, group=(), until=month.findings[0].since)
    told = month_in_words(replace(month, findings=(wrong,)))
    assert "1. A reading taken or typed wrongly: 2026-07-15 21:58" in told
    assert "334 gal" not in told.split("A reading taken or typed wrongly")[1].split("\n")[0], "a number is no water"


@pytest.mark.parametrize("number", [float("inf"), float("-inf"), float("nan")])
def test_json_has_no_number_that_is_none(number: float) -> None:
    days = pd.DataFrame({"day": [pd.Timestamp("2026-07-01")], "part": ["indoor"], "volume_l": [number]})
    data = month_as_data(replace(july(), used=Figure(number, "volume"), days=days))
    assert (data["used"]["value_l"], data["days"][0]["volume_l"]) == (None, None)
    assert json.loads(json.dumps(data, allow_nan=False)) == data


def test_zones_that_are_all_meant_are_joined_by_and() -> None:
    month = july()
    all_of = replace(month.findings[0], kind="another_schedule", rate_lph=None)
    text = " ".join(month_in_words(replace(month, findings=(all_of,))).split())
    assert "Runs at other times or lengths than written down at Patio tubs and West hedge: 2026-07-15" in text


def test_the_working_on_request() -> None:
    text = month_in_words(july(), working=True)
    assert "Water used: 1,240 gal\n    register: 41235  [your reading]\n    in litres: 1,240 gal  [your meter]" in text
    assert "More than overhead sprinklers would have used: 20 gal (likely −10 to 50 gal)" in text
    assert "What that cost: $0.40" in text
    assert "Days known missed: 2 days" in text
    assert "Days short of water: 1 day" in text


def test_a_decision_is_told_in_its_words() -> None:
    settled = replace(july().findings[0], decision="explained")
    assert "You decided: cause found." in month_in_words(replace(july(), findings=(settled,)))


def test_what_was_decided_is_told_with_its_cause_and_note_in_words_and_json() -> None:
    settled = replace(
        july().findings[0],
        decision="repaired",
        repaired_on=date(2026, 7, 20),
        cause=Cause("more_than_set", "hedge"),
        note="a loose fitting",
        after="The meter confirms the repair.",
    )
    month = replace(july(), findings=(settled,))
    said = " ".join(month_in_words(month).split())
    assert (
        "You decided: repaired on 20 July 2026. The cause you found: a line off or broken at West hedge. "
        "Your note: a loose fitting. The meter confirms the repair."
    ) in said
    (data,) = month_as_data(month)["findings"]
    assert (data["cause"], data["note"], data["repaired_on"]) == (
        {"kind": "more_than_set", "zone": "hedge"},
        "a loose fitting",
        "2026-07-20",
    )


def test_a_hunt_and_what_it_excludes_are_told_in_words_and_json() -> None:
    rivals = (
        Rival("one_off", None, (), "It could also be one large use, 10 gal.", excluded=True),
        Rival("steady", None, (), "It could also be a leak, 10 gal."),
    )
    hunted = replace(july().findings[0], rivals=rivals, hunt="The hunt of 5 July 2026 puts it at the tubs.")
    month = replace(july(), findings=(hunted,))
    said = " ".join(month_in_words(month).split())
    assert "The hunt of 5 July 2026 puts it at the tubs. Check first: Look at the valve." in said
    assert "Excluded by the hunt: one large use, 10 gal." in said
    assert "Or: It could also be a leak, 10 gal." in said
    (data,) = month_as_data(month)["findings"]
    assert data["hunt"] == "The hunt of 5 July 2026 puts it at the tubs."
    assert [r["excluded"] for r in data["rivals"]] == [True, False]


def test_what_is_settled_of_what_is_left_over_is_told_in_words_and_json() -> None:
    """334 gal are left over, 100 of them called harmless."""
    month = replace(july(), settled={"harmless": 100 * GAL})
    assert "Left over: 100 gal you called harmless, the rest nobody can explain." in month_in_words(month)
    assert "Left over: 334 gal" in month_in_words(month, working=True)
    assert month_as_data(month)["settled_l"] == {"harmless": pytest.approx(378.5411784)}  # NIST Handbook 44


def test_a_wrong_reading_says_how_it_is_put_right() -> None:
    misread = replace(july().findings[0], kind="misread", zone=None, group=(), rate_lph=None)
    assert "To put it right: rillbook open" in month_in_words(replace(july(), findings=(misread,)))
    assert "To put it right" not in month_in_words(july())


def test_a_large_count_is_written_out() -> None:
    """Ten years of hourly readings: 87,600."""
    learned = Figure(1.0, "volume", working=(Line("readings it was learned from", 87_600.0, "", "your meter"),))
    text = month_in_words(replace(july(), used=learned), working=True)
    assert "readings it was learned from: 87,600  [your meter]" in text


def test_metric_words() -> None:
    (indoors,) = [line for line in month_in_words(july("metric")).splitlines() if line.startswith("Indoors")]
    assert indoors.split()[1:3] == ["2,975", "L"]


def numbers(data: object, path: str = "") -> Iterator[tuple[str, float]]:
    if isinstance(data, dict):
        for name, value in data.items():
            yield from numbers(value, f"{path}.{name}" if path else str(name))
    elif isinstance(data, list):
        for value in data:
            yield from numbers(value, path)
    elif isinstance(data, int | float) and not isinstance(data, bool):
        yield path, data


UNITS = ("_l", "_lph", "_mm", "_c", "_m2", "_min", "_minutes", "_days", "_money", "_count", "_share")
PLAIN = ("score", "days_left", "working.value")  # a pure number, a count of days, a line that carries its own unit


def test_json_is_metric_with_the_unit_in_the_name() -> None:
    for system in ("us", "metric"):
        data = month_as_data(july(system), working=True)  # type: ignore[arg-type]
        assert data["used"]["value_l"] == pytest.approx(1240 * GAL)
        assert data["cost"]["value_money"] == 81.256
        assert data["zones"][0]["saved"]["low_l"] == pytest.approx(-50 * GAL)
        assert data["findings"][0]["rate_lph"] == 45.0
        assert data["findings"][0]["since"] == "2026-07-16T03:58:00+00:00"
        assert data["findings"][0]["until"] is None
        assert data["days"] == [{"day": "2026-07-01", "part": "indoor", "volume_l": None}]
        nameless = {p for p, _ in numbers(data) if not p.endswith(UNITS) and not p.endswith(PLAIN)}
        assert nameless == set()
        assert json.loads(json.dumps(data, allow_nan=False)) == data


@pytest.fixture
def read_daily(garden: Book) -> Book:
    """A fortnight of daily readings, 150 gal a day."""
    zone = garden.zone_info
    with garden.change("readings") as change:
        for n in range(15):
            at = parse_moment(f"2026-07-{n + 1:02} 07:00", zone)
            change.add(MeterReading(meter="curb", at=at, register_value=41000 + 150 * n))
    return garden


def test_review_of_a_small_book(run: Run, read_daily: Book) -> None:
    result = run("review", read_daily.path, "2026-07", "--as-of", "2026-07-15")
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("Alder house, July 2026\n")
    asked = ("review", read_daily.path, "2026-07", "--as-of", "2026-07-15", "--json")
    data = json.loads(run(*asked).stdout)
    assert data["as_of"] == "2026-07-16T05:59:59+00:00", "all of the 15th in Denver"
    assert (data["first"], data["last"]) == ("2026-07-01", "2026-07-15")
    parts = sum(p["volume"]["value_l"] or 0 for p in data["parts"])
    assert parts == pytest.approx(data["used"]["value_l"], abs=0.01), "the parts sum to the metered total"
    assert "working" not in data["used"]
    assert json.loads(run(*asked, "--working").stdout)["used"]["working"]


MISTAKES: list[tuple[list[Any], str]] = [
    (["July"], "“July” is not a month"),
    (["2026-13"], "“2026-13” is not a month"),
    (["2031-01"], "has not begun"),
    (["2026-07", "--as-of", "then"], "“then” is not a date or time"),
]


@pytest.mark.parametrize(("args", "said"), MISTAKES)
def test_a_month_that_is_none(run: Run, read_daily: Book, args: list[str], said: str) -> None:
    result = run("review", read_daily.path, *args)
    assert (result.exit_code, result.stdout) == (1, "")
    assert said in result.stderr

"""After shutdown: water that moves at the drip line while the system is shut down is told.

The home is the plain one of ``books``: runs from April to October, shut down on 1 November. What moves then is added to
its readings by hand, so every volume and day expected here is one that the test itself put in.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd
import pytest

from core.accounts.findings import Finding
from core.accounts.runs import runs_held
from core.accounts.winters import winter_spans
from tests.core.accounts import books
from tests.core.accounts.frames import DENVER, table

SHUT = date(2025, 11, 1)
DAY = timedelta(days=1)
NAMES = {"hedge": "Hedge row", "tubs": "Tubs"}
DAILY, HOURLY = 1.0, 1 / 24
NOVEMBER = 304  # days from the first reading on 1 January to 1 November 2025


def pauses(since: date = SHUT, until: date | None = None, reason: str = "winter", scope: str = "all") -> pd.DataFrame:
    return table("pause", {"scope": scope, "since": since, "until": until, "reason": reason})


def held(last: date) -> pd.DataFrame:
    """What the controller would start from the shutdown on: the hedge at 3 h for two hours, the tubs at 5 h."""
    rows: list[dict[str, Any]] = []
    for n in range((last - SHUT).days):
        day = datetime(2025, 11, 1, tzinfo=UTC) + n * DAY
        for zone, (_, _, weekdays) in books.PROGRAMS.items():
            if day.weekday() in weekdays:
                start = day + timedelta(hours=3 if zone == "hedge" else 5)
                minutes = 120.0 if zone == "hedge" else 30.0
                rows.append(
                    {
                        "zone": zone, "label": "a", "day": pd.Timestamp(day.date()), "start": start,
                        "end": start + timedelta(minutes=minutes), "minutes": minutes, "basis": "presumed", "why": "",
                    }
                )  # fmt: skip
    return pd.DataFrame(rows)


def home(pace: float = DAILY, days: int = 340, *, garden_only: bool = False) -> books.PlainHome:
    made = books.plain_home(pace, days)
    if garden_only:
        made.people = 0
        runs = made.delivered("hedge") + made.delivered("tubs")
        made.intervals["volume_l"] = np.round(runs * np.random.default_rng(4).normal(1, 0.03, len(runs)))
    return made


def findings(made: books.PlainHome, off: pd.DataFrame | None = None, *, with_held: bool = True) -> tuple[Finding, ...]:
    last = made.intervals["end"].max().date() + DAY
    more = {"held": held(last)} if with_held else {}
    return made.account(pauses=pauses() if off is None else off, names=NAMES, **more).findings


def add_runs(made: books.PlainHome, zones: tuple[str, ...]) -> float:
    """Put into the readings what the programs bring if they run on; litres added."""
    start, end = made.intervals["start"], made.intervals["end"]
    before = float(made.intervals["volume_l"].sum())
    for run in held(end.max().date()).to_dict("records"):
        if run["zone"] in zones:
            overlap = (end.clip(upper=run["end"]) - start.clip(lower=run["start"])).dt.total_seconds() / 3600
            made.intervals["volume_l"] += books.PROGRAMS[run["zone"]][0] * overlap.clip(lower=0)
    made.intervals["volume_l"] = made.intervals["volume_l"].round()
    return float(made.intervals["volume_l"].sum()) - before


# A meter of the garden alone


def test_any_water_at_a_garden_meter_in_winter_is_at_the_drip_line() -> None:
    made = home(garden_only=True)
    made.intervals.loc[NOVEMBER + 10 :, "volume_l"] += 3 * 24.0
    (found,) = findings(made)
    assert (found.kind, found.until, found.strength) == ("after_shutdown", None, "strong")
    assert abs(found.since - made.at(NOVEMBER + 10)) <= 2 * DAY
    assert found.rate_lph == pytest.approx(3, rel=0.15)
    assert "though the system was shut down" in found.evidence[0]
    assert "frost" in found.check_first
    assert "unplug" in found.caution


def test_one_large_use_at_a_garden_meter_in_winter_is_told_with_its_rival() -> None:
    made = home(garden_only=True)
    made.intervals.loc[NOVEMBER + 10, "volume_l"] += 900.0
    (found,) = findings(made)
    assert found.kind == "after_shutdown"
    assert found.volume.value == pytest.approx(900, rel=0.1)
    assert "one_off" in [r.kind for r in found.rivals]


def test_weekly_readings_that_straddle_the_shutdown_tell_too() -> None:
    """The reading of 29 October to 5 November holds the day of the shutdown; the leak begins on that day."""
    made = home(7.0, days=336, garden_only=True)
    made.intervals.loc[43, "volume_l"] += 3 * 24.0 * 4
    made.intervals.loc[44:, "volume_l"] += 3 * 24.0 * 7
    assert [f.kind for f in findings(made)] == ["after_shutdown"]


def test_programs_that_run_on_behind_a_garden_meter_are_named() -> None:
    made = home(garden_only=True)
    added = add_runs(made, ("hedge",))
    (found,) = findings(made)
    assert (found.kind, found.zone, found.until) == ("after_shutdown", "hedge", None)
    assert found.volume.value == pytest.approx(added, rel=0.1)


def test_a_leak_that_began_before_the_shutdown_stays_what_it_is() -> None:
    made = home(garden_only=True)
    made.intervals.loc[NOVEMBER - 20 :, "volume_l"] += 3 * 24.0
    assert [f.kind for f in findings(made)] == ["steady"]


@pytest.mark.parametrize(
    "off",
    [
        pauses(since=date(2025, 12, 25)),  # the water comes before the shutdown
        pauses(since=date(2025, 10, 1), until=date(2025, 11, 5)),  # started up again
        pauses(reason="away"),
        pauses(scope="tubs"),
    ],
)
def test_the_same_water_outside_a_shutdown_is_not_after_it(off: pd.DataFrame) -> None:
    made = home(garden_only=True)
    made.intervals.loc[NOVEMBER + 10 :, "volume_l"] += 3 * 24.0
    (found,) = findings(made, off, with_held=False)
    assert found.kind == "steady"
    assert found.rivals == ()


# A meter of the house


@pytest.mark.parametrize("pace", [DAILY, HOURLY])
def test_a_steady_leak_of_a_house_names_the_drip_line_as_its_rival(pace: float) -> None:
    made = home(pace)
    made.intervals.loc[made.intervals["start"] >= made.at(NOVEMBER + 7), "volume_l"] += 8 * 24.0 * pace
    top = findings(made)[0]
    assert (top.kind, top.zone, top.until) == ("steady", None, None)
    assert [r.kind for r in top.rivals].count("after_shutdown") == 1
    assert "drip line after shutdown" in " ".join(r.sentence for r in top.rivals)


def test_one_large_use_of_a_house_in_winter_names_the_drip_line_as_its_rival() -> None:
    made = home()
    made.intervals.loc[NOVEMBER + 10, "volume_l"] += 9000.0
    (found,) = findings(made)
    assert found.kind == "one_off"
    assert "after_shutdown" in [r.kind for r in found.rivals]


@pytest.mark.parametrize("pace", [DAILY, HOURLY])
def test_programs_that_run_on_are_told_with_all_their_zones(pace: float) -> None:
    made = home(pace)
    added = add_runs(made, ("hedge", "tubs"))
    found = findings(made)
    top = found[0]
    assert (top.kind, top.zone, set(top.group)) == ("after_shutdown", None, {"hedge", "tubs"})
    assert (top.until, top.strength) == (None, "strong")
    assert top.volume.value == pytest.approx(added, rel=0.15)
    assert "The programs of Hedge row and Tubs seem to run on" in top.evidence[0]
    assert len(found) == 1


@pytest.mark.parametrize("pace", [DAILY, HOURLY])
def test_one_zone_that_runs_on_is_told_by_name(pace: float) -> None:
    made = home(pace)
    added = add_runs(made, ("hedge",))
    top = findings(made)[0]
    assert (top.kind, top.zone, top.group) == ("after_shutdown", "hedge", ("hedge",))
    assert top.volume.value == pytest.approx(added, rel=0.15)
    assert abs(top.since - datetime(2025, 11, 3, tzinfo=UTC)) <= 3 * DAY  # the first Monday after it


def test_programs_switched_off_after_a_fortnight_have_ended() -> None:
    made = home()
    until = NOVEMBER + 16
    quiet = made.intervals["volume_l"].copy()
    add_runs(made, ("hedge", "tubs"))
    made.intervals.loc[until:, "volume_l"] = quiet[until:]
    top = findings(made)[0]
    assert top.kind == "after_shutdown"
    assert top.until is not None
    assert abs(top.until - made.at(until)) <= 3 * DAY


@pytest.mark.parametrize("garden_only", [True, False])
@pytest.mark.parametrize("pace", [DAILY, HOURLY])
def test_a_quiet_winter_tells_nothing(pace: float, garden_only: bool) -> None:
    assert findings(home(pace, garden_only=garden_only)) == ()


def test_a_meter_of_the_house_alone_knows_no_drip_line() -> None:
    """Where a second meter serves the garden, no zone stands behind this one."""
    made = home()
    made.intervals["volume_l"] = np.round(made.indoor)
    made.intervals.loc[NOVEMBER + 10 :, "volume_l"] += 20 * 24.0
    made.runs, made.flows = made.runs.iloc[:0], made.flows.iloc[:0]
    top = findings(made, with_held=False)[0]
    assert (top.kind, top.rivals) == ("steady", ())


# The spans and the runs held off


def test_a_shutdown_lasts_from_midnight_to_midnight_at_home() -> None:
    """Denver is six hours behind UTC in October and in April: daylight saving time on both days."""
    off = pauses(date(2025, 10, 20), date(2026, 4, 14))
    ((first, last),) = winter_spans(off, DENVER)
    assert datetime.fromtimestamp(first * 3600, UTC) == datetime(2025, 10, 20, 6, tzinfo=UTC)
    assert datetime.fromtimestamp(last * 3600, UTC) == datetime(2026, 4, 14, 6, tzinfo=UTC)
    assert winter_spans(pauses(), DENVER)[0][1] == np.inf
    assert winter_spans(None, DENVER) == ()


def test_runs_held_are_those_of_the_winter_alone() -> None:
    """20 and 22 October 2025 are a Monday and a Wednesday."""
    off = pd.concat(
        [pauses(date(2025, 10, 20), date(2025, 10, 23)), pauses(date(2025, 10, 1), date(2025, 10, 9), "away")]
    )
    program = {
        "zone": "bed",
        "label": "a",
        "since": date(2025, 5, 1),
        "days": "mon wed",
        "starts": "05:00",
        "minutes": 30,
    }
    found = runs_held(
        table("program", program),
        off,
        table("controller", {"code": "box", "name": "Box"}),
        table("clock_check"),
        table("zone", {"code": "bed", "name": "Bed", "supply": "city", "controller": "box"}),
        DENVER,
        date(2025, 10, 1),
        date(2025, 10, 31),
    )
    assert [str(d.date()) for d in found["day"]] == ["2025-10-20", "2025-10-22"]

"""The accounts take the frames exactly as an opened book gives them, empty ones too."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from core.accounts.applied import applied_by_zone
from core.accounts.flow import planting_shares, zone_flows
from core.accounts.leaktest import leak_test_rates
from core.accounts.logged import logged_uses
from core.accounts.money import cost_of_days
from core.accounts.nested import own_use
from core.accounts.rain_days import rain_by_day
from core.accounts.registers import meter_intervals
from core.accounts.runs import runs_between
from core.book.kinds import KINDS, Home, Measured, Record
from core.book.store import Book
from core.days import parse_moment
from tests.core.accounts.frames import table

DENVER = ZoneInfo("America/Denver")
JULY = (date(2026, 7, 1), date(2026, 7, 31))


def moment(text: str) -> object:
    return parse_moment(text, DENVER)


RECORDS: list[tuple[str, dict[str, object]]] = [
    ("supply", {"code": "city", "name": "City"}),
    ("meter", {"code": "main", "name": "Main", "supply": "city", "unit": "gal"}),
    ("controller", {"code": "box", "name": "Box"}),
    ("zone", {"code": "beds", "name": "Beds", "supply": "city", "controller": "box"}),
    (
        "emitter_group",
        {
            "zone": "beds",
            "code": "g",
            "since": "2026-04-01",
            "count": 10,
            "flow_each": Measured("1", "gph", "flow"),
            "waters": "roses",
        },
    ),
    ("program", {"zone": "beds", "since": "2026-07-01", "days": "daily", "starts": "05:00", "minutes": 30}),
    ("pause", {"scope": "all", "since": "2026-07-20", "until": "2026-07-22", "reason": "rain"}),
    ("clock_check", {"controller": "box", "at": moment("2026-07-10 09:00"), "offset_minutes": -60, "put_right": True}),
    ("run", {"zone": "beds", "at": moment("2026-07-05"), "ran": False, "why": "battery"}),
    ("meter_reading", {"meter": "main", "at": moment("2026-07-01 07:00"), "register_value": "1000"}),
    ("meter_reading", {"meter": "main", "at": moment("2026-07-08 07:00"), "register_value": "1900"}),
    (
        "metered_use",
        {
            "meter": "main",
            "start": moment("2026-07-08 07:00"),
            "end": moment("2026-07-09 07:00"),
            "volume": Measured("120", "gal", "volume"),
        },
    ),
    (
        "rain",
        {
            "start": moment("2026-07-18 07:00"),
            "end": moment("2026-07-19 07:00"),
            "rain": Measured("0.5", "in", "depth"),
        },
    ),
    (
        "other_use",
        {
            "start": moment("2026-07-06 10:00"),
            "what": "pool",
            "volume": Measured("300", "gal", "volume"),
            "meter": "main",
        },
    ),
    (
        "other_use",
        {
            "start": moment("2026-07-02 08:00"),
            "what": "pots",
            "volume": Measured("2", "gal", "volume"),
            "zone": "beds",
            "every_days": 7,
        },
    ),
    (
        "flow_test",
        {
            "at": moment("2026-05-01 10:00"),
            "zone": "beds",
            "volume": Measured("2", "gal", "volume"),
            "duration": Measured("10", "min", "duration"),
        },
    ),
    (
        "leak_test",
        {
            "meter": "main",
            "at": moment("2026-07-03 10:00"),
            "duration": Measured("2", "h", "duration"),
            "before": "1100",
            "after": "1101",
        },
    ),
    ("tariff", {"supply": "city", "since": "2026-01-01", "unit": "kgal", "base": 10, "prices": "to 5: 3 / rest: 6"}),
]


@pytest.fixture
def filled(tmp_path: Path) -> Book:
    book = Book.create(tmp_path / "home.rillbook", Home(name="Alder house", latitude=40.0, timezone="America/Denver"))
    with book.change("filled the book") as change:
        for name, values in RECORDS:
            record: Record = KINDS[name].model_validate(values)
            change.add(record)
    return book


def everything(book: Book) -> dict[str, Any]:
    f = book.frames()
    intervals = meter_intervals(f["meter_reading"], f["meter"], f["metered_use"])
    runs = runs_between(f["program"], f["pause"], f["run"], f["controller"], f["clock_check"], f["zone"], DENVER, *JULY)
    flows = zone_flows(f["zone"], f["emitter_group"], f["flow_test"], f["supply"])
    uses = logged_uses(f["other_use"], DENVER, JULY[1])
    zone_days = applied_by_zone(runs, flows, DENVER, *JULY, uses=uses)
    return {
        "intervals": own_use(intervals, f["meter"]),
        "runs": runs,
        "flows": flows,
        "uses": uses,
        "shares": planting_shares(f["zone"], f["emitter_group"], f["supply"]),
        "applied": zone_days,
        "rain": rain_by_day(f["rain"], DENVER, *JULY),
        "leaks": leak_test_rates(f["leak_test"], f["meter"]),
        "cost": cost_of_days(zone_days.groupby("day")["applied_l"].sum(), f["tariff"], *JULY),
    }


def test_a_filled_book(filled: Book) -> None:
    found = everything(filled)
    gallon = 3.785411784
    assert (found["intervals"]["volume_l"] / gallon).tolist() == pytest.approx([900, 120])
    assert len(found["runs"]) == 29
    assert found["runs"]["basis"].value_counts().to_dict() == {"presumed": 28, "did_not": 1}
    assert found["flows"]["flow_lph"].iloc[-1] == pytest.approx(12 * gallon)
    # 28 runs of half an hour at 12 gal/h, and pots on 2, 9, 16, 23 and 30 July
    assert found["applied"]["applied_l"].sum() / gallon == pytest.approx(28 * 6 + 5 * 2)
    assert found["rain"]["rain_mm"].sum() == pytest.approx(12.7)
    assert found["leaks"]["rate_lph"].tolist() == pytest.approx([gallon / 2])
    assert found["cost"].water == pytest.approx(0.178 * 3)


def test_an_empty_book(tmp_path: Path) -> None:
    empty = Book.create(tmp_path / "home.rillbook", Home(name="Alder house", latitude=40.0, timezone="America/Denver"))
    found = everything(empty)
    assert all(len(found[k]) == 0 for k in ("intervals", "runs", "flows", "uses", "shares", "applied", "leaks"))
    assert found["rain"]["rain_mm"].isna().all()


def test_the_small_frames_of_these_tests_have_the_columns_of_a_book(filled: Book) -> None:
    for name in KINDS:
        mine, theirs = table(name), filled.frame(name)
        assert set(mine) == set(theirs), name

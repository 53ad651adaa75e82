"""The sample household's review against what was done to it.

The expected values are the truth file's: the household was made by a script whose physics, constants and noise are its
own, and which imports nothing from core.
"""

from __future__ import annotations

import csv
import re
from datetime import datetime
from typing import Any

import pytest

from core.book.store import Book
from core.review import Picture, month_of, months_in
from core.review.picture import draw
from core.units import from_base
from tests.core.review.conftest import ROOT

FULL_MONTHS = [f"{year}-{month:02}" for year in (2025, 2026) for month in range(1, 13) if (year, month) < (2026, 11)]


def gallons(litres: float | None) -> float:
    assert litres is not None
    return from_base(litres, "gal", "volume")


@pytest.mark.parametrize("month", FULL_MONTHS)
def test_the_month_is_what_the_register_says(picture: Picture, truth: dict[str, Any], month: str) -> None:
    """Within what the readings that straddle its two edges can shift: a third of a day's use each, or of a week's."""
    review = month_of(picture, month)
    weekly = month < "2025-07"
    slack = 160 if weekly else 60
    assert gallons(review.used.value) == pytest.approx(truth["months"][month]["metered_gal"], abs=slack)


@pytest.mark.parametrize("month", FULL_MONTHS)
def test_parts_close_to_the_metered_total(picture: Picture, month: str) -> None:
    review = month_of(picture, month)
    assert sum(p.volume.value or 0.0 for p in review.parts) == pytest.approx(review.used.value, abs=1e-6)


@pytest.mark.parametrize("month", ["2025-08", "2026-05", "2026-06", "2026-07", "2026-09"])
def test_garden_and_house_are_told_apart(picture: Picture, truth: dict[str, Any], month: str) -> None:
    """Within a fifth: the household's own spread and its unlogged hose use are in the truth.

    What a fault gave or took is in the truth's zones and stands as unexplained in the review: it is allowed for.
    The truth keeps all hose use together, the review the grass patch's with its zone: so both sides count it here.
    """
    review, true = month_of(picture, month), truth["months"][month]["parts_gal"]
    faults = {"2025-08": 550, "2026-06": 420, "2026-07": 340}.get(month, 0)
    garden = sum(gallons(p.volume.value) for p in review.parts if p.part.startswith("zone:") or p.part == "other")
    indoor = next(gallons(p.volume.value) for p in review.parts if p.part == "indoor")
    assert indoor == pytest.approx(true["indoor"], rel=0.2)
    zones = sum(v for k, v in true.items() if k.startswith("zone.") or k == "other_written")
    assert garden == pytest.approx(zones, rel=0.2, abs=faults)


@pytest.mark.parametrize("month", FULL_MONTHS)
def test_hose_water_that_was_written_down_is_its_zones_water(picture: Picture, month: str) -> None:
    """The sheet of other use, summed: what went to the patch stands with the hose, and with no other part."""
    review = month_of(picture, month)
    with (ROOT / "sample_data" / "household" / "other_use.csv").open(encoding="utf-8", newline="") as sheet:
        rows = [row for row in csv.DictReader(sheet) if row["start"][:7] == month and not row["end"]]
    patch = sum(float(row["volume_gal"]) for row in rows if row["zone"] == "hose" and not row["every_days"])
    part = next((p for p in review.parts if p.part == "zone:hose"), None)
    told = gallons(part.volume.value) if part else 0.0
    assert told == pytest.approx(patch, abs=0.5)
    zone = next((z for z in review.zones if z.zone == "hose"), None)
    if part and zone:
        assert part.volume.value == pytest.approx(zone.applied.value, abs=0.1)
    close = review.intervals[["indoor_l", "zones_l", "other_l", "unexplained_l"]].sum(axis=1)
    assert close.to_numpy() == pytest.approx(review.intervals["metered_l"].to_numpy(), nan_ok=True)


EVENTS = range(7)


@pytest.mark.parametrize("number", EVENTS)
def test_what_was_done_to_it_is_found_and_named(picture: Picture, truth: dict[str, Any], number: int) -> None:
    event = truth["events"][number]
    start, end = (datetime.fromisoformat(event[k]) for k in ("start", "end"))
    found = [
        f
        for account in picture.accounts.values()
        for f in account.findings
        if f.kind == event["kind"] and f.since <= end and (f.until is None or f.until >= start)
    ]
    told = [(f.kind, f.zone, f.since, f.until) for a in picture.accounts.values() for f in a.findings]
    assert found, f"{event['kind']} of {event['start']} was not told; told were {told}"
    if event["zone"]:
        assert any(event["zone"] in f.group or f.zone == event["zone"] for f in found)


@pytest.mark.parametrize("day", ["2025-11-30", "2026-05-15", "2026-07-25", "2026-09-15"])
def test_on_any_day_what_was_done_by_then_is_told_alone(sample: Book, truth: dict[str, Any], day: str) -> None:
    """Also when a month of hourly readings has just begun after a year of daily ones."""
    as_of = datetime.fromisoformat(f"{day}T23:59:00-07:00")
    told = sorted(f.kind for a in draw(sample, as_of, "us").accounts.values() for f in a.findings)
    assert told == sorted(e["kind"] for e in truth["events"] if datetime.fromisoformat(e["start"]) < as_of)


def test_all_events_are_looked_at(truth: dict[str, Any]) -> None:
    assert len(truth["events"]) == len(EVENTS)


def test_july_names_the_stuck_valve_and_its_zone(picture: Picture) -> None:
    review = month_of(picture, "2026-07")
    first = review.findings[0]
    assert (first.kind, first.zone) == ("stuck_open", "berries")
    assert any("a valve that did not close at Berry rows in the night of 16 July" in s for s in review.sentences)
    assert gallons(first.volume.value) == pytest.approx(334, rel=0.1)  # truth.json
    assert first.cost is not None
    assert review.next_steps[0].words == (
        "A valve that did not close at Berry rows, in the night of 16 July: look whether the zone is wet or its valve "
        "hums with the controller off."
    ), "the headline says how much, the card says the rest"


def test_the_dead_battery_is_missed_days(picture: Picture) -> None:
    """Eight days without a run; the owner wrote down two of them, the meter tells the others."""
    review = month_of(picture, "2026-08")
    days = review.zone_days
    missed = days[days["state"] == "missed"]["day"].dt.day.unique()
    assert {13, 14} <= set(missed)
    assert (review.missed.value or 0) >= 2


def test_winter_months_have_no_presumed_runs_and_no_missed_days(picture: Picture) -> None:
    for month in ("2025-12", "2026-01", "2026-02"):
        review = month_of(picture, month)
        assert review.missed.value == 0
        assert review.unvouched.value == 0
        assert review.stress.value == 0


def test_every_month_can_be_reviewed_and_says_something(picture: Picture) -> None:
    for month in months_in(picture):
        review = month_of(picture, month)
        assert review.sentences
        assert review.cost.value is not None
        assert review.used.working


@pytest.mark.parametrize("month", FULL_MONTHS)
def test_kinds_of_days_add_up_to_no_more_than_the_month(picture: Picture, month: str) -> None:
    review = month_of(picture, month)
    assert (review.missed.value or 0) + (review.unvouched.value or 0) <= review.last.day
    either = review.zone_days[review.zone_days["state"].isin(["missed", "presumed"])]["day"].nunique()
    assert (review.missed.value or 0) + (review.unvouched.value or 0) == either


def test_days_nobody_can_vouch_for_are_further_days_beside_missed_ones(picture: Picture) -> None:
    """The battery was dead from early on 8 August until after the morning of the 15th (truth.json)."""
    august = month_of(picture, "2026-08").sentences
    said = "8 days known missed (Sat 8 to Sat 15 August); on 23 more days nobody can vouch for every zone."
    assert said in august
    assert "No leak shows in the readings." in august, "the faults of that month are no leaks (truth.json)"
    july = month_of(picture, "2026-07").sentences
    # of the pots' 2 gal a morning the meter vouches for some days; how many is nothing the truth file knows
    assert any(re.fullmatch(r"No day is known missed; on \d+ days nobody can vouch for Porch pots\.", s) for s in july)
    assert "No leak shows in the readings." not in july, "a valve stayed open that month (truth.json)"


@pytest.mark.parametrize("month", FULL_MONTHS)
def test_the_missed_days_of_the_zones_are_those_of_the_month(picture: Picture, month: str) -> None:
    """No zone misses more days than the month, and the month none that no zone missed."""
    review = month_of(picture, month)
    missed = [zone.missed_days for zone in review.zones]
    assert max(missed) <= (review.missed.value or 0) <= sum(missed)
    headed = any("day known missed" in s or "days known missed" in s for s in review.sentences)
    assert headed == any(missed)

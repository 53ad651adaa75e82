"""A reading or rain in one short line."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import Result

from core.book.kinds import Meter, MeterReading, Rain
from core.book.store import Book

Run = Callable[..., Result]


def readings(book: Book) -> list[MeterReading]:
    return [s.record for s in book.records(MeterReading)]


def test_a_reading_now_at_the_only_meter(run: Run, garden: Book) -> None:
    before = datetime.now(UTC)
    result = run("add", garden.path, "reading", "0412350")
    assert result.exit_code == 0, result.output
    (reading,) = readings(garden)
    assert (reading.meter, reading.register_value, reading.how) == ("curb", 412350, "eye")
    assert timedelta(minutes=-1) < reading.at.utc - before < timedelta(minutes=1)
    assert f"rillbook undo {garden.path} 3" in result.stdout
    assert result.stdout.startswith("Stored: 412,350 gal at curb, ")


def test_what_it_means_since_the_last_one(run: Run, garden: Book) -> None:
    run("add", garden.path, "reading", "1000", "--at", "2026-07-13 07:30")
    result = run("add", garden.path, "reading", "1180", "--at", "2026-07-14 07:30", "--json")
    data = json.loads(result.stdout)
    assert data["since_last_l"] == pytest.approx(180 * 3.785411784)  # 1 US gal is 231 cubic inches, NIST Handbook 44
    assert (data["stored"], data["change_set"], data["register_value"], data["register_unit"]) == (
        True,
        4,
        "1180",
        "gal",
    )
    assert data["at"] == "2026-07-14T13:30:00+00:00"
    again = run("add", garden.path, "reading", "1360", "--at", "2026-07-15")
    assert "That is 180 gal since 2026-07-14." in again.stdout


def test_twice_is_once(run: Run, garden: Book) -> None:
    line = ("add", garden.path, "reading", "1000", "--at", "2026-07-13 07:30")
    run(*line)
    again = run(*line, "--json")
    assert again.exit_code == 0
    assert (json.loads(again.stdout)["stored"], json.loads(again.stdout)["change_set"]) == (False, None)
    assert len(readings(garden)) == 1
    other = run("add", garden.path, "reading", "1001", "--at", "2026-07-13 07:30", "--yes")
    assert other.exit_code == 1
    assert "already there with other values" in other.stderr
    assert [r.register_value for r in readings(garden)] == [1000]


REFUSED = [
    (["reading", "1,234"], "can be read two ways. Write 1234 or 1.234."),
    (["reading", "lots"], "“lots” is not an amount"),
    (["reading", "5 m3"], "the register of curb counts gal"),
    (["reading", "5", "--meter", "well"], "“well” is not a meter of the book. Expected --meter curb."),
    (["reading", "5", "--at", "yesterday"], "“yesterday” is not a date or time"),
    (["reading", "5", "--at", "2026-11-01 01:30"], "happened twice that night"),
    (["reading", "-5"], "No such option"),
    (["rain", "a lot"], "“a lot” is not an amount"),
    (["rain", "3 psi"], "“psi” is not a unit here. Expected mm, in, cm."),
    (["rain", "0.3", "--from", "2026-07-02", "--to", "2026-07-01"], "the end must come after the start"),
    (["rain", "-0.3mm"], "No such option"),
    (["reading", "5", "--from", "2026-07-02"], "--from belongs to rain, not to reading"),
    (["rain", "5", "--meter", "curb"], "--meter belongs to reading, not to rain"),
]


@pytest.mark.parametrize(("args", "said"), REFUSED)
def test_what_cannot_be_taken_is_said_and_nothing_is_stored(run: Run, garden: Book, args: list[str], said: str) -> None:
    number = garden.number()
    result = run("add", garden.path, *args)
    assert result.exit_code == (2 if "belongs" in said or "option" in said else 1)
    assert said in result.stderr
    assert garden.number() == number


def test_a_reading_that_goes_backwards_is_asked_about(run: Run, garden: Book) -> None:
    run("add", garden.path, "reading", "1000", "--at", "2026-07-13 07:30")
    back = ("add", garden.path, "reading", "900", "--at", "2026-07-14 07:30")
    asked = run(*back)
    assert asked.exit_code == 1
    assert "lower than the last reading" in asked.stderr
    assert "--yes" in asked.stderr
    assert len(readings(garden)) == 1
    taken = run(*back, "--yes", "--json")
    assert taken.exit_code == 0
    assert "lower than the last reading" in json.loads(taken.stdout)["questions"][0]
    assert len(readings(garden)) == 2


def test_a_changed_register_is_not_asked_about(run: Run, garden: Book) -> None:
    run("add", garden.path, "reading", "1000", "--at", "2026-07-13 07:30")
    result = run("add", garden.path, "reading", "3", "--at", "2026-07-14", "--register-changed", "--note", "new one")
    assert result.exit_code == 0
    assert (readings(garden)[1].first_after_change, readings(garden)[1].note) == (True, "new one")


def test_with_two_meters_one_must_be_named(run: Run, garden: Book) -> None:
    with garden.change("second") as change:
        change.add(Meter(code="beds", name="Beds", supply="street", unit="m3", resolution=Decimal("0.001")))
    asked = run("add", garden.path, "reading", "5")
    assert asked.exit_code == 1
    assert "more than one meter" in asked.stderr
    assert "--meter beds or --meter curb" in asked.stderr
    stored = run("add", garden.path, "reading", "1384,31 m³", "--meter", "beds")
    assert "Stored: 1,384.310 m³ at beds" in stored.stdout, "as its face shows it, in the unit as it is written"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        (["0.35in"], "0.35 in"),
        (["0.35"], "0.35 in"),
        (["9", "mm"], "9 mm"),
        (["0,9cm"], "0.9 cm"),
        (["0.35", "IN"], "0.35 in"),
    ],
)
def test_rain_in_the_unit_typed_or_the_books(run: Run, garden: Book, typed: list[str], kept: str) -> None:
    result = run("add", garden.path, "rain", *typed, "--to", "2026-07-14 07:00")
    assert result.exit_code == 0, result.output
    (rain,) = [s.record for s in garden.records(Rain)]
    assert str(rain.rain) == kept
    assert rain.end.utc - rain.start.utc == timedelta(hours=24)


def test_rain_reaches_back_to_the_last_emptying(run: Run, garden: Book) -> None:
    run("add", garden.path, "rain", "0.1", "--to", "2026-07-14 07:00")
    data = json.loads(run("add", garden.path, "rain", "trace", "--to", "2026-07-14 19:00", "--json").stdout)
    assert data["start"] == "2026-07-14T13:00:00+00:00"  # 07:00 in Denver
    assert (data["rain_mm"], data["trace"]) == (0, True)
    later = json.loads(run("add", garden.path, "rain", "0.1", "--to", "2026-07-20 07:00", "--json").stdout)
    assert later["start"] == "2026-07-19T13:00:00+00:00", "not over the week nobody looked"
    assert later["rain_mm"] == pytest.approx(2.54)  # 1 in is 25.4 mm


def test_no_meter_yet(run: Run, tmp_path: Path) -> None:
    new = run("new", tmp_path / "b.rillbook", "--name", "B", "--latitude", "40", "--timezone", "America/Denver")
    assert new.exit_code == 0
    result = run("add", tmp_path / "b.rillbook", "reading", "5")
    assert result.exit_code == 1
    assert "There is no meter in the book yet" in result.stderr

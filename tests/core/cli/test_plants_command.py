"""The plants on the command line: their month, programs that fit, going away; in words and in JSON."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from core.book.kinds import Program
from core.book.store import Book
from tests.core.review.gardens import begin, did_not_run, drip, normals, pot, program, shrubs, weather, write, zone

Run = Callable[..., Result]
AS_OF = ("--as-of", "2026-07-31")


@pytest.fixture
def yard(tmp_path: Path) -> Book:
    """Shrubs and a pot of 2 L on one valve of an hour's drip a day, and a home that shows gallons."""
    book = begin(
        tmp_path, zone(name="Yard"), shrubs(), pot(name="Tub"), drip(), drip(code="spike", lph=2, waters="pot"),
        program(days="daily", minutes=30), *weather(date(2026, 5, 1), date(2026, 7, 31)), *normals(), display="us",
    )  # fmt: skip
    write(book, did_not_run(book, date(2026, 7, 14)))
    return book


def asked(result: Result) -> dict[str, Any]:
    assert result.exit_code == 0, result.output
    data: dict[str, Any] = json.loads(result.stdout)
    return data


def test_the_plants_in_words(run: Run, yard: Book) -> None:
    result = run("plants", yard.path, "2026-07", *AS_OF, "--weeks", "--working")
    assert result.exit_code == 0
    assert result.stdout.startswith("Plants, July 2026\n=================\n")
    assert "Yard missed Tue 14 July: Tub went dry from Tue 14 (1 day); Shrubs never noticed." in result.stdout
    assert "Yard, 6 to 12 Jul" in result.stdout
    assert "7.9 gal" in result.stdout  # 30 L a day over 3.785 L a gallon
    assert "ANSI/ASABE S623" in result.stdout


def test_the_plants_in_metric_json_whatever_the_book_shows(run: Run, yard: Book) -> None:
    data = asked(run("plants", yard.path, "2026-07", *AS_OF, "--json"))
    shrub = next(p for p in data["plantings"] if p["planting"] == "shrubs")
    assert shrub["a_day"]["value_l"] == pytest.approx(30.0)  # 6 mm x 0.5 x 10 m2
    assert shrub["need"]["value_mm"] == pytest.approx(93.0)
    assert shrub["area_m2"] == pytest.approx(10.0)
    assert data["links"][0]["missed"] == ["2026-07-14"]
    felt = {f["planting"]: f["dry_because_missed"] for f in data["links"][0]["felt"]}
    assert felt == {"pot": ["2026-07-14"], "shrubs": []}
    assert sum(w["need_l"] for w in data["weeks"]) == pytest.approx(data["zones"][0]["need_l"])
    assert "gal" not in json.dumps(data["sentences"])


def test_a_program_in_words_and_json_are_the_same(run: Run, yard: Book) -> None:
    words = run("program", yard.path, "--month", "7", *AS_OF)
    data = asked(run("program", yard.path, "--month", "7", *AS_OF, "--json"))
    (found,) = data["months"][0]["zones"]
    assert found["fits"]["days"] == "daily"
    assert " and ".join(found["fits"]["starts"]) in words.stdout
    assert f"{found['fits']['minutes']} min" in words.stdout
    assert found["set"] == [{"label": "a", "days": "daily", "starts": ["05:00"], "minutes": 30.0}]
    assert found["set_l_month"] == pytest.approx(31 * 31)  # 62 L/h for half an hour
    assert (data["stored"], data["change_set"], data["writes"]) == (False, None, [])


def test_a_whole_year(run: Run, yard: Book) -> None:
    data = asked(run("program", yard.path, "--year", *AS_OF, "--json"))
    assert [m["month"] for m in data["months"]] == [7, 8, 9, 10, 11, 12, 1, 2, 3, 4, 5, 6]


def test_a_dry_spell_asks_for_no_less(run: Run, yard: Book) -> None:
    usual, dry = (
        asked(run("program", yard.path, "--basis", b, *AS_OF, "--json"))["months"][0] for b in ("normals", "dry")
    )
    assert dry["rain_mm_day"] == 0
    assert dry["zones"][0]["need_l_day"] >= usual["zones"][0]["need_l_day"]


def test_looking_first_then_writing_then_taking_back(run: Run, yard: Book) -> None:
    number = yard.number()
    line = ("program", yard.path, "--month", "7", "--use-from", "2026-07-20", *AS_OF)
    looked = asked(run(*line, "--dry-run", "--json"))
    assert (looked["stored"], yard.number()) == (False, number)
    stored = asked(run(*line, "--json"))
    assert stored["writes"] == looked["writes"]
    assert (stored["stored"], stored["change_set"]) == (True, number + 1)
    new = next(s.record for s in yard.records(Program) if s.record.since == date(2026, 7, 20))
    assert new.starts.split() == stored["writes"][0]["starts"]
    again = run(*line)
    assert "nothing was stored" in again.stdout
    assert run("undo", yard.path, number + 1).exit_code == 0
    assert [s.record.since for s in yard.records(Program)] == [date(2026, 5, 1)]


def test_going_away(run: Run, yard: Book) -> None:
    words = run("away", yard.path, "2026-08-02", 10, *AS_OF)
    assert words.exit_code == 0
    assert words.stdout.startswith("Away Sun 2 August to Tue 11 August: ")
    data = asked(run("away", yard.path, "2026-08-02", 10, *AS_OF, "--json"))
    tub = next(p for p in data["plantings"] if p["planting"] == "pot")
    assert tub["short_stopped"] == "2026-08-02"
    assert tub["days"][-1]["day"] == "2026-08-11"
    assert set(tub["days"][0]) == {"day", "running_mm", "stopped_mm", "total_mm", "felt_mm"}


REFUSED = [
    (("plants", "2026-13"), 1, "is not a month"),
    (("plants", "2027-01", *AS_OF), 1, "has not begun"),
    (("program", "--month", "x"), 1, "“x” is not a month of the year"),
    (("program", "--month", "13"), 1, "Expected 1 to 12"),
    (("program", "--year", "--month", "7"), 2, "--year stands alone"),
    (("program", "--dry-run"), 2, "goes with --use-from"),
    (("program", "--basis", "wet"), 2, "wet"),
    (("program", "--zone", "lawn", *AS_OF), 1, "“lawn” is no zone with a controller. Expected one of bed."),
    (("program", "--use-from", "soon", *AS_OF), 1, "is not a day"),
    (("away", "2026-07-01", "5", *AS_OF), 1, "not a day a trip"),
    (("away", "2026-08-01", "0", *AS_OF), 1, "cannot be looked ahead"),
]


@pytest.mark.parametrize(("words", "code", "said"), REFUSED)
def test_refused_in_one_line(run: Run, yard: Book, words: tuple[str, ...], code: int, said: str) -> None:
    number = yard.number()
    result = run(words[0], yard.path, *words[1:])
    assert result.exit_code == code, result.output
    assert said in result.stderr
    assert yard.number() == number


@pytest.mark.parametrize("command", ["plants", "program", "away"])
def test_help_teaches_with_examples(run: Run, command: str) -> None:
    result = run(command, "--help")
    assert result.exit_code == 0
    assert f"rillbook {command} garden.rillbook" in result.stdout
    assert "--json" in result.stdout


def test_an_empty_book_says_what_is_missing(run: Run, garden: Book) -> None:
    result = run("plants", garden.path, "2026-07", *AS_OF)
    assert result.exit_code == 0
    assert "Nothing is planted in this month" in result.stdout
    result = run("program", garden.path, "--month", "7", *AS_OF)
    assert result.exit_code == 1
    assert "Nothing is known of the weather in July" in result.stderr

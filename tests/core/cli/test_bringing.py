"""bring: a look first, then all or the good rows, and always a way back."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from core.book.kinds import FINDING_KINDS, KINDS, Decision, MeterReading, Rain
from core.book.store import Book
from core.exchange.templates import template

Run = Callable[..., Result]

GOOD = "start,end,rain_in\n2026-07-20,2026-07-21,0.5\n2026-07-21,2026-07-22,0.1\n"
BAD = GOOD + "2026-07-22,2026-07-23,wet\n2026-07-23,2026-07-24,wet\n"


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "rain.csv"
    path.write_text(GOOD)
    return path


def test_a_dry_run_says_and_stores_nothing(run: Run, garden: Book, sheet: Path) -> None:
    result = run("bring", garden.path, sheet, "--dry-run")
    assert result.exit_code == 0
    assert result.stdout.splitlines()[0] == "rain.csv  2 new, 0 there already, 0 in conflict, 0 refused"
    assert "dry run" in result.stdout
    assert garden.records(Rain) == []


def test_bring_and_take_back(run: Run, garden: Book, sheet: Path) -> None:
    result = run("bring", garden.path, sheet)
    assert result.exit_code == 0
    assert f"Brought in 2 rain from rain.csv. To take it back: rillbook undo {garden.path} 3" in result.stdout
    again = json.loads(run("bring", garden.path, sheet, "--json").stdout)
    assert (again["stored"], again["change_set"], again["files"][0]["there"]) == (False, None, 2)
    run("undo", garden.path, "3")
    assert garden.records(Rain) == []


def test_bad_rows_keep_all_out_unless_told(run: Run, garden: Book, sheet: Path, tmp_path: Path) -> None:
    sheet.write_text(BAD)
    result = run("bring", garden.path, sheet)
    assert result.exit_code == 1
    assert "rain.csv, rows 4, 5, column rain_in: “wet”. Expected a number such as 12.5 (unit: in)." in result.stdout
    assert result.stderr == (
        "rillbook: nothing was stored: 2 rows refused, 0 in conflict. "
        "Mend them, or leave them out with --take-good-rows.\n"
    )
    assert garden.records(Rain) == []
    taken = run("bring", garden.path, sheet, "--take-good-rows", "--refused-to", tmp_path / "mend", "--json")
    assert taken.exit_code == 0
    data = json.loads(taken.stdout)
    assert (data["added"], len(data["problems"])) == (2, 2)
    assert data["problems"][0] == {
        "file": "rain.csv",
        "row": 4,
        "column": "rain_in",
        "value": "wet",
        "expected": "a number such as 12.5 (unit: in)",
    }
    (mend,) = map(Path, data["refused_rows_in"])
    mend.write_text(mend.read_text().replace(",wet,", ",0.2,"))
    assert run("bring", garden.path, mend).exit_code == 0, "mended, it comes in under the name it was given"
    assert len(garden.records(Rain)) == 4


def test_a_conflict_is_shown(run: Run, garden: Book, sheet: Path) -> None:
    run("bring", garden.path, sheet)
    sheet.write_text(GOOD.replace("0.5", "0.6"))
    result = run("bring", garden.path, sheet)
    assert result.exit_code == 1
    assert "column rain_in: “0.6 in”. Expected “0.5 in”, which the book holds for this row." in result.stdout
    assert "1 in conflict" in result.stderr
    assert str(garden.records(Rain)[0].record.rain) == "0.5 in"


def test_what_looks_wrong_is_told_beside(run: Run, garden: Book, tmp_path: Path) -> None:
    hose = tmp_path / "other_use.csv"
    hose.write_text("start,what,volume_gal,planting\n2026-06-01,hose,20,herbs\n")
    dry = json.loads(run("bring", garden.path, hose, "--dry-run", "--json").stdout)
    assert (dry["problems"], dry["doubts"][0]["value"]) == ([], "herbs")
    result = run("bring", garden.path, hose)
    assert result.exit_code == 0
    assert "Look at this: other_use.csv, row 2, column planting: “herbs”." in result.stdout


def test_many_different_mistakes_are_cut_short(run: Run, garden: Book, sheet: Path) -> None:
    sheet.write_text("start,end,rain_in\n" + "".join(f"2026-07-20,2026-07-21,wet{n}\n" for n in range(50)))
    result = run("bring", garden.path, sheet)
    assert result.exit_code == 1
    assert len(result.stdout.splitlines()) == 22
    assert "and 30 more like these" in result.stdout


def test_a_folder_and_a_named_kind(run: Run, garden: Book, tmp_path: Path, sheet: Path) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "meter_reading-2026.csv").write_text("meter,at,register_value\ncurb,2026-07-14,1000\n")
    (folder / "rain.csv").write_text(GOOD)
    assert run("bring", garden.path, folder).exit_code == 0
    assert (len(garden.records(MeterReading)), len(garden.records(Rain))) == (1, 2)
    sheet.rename(tmp_path / "gauge.csv")
    nameless = run("bring", garden.path, tmp_path / "gauge.csv")
    assert (nameless.exit_code, "a name that begins with the kind" in nameless.stderr) == (1, True)
    assert run("bring", garden.path, tmp_path / "gauge.csv", "--kind", "rain").exit_code == 0


def test_a_file_that_is_not_there(run: Run, garden: Book, tmp_path: Path) -> None:
    result = run("bring", garden.path, tmp_path / "rain.csv")
    assert result.exit_code == 1
    assert "There is no file" in result.stderr


@pytest.mark.parametrize("kind", KINDS)
def test_templates_and_columns_are_printed(run: Run, kind: str) -> None:
    printed = run("bring", "--template", kind)
    assert (printed.exit_code, printed.stdout) == (0, template(kind).replace("\r\n", "\n"))
    explained = run("bring", "--columns", kind).stdout
    for header in template(kind).splitlines()[0].split(","):
        assert header in explained
    assert f"\n{kind} " in "\n" + run("bring", "--kinds").stdout


def test_the_columns_of_a_planting_list_its_plant_types_and_soils(run: Run) -> None:
    said = run("bring", "--columns", "planting").stdout
    assert all(f" {code}," in said for code in ("citrus", "turf-warm", "sandy-loam", "clay"))


def test_the_columns_of_a_decision_name_the_kinds_of_finding(run: Run) -> None:
    said = " ".join(run("bring", "--columns", "decision").stdout.split())
    assert all(f"{code} (" in said for code in FINDING_KINDS)
    assert "steady (water that runs all the time)," in said


def test_a_decision_about_no_finding_is_stored_and_said_to_change_nothing(
    run: Run, garden: Book, tmp_path: Path
) -> None:
    path = tmp_path / "decision.csv"
    path.write_text("finding,since,verdict,decided_at\nsteady,2026-07-01,harmless,2026-07-20 12:00\n")
    result = run("bring", garden.path, path)
    assert result.exit_code == 0
    assert "row 2: stored, but no finding of today is water that runs all the time from 1 July 2026 on" in result.stdout
    assert len(garden.records(Decision)) == 1


def test_bills_alone_are_said_to_give_no_readings(run: Run, garden: Book, tmp_path: Path) -> None:
    bill, use = tmp_path / "bill.csv", tmp_path / "metered_use.csv"
    bill.write_text("supply,since,until,volume_m3,amount\nstreet,2026-06-01,2026-07-01,14,51.95\n")
    use.write_text("meter,start,end,volume_m3\ncurb,2026-06-01,2026-07-01,14\n")
    assert json.loads(run("bring", garden.path, bill, use, "--dry-run", "--json").stdout)["notes"] == []
    said = run("bring", garden.path, bill).stdout
    assert "Bills give no meter readings" in said
    assert "metered_use.csv" in said
    assert "Bills give" not in run("bring", garden.path, bill).stdout  # nothing new comes in


def test_metric_templates(run: Run) -> None:
    assert "rain_mm" in run("bring", "--template", "rain", "--units", "metric").stdout


def test_nothing_to_bring(run: Run, garden: Book) -> None:
    assert run("bring", garden.path).exit_code == 2
    assert run("bring", "--template", "snow").exit_code == 2


def test_a_register_that_would_run_backwards_is_asked_about(run: Run, garden: Book, tmp_path: Path) -> None:
    run("add", garden.path, "reading", "412350", "--at", "2026-07-13 07:30")
    sheet = tmp_path / "meter_reading.csv"
    sheet.write_text("meter,at,register_value\ncurb,2026-07-20,41310\ncurb,2026-07-27,41800\n")
    result = run("bring", garden.path, sheet)
    assert result.exit_code == 1
    assert "Is it so? meter_reading.csv, row 2, column register_value: “41310”. Expected 412,350 gal" in result.stdout
    assert result.stderr == (
        "rillbook: nothing was stored: 2 rows would make a register run backwards. Mend them, or leave them out with "
        "--take-good-rows. If the register was changed or rolled over, say --register-fell.\n"
    )
    assert json.loads(run("bring", garden.path, sheet, "--dry-run", "--json").stdout)["questions"][0]["row"] == 2
    assert run("bring", garden.path, sheet, "--take-good-rows").exit_code == 0
    assert len(garden.records(MeterReading)) == 1, "what was not confirmed is left out"
    assert run("bring", garden.path, sheet, "--register-fell").exit_code == 0
    assert len(garden.records(MeterReading)) == 3

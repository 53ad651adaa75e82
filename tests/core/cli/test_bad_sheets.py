"""Sheets as bad as they come, through the command: one clear sentence, and nothing stored."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from core.book.kinds import MeterReading, OtherUse
from core.book.store import Book

Run = Callable[..., Result]
READING = "meter,at,register_value\n"
USE = "start,what,volume_gal\n"
RAIN = "start,end,rain_in\n"
WIDE = READING.strip() + "".join(f",c{n}" for n in range(197)) + "\n"
NOT_PLAIN = "row 1: “not plain text”. Expected a plain CSV file, saved as CSV UTF-8."
HEADER = "Expected a header row such as meter, at, register_value."
REFUSED: list[tuple[str, str, str | bytes, str]] = [
    ("empty", "meter_reading", "", f"row 1: empty. {HEADER}"),
    ("a byte order mark alone", "meter_reading", b"\xef\xbb\xbf", f"row 1: empty. {HEADER}"),
    ("blank lines", "meter_reading", "\n \n", f"row 1: empty. {HEADER}"),
    ("two bytes a letter, marked", "meter_reading", (READING + "curb,2026-07-01,1\n").encode("utf-16"), "not UTF-8"),
    ("two bytes a letter", "meter_reading", (READING + "curb,2026-07-01,1\n").encode("utf-16-le"), NOT_PLAIN),
    ("one byte a letter", "other_use", (USE + "2026-07-01,Gärten,5\n").encode("latin-1"), "“not UTF-8 text”. Expected"),
    ("a spreadsheet's own file", "meter_reading", b"PK\x03\x04\x14\x00\x06\x00" + bytes(50), NOT_PLAIN),
    ("a zero byte", "other_use", USE + "2026-07-01,ho\0se,5\n", "row 2: “not plain text”. Expected a plain CSV file"),
    ("something else above", "meter_reading", "# mine\n" + READING, f"row 1: “# mine”. {HEADER}"),
    ("a line that names the mark", "meter_reading", "sep=;\nmeter;at;register_value\n", f"row 1: “sep=, ”. {HEADER}"),
    ("a column twice", "meter_reading", "meter,at,register_value,at\n", "column at: “at”. Expected every column once."),
    (
        "an open quotation mark",
        "meter_reading",
        READING + '"curb,2026-07-01,1\n',
        "row 2: “a quotation mark that never",
    ),
    ("a quoted word", "other_use", USE + '2026-07-01,"5" hose,5\n', "row 2: “letters after a closing quotation mark”."),
    ("a cell without end", "other_use", USE + f"2026-07-01,{'x' * 140_000},5\n", "row 2: “a very long cell”. Expected"),
    ("200 cells", "meter_reading", READING + "curb,2026-07-01,1" + "," * 197 + "\n", "“200 cells”. Expected 3 cells"),
    ("200 columns", "meter_reading", WIDE, "column c0: “c0”. Expected one of meter, at, register_value"),
    ("too great", "meter_reading", READING + "curb,2026-07-01,1e400\n", "“1e400”. Expected a number such as 123456."),
    ("not finite", "rain", RAIN + "2026-07-01,2026-07-02,inf\n", "“inf”. Expected a number such as 12.5 (unit: in)."),
    (
        "many digits",
        "meter_reading",
        READING + f"curb,2026-07-01,{'9' * 5000}\n",
        f"“{'9' * 79}…”. Expected a number of",
    ),
    (
        "many decimals",
        "rain",
        RAIN + f"2026-07-01,2026-07-02,0.{'0' * 400}1\n",
        "before the decimal mark and 30 after it",
    ),
    ("raised digits", "meter_reading", READING + "curb,2026-07-01,10²\n", "“10²”. Expected a number such as 123456."),
    ("a day number", "meter_reading", READING + "curb,46207.29,1\n", "“46207.29”. Expected a date such as 2026-07-14"),
    ("month first", "meter_reading", READING + "curb,7/4/2026,1\n", "“7/4/2026”. Expected a date such as 2026-07-14"),
    ("rain below nothing", "rain", RAIN + "2026-07-01,2026-07-02,-1\n", "rain is never below 0."),
    ("a year to come", "meter_reading", READING + "curb,2999-07-01,1\n", "in a year from 1700 to 2199."),
    ("the first year", "meter_reading", READING + "curb,0001-01-01,1\n", "in a year from 1700 to 2199."),
    ("the last instant", "meter_reading", READING + "curb,9999-12-31 23:59,1\n", "“9999-12-31 23:59”. Expected a date"),
    (
        "an hour left out",
        "meter_reading",
        READING + "curb,2026-03-08 02:30,1\n",
        "“2026-03-08 02:30”. Expected a time that",
    ),
    (
        "no such offset",
        "meter_reading",
        READING + "curb,2026-07-01 07:00+99:00,1\n",
        "Expected a date such as 2026-07-14",
    ),
    (
        "a terminal steered",
        "other_use",
        USE + "2026-07-01,\x1b[31mred,5\n",
        "“\ufffd[31mred”. Expected text without control",
    ),
]


@pytest.mark.parametrize(("kind", "data", "said"), [case[1:] for case in REFUSED], ids=[case[0] for case in REFUSED])
def test_a_bad_sheet_is_one_clear_sentence_and_nothing_is_stored(
    run: Run, garden: Book, tmp_path: Path, kind: str, data: str | bytes, said: str
) -> None:
    sheet = tmp_path / f"{kind}.csv"
    sheet.write_bytes(data.encode() if isinstance(data, str) else data)
    before = garden.number()
    result = run("bring", garden.path, sheet)
    assert result.exit_code == 1
    assert said in result.stdout
    assert all(len(line) < 300 for line in result.stdout.splitlines())
    assert "\x1b" not in result.stdout
    assert result.stderr.startswith("rillbook: nothing was stored: 1 row refused")
    assert garden.number() == before


TAKEN: list[tuple[str, bytes]] = [
    ("a byte order mark", ("\ufeff" + READING + "curb,2026-07-01 07:00,100.5\n").encode()),
    ("semicolons and a decimal comma", b"meter;at;register_value\ncurb;2026-07-01 07:00;100,5\n"),
    ("tabs", b"meter\tat\tregister_value\ncurb\t2026-07-01 07:00\t100.5\n"),
    ("CRLF", b"meter,at,register_value\r\ncurb,2026-07-01 07:00,100.5\r\n"),
    ("CR", b"meter,at,register_value\rcurb,2026-07-01 07:00,100.5\r"),
    ("spaces that do not break", (READING + "curb\u00a0,2026-07-01\u00a007:00,100.5\u202f\n").encode()),
]


@pytest.mark.parametrize("data", [data for _, data in TAKEN], ids=[name for name, _ in TAKEN])
def test_what_only_looks_different_is_taken(run: Run, garden: Book, tmp_path: Path, data: bytes) -> None:
    sheet = tmp_path / "meter_reading.csv"
    sheet.write_bytes(data)
    result = run("bring", garden.path, sheet)
    assert result.exit_code == 0, result.stdout
    (reading,) = garden.records(MeterReading)
    assert (str(reading.record.at), str(reading.record.register_value)) == ("2026-07-01 07:00-06:00", "100.5")


def test_a_header_alone_brings_nothing(run: Run, garden: Book, tmp_path: Path) -> None:
    (tmp_path / "meter_reading.csv").write_text(READING)
    result = run("bring", garden.path, tmp_path / "meter_reading.csv")
    assert (result.exit_code, "Brought in nothing new." in result.stdout) == (0, True)


@pytest.mark.parametrize("day", ["1899-12-30", "1900-01-01 00:00", "1904-01-01"])
def test_the_day_a_spreadsheet_makes_of_an_empty_cell_is_told(run: Run, garden: Book, tmp_path: Path, day: str) -> None:
    (tmp_path / "meter_reading.csv").write_text(f"{READING}curb,{day},1\ncurb,2026-07-01,2\n")
    result = run("bring", garden.path, tmp_path / "meter_reading.csv")
    assert f"Look at this: meter_reading.csv, row 2, column at: “{day}”. Expected a day after 1904;" in result.stdout
    assert "row 3" not in result.stdout


def test_what_the_book_holds_is_told_on_one_line(run: Run, garden: Book, tmp_path: Path) -> None:
    sheet = tmp_path / "other_use.csv"
    sheet.write_text(f'{USE}2026-07-01,"two\nlines, {"long " * 100}",5\n')
    assert run("bring", garden.path, sheet).exit_code == 0
    sheet.write_text(f"{USE}2026-07-01,hose,5\n")
    result = run("bring", garden.path, sheet)
    assert result.exit_code == 1
    assert "column what: “hose”. Expected “two lines, long long" in result.stdout
    assert "…”, which the book holds for this row." in result.stdout
    assert garden.records(OtherUse)[0].record.what.startswith("two\nlines")


def test_a_folder_without_sheets_is_told(run: Run, garden: Book, tmp_path: Path) -> None:
    (tmp_path / "rain.csv").mkdir()
    result = run("bring", garden.path, tmp_path / "rain.csv")
    assert (result.exit_code, result.stderr) == (1, f"rillbook: {tmp_path / 'rain.csv'} holds no CSV files.\n")


def test_what_is_kept_out_is_written_before_anything_is_stored(run: Run, garden: Book, tmp_path: Path) -> None:
    (tmp_path / "meter_reading.csv").write_text(READING + "curb,2026-07-01,2\ncurb,later,3\n")
    (tmp_path / "in the way").write_text("")
    result = run(
        "bring",
        garden.path,
        tmp_path / "meter_reading.csv",
        "--take-good-rows",
        "--refused-to",
        tmp_path / "in the way",
    )
    assert (result.exit_code, "in the way cannot be written" in result.stderr) == (1, True)
    assert garden.records(MeterReading) == []

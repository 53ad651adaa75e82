"""Reading sheets: the layouts a spreadsheet may save, and everything wrong said by file, row, column and value."""

from __future__ import annotations

from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from core.book.kinds import Home, MeterReading, Rain, Record, Run, fields_of
from core.exchange.sheets import kind_of_file, read_sheet

DENVER = ZoneInfo("America/Denver")
RAIN = "start,end,rain_in\n2026-07-20 07:00,2026-07-21 07:00,0.35\n"


def records(text: str, kind: str) -> list[Record]:
    sheet = read_sheet(text, kind, DENVER)
    assert [p.sentence() for p in sheet.problems] == []
    return [record for _, record in sheet.rows]


def sentences(text: str, kind: str, name: str = "mine.csv") -> list[str]:
    return [p.sentence() for p in read_sheet(text, kind, DENVER, name).problems]


def test_the_plain_case() -> None:
    (rain,) = records(RAIN, "rain")
    assert isinstance(rain, Rain)
    assert (rain.gauge, rain.rain.typed, rain.rain.unit, rain.trace) == ("yard", "0.35", "in", False)
    assert rain.start.utc.isoformat() == "2026-07-20T13:00:00+00:00"  # Denver is six hours behind in July


@pytest.mark.parametrize(
    "saved",
    [
        "\ufeff" + RAIN,
        RAIN.replace("\n", "\r\n"),
        RAIN.replace(",", ";").replace("0.35", "0,35"),
        RAIN.replace(",", "\t"),
        RAIN.replace("2026-07-20 07:00", '"2026-07-20 07:00"').replace("start", " start "),
        RAIN + "\n,,\n , ,\n",
        RAIN.replace("\n", ",problem\n", 1).replace("0.35", "0.35,mended now"),
    ],
    ids=["byte order mark", "CRLF", "semicolons and a decimal comma", "tabs", "quotes", "empty rows", "mended"],
)
def test_however_a_spreadsheet_saved_it(saved: str, tmp_path: Path) -> None:
    path = tmp_path / "rain.csv"
    path.write_bytes(saved.encode())
    sheet = read_sheet(path, "rain", DENVER)
    assert sheet.problems == []
    assert [record for _, record in sheet.rows] == records(RAIN, "rain")


def test_rows_count_as_a_spreadsheet_does() -> None:
    """A cell with a line break takes two lines of the file and one row of the sheet; an empty row counts."""
    text = 'zone,at,ran,duration_min,why\nhedge,2026-07-01,no,,"dead\nbattery"\n\nhedge,2026-07-02,perhaps,,\n'
    assert sentences(text, "run")[0].startswith("mine.csv, row 4, column ran: “perhaps”.")
    (row, run), *_ = read_sheet(text, "run", DENVER).rows
    assert row == 2
    assert isinstance(run, Run)
    assert run.why == "dead\nbattery"


def test_two_units_side_by_side_keep_their_digits() -> None:
    text = "start,end,rain_in,rain_mm\n2026-07-20,2026-07-21,0.350,\n2026-07-21,2026-07-22,,8.9\n"
    assert [(r.rain.typed, r.rain.unit) for r in records(text, "rain") if isinstance(r, Rain)] == [
        ("0.350", "in"),
        ("8.9", "mm"),
    ]


HEADER_MISTAKES = [
    ("start,end,rain\n", "row 1, column rain: “rain”. Expected the unit in the name: rain_mm or rain_in or rain_cm."),
    ("start,end,rain_inch\n", "column rain_inch: “rain_inch”. Expected a column of this kind, perhaps rain_in."),
    ("Start,end,rain_in\n", "column Start: “Start”. Expected a column of this kind, perhaps start."),
    ("start,end,rain_in,rain_in\n", "column rain_in: “rain_in”. Expected every column once."),
    ("start,rain_in\n", "row 1, column end: “start, rain_in”. Expected a column end (To)."),
    ("start,end\n", "column rain: “start, end”. Expected a column rain_mm or rain_in or rain_cm (Rain)."),
    ("start,end,rain_in,q\n", "“q”. Expected one of gauge, start, end, rain_mm, rain_in, rain_cm, trace."),
    ("", "mine.csv, row 1: empty. Expected a header row such as start, end, rain_mm."),
    ("\n2026-07-20,2026-07-21,1\n", "mine.csv, row 1: empty. Expected a header row"),
]


@pytest.mark.parametrize(("header", "said"), HEADER_MISTAKES)
def test_a_wrong_header_is_said_and_no_row_is_read(header: str, said: str) -> None:
    sheet = read_sheet(header + "2026-07-20,2026-07-21,1\n" if header else "", "rain", DENVER, "mine.csv")
    assert any(said in problem.sentence() for problem in sheet.problems), [p.sentence() for p in sheet.problems]
    assert sheet.rows == []


ROW_MISTAKES = [
    ("rain", "start,end,rain_in", "2026-07-20,,0.3", "row 2, column end: empty. Expected a date such as 2026-07-14"),
    ("rain", "start,end,rain_in", "2026-07-20,2026-07-21,", "column rain_in: empty. Expected a number such as 12.5"),
    ("rain", "start,end,rain_in", "2026-07-20,2026-07-21,-1", "Expected values that fit together: rain is never below"),
    ("rain", "start,end,rain_in", "2026-07-21,2026-07-20,1", "row 2: “the row as a whole”. Expected values that fit"),
    ("rain", "start,end,rain_in", "2026-07-20,2026-07-21", "“2 cells”. Expected 3 cells, as many as the header has."),
    ("rain", "start,end,rain_in", "2026-07-20,2026-07-21,1,2", "“4 cells”. Expected 3 cells"),
    ("rain", "start,end,rain_in", "2026-07-20,2026-07-21,0.3in", "column rain_in: “0.3in”. Expected a number such as"),
    (
        "rain",
        "start,end,rain_in,rain_mm",
        "2026-07-20,2026-07-21,0.3,8",
        "column rain_in and rain_mm: “0.3 and 8”. Expected a number in one of rain_in or rain_mm.",
    ),
    (
        "meter_reading",
        "meter,at,register_value",
        "main,2026-07-14,-5",
        "register_value: “-5”. Expected 0 or more",
    ),
    ("meter_reading", "meter,at,register_value", 'main,2026-07-14,"1,234"', "“1,234”. Expected 1234 or 1.234; as it"),
    ("meter_reading", "meter,at,register_value", "main,2026-11-01 01:30,1", "happened twice and the order of the rows"),
    ("meter", "code,name,supply,unit,digits", "main,M,s,gallon,7", "“gallon”. Expected one of gal, kgal, ft3"),
    ("meter", "code,name,supply,unit,digits", "Main Meter,M,s,gal,7", "“Main Meter”. Expected a short code of small"),
    ("meter", "code,name,supply,unit,digits", "main,M,s,gal,2", "column digits: “2”. Expected 3 or more."),
    ("meter", "code,name,supply,unit,digits", "main,M,s,gal,99", "column digits: “99”. Expected 12 or less."),
    ("home", "name,latitude,timezone", "A,91,UTC", "column latitude: “91”. Expected 90 or less."),
    ("home", "name,latitude,timezone", "A,40,Mars/Base", "column timezone: “Mars/Base”. Expected a name such as Amer"),
    ("home", "name,latitude,timezone", ",40,UTC", "column name: empty. Expected text."),
    ("household", "since,until,people", "2026-07-01,2026-07-09,2.5", "“2.5”. Expected a whole number."),
    ("run", "zone,at,ran", "hedge,2026-07-01,yes", "Expected values that fit together: a run that happened needs"),
    (
        "program",
        "zone,since,days,starts,minutes",
        "a,2026-05-01,sometimes,5:00,9",
        "days: “sometimes”. Expected daily",
    ),
    (
        "tariff",
        "supply,since,unit,base,prices",
        "s,2026-01-01,gal,1,to 4: 3",
        "prices: “to 4: 3”. Expected to 4",
    ),
]


@pytest.mark.parametrize(("kind", "header", "row", "said"), ROW_MISTAKES)
def test_a_wrong_cell_is_said_with_its_place(kind: str, header: str, row: str, said: str) -> None:
    found = sentences(f"{header}\n{row}\n", kind)
    assert any(said in sentence for sentence in found), found
    assert all(sentence.startswith("mine.csv, row 2") for sentence in found)


def test_every_mistake_of_a_row_is_said_and_good_rows_stand() -> None:
    text = "meter,at,register_value,how\nmain,2026-07-14,12,eye\nmain,later,many,ears\nmain,2026-07-15,13,eye\n"
    sheet = read_sheet(text, "meter_reading", DENVER)
    assert [(p.row, p.column) for p in sheet.problems] == [(3, "at"), (3, "register_value"), (3, "how")]
    assert [row for row, _ in sheet.rows] == [2, 4]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"PK\x03\x04\x14\x00\x06\x00\x08\x00\xff\xfe", "rain.csv: “not UTF-8 text”. Expected a plain CSV file"),
        (RAIN.encode("utf-16"), "Expected a plain CSV file, saved as CSV UTF-8."),
        (
            b'start,end,rain_in\n2026-07-20,"2026-07-21,1\n',
            "row 2: “a quotation mark that never closes”. Expected q",
        ),
        (b"", "rain.csv, row 1: empty. Expected a header row"),
    ],
    ids=["a spreadsheet's own file", "UTF-16", "an open quotation mark", "an empty file"],
)
def test_a_file_that_is_no_sheet(data: bytes, said: str, tmp_path: Path) -> None:
    path = tmp_path / "rain.csv"
    path.write_bytes(data)
    (problem,) = read_sheet(path, "rain", DENVER).problems
    assert said in problem.sentence()


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    (problem,) = read_sheet(tmp_path / "rain.csv", "rain", DENVER).problems
    assert problem.sentence() == "rain.csv: “No such file or directory”. Expected a file that can be read."


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("rain.csv", "rain"),
        ("rain-2025.csv", "rain"),
        ("Rain 2025.CSV", "rain"),
        ("meter.csv", "meter"),
        ("meter_reading.csv", "meter_reading"),
        ("meter_reading_2025.csv", "meter_reading"),
        ("metered_use.csv", "metered_use"),
        ("rainfall.csv", None),
        ("weahter.csv", None),
    ],
)
def test_the_file_name_says_the_kind(name: str, kind: str | None) -> None:
    assert kind_of_file(name) == kind


def test_a_register_is_read_in_the_meters_own_unit() -> None:
    assert not [h for h in (f.name for f in fields_of(MeterReading)) if h.startswith("register_value_")]
    (reading,) = records("meter,at,register_value\nmain,2026-07-14 07:30,0012345.60\n", "meter_reading")
    assert isinstance(reading, MeterReading)
    assert str(reading.register_value) == "12345.60"


def test_a_default_that_is_left_out_is_taken() -> None:
    (home,) = records("name,latitude,timezone\nA,40,America/Denver\n", "home")
    assert isinstance(home, Home)
    assert (home.currency, home.display, home.elevation.base) == ("$", "us", 0)

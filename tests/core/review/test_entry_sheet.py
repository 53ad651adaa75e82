"""A sheet whose registers would make a meter run backwards is asked about before it is stored."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from core.book.kinds import Home, Meter, MeterReading, Supply
from core.book.store import Book
from core.days import parse_moment
from core.errors import RefusedError
from core.exchange.intake import Preview, bring, preview
from core.exchange.sheets import read_sheet
from core.review.entry_sheet import about_registers

HEAD = "meter,at,register_value,how,first_after_change\n"


@pytest.fixture
def quinta(tmp_path: Path) -> Book:
    """A register of cubic metres with three decimals, read on 11 and 20 October."""
    home = Home(name="Q", latitude=38.7, timezone="Europe/Lisbon", display="metric", currency="€")
    book = Book.create(tmp_path / "q.rillbook", home)
    with book.change("began") as change:
        change.add(Supply(code="water", name="Water"))
        change.add(Meter(code="m", name="M", supply="water", unit="m3", digits=5, resolution=Decimal("0.001")))
        for day, value in (("2026-10-11", "1414.610"), ("2026-10-20", "1421.889")):
            at = parse_moment(f"{day} 17:00", book.zone_info)
            change.add(MeterReading(meter="m", at=at, register_value=Decimal(value)))
    return book


def look(book: Book, *rows: str) -> Preview:
    text = HEAD + "".join(f"m,2026-{row}\n" for row in rows)
    return preview(book, [read_sheet(text, "meter_reading", book.zone_info, "readings.csv")], None, about_registers)


def odd(planned: Preview) -> list[list[int]]:
    return [[found.row for found in question.rows] for question in planned.asked]


def test_a_sheet_far_below_the_book_is_asked_about_with_its_place(quinta: Book) -> None:
    planned = look(quinta, "10-25 09:00,12.517,eye,", "10-28 09:00,13.1,eye,", "11-01 09:00,14.9,eye,")
    assert not planned.good
    assert odd(planned) == [[2, 3, 4]], "one question, not one a row"
    assert planned.asked[0].problem().sentence() == (
        "readings.csv, row 2, column register_value: “12.517”. Expected 1,421.889 m³ or more, for the book has that on "
        "20 October 2026 and a meter never runs backwards; write yes under first_after_change where the register was "
        "changed; 2 rows up to row 4 are like it."
    )
    with pytest.raises(RefusedError, match=r"row 2.*runs backwards"):
        bring(quinta, planned)
    assert len(quinta.records(MeterReading)) == 2
    assert bring(quinta, planned.as_they_stand()).added == 3, "a person said so"
    assert len(look(quinta, "10-25 09:00,12.517,eye,").there) == 1, "what was said once is not asked again"


def test_without_a_yes_the_good_rows_alone_are_taken(quinta: Book) -> None:
    planned = look(quinta, "10-25 09:00,12.517,eye,", "10-28 09:00,1424.5,eye,")
    assert odd(planned) == [[2]]
    assert bring(quinta, planned, take_good_rows=True).words == "brought in 1 meter reading from readings.csv"
    left = look(quinta, "10-25 09:00,12.517,eye,").without_asked()
    assert [(p.row, p.value) for p in left.problems()] == [(2, "12.517")]


def test_a_reading_above_the_next_is_the_odd_one_when_the_next_follows(quinta: Book) -> None:
    """1,425.1 read as 1,452.1, as swapped digits make it; and one that a later reading of the book contradicts."""
    planned = look(quinta, "10-22 09:00,1423.2,eye,", "10-24 09:00,1452.1,eye,", "10-26 09:00,1426.9,eye,")
    assert odd(planned) == [[3]]
    assert "1,426.900 m³ or less, for this sheet has that on 26 October 2026" in planned.asked[0].expected
    between = look(quinta, "10-15 09:00,1428.0,eye,")
    assert odd(between) == [[2]]
    assert "1,421.889 m³ or less, for the book has that on 20 October 2026" in between.asked[0].expected


@pytest.mark.parametrize(
    "rows",
    [
        ("10-25 09:00,1424.0,eye,", "10-28 09:00,1426.5,eye,"),
        ("10-25 09:00,0.004,eye,yes", "10-28 09:00,2.1,eye,"),  # said to be a new register
        ("10-25 09:00,1421.870,eye,",),  # 19 L back, as real registers do
        ("10-25 09:00,1400,estimated,",),  # the next real reading puts it right
    ],
)
def test_what_runs_on_or_is_said_to_be_changed_is_not_asked(quinta: Book, rows: tuple[str, ...]) -> None:
    assert look(quinta, *rows).good


def test_a_register_that_rolled_over_is_not_asked(quinta: Book) -> None:
    near_top = look(quinta, "10-25 09:00,99999.5,eye,yes")
    bring(quinta, near_top)
    assert look(quinta, "10-28 09:00,2.4,eye,").good, "2.9 m³ in three days past the highest number"
    assert odd(look(quinta, "10-28 09:00,4000,eye,")) == [[2]], "4,000 m³ in three days are no rollover"


def test_a_meter_that_comes_with_its_readings_is_asked_about_as_well(quinta: Book) -> None:
    meters = read_sheet("code,name,supply,unit,digits\nn,N,water,l,7\n", "meter", quinta.zone_info, "meters.csv")
    rows = "n,2026-11-01 17:00,5000,,\nn,2026-11-02 17:00,4000,,\nn,2026-11-03 17:00,5200,,\n"
    readings = read_sheet(HEAD + rows, "meter_reading", quinta.zone_info, "readings.csv")
    planned = preview(quinta, [readings, meters], None, about_registers)
    assert [[found.row for found in question.rows] for question in planned.asked] == [[3]]

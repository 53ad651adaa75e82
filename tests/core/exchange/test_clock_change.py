"""A real meter over the night the clocks went back: both readings of the doubled hour are kept.

Source: DAIAD/data (CC BY-SA 4.0), user 0e7d65c2, 2016; its note says what is true of the file.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from core.book.kinds import Home, Meter, MeterReading, Supply
from core.book.store import Book
from core.exchange.export import export_folder
from core.exchange.folder import new_from_folder, read_files, sheets_in
from core.exchange.intake import bring, preview
from core.exchange.sheets import read_sheet


@pytest.fixture
def madrid(tmp_path: Path) -> Book:
    book = Book.create(tmp_path / "madrid.rillbook", Home(name="G", latitude=38.3, timezone="Europe/Madrid"))
    with book.change("began") as change:
        change.add(Supply(code="street", name="Street"))
        change.add(Meter(code="main", name="Main", supply="street", unit="l", digits=9))
    return book


def sheet_of(real_data: Path) -> str:
    """The file with our column names; its rows and their order untouched."""
    lines = (real_data / "meter_daiad_g_dst_hours.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0] == "read_at,register_l"
    return "\n".join(["meter,at,register_value", *(f"main,{line}" for line in lines[1:] if line), ""])


@pytest.mark.real_data
def test_both_readings_of_the_doubled_hour_are_kept(madrid: Book, real_data: Path, tmp_path: Path) -> None:
    text = sheet_of(real_data)
    planned = preview(madrid, [read_sheet(text, "meter_reading", madrid.zone_info)])
    assert [p.sentence() for p in planned.problems()] == []
    assert bring(madrid, planned).added == 26, "every row of the file is a reading of its own"
    readings = [s.record for s in madrid.records(MeterReading)]
    doubled = [r for r in readings if f"{r.at.local:%Y-%m-%d %H:%M:%S}" == "2016-10-30 02:56:43"]
    assert [(r.at.offset_minutes, r.register_value) for r in doubled] == [(120, 377079), (60, 377082)]
    for night, use, hours in (("2016-03-2", 58, 11), ("2016-10-", 37, 13)):
        rows = [r for r in readings if f"{r.at.local:%Y-%m-%d}".startswith(night)]
        steps = [b.register_value - a.register_value for a, b in pairwise(rows)]
        assert min(steps) >= 0, "no negative use"
        assert sum(steps) == use
        gaps = [(b.at.utc - a.at.utc).total_seconds() / 3600 for a, b in pairwise(rows)]
        assert gaps == pytest.approx([1.0] * len(gaps), abs=0.02), "no missing hour in March, none doubled in October"
        assert (rows[-1].at.utc - rows[0].at.utc).total_seconds() / 3600 == pytest.approx(hours, abs=0.02)

    again = preview(madrid, [read_sheet(text, "meter_reading", madrid.zone_info)])
    assert (again.new, len(again.there), again.good) == ([], 26, True)
    export_folder(madrid, tmp_path / "out")
    copy, _ = new_from_folder(tmp_path / "copy.rillbook", tmp_path / "out")
    assert [s.record for s in copy.records(MeterReading)] == readings
    assert preview(madrid, read_files(sheets_in(tmp_path / "out"), madrid.zone_info)).new == []


@pytest.mark.real_data
def test_one_reading_of_the_doubled_hour_alone_is_refused(madrid: Book, real_data: Path) -> None:
    lines = sheet_of(real_data).splitlines()
    lines.remove("main,2016-10-30T02:56:43,377082.0")
    planned = preview(madrid, [read_sheet("\n".join(lines), "meter_reading", madrid.zone_info)])
    (problem,) = planned.problems()
    assert problem.value == "2016-10-30T02:56:43"
    assert "the offset too, 2016-10-30 02:56:43+02:00 or 2016-10-30 02:56:43+01:00" in problem.expected

"""Every sheet of the sample goes into a book as it stands, comes out as the same bytes, and suits the care lists."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from core.accounts.findings import FindingKind
from core.book.kinds import KINDS, Decision, Planting
from core.book.store import Book
from core.care.keeping import care_of, open_checklist, season_of
from core.exchange.export import export_folder
from core.exchange.folder import new_from_folder
from core.exchange.sheets import read_sheet
from core.water.tables import plant_type, soil

HOUSEHOLD = Path(__file__).parents[2] / "sample_data" / "household"
TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    made, _ = new_from_folder(tmp_path_factory.mktemp("sample") / "sample.rillbook", HOUSEHOLD)
    return made


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "told"])  # tellings are written by the watch alone
def test_every_row_is_a_record_of_its_kind(kind: str) -> None:
    path = HOUSEHOLD / f"{kind}.csv"
    read = read_sheet(path, kind, ZoneInfo("America/Boise"))
    assert [p.sentence() for p in read.problems] == []
    assert len(read.rows) == len(path.read_text(encoding="utf-8").splitlines()) - 1 > 0


def test_a_book_made_from_the_folder_writes_the_same_folder(book: Book, tmp_path: Path) -> None:
    export_folder(book, tmp_path / "out")
    written = {p.name: p.read_bytes() for p in (tmp_path / "out").iterdir()}
    assert written == {p.name: p.read_bytes() for p in HOUSEHOLD.iterdir()}


@pytest.mark.parametrize(
    ("season", "year", "day"),
    [
        ("shutdown", 2024, date(2024, 11, 10)),
        ("startup", 2025, date(2025, 4, 20)),
        ("shutdown", 2025, date(2025, 10, 30)),
        ("startup", 2026, date(2026, 4, 20)),
    ],
)
def test_past_seasons_are_finished(book: Book, season: str, year: int, day: date) -> None:
    walked = open_checklist(book, season, year, day)  # type: ignore[arg-type]
    assert [(s.kind.code, s.subject) for s in walked.open_steps] == []
    assert walked.others == ()


def test_this_autumn_is_still_to_do(book: Book) -> None:
    state = season_of(book, TODAY)
    assert (state.list_season, state.list_year) == ("shutdown", 2026)
    assert state.due is not None
    assert state.due < TODAY
    assert open_checklist(book, "shutdown", 2026, TODAY).progress.done == 0
    assert "shutdown" in {item.task for item in care_of(book, TODAY)}


def test_codes_are_known(book: Book) -> None:
    for planting in (s.record for s in book.records(Planting)):
        assert plant_type(planting.plant_type).code == planting.plant_type
        assert soil(planting.soil).code == planting.soil
    kinds = set(FindingKind.__args__)  # type: ignore[attr-defined]
    assert {s.record.finding for s in book.records(Decision)} <= kinds

"""Files: a preview before anything is stored, good rows taken, refused rows given back, take out, history."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

from streamlit.testing.v1 import AppTest

from core.book.kinds import MeterReading, OtherUse, Rain
from core.book.store import Book
from core.exchange.folder import new_from_folder
from dashboard.parts.copies import copied, zipped
from tests.dashboard.conftest import Open, words

SHEET = (
    "gauge,start,end,rain_in,trace\n"
    "yard,2026-07-10 07:00,2026-07-11 07:00,0.20,no\n"  # there already
    "yard,2026-07-12 07:00,2026-07-13 07:00,0.35,no\n"  # new
    "yard,2026-07-14 07:00,2026-07-15 07:00,much,no\n"  # refused
)


def upload(at: AppTest, name: str, text: str) -> AppTest:
    at.file_uploader[0].upload(name, text.encode(), "text/csv").run()
    assert not at.exception
    return at


def press(at: AppTest, label: str) -> None:
    next(b for b in at.button if b.label == label).click().run()
    assert not at.exception


def test_nothing_is_stored_before_the_button_that_says_so(opened: Open, garden: Book) -> None:
    number = garden.number()
    at = upload(opened("files"), "rain.csv", SHEET)
    counts = next(t.value for t in at.table if "Already there" in t.value.columns)
    assert list(counts.iloc[0]) == ["rain\\.csv\\: rain", "1", "1", "0", "1"]
    wrong = next(t.value for t in at.table if "Expected" in t.value.columns).iloc[0]
    assert (wrong["Where"].replace("\\", ""), wrong["Value"]) == ("rain.csv, row 4, rain_in", "much")
    assert garden.number() == number


def test_good_rows_are_taken_and_the_import_is_taken_back(opened: Open, garden: Book) -> None:
    at = upload(opened("files"), "rain.csv", SHEET)
    press(at, "Store the 1 row that is good")
    assert len(garden.records(Rain)) == 2
    assert "Brought in 1 rain from rain.csv." in words(at)
    press(at, "Undo")
    assert len(garden.records(Rain)) == 1


def test_a_name_the_book_does_not_have_is_told_above_the_button_and_stored(opened: Open, garden: Book) -> None:
    at = upload(opened("files"), "other_use.csv", "start,what,volume_gal,planting\n2026-06-01,hose,20,lawn\n")
    doubt = next(t.value for t in at.table if "Expected" in t.value.columns).iloc[0]
    assert (doubt["Where"].replace("\\", ""), doubt["Value"]) == ("other_use.csv, row 2, planting", "lawn")
    assert list(doubt.index) == ["Where", "Value", "Expected"], "what is expected is in sight on a phone"
    assert "the code of a planting" in doubt["Expected"].replace("\\", "")
    assert "Rows to look at before you store them" in words(at)
    assert "Rows that cannot be taken" not in words(at)
    press(at, "Store 1 row")
    assert [s.record.planting for s in garden.records(OtherUse)][-1:] == ["lawn"]


def test_registers_that_would_run_backwards_wait_for_a_yes(opened: Open, garden: Book) -> None:
    """The garden's last reading is 414,470 gal on 19 July."""
    number = garden.number()
    text = "meter,at,register_value\ncurb,2026-07-20 07:00,41560\n"
    at = upload(opened("files"), "meter_reading.csv", text)
    asked = next(t.value for t in at.table if "Expected" in t.value.columns).iloc[0]
    assert (asked["Where"].replace("\\", ""), asked["Value"]) == ("meter_reading.csv, row 2, register_value", "41560")
    assert "414,470 gal or more, for the book has that on 19 July 2026" in asked["Expected"].replace("\u00a0", " ")
    assert "Nothing is stored without that yes." in words(at)
    assert garden.number() == number
    next(c for c in at.checkbox if c.label.startswith("It is so")).check().run()
    press(at, "Store 1 row")
    assert str(garden.records(MeterReading)[-1].record.register_value) == "41560"


def test_twice_is_once(opened: Open, garden: Book) -> None:
    good = "\n".join(SHEET.splitlines()[:3]) + "\n"
    press(upload(opened("files"), "rain.csv", good), "Store 1 row")
    at = upload(opened("files"), "rain.csv", good)
    assert "There is nothing new to store." in words(at)
    assert len(garden.records(Rain)) == 2


def test_a_file_that_is_no_sheet_is_told_apart(opened: Open) -> None:
    at = opened("files")
    at.file_uploader[0].upload("rain.csv", b"\xff\xfe\x00broken", "text/csv").run()
    assert not at.exception
    assert any("CSV UTF" in str(t.value.to_dict()).replace("\\", "") for t in at.table)


def test_a_name_that_says_no_kind_asks_for_it(opened: Open, garden: Book) -> None:
    at = upload(opened("files"), "from-the-shed.csv", "\n".join(SHEET.splitlines()[:3]))
    at.selectbox[0].set_value("rain").run()
    press(at, "Store 1 row")
    assert len(garden.records(Rain)) == 2


def test_the_export_makes_the_same_book_again(garden: Book, tmp_path: Path) -> None:
    folder = tmp_path / "out"
    zipfile.ZipFile(io.BytesIO(zipped(garden))).extractall(folder)
    again, _ = new_from_folder(tmp_path / "again.rillbook", folder)
    assert [s.record for s in again.records(Rain)] == [s.record for s in garden.records(Rain)]
    assert again.home() == garden.home()


def test_the_backup_is_a_book(garden: Book, tmp_path: Path) -> None:
    copy = tmp_path / "copy.rillbook"
    copy.write_bytes(copied(garden))
    assert Book.open(copy).number() == garden.number()


def test_take_out_and_templates_are_there(opened: Open) -> None:
    at = opened("files")
    assert at.get("download_button")
    at.segmented_control(key="files-what").set_value("out").run()
    assert not at.exception
    assert "The book itself lies at" in words(at)


def test_history_takes_back_and_puts_back(opened: Open, garden: Book) -> None:
    with garden.change("wrote down rain: a test") as change:
        change.remove(garden.records(Rain)[0].id, Rain)
    at = opened("files")
    at.segmented_control(key="files-what").set_value("history").run()
    at.button(key=f"row-back-{change.number}").click().run()
    assert not at.exception
    assert len(garden.records(Rain)) == 1
    assert "Taken back: “Wrote down rain: a test”." in words(at)
    number = garden.number()
    at.button(key=f"row-back-{number}").click().run()
    assert not at.exception
    assert "Stored again: “Wrote down rain: a test”." in words(at)
    assert not garden.records(Rain)


def test_what_rests_on_a_change_is_named_when_it_cannot_be_taken_back(opened: Open, garden: Book) -> None:
    first = garden.change_sets(50)[-2].number
    with garden.change("a reading more") as change:
        stored = garden.records(Rain)[0]
        change.correct(stored.id, stored.record.model_copy(update={"trace": True}))
    at = opened("files")
    at.segmented_control(key="files-what").set_value("history").run()
    at.button(key=f"row-back-{first}").click().run()
    assert not at.exception
    assert at.error

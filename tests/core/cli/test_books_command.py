"""new, export, backup, restore, changes, undo."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from click.testing import Result

from core.book.kinds import MeterReading
from core.book.store import Book
from core.exchange.templates import template

Run = Callable[..., Result]


def folder_of(book: Book, run: Run, name: str) -> dict[str, bytes]:
    folder = book.path.parent / name
    assert run("export", book.path, folder).exit_code == 0
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_folder_makes_a_book_and_comes_out_again(run: Run, garden: Book, tmp_path: Path) -> None:
    run("add", garden.path, "reading", "1000", "--at", "2026-07-13 07:30")
    first = folder_of(garden, run, "one")
    made = run("new", tmp_path / "b.rillbook", "--from", tmp_path / "one", "--json")
    assert made.exit_code == 0, made.output
    assert json.loads(made.stdout)["added"] == 4, "supply, meter, zone and the reading; the home makes the book"
    assert folder_of(Book.open(tmp_path / "b.rillbook"), run, "two") == first
    there = run("export", garden.path, tmp_path / "one")
    assert (there.exit_code, "already holds home.csv" in there.stderr) == (1, True)
    assert run("export", garden.path, tmp_path / "one", "--replace", "--json").exit_code == 0


def test_a_bad_folder_makes_nothing(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "f"
    folder.mkdir()
    (folder / "home.csv").write_text(template("home"))
    (folder / "rain.csv").write_text("start,end,rain_in\n2026-07-20,2026-07-21,wet\n")
    result = run("new", tmp_path / "b.rillbook", "--from", folder)
    assert result.exit_code == 1
    assert result.stderr.startswith("rillbook: rain.csv, row 2, column rain_in: “wet”. Expected a number")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["f"]


def test_new_asks_for_what_is_not_given(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "b.rillbook"
    result = run(
        "new", path, "--units", "metric", "--elevation", "1207m", typed="Maple Row\n39.5\nAmerica/Los_Angeles\n4\n\n"
    )
    assert result.exit_code == 0, result.output
    home = Book.open(path).home()
    assert (home.name, home.latitude, home.timezone, home.display, home.people) == (
        "Maple Row",
        39.5,
        "America/Los_Angeles",
        "metric",
        4,
    )
    assert str(home.elevation) == "1207 m"
    again = run("new", path, "--name", "x")
    assert (again.exit_code, "is there already" in again.stderr) == (1, True)


def test_new_says_which_answer_cannot_be(run: Run, tmp_path: Path) -> None:
    given = ("--name", "B", "--latitude", "91", "--timezone", "America/Denver")
    result = run("new", tmp_path / "b.rillbook", *given)
    assert result.exit_code == 1
    assert "--latitude: “91”. Expected 90 or less. Nothing was stored." in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_new_asks_again_for_an_answer_that_cannot_be(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "b.rillbook"
    result = run("new", path, typed="Maple Row\n95\n39.5\nPacific\nAmerica/Los_Angeles\nfive\n5\n\n\n")
    assert result.exit_code == 0, result.output
    home = Book.open(path).home()
    assert (home.name, home.latitude, home.timezone, home.people) == ("Maple Row", 39.5, "America/Los_Angeles", 5)
    assert "“Pacific” cannot be. Expected a name such as America/Denver." in result.output
    assert "row 2" not in result.output


def test_new_asks_for_units_and_money_and_offers_what_is_usual_there(run: Run, tmp_path: Path) -> None:
    taken = run("new", tmp_path / "a.rillbook", typed="Quinta\n38.7\nEurope/Lisbon\n3\n\n\n")
    assert "Units to show: us (gallons, inches) or metric (litres, mm) [metric]" in taken.output
    assert "Sign of the money, such as $, € or £ [€]" in taken.output
    assert "it shows litres and mm and money in €" in taken.output
    home = Book.open(tmp_path / "a.rillbook").home()
    assert (home.display, home.currency) == ("metric", "€")
    said = run("new", tmp_path / "b.rillbook", typed="Quinta\n38.7\nEurope/Lisbon\n3\ngallons\nus\nEUR\n")
    assert said.exit_code == 0, said.output
    home = Book.open(tmp_path / "b.rillbook").home()
    assert (home.display, home.currency) == ("us", "EUR"), "what a person says goes before the guess"


def test_new_without_questions_guesses_from_the_time_zone_and_says_so(run: Run, tmp_path: Path) -> None:
    given = ("--name", "B", "--latitude", "25", "--timezone")
    for name, zone, currency in (("a", "Europe/London", "£"), ("b", "Asia/Dubai", ""), ("c", "America/Denver", "$")):
        made = run("new", tmp_path / f"{name}.rillbook", *given, zone)
        home = Book.open(tmp_path / f"{name}.rillbook").home()
        assert (home.display, home.currency) == ("us" if currency == "$" else "metric", currency)
        assert f"money {f'in {currency}' if currency else 'without a sign'}." in made.output
    run("new", tmp_path / "d.rillbook", *given, "Europe/London", "--units", "us", "--currency", "€")
    home = Book.open(tmp_path / "d.rillbook").home()
    assert (home.display, home.currency) == ("us", "€")


def test_new_with_all_that_is_needed_asks_nothing(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "b.rillbook"
    assert run("new", path, "--name", "B", "--latitude", "40", "--timezone", "America/Denver").exit_code == 0
    assert Book.open(path).home().people == 2


def test_changes_and_undo(run: Run, garden: Book) -> None:
    run("add", garden.path, "reading", "1000", "--at", "2026-07-13 07:30")
    listed = json.loads(run("changes", garden.path, "--json").stdout)["change_sets"]
    assert [c["change_set"] for c in listed] == [3, 2, 1]
    assert listed[0]["what"] == "wrote down 1,000 gal at curb, 2026-07-13 07:30"
    assert listed[0]["rows"] == {"meter_reading": 1}
    done = run("undo", garden.path)
    assert (done.exit_code, done.stdout) == (
        0,
        "Action 3 is taken back: “wrote down 1,000 gal at curb, 2026-07-13 07:30”.\n",
    )
    assert garden.records(MeterReading) == []
    assert "(taken back by 4)" in run("changes", garden.path).stdout
    put_back = run("undo", garden.path, "4")
    assert put_back.stdout == (
        "Action 4 is taken back, so that its action holds again: "
        "“undid: wrote down 1,000 gal at curb, 2026-07-13 07:30”.\n"
    )
    run("undo", garden.path, "5")
    again = run("undo", garden.path, "3")
    assert again.exit_code == 1
    assert json.loads(run("undo", garden.path, "--json").stdout)["undone"] == 2
    assert run("undo", garden.path).stderr == "rillbook: There is nothing to take back: the book has only just begun.\n"


def test_backup_and_restore(run: Run, garden: Book, tmp_path: Path) -> None:
    copy = tmp_path / "copy.rillbook"
    assert json.loads(run("backup", garden.path, copy, "--json").stdout) == {
        "book": str(garden.path),
        "copy": str(copy),
    }
    assert run("backup", garden.path, copy).exit_code == 1, "a copy is never written over"
    run("add", garden.path, "reading", "1000", "--at", "2026-07-13 07:30")
    kept = run("restore", garden.path, copy, typed="n\n")
    assert (kept.exit_code, len(garden.records(MeterReading))) == (1, 1)
    put_back = run("restore", garden.path, copy, "--yes", "--json")
    assert put_back.exit_code == 0, put_back.output
    assert garden.records(MeterReading) == []
    old = Book.open(json.loads(put_back.stdout)["kept"])
    assert len(old.records(MeterReading)) == 1, "what the book held is kept beside it"


def test_a_backup_into_a_folder_that_is_not_there_makes_nothing(run: Run, garden: Book, tmp_path: Path) -> None:
    """The example of the help is a stick; unplugged, its folder is missing, and a file of its name is no backup."""
    missing = run("backup", garden.path, f"{tmp_path}/stick/")
    assert (missing.exit_code, f"There is no folder {tmp_path}/stick. No copy was made." in missing.stderr) == (1, True)
    assert not (tmp_path / "stick").exists()
    (tmp_path / "stick").write_text("a file")
    assert "is a file, not a folder" in run("backup", garden.path, f"{tmp_path}/stick/").stderr
    (tmp_path / "disk").mkdir()
    made = run("backup", garden.path, f"{tmp_path}/disk/", "--json")
    assert Path(json.loads(made.stdout)["copy"]).parent == tmp_path / "disk"

"""The gate, the first screen, and errors as sentences."""

from __future__ import annotations

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import Home
from core.book.store import Book
from tests.dashboard.conftest import ROOT, Open, words


def app() -> AppTest:
    return AppTest.from_file(str(ROOT / "dashboard" / "app.py"), default_timeout=60)


def test_nothing_of_the_book_shows_before_the_passphrase(garden: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RILLBOOK_BOOK", str(garden.path))
    monkeypatch.setenv("RILLBOOK_PASSPHRASE", "four green gates")
    at = app().run()
    assert "Alder" not in words(at)
    at.text_input[0].input("wrong")
    at.button[0].click().run()
    assert "That is not the passphrase of this book." in words(at)
    assert "Alder" not in words(at)
    at.text_input[0].input("four green gates")
    at.button[0].click().run()
    assert not at.exception
    assert "Alder <b>house</b>" in words(at)


@pytest.mark.parametrize("page", ["write", "garden", "files", "month"])
def test_no_page_opens_without_the_passphrase(garden: Book, monkeypatch: pytest.MonkeyPatch, page: str) -> None:
    monkeypatch.setenv("RILLBOOK_BOOK", str(garden.path))
    monkeypatch.setenv("RILLBOOK_PASSPHRASE", "four green gates")
    at = app()
    at.switch_page(f"views/{page}.py").run()
    assert "Alder" not in words(at)
    assert at.text_input[0].label == "Passphrase"


def test_a_lost_book_is_one_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: object) -> None:
    monkeypatch.setenv("RILLBOOK_BOOK", f"{tmp_path}/nowhere.rillbook")
    at = app().run()
    assert not at.exception
    assert "There is no book at" in words(at)


def test_a_mistake_in_the_program_is_a_sentence_too(opened: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("boom")

    monkeypatch.setattr("dashboard.data.today", broken)
    at = app().run()
    at.switch_page("views/care.py").run()
    assert not at.exception
    assert "Something went wrong inside Rillbook" in words(at)
    assert "boom" not in words(at)


def test_a_stranger_makes_a_book(monkeypatch: pytest.MonkeyPatch) -> None:
    at = app().run()
    assert not at.exception
    assert "Begin my own book" in words(at)
    at.selectbox(key="near").set_value("Reno").run()
    assert at.text_input(key="own-lat").value == "39.5"
    at.text_input(key="own-name").input("Shed *end*")
    at.text_input(key="own-people").input("3")
    at.text_input(key="own-currency").input("CA$")
    path = at.text_input(key="own-path").value
    next(b for b in at.button if b.label == "Make the book").click().run()
    assert not at.exception
    home = Book.open(path).home()
    assert (home.name, home.timezone, home.people) == ("Shed *end*", "America/Los_Angeles", 3)
    assert home.currency == "CA$"
    assert isinstance(home, Home)
    assert "First steps" in words(at)


def test_units_and_money_follow_the_time_zone_until_they_are_changed() -> None:
    at = app().run()
    at.selectbox(key="own-zone").set_value("Europe/Lisbon").run()
    assert (at.radio(key="own-units").value, at.text_input(key="own-currency").value) == ("metric", "€")
    assert at.selectbox(key="own-height-unit").value == "m"
    at.selectbox(key="own-zone").set_value("America/Denver").run()
    assert at.selectbox(key="own-height-unit").value == "ft"
    assert (at.radio(key="own-units").value, at.text_input(key="own-currency").value) == ("us", "$")
    at.selectbox(key="near").set_value("Tucson").run()  # 730 m above the sea are 2,395 ft
    assert (at.text_input(key="own-height").value, at.selectbox(key="own-height-unit").value) == ("2400", "ft")
    at.selectbox(key="near").set_value("Lisbon").run()
    assert (at.radio(key="own-units").value, at.text_input(key="own-currency").value) == ("metric", "€")
    assert (at.text_input(key="own-height").value, at.selectbox(key="own-height-unit").value) == ("80", "m")
    at.text_input(key="own-currency").input("EUR")
    path = at.text_input(key="own-path").value
    next(b for b in at.button if b.label == "Make the book").click().run()
    home = Book.open(path).home()
    assert (home.timezone, home.display, home.currency) == ("Europe/Lisbon", "metric", "EUR")
    assert app().run().segmented_control(key="units").value == "metric"


def test_a_book_is_never_made_over_another_file(monkeypatch: pytest.MonkeyPatch, garden: Book) -> None:
    at = app().run()
    at.selectbox(key="near").set_value("Reno").run()
    at.text_input(key="own-path").input(str(garden.path))
    next(b for b in at.button if b.label == "Make the book").click().run()
    assert "is there already" in words(at)
    assert Book.open(garden.path).home().name.startswith("Alder")


def test_a_latitude_of_another_planet_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    at = app().run()
    at.selectbox(key="near").set_value("Reno").run()
    at.text_input(key="own-lat").input("395")
    next(b for b in at.button if b.label == "Make the book").click().run()
    assert "Latitude lies from -90 to 90" in words(at)
    assert at.text_input(key="own-lat").value == "395"


def test_the_book_remembers_the_units_chosen_at_its_head(garden: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RILLBOOK_BOOK", str(garden.path))
    at = app().run()
    at.segmented_control(key="units").set_value("metric").run()
    assert garden.home().display == "metric"
    assert garden.change_sets(1)[0].what == "chose to show litres, mm"
    again = app().run()
    assert again.segmented_control(key="units").value == "metric", "another day, another browser"
    garden.undo(garden.number())
    again.run()
    assert again.segmented_control(key="units").value == "us", "a window follows what became of its book elsewhere"
    assert garden.change_sets(1)[0].what == "undid: chose to show litres, mm", "following writes nothing"


def test_the_sample_is_opened_put_away_and_a_book_is_opened_by_its_path(garden: Book) -> None:
    at = app().run()
    next(b for b in at.button if b.label == "Open the sample household").click().run()
    assert not at.exception
    assert at.header[0].value == "July 2026"
    assert app().run().header[0].value != "Begin", "a reload comes back to the same book"
    at.switch_page("views/files.py").run()
    at.segmented_control(key="files-what").set_value("out").run()
    at.button(key="put-away").click().run()
    assert not at.exception
    at.text_input(key="open-path").input(str(garden.path))
    next(b for b in at.button if b.label == "Open the book").click().run()
    assert not at.exception
    assert "Alder <b>house</b>" in words(at)


def test_units_chosen_and_chosen_back_leave_earlier_changes_of_the_home_to_be_undone(
    opened: Open, garden: Book
) -> None:
    stored = garden.records(Home)[0]
    with garden.change("three at home") as change:
        change.correct(stored.id, stored.record.model_copy(update={"people": 3}))
    three = garden.number()
    at = opened("month")
    for units in ("metric", "us", "metric", "us"):
        at.segmented_control(key="units").set_value(units).run()
        assert not at.exception
        assert garden.home().display == units
    garden.undo(three)
    assert (garden.home().people, garden.home().display) == (2, "us")

"""What is typed wrong is refused or asked about where it is typed, before it is stored."""

from __future__ import annotations

from core.book.kinds import Home
from core.book.store import Book
from tests.dashboard.conftest import Open, words
from tests.dashboard.test_screen_garden import at_part, field, press


def test_a_last_day_before_frost_with_a_slash_is_refused_beside_its_field(opened: Open, garden: Book) -> None:
    at = at_part(opened, "home")
    at.button(key=f"row-change-home-{garden.records(Home)[0].id}").click().run()
    field(at, "Usual last day before hard frost").input("10/20")  # type: ignore[attr-defined]
    press(at, "Store the change")
    assert "“10/20” is no day of the year. Expected its month and day, such as 10-20 for 20 October." in words(at)
    assert "Put right: Usual last day before hard frost" in words(at)
    assert garden.home().shutdown_due == "10-20"
    field(at, "Usual last day before hard frost").input("")  # type: ignore[attr-defined]
    press(at, "Store the change")
    assert garden.home().shutdown_due == ""

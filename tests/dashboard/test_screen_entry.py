"""What is typed wrong is refused or asked about where it is typed, before it is stored."""

from __future__ import annotations

from datetime import date

import pytest

from core.book.kinds import Home, Pause
from core.book.store import Book
from core.errors import NotFoundError
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


def test_a_pause_offers_the_zones_by_name_and_takes_no_other(opened: Open, garden: Book) -> None:
    at = at_part(opened, "pause")
    which = next(s for s in at.selectbox if s.label.startswith("Which zone"))
    assert which.options == ["all zones", "Quince *hedge*"]
    which.set_value("hedge")
    press(at, "Store")
    assert [s.record.scope for s in garden.records(Pause)] == ["hedge"]
    assert "Quince *hedge* off for" in words(at)
    pots = Pause(scope="pots", since=date(2026, 7, 1))
    with pytest.raises(NotFoundError, match="There is no zone “pots” in the book"), garden.change("off") as change:
        change.add(pots)

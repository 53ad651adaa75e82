"""What is typed wrong is refused or asked about where it is typed, before it is stored."""

from __future__ import annotations

from datetime import date

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import Controller, EmitterGroup, Home, Pause, Planting, Zone
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


def measured(at: AppTest, label: str, number: str, unit: str, symbol: str) -> None:
    field(at, label).input(number)  # type: ignore[attr-defined]
    next(s for s in at.selectbox if s.label.startswith(f"Unit of {label.lower()}")).set_value(unit)
    assert symbol in next(s for s in at.selectbox if s.label.startswith(f"Unit of {label.lower()}")).options


def test_a_shrub_of_36_feet_and_an_emitter_of_2_gpm_are_asked_about(opened: Open, garden: Book) -> None:
    """Hedge shrubs are some feet wide, drip emitters give some litres an hour: common practice, no source."""
    at = at_part(opened, "planting")
    field(at, "Name").input("Quince")  # type: ignore[attr-defined]
    next(s for s in at.selectbox if s.label.startswith("Plant type")).set_value("shrub")
    measured(at, "Width across one plant", "36", "ft", "ft")
    press(at, "Store")
    assert "36 ft across is very wide for one plant of Quince. Is the unit right?" in words(at)
    assert len(garden.records(Planting)) == 1
    press(at, "It is right, store it")
    assert len(garden.records(Planting)) == 2
    assert "Quince in Quince *hedge*: shrub, hedge, rose, 36 ft across, in loam" in words(at)

    at = at_part(opened, "emitter_group")
    there = garden.records(EmitterGroup)[0]
    at.button(key=f"row-change-emitter_group-{there.id}").click().run()
    at.date_input[0].set_value(date(2026, 7, 6))
    measured(at, "Rated flow of one", "2", "gpm", "gpm")
    press(at, "Store the change")
    assert "2 gpm is very much for one emitter: 120.0 gph and 454.2 L/h." in words(at)
    assert len(garden.records(EmitterGroup)) == 1
    press(at, "It is right, store it")
    assert [str(s.record.flow_each) for s in garden.records(EmitterGroup)] == ["1 gph", "2 gpm"]


def test_what_is_usual_is_stored_without_a_question(opened: Open, garden: Book) -> None:
    at = at_part(opened, "planting")
    field(at, "Name").input("Maple")  # type: ignore[attr-defined]
    next(s for s in at.selectbox if s.label.startswith("Plant type")).set_value("tree")
    measured(at, "Width across one plant", "40", "ft", "ft")  # a grown shade tree
    press(at, "Store")
    assert len(garden.records(Planting)) == 2


@pytest.mark.parametrize(("label", "typed", "page"), [("Curb meter shows", "41x", "write"), ("Name", "", "garden")])
def test_what_was_stored_before_is_not_told_above_a_refusal(opened: Open, label: str, typed: str, page: str) -> None:
    at = at_part(opened, "zone") if page == "garden" else opened("write")
    button = "Store" if page == "garden" else "Store the reading"
    field(at, label).input("414600" if page == "write" else "Herbs")  # type: ignore[attr-defined]
    press(at, button)
    assert [s.value for s in at.success if s.value.startswith("Stored")]
    field(at, label).input(typed)  # type: ignore[attr-defined]
    press(at, button)
    assert "Nothing was stored" in at.error[0].value
    assert not at.success
    assert "Undo" not in [b.label for b in at.button]


def test_a_controller_called_controller_is_said_once(opened: Open, garden: Book) -> None:
    with garden.change("another") as change:
        change.add(Controller(code="timer", name="Controller"))
        change.add(Zone(code="herbs", name="Herbs", supply="town", controller="timer"))
    said = words(at_part(opened, "zone"))
    assert "Herbs: Town water, Controller" in said
    assert "controller Controller" not in said
    assert "Quince *hedge*: Town water, controller Shed timer" in said

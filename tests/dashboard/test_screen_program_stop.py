"""The program page of a month that needs nothing: what is set stands there, and is paused or switched off."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import Measured, Normal, Pause, Program
from core.book.store import Book
from tests.dashboard.conftest import Open, words

TOMORROW = date(2026, 7, 21)  # Monday the 20th's run at 05:00 has begun and stays


@pytest.fixture
def rainy(garden: Book) -> Book:
    """The garden, with so much rain in a usual month that its plants need nothing."""
    with garden.change("a wet place") as change:
        for stored in garden.records(Normal):
            wet = stored.record.model_copy(update={"rain": Measured("400", "mm", "depth")})
            change.correct(stored.id, wet)
    return garden


def button(at: AppTest, label: str) -> Any:
    return next(b for b in at.button if b.label.replace("\\", "").startswith(label))


def test_what_is_set_stands_beside_nothing_that_fits(opened: Open, rainy: Book) -> None:
    said = words(opened("program"))
    assert "Nothing needs watering in July, and Quince *hedge* gives" in said
    assert "Nothing. Rain is enough." in said
    assert "Mon, Wed, Fri at 05:00, 60 min" in said
    assert "so all of it is too much" in said


def test_a_pause_is_written_in_one_step_and_taken_back(opened: Open, rainy: Book) -> None:
    at = opened("program")
    assert "Quince *hedge* paused from 21 July 2026 until you switch it on again." in words(at)
    number = rainy.number()
    button(at, "Paused from 21 July 2026").click().run()
    assert not at.exception
    (pause,) = [s.record for s in rainy.records(Pause)]
    assert (pause.scope, pause.since, pause.until, pause.reason) == ("hedge", TOMORROW, None, "rain")
    said = words(at)
    assert "Stored: Quince *hedge* paused from 21 July 2026 on." in said
    assert "Paused from 21 July 2026 until you switch it on again." in said, "and it stands beside what is set"
    assert "gives" not in said, "what is paused gives nothing"
    assert "too much" not in said
    assert "Every zone that has a program is paused already" in said, "so there is nothing to press"
    assert not [b for b in at.button if b.key == "stop-it"]
    at.button(key=f"undo-{number + 1}").click().run()
    assert not rainy.records(Pause)


def test_a_pause_with_its_end(opened: Open, rainy: Book) -> None:
    at = opened("program")
    at.date_input(key="stop-day").set_value(date(2026, 7, 22)).run()
    at.date_input(key="stop-until").set_value(date(2026, 8, 3)).run()
    button(at, "Paused from 22 July 2026").click().run()
    (pause,) = [s.record for s in rainy.records(Pause)]
    assert (pause.since, pause.until) == (date(2026, 7, 22), date(2026, 8, 3))
    at.date_input(key="stop-until").set_value(date(2026, 7, 22)).run()
    assert not at.exception


def test_switching_off_ends_the_program_and_undo_brings_it_back(opened: Open, rainy: Book) -> None:
    at = opened("program")
    at.segmented_control(key="stop-how").set_value("off").run()
    assert "Quince *hedge*: Mon, Wed, Fri at 05:00, 60 min ends on 21 July 2026." in words(at)
    number = rainy.number()
    button(at, "Switched off from 21 July 2026").click().run()
    assert [s.record.until for s in rainy.records(Program)] == [TOMORROW]
    assert "Ends on 21 July 2026." in words(at)
    assert "gives" not in words(at)
    at.button(key=f"undo-{number + 1}").click().run()
    assert [s.record.until for s in rainy.records(Program)] == [None]


def test_in_a_month_that_needs_water_no_zone_is_chosen_beforehand(opened: Open, garden: Book) -> None:
    at = opened("program")
    assert "Pause or switch off" in words(at)
    assert at.pills(key="stop-zones-7").value == []
    assert not any(b.label.startswith("Paused from") for b in at.button)


def test_what_to_do_next_leads_here(opened: Open, rainy: Book) -> None:
    with rainy.change("runs every day") as change:
        stored = rainy.records(Program)[0]
        change.correct(stored.id, stored.record.model_copy(update={"days": "daily", "minutes": 240.0}))
    at = opened("month", month="2026-07")
    (link,) = [e for e in at.get("page_link") if "still set to give" in e.proto.label]
    assert "needs no watering in July" in link.proto.label
    assert "program" in link.proto.page


def test_what_is_paused_gives_nothing_in_a_month_that_needs_water(opened: Open, garden: Book) -> None:
    with garden.change("a repair") as change:
        change.add(Pause(scope="all", since=TOMORROW, reason="repair"))
    said = words(opened("program"))
    assert "; what is set is paused." in said
    assert "As set now they give" not in said
    assert "**Risk.** As set now" not in said


def test_a_pause_of_some_days_leaves_what_is_set_in_the_month(opened: Open, garden: Book) -> None:
    with garden.change("a repair") as change:
        change.add(Pause(scope="all", since=TOMORROW, until=date(2026, 7, 24), reason="repair"))
    assert "what is set is paused" not in words(opened("program"))


def test_a_pause_is_ended_where_it_was_written(opened: Open, rainy: Book) -> None:
    with rainy.change("rain") as change:
        change.add(Pause(scope="hedge", since=date(2026, 7, 6), reason="rain"))
    at = opened("program")
    assert "Every zone that has a program is paused already" in words(at)
    assert at.date_input(key="stop-on").value == date(2026, 7, 20)
    assert "Quince *hedge* on again on 20 July 2026; paused since 6 July 2026." in words(at)
    button(at, "On again from 20 July 2026").click().run()
    assert not at.exception
    (pause,) = [s.record for s in rainy.records(Pause)]
    assert pause.until == date(2026, 7, 20)
    assert "Stored: Quince *hedge* on again from 20 July 2026 on." in words(at)

"""The page of fitting programs, going away, and what the plants page tells, held against what is stored."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import EmitterGroup, FactorMonth, Normal, Planting, Program, Run, Zone
from core.book.store import Book
from core.days import parse_moment
from tests.dashboard.conftest import DENVER, Open, words


def programs(book: Book) -> list[Program]:
    return [s.record for s in book.records(Program)]


def button(at: AppTest, label: str) -> Any:
    return next(b for b in at.button if b.label.replace("\\", "").startswith(label))


def specs(at: AppTest) -> list[dict[str, Any]]:
    return [json.loads(c.proto.spec) for c in at.get("vega_lite_chart")]


def test_the_program_that_fits_stands_beside_the_one_set(opened: Open) -> None:
    at = opened("program")
    said = words(at)
    assert at.header[0].value == "A program that fits"
    assert "As set now" in said
    assert "Mon, Wed, Fri at 05:00, 60 min" in said
    assert "Programs that fit give" in said
    assert "Quince *hedge*" in said, "names stand as they were typed"
    beside = specs(at)[0]
    assert "what fits" in str(beside["description"])


def test_the_use_button_writes_what_was_shown_and_undo_takes_it_back(opened: Open, garden: Book) -> None:
    at = opened("program")
    shown = next(m.value for m in at.markdown if "Changed on" in m.value).replace("\\", "")
    assert "Changed on 20 July 2026: Quince *hedge*" in shown
    number = garden.number()
    button(at, "Use this from 20 July 2026").click().run()
    assert not at.exception
    assert garden.number() == number + 1
    old, new = programs(garden)
    assert (old.until, new.since) == (date(2026, 7, 20), date(2026, 7, 20))
    for start in new.starts.split():
        assert start in shown
    assert f"{new.minutes:g}\u00a0min" in shown
    assert "Stored: Quince *hedge* set to what fits from 20 July 2026" in words(at)
    at.button(key=f"undo-{number + 1}").click().run()
    assert programs(garden) == [old.model_copy(update={"until": None})]
    assert "Taken back" in words(at)


def test_nothing_is_offered_twice(opened: Open, garden: Book) -> None:
    at = opened("program")
    button(at, "Use this from").click().run()
    number = garden.number()
    again = button(at, "Nothing would change")
    assert again.disabled
    assert garden.number() == number


def test_another_day(opened: Open, garden: Book) -> None:
    at = opened("program")
    at.date_input(key="use-day-7").set_value(date(2026, 8, 3)).run()
    assert "Changed on 3 August 2026" in words(at)
    button(at, "Use this from 3 August 2026").click().run()
    assert programs(garden)[-1].since == date(2026, 8, 3)


def test_what_changed_meanwhile_is_not_overwritten(opened: Open, garden: Book) -> None:
    at = opened("program")
    stored = garden.records(Program)[0]
    with garden.change("somebody else") as change:
        change.correct(stored.id, stored.record.model_copy(update={"minutes": 45.0}))
    button(at, "Use this from").click().run()
    assert not at.exception
    assert [p.minutes for p in programs(garden)] == [45.0]
    assert "has changed since this was shown" in words(at)
    assert "before that Mon, Wed, Fri at 05:00, 45 min" in words(at), "and it is shown anew"
    button(at, "Use this from").click().run()
    assert len(programs(garden)) == 2


@pytest.mark.parametrize(("basis", "said"), [("dry", "A dry spell"), ("recent", "stands in")])
def test_made_for_other_weather(opened: Open, basis: str, said: str) -> None:
    at = opened("program")
    at.session_state["program-basis"] = basis
    at.run()
    assert not at.exception
    assert said in words(at)


def test_another_month_and_the_year(opened: Open) -> None:
    at = opened("program")
    at.selectbox(key="program-month").set_value(1).run()
    assert "The system is usually shut down then." in words(at)
    assert "There is no program to write down for this month." in words(at)
    at.toggle(key="program-year").set_value(True).run()
    assert not at.exception
    year = next(t.value for t in at.table if "Month" in t.value)
    assert list(year["Month"])[:2] == ["July", "August"]
    assert len(year) == 12


def test_metric_for_the_whole_screen(opened: Open) -> None:
    at = opened("program")
    assert " gal " in words(at)
    at.session_state["units"] = "metric"
    at.run()
    said = words(at)
    assert " L " in said
    assert " gal" not in said


def test_going_away(opened: Open) -> None:
    at = opened("program")
    assert "Away Tue 21 July to Thu 30 July" in words(at)
    at.number_input(key="away-days").set_value(3).run()
    at.date_input(key="away-start").set_value(date(2026, 7, 25)).run()
    said = words(at)
    assert "Away Sat 25 July to Mon 27 July" in said
    assert "Quinces: " in said
    assert any("One row for each planting" in str(s["description"]) for s in specs(at)) or "never short" in said


def test_a_trip_too_far_ahead_is_said(opened: Open) -> None:
    at = opened("program")
    at.session_state["away-start"] = date(2026, 7, 20) + timedelta(days=300)
    at.run()
    assert not at.exception
    assert "can be looked at from" in words(at) or "Away" in words(at)


def test_a_book_without_weather_says_what_to_write_down(opened: Open, garden: Book) -> None:
    with garden.change("no normals") as change:
        for stored in change.records(Normal):
            change.remove(stored.id, Normal)
    at = opened("program")
    assert "Nothing is known of the weather in July" in words(at)


def test_a_book_without_plants_says_what_to_write_down(opened: Open, garden: Book) -> None:
    with garden.change("no plants") as change:
        for kind in (EmitterGroup, Planting):  # what names a planting holds it
            for stored in change.records(kind):
                change.remove(stored.id, kind)
    at = opened("program")
    assert "once the zones, their plants and the controller are in the book" in words(at)


def test_a_zone_that_cannot_be_worked_out_says_why(opened: Open, garden: Book) -> None:
    with garden.change("another zone") as change:
        change.add(Zone(code="slope", name="Slope", supply="town", controller="shed"))
        change.add(
            garden.records(Planting)[0].record.model_copy(update={"zone": "slope", "code": "sage", "name": "Sage"})
        )
    assert "Its flow is not known. Write down its emitters, or a flow test." in words(opened("program"))


# the plants page


def test_the_plants_page_links_missed_days_and_dry_days(opened: Open, garden: Book) -> None:
    with garden.change("a dead battery") as change:
        for day in (13, 15, 17):
            at = parse_moment(f"2026-07-{day}", DENVER)
            change.add(Run(zone="hedge", at=at, ran=False, why="battery"))
    said = words(opened("plants", month="2026-07"))
    assert "Quince *hedge* missed Mon 13, Wed 15 and Fri 17 July: " in said


def test_each_planting_has_its_need_and_what_became_of_it(opened: Open) -> None:
    at = opened("plants", month="2026-07")
    need, became = at.table[1].value, at.table[2].value
    assert list(need)[:4] == ["Plants", "A day", "Each a day", "Need"]
    assert list(became)[:5] == ["Plants", "Given", "Drained of it", "Too much", "Lacking"]
    assert "Quinces" in str(need.iloc[0]["Plants"])
    each, whole = (float(str(need.iloc[0][c]).replace("\\", "").split("\u00a0")[0]) for c in ("Each a day", "A day"))
    assert each == pytest.approx(whole / 8, abs=0.05)  # eight plants


def test_a_factor_of_ones_own_for_the_month(opened: Open, garden: Book) -> None:
    at = opened("plants", month="2026-07")
    before = str(at.table[1].value.iloc[0]["A day"])
    factor = next(t for t in at.text_input if t.label.startswith("Plant factor"))
    reason = next(t for t in at.text_input if t.label == "Why")
    factor.set_value("0,25")
    reason.set_value("")
    button(at, "Store for July").click().run()
    assert "Enter why" in words(at)
    assert garden.records(FactorMonth) == []
    next(t for t in at.text_input if t.label == "Why").set_value("old and dry")
    button(at, "Store for July").click().run()
    (stored,) = garden.records(FactorMonth)
    assert (stored.record.zone, stored.record.planting, stored.record.month) == ("hedge", "quince", 7)
    assert (stored.record.factor, stored.record.reason) == (0.25, "old and dry")
    assert str(at.table[1].value.iloc[0]["A day"]) != before
    assert "0.25, your own" in str(at.table[1].value.iloc[0]["Plant factor"]).replace("\\", "")


@pytest.mark.parametrize("typed", ["", "lots", "3", "-1"])
def test_a_factor_that_cannot_be_is_refused(opened: Open, garden: Book, typed: str) -> None:
    at = opened("plants", month="2026-07")
    next(t for t in at.text_input if t.label.startswith("Plant factor")).set_value(typed)
    next(t for t in at.text_input if t.label == "Why").set_value("because")
    button(at, "Store for July").click().run()
    assert not at.exception
    assert "Nothing was stored" in words(at) or "Enter the plant factor" in words(at)
    assert garden.records(FactorMonth) == []

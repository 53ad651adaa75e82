"""Leak hunt: first reading kept while the wait runs, tests stored, taken back, and the leak named at the end."""

from __future__ import annotations

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from core.book.kinds import Controller, Home, LeakTest
from core.book.store import Book
from tests.dashboard import invented
from tests.dashboard.conftest import Open, words


def press(at: AppTest, label: str) -> AppTest:
    """The button of the open step: the one that stands out, or the only one."""
    found = [b for b in at.button if b.label == label]
    shown = [b for b in found if b.proto.type == "primary"] or found
    shown[0].click().run()
    assert not at.exception
    return at


def register(at: AppTest, key: str, value: str) -> None:
    box = next(t for t in at.text_input if str(t.key).startswith(key) and str(t.key).endswith(".register"))
    box.input(value)


def take(
    at: AppTest, step: str, before: str, after: str, monkeypatch: pytest.MonkeyPatch, clock: tuple[str, str]
) -> None:
    """One step: first reading at one time of 20 July, second at another."""
    monkeypatch.setenv("RILLBOOK_AS_OF", f"2026-07-20T{clock[0]}:00-06:00")
    at.run()
    register(at, f"first-{step}", before)
    press(at, "Begin the wait")
    monkeypatch.setenv("RILLBOOK_AS_OF", f"2026-07-20T{clock[1]}:00-06:00")
    at.run()
    register(at, f"second-{step}", after)
    press(at, "Store this test")


def test_it_begins_with_what_has_to_rest(opened: Open, garden: Book) -> None:
    home = garden.records(Home)[0]
    with garden.change("drinks") as change:
        change.correct(home.id, home.record.model_copy(update={"drinks": "softener, <b>pond</b>"}))
    said = words(opened("hunt"))
    assert "Nothing is tested yet. Begin with everything off." in said
    assert "Water softener: set it to bypass" in said
    assert "<b>pond</b>: off, and its water shut." in said, "what was typed is shown as it stands"
    assert "In that time this register is sure to show 0.50 gph (12 gal a day) or more; a slower leak" in said
    assert "The meter is the utility's: read it, and leave the rest alone." in said


def test_the_first_reading_is_kept_while_the_wait_runs(
    opened: Open, garden: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = opened("hunt")
    number = garden.number()
    register(at, "first-off", "414600")
    press(at, "Begin the wait")
    said = words(at)
    assert "The first wait is on: leave everything off." in said
    assert "First reading: 414,600 on 20 July 2026, 18:00." in said
    assert "Wait 2 h, until 20:00" in said
    assert garden.number() == number, "half a test does not go into the book"
    kept = {name: value if isinstance(value, str) else value[0] for name, value in at.query_params.items()}
    assert kept == {"meter": "curb", "step": "off", "before": "414600", "since": "2026-07-20 18:00-06:00"}
    again = opened("hunt", **kept)
    assert "First reading: 414,600 on 20 July 2026, 18:00." in words(again), "the same address goes on with it"
    st.cache_resource.clear()  # as a server that was stopped has nothing in its memory
    elsewhere = opened("hunt")
    assert "First reading: 414,600 on 20 July 2026, 18:00." in words(elsewhere), "and so does another window"
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-08-04T18:00:00-06:00")
    assert "First reading" not in words(opened("hunt")), "two weeks later nobody knows what ran in between"
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-07-20T20:00:00-06:00")
    assert "The first wait is over: read the register again." in words(again.run())
    press(again, "Begin this step again")
    assert "First reading" not in words(again)
    assert "First reading" not in words(opened("hunt"))


def test_a_leak_is_followed_into_the_house(opened: Open, garden: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    at = opened("hunt")
    take(at, "off", "414600", "414607", monkeypatch, ("08:00", "10:00"))
    assert "Water moves with everything off: 3.0 to 4.0 gph." in words(at)
    assert "A round hole about" in words(at)
    take(at, "house", "414607", "414607", monkeypatch, ("10:00", "10:30"))
    assert "so inside the house, unless the drip line takes its water there" in words(at)
    take(at, "manifold", "414607", "414609", monkeypatch, ("10:40", "11:10"))
    said = words(at)
    assert "the leak is inside the house." in said
    assert "Put a few drops of food colour into the tank" in said
    shut = [(s.record.shut, s.record.zone, s.record.duration.base) for s in garden.records(LeakTest)]
    assert shut == [("nothing", None, 120.0), ("house", None, 30.0), ("manifold", None, 30.0)]


def test_it_goes_on_another_day_where_it_was_left(opened: Open, garden: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    take(opened("hunt"), "off", "414600", "414612", monkeypatch, ("08:00", "10:00"))
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-07-22T09:00:00-06:00")
    at = opened("hunt")
    assert "Water moves with everything off: 5.5 to 6.5 gph." in words(at)
    assert [e.label for e in at.expander if e.proto.expanded] == ["○  2. Shut the house valve\\: read, wait, read"]


def test_a_test_is_taken_back(opened: Open, garden: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    at = opened("hunt")
    take(at, "off", "414600", "414600", monkeypatch, ("08:00", "10:00"))
    assert "there is no leak above 0.50 gph (12 gal a day)" in words(at)
    assert "To hunt anew, test with everything off again" in words(at)
    press(at, "Undo")
    assert not garden.records(LeakTest)
    assert "Nothing is tested yet" in words(at)


@pytest.mark.parametrize(
    ("after", "said"),
    [
        ("414590", "lower than the first"),
        ("4146000", "more than a home's meter can pass"),
        ("", "Enter what the register shows."),
        ("41x", "is not a number"),
    ],
)
def test_a_second_reading_that_cannot_be_is_refused_and_the_wait_goes_on(
    opened: Open, garden: Book, monkeypatch: pytest.MonkeyPatch, after: str, said: str
) -> None:
    at = opened("hunt")
    take(at, "off", "414600", after, monkeypatch, ("08:00", "10:00"))
    assert said in words(at)
    assert "First reading: 414,600" in words(at)
    assert not garden.records(LeakTest)


def test_an_odd_first_reading_is_asked_about(opened: Open) -> None:
    at = opened("hunt")
    register(at, "first-off", "414060")
    press(at, "Begin the wait")
    assert "It is lower than the last reading, 414,470 gal" in words(at)


def test_a_run_within_the_wait_is_told(opened: Open, garden: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """20 July 2026 is a Monday; the hedge runs at 05:00 on a clock that is left on winter time."""
    with garden.change("nobody sets it") as change:
        box = change.records(Controller)[0]
        change.correct(box.id, box.record.model_copy(update={"follows_dst": False}))
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-07-20T05:30:00-06:00")
    at = opened("hunt")
    register(at, "first-off", "414600")
    press(at, "Begin the wait")
    assert "these run within the wait: Quince *hedge* at 06:00. Set the controller to off first." in words(at)


def test_a_suspected_leak_says_how_long_to_wait(opened: Open) -> None:
    said = words(opened("hunt", seek="1.0"))
    assert "The readings suggest a leak of about 0.26 gph. This register is sure to show it after 3 h 47 min;" in said
    assert "Wait 10 h for this step." in said, "three gallons at 0.264 gph are 11.4 hours, longer than a night"


def test_the_leak_looked_for_is_not_forgotten_while_waiting(
    opened: Open, garden: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = opened("hunt", seek="1.0")
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-07-20T08:00:00-06:00")
    at.run()
    register(at, "first-off", "414600")
    press(at, "Begin the wait")
    assert at.query_params["seek"] in ("1.0", ["1.0"])
    assert "Wait 10 h, until 18:00" in words(at)
    assert "Wait 10 h, until 18:00" in words(opened("hunt")), "nor in another window"
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-07-20T10:00:00-06:00")
    at.run()
    register(at, "second-off", "414600")
    press(at, "Store this test")
    assert "The readings suggest one of about 0.26 gph, which that wait was too short to show." in words(at)
    assert "there is no leak above" not in words(at)


def test_a_leak_the_readings_suggest_is_looked_for_from_every_way_in(
    opened: Open, garden: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not only by the link of its card: the meter's page led to a wait of two hours, which could not show it."""
    leak = invented.finding(kind="steady", until=None, rate_lph=1.0, meter="curb")
    gone, shut = (
        invented.finding(kind=k, rate_lph=9.0, until=u) for k, u in (("steady", leak.since), ("one_off", None))
    )
    monkeypatch.setattr("dashboard.data.findings", lambda _book, _meter: (gone, leak, shut))
    said = words(opened("hunt"))
    assert "The readings suggest a leak of about 0.26 gph." in said
    assert "Wait 10 h for this step." in said


def test_a_hunt_that_is_over_is_told_where_the_next_begins(
    opened: Open, garden: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = opened("hunt")
    take(at, "off", "414600", "414607", monkeypatch, ("08:00", "10:00"))
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-08-20T09:00:00-06:00")
    said = words(opened("hunt"))
    assert "The hunt of 20 July 2026: Water moves with everything off: 3.0 to 4.0 gph." in said
    assert "It is too old to go on with. To hunt anew, begin with everything off." in said
    assert "Nothing is tested yet" not in said


def test_units_follow_the_reader(opened: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    at = opened("hunt")
    take(at, "off", "414600", "414607", monkeypatch, ("08:00", "10:00"))
    at.segmented_control(key="units").set_value("metric").run()
    assert "Water moves with everything off: 11.4 to 15.1 L/h." in words(at), "3 and 4 gal/h at 3.785 L"


def test_what_could_hide_stands_beside_the_meters_chart(opened: Open) -> None:
    at = opened("meter")
    said = words(at)
    assert said.count("can hide for") >= 1
    assert "Meters under-read very low flows. Small ones are tested down to 15 gph" in said
    assert "Look for a leak with the meter, one valve at a time" in [e.proto.label for e in at.get("page_link")]

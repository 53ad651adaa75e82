"""Care and season: due care, tasks on offer, and a shutdown walked, left, resumed and finished."""

from __future__ import annotations

from datetime import date

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import ChecklistStep, Home, Measured, Normal, Pause, Task, Upkeep, Weather
from core.book.store import Book
from tests.dashboard.conftest import Open, words


def press(at: AppTest, label: str, nth: int = 0) -> None:
    [b for b in at.button if b.label == label][nth].click().run()
    assert not at.exception


def open_step(at: AppTest) -> str:
    """Key of the first step nothing was said about yet: its Done button stands out."""
    first = next(b for b in at.button if b.label.startswith("Done") and b.key and b.key.startswith("done-shutdown"))
    return str(first.key)


def test_due_care_is_done_with_one_button(opened: Open, garden: Book) -> None:
    at = opened("care")
    assert "Rinse the filter: not written down yet." in words(at)
    assert "Shut the water first." in words(at)
    button = at.button(key="row-done-rinse")
    assert button.label == "Done:small[ Rinse the filter]", "heard, it says of what; seen, the row does"
    button.click().run()
    done = garden.latest(Upkeep, 1)[0].record
    assert (done.task, str(done.day)) == ("rinse", "2026-07-20")
    assert "Rinse the filter: not written down yet." not in words(at)
    press(at, "Undo")
    assert not garden.records(Upkeep)


def test_tasks_that_fit_are_offered_and_taken(opened: Open, garden: Book) -> None:
    at = opened("care")
    offered = [c for c in at.checkbox if str(c.key).startswith("offer-")]
    assert len(offered) > 3
    offered[0].uncheck()
    before = len(garden.records(Task))
    press(at, "Take these on")
    assert len(garden.records(Task)) == before + len(offered) - 1


@pytest.fixture
def autumn(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-10-25T10:00:00-06:00")


def test_a_shutdown_is_walked_half_way_left_resumed_and_finished(opened: Open, garden: Book, autumn: None) -> None:
    at = opened("care")
    assert "5 days past 20 October" in words(at)
    assert "Water under pressure throws fittings" in words(at), "the usual caution stands beside the step"
    keys = [str(b.key) for b in at.button if b.label.startswith("Done") and str(b.key).startswith("done-shutdown")]
    assert len(keys) > 5
    at.button(key=keys[0]).click().run()
    assert not at.exception
    at.button(key=keys[1].replace("done-", "not_needed-")).click().run()
    assert len(garden.records(ChecklistStep)) == 2
    assert not [b for b in at.button if b.label == "Finish the shutdown"]

    again = opened("care")
    assert any("2 of" in str(p.proto.text) for p in again.get("progress")), "it goes on where it stopped"
    skipped = keys[2].replace("done-", "skipped-")
    again.button(key=skipped).click().run()
    assert "say why" in words(again)
    assert len(garden.records(ChecklistStep)) == 2
    again.text_input(key=keys[2].replace("done-", "why-")).input("frozen shut")
    again.button(key=skipped).click().run()
    assert garden.latest(ChecklistStep, 1)[0].record.why == "frozen shut"
    for key in keys[3:]:
        again.button(key=key).click().run()
        assert not again.exception
    assert "it remains to finish it" in words(again)
    assert "[Finish it](#shutdown-and-start-up)" in words(again), "the finish stands above the long list of steps"
    press(again, "Finish the shutdown")
    winter = garden.records(Pause)[0].record
    assert (winter.scope, winter.reason, str(winter.since)) == ("all", "winter", "2026-10-25")
    assert "Shut down from" in words(again)
    press(again, "Undo")
    assert not garden.records(Pause)


def test_a_step_can_be_said_anew(opened: Open, garden: Book, autumn: None) -> None:
    at = opened("care")
    key = open_step(at)
    at.button(key=key).click().run()
    at.button(key=key.replace("done-", "not_needed-")).click().run()
    steps = garden.records(ChecklistStep)
    assert [s.record.state for s in steps] == ["not_needed"]


def test_each_field_and_button_of_a_row_is_heard_with_its_own_name(opened: Open, garden: Book, autumn: None) -> None:
    """WCAG 2.2, 2.4.6: a label describes its purpose, also for who hears the page and does not see the row."""
    with garden.change("another task") as change:
        change.add(Task(code="battery", name="Change the battery", every_days=365))
    at = opened("care")
    names = [t.label for t in at.text_input] + [d.label for d in at.date_input if d.label.startswith("Day\n")]
    names += [b.label for b in at.button if str(b.key).startswith(("done-", "not_needed-", "skipped-"))]
    assert len(set(names)) == len(names) > 20
    assert {"Day\n\nRinse the filter", "Note (optional)\n\nChange the battery"} <= set(names)


def as_in_tucson(garden: Book) -> None:
    """No frost day, and mean lowest temperatures of 40 to 75 °F (invented, near those of Tucson)."""
    months = (40, 42, 46, 52, 60, 69, 75, 74, 69, 58, 47, 40)
    with garden.change("a mild place") as change:
        for stored in change.records(Normal):
            change.remove(stored.id, Normal)
        home = change.records(Home)[0]
        change.correct(home.id, home.record.model_copy(update={"shutdown_due": "", "startup_due": ""}))
        for month, low in enumerate(months, 1):
            change.add(Normal(month=month, tmin=Measured(str(low), "f", "temperature")))


def test_where_no_hard_freeze_is_known_the_whole_shutdown_is_not_asked_for(opened: Open, garden: Book) -> None:
    as_in_tucson(garden)
    at = opened("care")
    said = words(at)
    assert "No hard freeze is on record here and none is usual, so no shutdown is asked for." in said
    assert "follow the forecast and what is done where you live" in said
    assert "Cover outlets, fixed valves and pipe above ground" in said
    assert "Rillbook is no freeze alarm" in said, "the usual caution stands beside it"
    assert not [b for b in at.button if str(b.key).startswith("done-shutdown")]
    at.toggle(key="whole-list").set_value(True).run()
    assert len([b for b in at.button if str(b.key).startswith("done-shutdown")]) > 5


@pytest.mark.parametrize("low", ["28", "20"])
def test_one_hard_freeze_on_record_brings_the_list_back(opened: Open, garden: Book, low: str) -> None:
    """A hard freeze is 28 °F or below (National Weather Service)."""
    as_in_tucson(garden)
    with garden.change("a cold night") as change:
        change.add(Weather(station="yard", day=date(2026, 1, 12), tmin=Measured(low, "f", "temperature")))
    assert [b for b in opened("care").button if str(b.key).startswith("done-shutdown")]

"""Care over a real book: a shutdown walked half way, left, taken up, finished, undone; a start-up that ends it."""

from __future__ import annotations

from datetime import date

import pytest

from core.book.kinds import ChecklistStep, Measured, MeterReading, Pause, Task, Upkeep, Weather
from core.book.store import Book
from core.care.checklist import Checklist, fulfilled, settle
from core.care.keeping import (
    care_of,
    finish,
    installed_on,
    offered_tasks,
    open_checklist,
    propose,
    season_of,
    take_tasks,
    write_step,
)
from core.errors import EntryError
from tests.core.care.parts import HOME, garden

OCTOBER = date(2026, 10, 14)


@pytest.fixture
def kept(tmp_path) -> Book:  # type: ignore[no-untyped-def]
    """The invented garden in a book, with the tasks on offer."""
    book = Book.create(tmp_path / "alder.rillbook", HOME)
    parts = garden()
    with book.change("set up the garden") as change:
        for record in (*parts.supplies, *parts.meters, *parts.controllers, *parts.zones, *parts.plantings):
            change.add(record)
    take_tasks(book, [offer.task for offer in offered_tasks(book, OCTOBER)])
    return book


def walk(book: Book, season: str, year: int, day: date, limit: int | None = None) -> Checklist:
    """Mark open steps done, the first ``limit`` of them."""
    so_far = open_checklist(book, season, year, day)  # type: ignore[arg-type]
    for step in so_far.open_steps[:limit]:
        write_step(book, settle(so_far, step, "done", day))
    return open_checklist(book, season, year, day)  # type: ignore[arg-type]


def test_what_is_installed_comes_out_of_the_book(kept: Book) -> None:
    found = installed_on(kept, OCTOBER)
    assert [z.code for z in found.valves] == ["edge", "tubs"]
    assert {s.code for s in found.supplies} == {"main", "butt"}
    assert found.parts("battery") == [("timer", "faucet timer")]


def test_tasks_taken_are_not_offered_again(kept: Book) -> None:
    assert len(kept.records(Task)) > 5
    assert offered_tasks(kept, OCTOBER) == []
    assert take_tasks(kept, [kept.records(Task)[0].record]) is None


def test_a_shutdown_is_left_taken_up_finished_and_undone(kept: Book) -> None:
    half = walk(kept, "shutdown", 2026, OCTOBER, limit=3)
    assert half.progress.done == 3
    begun = season_of(kept, date(2026, 10, 15))
    assert (begun.state, begun.settled) == ("between", False)
    with pytest.raises(EntryError, match="still open"):
        propose(kept, half)

    whole = walk(Book.open(kept.path), "shutdown", 2026, date(2026, 10, 17))
    assert whole.open_steps == ()
    state = season_of(kept, date(2026, 10, 18))
    assert (state.state, state.watering, state.settled) == ("between", True, True)
    assert state.sentence == "All steps of the shutdown of 2026 are settled; it remains to finish it."
    before = kept.number()
    number = finish(kept, propose(kept, whole))
    assert number == before + 1
    (pause,) = [s.record for s in kept.records(Pause)]
    assert (pause.scope, pause.since, pause.until, pause.reason) == ("all", OCTOBER, None, "winter")
    assert [(s.record.task, s.record.day) for s in kept.records(Upkeep)] == [("rinse-filter", date(2026, 10, 17))]
    assert season_of(kept, date(2026, 11, 25)).state == "shut_down"
    assert [i.task for i in care_of(kept, date(2026, 11, 25)) if i.task in ("shutdown", "startup")] == []

    kept.undo(number)
    assert kept.records(Pause) == []
    assert kept.records(Upkeep) == []
    assert open_checklist(kept, "shutdown", 2026, OCTOBER).open_steps == ()


def test_a_startup_ends_the_winter_and_writes_the_care_done(kept: Book) -> None:
    finish(kept, propose(kept, walk(kept, "shutdown", 2026, OCTOBER)))
    spring = date(2027, 4, 18)
    assert season_of(kept, spring).list_season == "startup"
    finish(kept, propose(kept, walk(kept, "startup", 2027, spring)))
    assert [(s.record.since, s.record.until) for s in kept.records(Pause)] == [(OCTOBER, spring)]
    done = {s.record.task for s in kept.records(Upkeep) if s.record.day == spring}
    assert done == {"rinse-filter", "change-batteries", "flush-lines", "check-emitters", "clock"}
    state = season_of(kept, date(2027, 4, 19))
    assert (state.state, state.since) == ("watering", spring)


def test_a_step_that_is_a_task_counts_at_once_also_under_a_name_of_ones_own(kept: Book) -> None:
    """Batteries last changed in 2023; the step of the start-up is done, the list not finished."""
    spring = date(2027, 4, 18)
    task = kept.find(Task, "change-batteries")
    assert task is not None
    with kept.change("named it otherwise") as change:
        change.remove(task.id, Task)
        change.add(Task(code="batteries", name="Change the batteries", every_days=365))
        change.add(Upkeep(task="batteries", day=date(2023, 4, 12)))
        change.add(Task(code="filter", name="Look for the filter's spare parts", every_days=365))
    assert "change-batteries" not in {o.task.code for o in offered_tasks(kept, spring)}, "nor is it offered again"
    finish(kept, propose(kept, walk(kept, "shutdown", 2026, OCTOBER)))
    assert "batteries" in {item.task for item in care_of(kept, spring)}
    so_far = open_checklist(kept, "startup", 2027, spring)
    step = next(s for s in so_far.steps if s.kind.code == "batteries-in")
    write_step(kept, settle(so_far, step, "done", spring))
    assert "batteries" not in {item.task for item in care_of(kept, spring)}
    finish(kept, propose(kept, walk(kept, "startup", 2027, spring)))
    done = {s.record.task for s in kept.records(Upkeep) if s.record.day == spring}
    assert "batteries" in done
    assert "filter" not in done


def test_a_task_done_zone_by_zone_waits_for_the_last_of_them(kept: Book) -> None:
    finish(kept, propose(kept, walk(kept, "shutdown", 2026, OCTOBER)))
    spring = date(2027, 4, 18)
    so_far, tasks = open_checklist(kept, "startup", 2027, spring), [s.record for s in kept.records(Task)]
    flushes = [s for s in so_far.steps if s.kind.code == "flush"]
    assert len(flushes) > 1
    for place, step in enumerate(flushes, 1):
        write_step(kept, settle(so_far, step, "done", spring))
        done = fulfilled(open_checklist(kept, "startup", 2027, spring), tasks)
        assert ("flush-lines" in done) is (place == len(flushes))


def test_a_step_said_again_replaces_what_was_said(kept: Book) -> None:
    so_far = open_checklist(kept, "shutdown", 2026, OCTOBER)
    first = settle(so_far, so_far.steps[0], "skipped", OCTOBER, "valve is stuck")
    assert write_step(kept, first) is not None
    assert write_step(kept, first) is None
    write_step(kept, settle(so_far, so_far.steps[0], "done", date(2026, 10, 15)))
    (stored,) = kept.records(ChecklistStep)
    assert (stored.record.state, stored.record.why) == ("done", "")


def test_finishing_twice_writes_once(kept: Book) -> None:
    whole = walk(kept, "shutdown", 2026, OCTOBER)
    finish(kept, propose(kept, whole))
    assert finish(kept, propose(kept, whole)) is None


def test_a_proposal_whose_book_changed_is_refused_whole(kept: Book) -> None:
    with kept.change("away") as change:
        away = change.add(Pause(scope="all", since=date(2026, 10, 10), reason="away"))
    proposal = propose(kept, walk(kept, "shutdown", 2026, OCTOBER))
    with kept.change("not away") as change:
        change.remove(away, Pause)
    number = kept.number()
    with pytest.raises(EntryError, match="changed in the meantime"):
        finish(kept, proposal)
    assert kept.number() == number
    assert kept.records(Pause) == []


def test_cold_nights_of_the_book_warn_but_only_once_they_were(kept: Book) -> None:
    with kept.change("weather") as change:
        change.add(
            Weather(
                day=date(2026, 10, 6),
                tmin=Measured("-3.1", "c", "temperature"),
                tmax=Measured("9", "c", "temperature"),
            )
        )
    assert "hard freeze" in season_of(kept, date(2026, 10, 7)).warning
    assert season_of(kept, date(2026, 10, 5)).warning == ""


def test_a_reading_does_not_stand_in_for_a_step(kept: Book) -> None:
    """The list asks for the last reading until the person says so: a bill's reading is not the one it means."""
    with kept.change("reading") as change:
        change.add(
            MeterReading.model_validate(
                {"meter": "house", "at": _noon(OCTOBER), "register_value": "1234", "how": "bill"}
            )
        )
    codes = {s.kind.code for s in open_checklist(kept, "shutdown", 2026, OCTOBER).open_steps}
    assert "last-reading" in codes


def _noon(day: date):  # type: ignore[no-untyped-def]
    from core.days import parse_moment, time_zone

    return parse_moment(f"{day} 12:00", time_zone("America/Denver"))


def test_what_became_of_a_step_is_kept_in_its_own_words(kept: Book) -> None:
    so_far = open_checklist(kept, "shutdown", 2026, date(2026, 10, 14))
    step = next(s for s in so_far.steps if s.kind.code == "close-loosely")
    write_step(kept, settle(so_far, step, "done", date(2026, 10, 14)))
    assert kept.change_sets(1)[0].what == f"shutdown 2026: “{step.title}”, done"
    assert "close-loosely" not in kept.change_sets(1)[0].what
    assert "merged" not in {word for s in so_far.steps for word in s.kind.source.split()}

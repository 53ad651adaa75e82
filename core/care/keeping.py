"""Care over an open book: what is installed, the lists as far as they are, and writing what became of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime, time, timedelta

from core.book.kinds import (
    ChecklistStep,
    Controller,
    Meter,
    Pause,
    Planting,
    Supply,
    Task,
    Upkeep,
    Zone,
)
from core.book.rows import R
from core.book.store import Book
from core.care.cautions import for_home
from core.care.checklist import (
    SEASON_WORDS,
    Checklist,
    Proposal,
    checklist,
    finish_shutdown,
    finish_startup,
    fulfilled,
)
from core.care.due import DueItem
from core.care.installed import Installed, holds_on
from core.care.seasons import SeasonState, care_due, no_hard_freeze, season_state
from core.care.steps import Season
from core.care.tasks import Offer, called_otherwise, starter_tasks
from core.errors import EntryError
from core.units import System


def installed_on(book: Book, day: date) -> Installed:
    """What the book says is installed on a local day."""
    zones = [z for z in _all(book, Zone) if holds_on(z.since, z.until, day)]
    codes = {z.code for z in zones}
    used = {z.controller for z in zones}
    return Installed(
        day=day,
        home=book.home(),
        supplies=_all(book, Supply),
        meters=tuple(m for m in _all(book, Meter) if holds_on(m.since, m.until, day)),
        controllers=tuple(c for c in _all(book, Controller) if c.code in used),
        zones=tuple(zones),
        plantings=tuple(p for p in _all(book, Planting) if p.zone in codes and holds_on(p.since, p.until, day)),
    )


def season_of(book: Book, today: date) -> SeasonState:
    """Where the year stands in this book on its local day ``today``; what was written for later days is not seen."""
    tomorrow = datetime.combine(today + timedelta(days=1), time(0), book.zone_info)
    weather = book.frame("weather", tomorrow)
    steps = _all(book, ChecklistStep)
    return season_state(book.home(), _all(book, Pause), steps, today, weather, installed_on(book, today))


def asks_for_no_shutdown(book: Book, state: SeasonState) -> bool:
    """Whether a book that waters knows of no hard freeze, and of no list that anybody walked in an earlier year."""
    if state.state != "watering" or book.latest(ChecklistStep, 1):
        return False
    return no_hard_freeze(book.home(), book.frame("weather"), book.frame("normal"))


def care_of(book: Book, today: date, system: System | None = None) -> list[DueItem]:
    """The due list of this book on its local day ``today``, its cautions for this home."""
    home = book.home()
    tasks = _all(book, Task)
    done = [*_all(book, Upkeep), *_with_a_list(book, tasks, today)]
    found = care_due(home, tasks, done, season_of(book, today), today)
    return [replace(item, caution=for_home(item.caution, home.timezone, system or home.display)) for item in found]


def _with_a_list(book: Book, tasks: tuple[Task, ...], today: date) -> list[Upkeep]:
    """Care done as steps of lists that nobody has finished yet, when it is written down as done."""
    recorded = _all(book, ChecklistStep)
    here = installed_on(book, today) if recorded else None
    return [
        Upkeep(task=code, day=day)
        for season, year in dict.fromkeys((s.season, s.year) for s in recorded)
        if here is not None
        for code, day in fulfilled(checklist(season, year, here, recorded), tasks).items()
    ]


def offered_tasks(book: Book, day: date) -> list[Offer]:
    """Starter tasks that fit what is installed and are not in the book yet."""
    tasks = _all(book, Task)
    return [o for o in starter_tasks(installed_on(book, day)) if not called_otherwise(o.task.code, tasks)]


def take_tasks(book: Book, tasks: Iterable[Task]) -> int | None:
    """Store tasks as one change set; returns its number, None if they were all there already."""
    with book.change("took on care tasks") as change:
        for task in tasks:
            change.add(task)
    return change.number


def open_checklist(book: Book, season: Season, year: int, today: date) -> Checklist:
    """The list of a season and year as far as the book has it."""
    return checklist(season, year, installed_on(book, today), _all(book, ChecklistStep))


def write_step(book: Book, record: ChecklistStep) -> int | None:
    """Store what became of a step, new or changed; returns the number of the change set, None if nothing changed."""
    walked = open_checklist(book, record.season, record.year, record.day)
    titles = {(s.kind.code, s.subject): s.title for s in walked.steps}
    title = titles.get((record.step, record.subject), record.step)
    state = record.state.replace("_", " ")
    with book.change(f"{SEASON_WORDS[record.season]} {record.year}: “{title}”, {state}") as change:
        stored = change.find(ChecklistStep, *record.key())
        if stored:
            change.correct(stored.id, record)
        else:
            change.add(record)
    return change.number


def propose(book: Book, done: Checklist, day: date | None = None) -> Proposal:
    """What finishing the list would write into this book.

    Raises:
        EntryError: as :func:`core.care.checklist.finish_shutdown` and :func:`core.care.checklist.finish_startup`.
    """
    finish = finish_shutdown if done.season == "shutdown" else finish_startup
    return finish(done, _all(book, Pause), _all(book, Task), _all(book, Upkeep), day)


def finish(book: Book, proposal: Proposal) -> int | None:
    """Store a proposal as one change set; returns its number, None if nothing changed.

    Raises:
        EntryError: a record to be changed is no longer in the book.
    """
    with book.change(proposal.what) as change:
        for record in proposal.correct:
            stored = change.find(type(record), *record.key())
            if stored is None:
                raise EntryError("The book changed in the meantime. Open the list again.")
            change.correct(stored.id, record)
        for record in proposal.add:
            change.add(record)
    return change.number


def _all(book: Book, kind: type[R]) -> tuple[R, ...]:
    return tuple(stored.record for stored in book.records(kind))

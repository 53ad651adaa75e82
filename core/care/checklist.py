"""A guided shutdown or start-up: the steps that fit what is installed, what became of each, and its end.

A list can be left half way: each step is a record of its own. Finishing proposes the records that end the season
(the winter pause, and care done on the way), to be written in one change set (:func:`core.care.keeping.finish`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from core.book.kinds import ChecklistStep, Pause, Record, Task, Upkeep
from core.care.cautions import cautions
from core.care.due import say_day
from core.care.installed import Installed, holds_on
from core.care.shutdown_steps import SHUTDOWN
from core.care.startup_steps import STARTUP
from core.care.steps import Season, StepKind
from core.care.tasks import called_otherwise
from core.errors import EntryError

State = Literal["open", "done", "not_needed", "skipped"]
STEPS: dict[Season, tuple[StepKind, ...]] = {"shutdown": SHUTDOWN, "startup": STARTUP}
SEASON_WORDS: dict[Season, str] = {"shutdown": "shutdown", "startup": "start-up"}
_LONGEST_WINTER_DAYS = 200  # a pause older than this is last year's, never ended
TURNS_WATER: dict[Season, str] = {"shutdown": "close-supply", "startup": "open-slowly"}  # the steps that do


@dataclass(frozen=True, slots=True)
class Step:
    """One step of one list.

    Attributes:
        kind: what the step is.
        subject: code of the part it is done to, "" for the garden.
        title: what to do, with the part's name.
        record: what was written down about it, or None while it is open.
    """

    kind: StepKind
    subject: str
    title: str
    record: ChecklistStep | None = None

    @property
    def state(self) -> State:
        return self.record.state if self.record else "open"

    @property
    def caution(self) -> str:
        return cautions(*self.kind.cautions)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a list is; steps the list can be finished without count only once something was said about them.

    ``spare`` says how many of those there are that nothing was said about.
    """

    done: int
    not_needed: int
    skipped: int
    open: int
    spare: int = 0

    @property
    def total(self) -> int:
        return self.done + self.not_needed + self.skipped + self.open

    @property
    def sentence(self) -> str:
        settled = self.total - self.open
        parts = [f"{n} {w}" for n, w in ((self.not_needed, "not needed"), (self.skipped, "skipped")) if n]
        more = f", {self.spare} more may apply" if self.spare else ""
        return f"{settled} of {self.total} steps settled" + (f" ({', '.join(parts)})" if parts else "") + more


@dataclass(frozen=True)
class Checklist:
    """A shutdown or start-up of one year.

    Attributes:
        steps: those that fit what is installed, in order.
        others: records of steps whose part is no longer installed; kept, not asked for.
    """

    season: Season
    year: int
    steps: tuple[Step, ...]
    others: tuple[ChecklistStep, ...] = ()

    @property
    def open_steps(self) -> tuple[Step, ...]:
        """Steps the list cannot be finished without that nothing was said about."""
        return tuple(s for s in self.steps if s.state == "open" and not s.kind.optional)

    @property
    def next_step(self) -> Step | None:
        """The first of the open steps."""
        return self.open_steps[0] if self.open_steps else None

    @property
    def progress(self) -> Progress:
        states = [s.state for s in self.steps if s.state != "open" or not s.kind.optional]
        said = {s: states.count(s) for s in ("done", "not_needed", "skipped", "open")}
        return Progress(**said, spare=len(self.steps) - len(states))

    @property
    def last_day(self) -> date | None:
        """The latest day of work that was written down."""
        return max((s.record.day for s in self.steps if s.record), default=None)

    @property
    def water_turned(self) -> date | None:
        """The day the water was shut or opened, as written down; the first where there are several supplies."""
        code = TURNS_WATER[self.season]
        return min(
            (s.record.day for s in self.steps if s.kind.code == code and s.record and s.state == "done"), default=None
        )


@dataclass(frozen=True)
class Proposal:
    """What finishing a list writes, in one change set.

    Attributes:
        what: words for the journal.
        words: what it means, for the screen.
        add: records to add.
        correct: records to put in the place of those with the same key, as the key stands in the book.
    """

    what: str
    words: str
    add: tuple[Record, ...] = ()
    correct: tuple[Record, ...] = ()


def checklist(season: Season, year: int, installed: Installed, recorded: Iterable[ChecklistStep]) -> Checklist:
    """The list of a season and year, fitted to what is installed, with what was written down so far."""
    known = {(r.step, r.subject): r for r in recorded if r.season == season and r.year == year}
    steps = tuple(
        Step(kind, code, kind.title.format(name=name), known.pop((kind.code, code), None))
        for kind in STEPS[season]
        for code, name in installed.parts(kind.part)
    )
    return Checklist(season, year, steps, tuple(known.values()))


def settle(
    checklist: Checklist, step: Step, state: Literal["done", "not_needed", "skipped"], day: date, why: str = ""
) -> ChecklistStep:
    """The record that says what became of a step.

    Raises:
        EntryError: skipped without saying why.
    """
    if state == "skipped" and not why.strip():
        raise EntryError(f"“{step.title}” is skipped: say why, so that you know in spring.")
    return ChecklistStep(
        season=checklist.season,
        year=checklist.year,
        step=step.kind.code,
        subject=step.subject,
        state=state,
        day=day,
        why=why,
    )


def finish_shutdown(
    checklist: Checklist,
    pauses: Sequence[Pause],
    tasks: Sequence[Task] = (),
    upkeep: Sequence[Upkeep] = (),
    day: date | None = None,
) -> Proposal:
    """The records that end the watering season: a winter pause of everything from the day the water was shut.

    Args:
        checklist: a shutdown with no open steps.
        pauses: all pauses of the book.
        tasks, upkeep: where care was done on the way (filter rinsed), it is written as done.
        day: first day without watering; None takes the day the water was shut, as the list has it.

    Raises:
        EntryError: steps still open, no day known, or a later pause of everything in the way.
    """
    _all_settled(checklist, "shutdown")
    since = day or checklist.water_turned
    if since is None:
        raise EntryError("On which day was the water shut? Give the day, or mark that step done.")
    care = _care_done(checklist, tasks, upkeep)
    what = f"shutdown {checklist.year} finished"
    everything = [p for p in pauses if p.scope == "all"]
    running = next((p for p in everything if holds_on(p.since, p.until, since)), None)
    if running and running.reason == "winter":
        if (since - running.since).days > _LONGEST_WINTER_DAYS:
            raise EntryError(
                f"The winter that began {_long(running.since)} was never ended. Finish its start-up first."
            )
        return Proposal(what, f"The system was already written down as shut since {_long(running.since)}.", care)
    later = next((p for p in everything if p.since > since), None)
    if later:
        raise EntryError(f"A pause of everything from {_long(later.since)} is already written down. Remove it first.")
    words = f"Shut down from {_long(since)}: no runs are expected until the start-up is finished."
    winter = Pause(scope="all", since=since, reason="winter", note=f"shutdown {checklist.year}")
    if running and running.since == since:
        return Proposal(what, words, care, (winter,))
    ended = (running.model_copy(update={"until": since}),) if running else ()
    return Proposal(what, words, (winter, *care), ended)


def finish_startup(
    checklist: Checklist,
    pauses: Sequence[Pause],
    tasks: Sequence[Task] = (),
    upkeep: Sequence[Upkeep] = (),
    day: date | None = None,
) -> Proposal:
    """The records that begin the watering season: every winter pause ends on the day the water was opened.

    Args:
        checklist: a start-up with no open steps.
        pauses, tasks, upkeep: as in :func:`finish_shutdown`.
        day: first day of watering again; None takes the day the water was opened, as the list has it.

    Raises:
        EntryError: steps still open, no day known, or a winter pause that begins on or after the day.
    """
    _all_settled(checklist, "startup")
    on = day or checklist.water_turned
    if on is None:
        raise EntryError("On which day was the water opened? Give the day, or mark that step done.")
    winter = [p for p in pauses if p.reason == "winter" and (p.until is None or p.until > on)]
    late = next((p for p in winter if p.since >= on), None)
    if late:
        raise EntryError(f"The shutdown is written down from {_long(late.since)}; the start-up must come after it.")
    words = f"In use again from {_long(on)}: runs are expected as the programs say."
    ended = tuple(p.model_copy(update={"until": on}) for p in winter)
    return Proposal(f"start-up {checklist.year} finished", words, _care_done(checklist, tasks, upkeep), ended)


def _all_settled(checklist: Checklist, season: Season) -> None:
    if checklist.season != season:
        raise EntryError(f"This is a {SEASON_WORDS[checklist.season]} list, not a {SEASON_WORDS[season]} list.")
    waiting = checklist.open_steps
    if waiting:
        named = "; ".join(s.title for s in waiting[:3]) + ("; …" if len(waiting) > 3 else "")
        count = "1 step is" if len(waiting) == 1 else f"{len(waiting)} steps are"
        raise EntryError(f"{count} still open: {named}. Mark each as done, not needed, or skipped with why.")


def fulfilled(checklist: Checklist, tasks: Sequence[Task]) -> dict[str, date]:
    """Tasks of the book that the list has done so far, by code, and the day: those of which no step is still open."""
    done: dict[str, date] = {}
    waiting = {s.kind.fulfils for s in checklist.open_steps}
    for step in checklist.steps:
        if step.state == "done" and step.record and step.kind.fulfils not in waiting:
            for code in called_otherwise(step.kind.fulfils, tasks):
                done[code] = max(step.record.day, done.get(code, step.record.day))
    return done


def _care_done(checklist: Checklist, tasks: Sequence[Task], upkeep: Sequence[Upkeep]) -> tuple[Upkeep, ...]:
    done = fulfilled(checklist, tasks)
    written = {(u.task, u.day) for u in upkeep}
    note = f"with the {SEASON_WORDS[checklist.season]} of {checklist.year}"
    return tuple(Upkeep(task=code, day=day, note=note) for code, day in done.items() if (code, day) not in written)


def _long(day: date) -> str:
    return say_day(day, date.min)

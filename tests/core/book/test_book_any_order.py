"""Whatever is written, corrected, removed and undone, in any order: undo gives back exactly what was, versions never
overlap, what was refused changed nothing, and everything that is referred to is there."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from core.book.kinds import KINDS, Home, MeterReading, Pause, Program, Record, Run, Zone
from core.book.store import Book, Change
from core.days import Moment
from core.errors import NotFoundError, RillbookError, UndoError
from tests.core.book.written_down import GARDEN, MEMORY

FIRST = date(2026, 5, 1)
days = st.integers(0, 12).map(lambda n: FIRST + timedelta(days=n))
ends = st.none() | st.integers(1, 14).map(lambda n: FIRST + timedelta(days=n))
zones = st.sampled_from(["tubs", "hedge", "beds"])
moments = st.integers(0, 4).map(lambda n: Moment(datetime(2026, 5, 1, n, tzinfo=UTC), 0))


def _spans(kind: Callable[..., Record], **values: st.SearchStrategy[Any]) -> st.SearchStrategy[Record]:
    drafts = st.fixed_dictionaries({"since": days, "until": ends, **values})
    return drafts.filter(lambda v: v["until"] is None or v["until"] > v["since"]).map(lambda v: kind(**v))


programs = _spans(
    Program, zone=zones, days=st.just("daily"), starts=st.just("05:00"), minutes=st.sampled_from([5.0, 9.0])
)
written = st.one_of(
    programs,
    _spans(Pause, scope=zones, reason=st.sampled_from(["rain", "away"])),
    st.builds(
        MeterReading, meter=st.just("house"), at=moments, register_value=st.sampled_from([Decimal(1), Decimal(2)])
    ),
    st.builds(Run, zone=zones, at=moments, ran=st.just(False), why=st.sampled_from(["", "rain"])),
    st.builds(Zone, code=zones, name=st.sampled_from(["One", "Another"]), supply=st.just("main")),
)

State = dict[tuple[str, int], tuple[Any, ...]]


class AnyOrder(RuleBasedStateMachine):
    """One book, kept under a sequence of actions; the rows before and after each are remembered by the test."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(dir=MEMORY))
        self.book = Book.create(
            self.folder / "alder.rillbook", Home(name="Alder house", latitude=40.0, timezone="America/Denver")
        )
        self.held = sqlite3.connect(self.book.path)
        self.history: dict[int, tuple[State, State]] = {}
        self.act(lambda change: change.add_many(GARDEN))

    def teardown(self) -> None:
        self.held.close()
        shutil.rmtree(self.folder)

    def state(self) -> State:
        rows = {}
        for kind in KINDS:
            for row in self.held.execute(f'SELECT * FROM "{kind}"'):  # noqa: S608
                rows[kind, row[0]] = row
        return rows

    def act(self, work: Callable[[Change], object]) -> None:
        before, number = self.state(), self.book.number()
        try:
            with self.book.change("an action") as change:
                work(change)
        except RillbookError:
            assert (self.state(), self.book.number()) == (before, number)
            return
        if change.number is None:
            assert (self.state(), self.book.number()) == (before, number)
        else:
            self.history[change.number] = (before, self.state())

    def pick(self, change: Change, kind: type[Record], data: st.DataObject) -> Any:
        there = change.records(kind)
        return data.draw(st.sampled_from(there)) if there else None

    @rule(record=written)
    def add_twice(self, record: Record) -> None:
        self.act(lambda change: change.add(record))
        before, number = self.state(), self.book.number()
        self.act(lambda change: change.add(record))
        assert (self.state(), self.book.number()) == (before, number)

    @rule(records=st.lists(written, max_size=8))
    def add_many(self, records: list[Record]) -> None:
        self.act(lambda change: change.add_many(records))

    @rule(record=written, data=st.data())
    def correct(self, record: Record, data: st.DataObject) -> None:
        def work(change: Change) -> None:
            stored = self.pick(change, type(record), data)
            if stored is not None:
                change.correct(stored.id, record, stored.change_set)

        self.act(work)

    @rule(record=programs, day=days, data=st.data())
    def change_on_a_day(self, record: Program, day: date, data: st.DataObject) -> None:
        def work(change: Change) -> None:
            stored = self.pick(change, Program, data)
            if stored is not None:
                change.change_from(stored.id, day, record.model_copy(update={"zone": stored.record.zone}))

        self.act(work)

    @rule(kind=st.sampled_from([Program, Pause, MeterReading, Run, Zone]), data=st.data())
    def remove(self, kind: type[Record], data: st.DataObject) -> None:
        def work(change: Change) -> None:
            stored = self.pick(change, kind, data)
            if stored is not None:
                change.remove(stored.id, kind)

        self.act(work)

    @rule(record=written, other=written, data=st.data())
    def several_at_once(self, record: Record, other: Record, data: st.DataObject) -> None:
        def work(change: Change) -> None:
            stored = self.pick(change, type(other), data)
            if stored is not None:
                change.correct(stored.id, other)
            change.add(record)
            again = self.pick(change, Program, data)
            if again is not None:
                change.remove(again.id, Program)

        self.act(work)

    def same_action(self, one: int, other: int) -> bool:
        """Whether the later of two change sets does again what the earlier did."""
        (was, became), (was_again, became_again) = self.history[one], self.history[other]

        def delta(a: State, b: State) -> State:
            return {key: (a.get(key), b.get(key)) for key in a.keys() | b.keys() if a.get(key) != b.get(key)}

        return one < other and delta(was, became) == delta(was_again, became_again)

    @rule(back=st.integers(0, 6))
    def undo(self, back: int) -> None:
        before, number = self.state(), self.book.number()
        target = number - back
        undone = {c.number: c.undone_by for c in self.book.change_sets(1000)}
        try:
            undo = self.book.undo(target)
        except (UndoError, NotFoundError):
            assert (self.state(), self.book.number()) == (before, number)
            # what was written last can always be undone, unless it began the book
            assert target != number or target not in self.history
            return
        asked, target = target, next(c.undoes for c in self.book.change_sets(1))
        assert target is not None
        assert asked == target or self.same_action(asked, target)
        assert undone[asked] is None
        after = self.state()
        was, became = self.history[target]
        touched = {key for key in was.keys() | became.keys() if was.get(key) != became.get(key)}
        for key in before.keys() | after.keys() | touched:
            assert after.get(key) == (was if key in touched else before).get(key)
        self.history[undo] = (before, after)

    @invariant()
    def versions_never_overlap(self) -> None:
        slots: dict[tuple[Any, ...], list[tuple[str, str]]] = {}
        for table, slot in (("program", "zone, label"), ("pause", "scope, scope")):
            for one, two, since, until in self.held.execute(f"SELECT {slot}, since, until FROM {table}"):  # noqa: S608
                slots.setdefault((table, one, two), []).append((since, until or "9999-12-31"))
        for spans in slots.values():
            spans.sort()
            assert all(end <= begin for (_, end), (begin, _) in pairwise(spans))

    @invariant()
    def everything_referred_to_is_there(self) -> None:
        assert self.held.execute("PRAGMA foreign_key_check").fetchall() == []


AnyOrder.TestCase.settings = settings(
    max_examples=25, stateful_step_count=20, deadline=None, suppress_health_check=list(HealthCheck)
)
TestAnyOrder = AnyOrder.TestCase

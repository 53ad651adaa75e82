"""Bringing sheets in: first what would happen, row by row, then all of it in one change set."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from itertools import groupby
from operator import attrgetter
from typing import Any

from core.book.change import Change, Counts
from core.book.kinds import KINDS, Bill, Measured, MeteredUse, MeterReading, Pause, Program, Record, fields_of
from core.book.store import Book
from core.days import Moment
from core.errors import Problem, RefusedError, shown
from core.exchange.cells import kept_raw, write_cell
from core.exchange.checks import Known, at_once, between_bills, doubtful, in_winter, referring, versions
from core.exchange.clock import WallClock
from core.exchange.pace import collector_paused
from core.exchange.rows import Found, Sheet
from core.exchange.sheets import PROBLEM_COLUMN

BILLS_GIVE_NO_READINGS = (
    "Bills give no meter readings, and no month takes its use from them: bring the volumes in as metered_use.csv, "
    "each with its meter, from when and to when."
)


@dataclass(frozen=True, slots=True)
class Conflict:
    """A row whose key is in the book with other values.

    Attributes:
        found: the row.
        there: id of the record in the book.
        differs: by field name, the value in the book and the value in the sheet, as cells.
    """

    found: Found
    there: int
    differs: dict[str, tuple[str, str]]

    def problems(self) -> list[Problem]:
        """The same as problems with the cells of the row."""
        sheet, row = self.found.sheet, self.found.row
        held = "“{}”, which the book holds for this row"
        return [
            Problem(sheet.name, row, sheet.column_of(name, row), new, held.format(shown(old)))
            for name, (old, new) in self.differs.items()
        ]


@dataclass(frozen=True, slots=True)
class Question:
    """Rows that look wrong for one reason, of which a person is asked.

    Attributes:
        rows: the rows, first the one the question is about; those after it share its fate.
        field_name: the field that looks wrong.
        expected: what was expected there.
    """

    rows: tuple[Found, ...]
    field_name: str
    expected: str

    def problem(self) -> Problem:
        """File, row, column and value of the first row, and what was expected of all of them."""
        first = self.rows[0]
        more = len(self.rows) - 1
        last = self.rows[-1].row
        also = f"; {counted_rows(more)} up to row {last} {'is' if more == 1 else 'are'} like it" if more else ""
        return first.sheet.problem(first.row, self.field_name, f"{self.expected}{also}")


Ask = Callable[[Book, Sequence[Record], Sequence[Record]], Iterable[tuple[Sequence[int], str, str]]]
"""Which new records of one kind look wrong: their places, the field, and what was expected of it. Last come the new
records of other kinds that these may refer to."""


@dataclass
class Preview:
    """What bringing some sheets in would do; nothing of it is stored yet.

    Attributes:
        sheets: as read, kinds that others refer to first.
        new: rows to add, in the order in which they can be added.
        there: rows that are in the book already, or stand in the sheets twice.
        conflicts: rows whose key is in the book with other values; the book's stay.
        following: those of the new that follow a version without an end, which ends the day before them.
        ending: those of the new that only say when a version without an end ended, by kind and id in the book.
        refused: everything wrong with the other rows.
        doubts: what looks wrong in new rows and yet keeps none of them out.
        asked: new rows that are stored only once a person says that they are so; see :meth:`as_they_stand` and
            :meth:`without_asked`.
    """

    sheets: list[Sheet] = field(default_factory=list)
    new: list[Found] = field(default_factory=list)
    following: list[Found] = field(default_factory=list)
    ending: dict[tuple[str, int], Found] = field(default_factory=dict)
    there: list[Found] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    refused: list[Problem] = field(default_factory=list)
    doubts: list[Problem] = field(default_factory=list)
    asked: list[Question] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """Whether every row can be taken without another word."""
        return not self.refused and not self.conflicts and not self.asked

    def as_they_stand(self) -> Preview:
        """The same once a person has said that the rows asked about are so."""
        return replace(self, asked=[])

    def without_asked(self) -> Preview:
        """The same with the rows asked about refused."""
        if not self.asked:
            return self
        out = {(f.sheet.name, f.row) for q in self.asked for f in q.rows}
        refused = [f.sheet.problem(f.row, q.field_name, q.expected) for q in self.asked for f in q.rows]
        new = [f for f in self.new if (f.sheet.name, f.row) not in out]  # none of them only ends a version
        return replace(self, new=new, refused=[*self.refused, *refused], asked=[])

    def notes(self) -> list[str]:
        """What the new rows do not give, where somebody may have thought they did: a bill's volume is no reading; and
        what else they change: a version that others follow.
        """
        kinds = {found.sheet.kind for found in self.new}
        notes = (
            [BILLS_GIVE_NO_READINGS] if Bill.KIND in kinds and not kinds & {MeterReading.KIND, MeteredUse.KIND} else []
        )
        return [*notes, *(_as_end(f) for f in self.ending.values()), *(_as_change(f) for f in self.following)]

    def counts(self) -> list[dict[str, Any]]:
        """For each sheet: file, kind, and how many rows are new, there, in conflict and refused."""
        new, there = Counter(f.sheet.name for f in self.new), Counter(f.sheet.name for f in self.there)
        conflicts = Counter(c.found.sheet.name for c in self.conflicts)
        refused = Counter(name for name, _ in {(p.file, p.row) for p in self.refused})
        return [
            {
                "file": s.name,
                "kind": s.kind,
                "new": new[s.name],
                "there": there[s.name],
                "in_conflict": conflicts[s.name],
                "refused": refused[s.name],
            }
            for s in self.sheets
        ]

    def problems(self) -> list[Problem]:
        """Everything that keeps a row out: what was refused and what is in conflict, by sheet and row."""
        order = {sheet.name: place for place, sheet in enumerate(self.sheets)}
        found = [*self.refused, *(p for c in self.conflicts for p in c.problems())]
        return sorted(found, key=lambda p: (order.get(p.file, 0), p.row))


@dataclass(frozen=True, slots=True)
class Brought:
    """What was stored: the change set's number (None when nothing was new), how many rows, and the words for it."""

    number: int | None
    added: int
    there: int
    words: str


def preview(
    book: Book, sheets: Sequence[Sheet], now: datetime | None = None, ask: Ask | None = None, *, whole: bool = False
) -> Preview:
    """Compare sheets with the book and with each other. Nothing is stored.

    A record may refer to one that comes in with it, as long as that one's row is good. ``now`` (aware; the present
    when left out) is what a time is held against that may be yet to come; ``ask`` finds what a person is to be asked.
    ``whole``: a book is made from them, which may have been one before and comes back as it was.
    """
    here = (now or datetime.now(UTC)).astimezone(book.zone_info)
    places = {kind: place for place, kind in enumerate(KINDS)}
    result = Preview(sorted(sheets, key=lambda s: places[s.kind]))
    clock, known = WallClock(book.zone_info), Known(book)
    with collector_paused():
        for kind, same in groupby(result.sheets, key=attrgetter("kind")):
            own = list(same)
            result.refused += [p for sheet in own for p in sheet.problems]
            new = _compared(book, own, result, clock)
            new = _without(new, referring(new, known, kinds=not whole), result)
            problems, following = versions(
                book, new, {there: found.record for (of, there), found in result.ending.items() if of == kind}
            )
            new = _without(new, problems, result)
            result.following += following
            result.doubts += [*doubtful(new, known, here), *at_once(book, new), *between_bills(new)]
            records = [found.record for found in new]
            known.add(kind, records)
            with_them = [found.record for found in result.new]
            result.new += [*new, *(found for (of, _), found in result.ending.items() if of == kind)]
            for which, name, expected in ask(book, records, with_them) if ask is not None and records else ():
                result.asked.append(Question(tuple(new[place] for place in which), name, expected))
    if any(sheet.kind == Program.KIND for sheet in result.sheets):
        result.doubts += in_winter(result.new, _pauses(book, result))
    return result


def bring(book: Book, planned: Preview, *, take_good_rows: bool = False) -> Brought:
    """Store what a preview found new, in one change set that can be undone.

    Args:
        book: the book.
        planned: what :func:`preview` found.
        take_good_rows: leave out rows that are refused, in conflict or asked about, instead of refusing all.

    Raises:
        RefusedError: something is refused, in conflict or asked about and ``take_good_rows`` was not said.
        RillbookError: the book has changed since the preview so that a row no longer fits. Nothing was stored.
    """
    if not planned.good and not take_good_rows:
        raise RefusedError([*planned.problems(), *(question.problem() for question in planned.asked)])
    planned = planned.without_asked()
    words = _in_words(planned)
    if not planned.new:
        return Brought(None, 0, len(planned.there), words)
    later = {id(found) for found in (*planned.following, *planned.ending.values())}
    at_once = [found for found in planned.new if id(found) not in later]
    with collector_paused(), book.change(words) as change:
        for (_, there), found in planned.ending.items():
            change.correct(there, found.record)
        counts = change.add_many([f.record for f in at_once], [f.cells for f in at_once])
        for found in planned.following:
            _follow(change, found.record)
    counts = Counts(counts.added + len(later), counts.there)
    return Brought(change.number, counts.added, len(planned.there) + counts.there, words)


def where_from(planned: Preview) -> list[tuple[str, Record]]:
    """The new records, each with the row it stands in, in words."""
    return [(f"{found.sheet.name}, row {found.row}", found.record) for found in planned.new]


def refused_csv(planned: Preview) -> dict[str, str]:
    """The rows that were kept out, by file name, as CSV text to mend and bring in again.

    The columns are those of the sheet and one more that says what is wrong; it is read over on the way back.
    A sheet whose header was refused is not among them.
    """
    wrong: dict[tuple[str, int], list[str]] = {}
    for p in planned.problems():
        shown = f"“{p.value}”" if p.value else "empty"
        wrong.setdefault((p.file, p.row), []).append(f"{p.column or 'row'}: {shown}, expected {p.expected}")
    texts = {}
    for sheet in planned.sheets:
        rows = [row for name, row in wrong if name == sheet.name and row > 1]
        if not rows or (sheet.name, 1) in wrong:
            continue
        keep = [i for i, header in enumerate(sheet.header) if header != PROBLEM_COLUMN]
        out = io.StringIO()
        writer = csv.writer(out)
        writer.writerow([*(sheet.header[i] for i in keep), PROBLEM_COLUMN])
        for row in sorted(rows):
            cells = sheet.table[row - 2]
            kept = [kept_raw(cells[i]) if i < len(cells) else "" for i in keep]
            writer.writerow([*kept, kept_raw("; ".join(wrong[sheet.name, row]))])
        texts[sheet.name] = out.getvalue()
    return texts


def _compared(book: Book, sheets: list[Sheet], result: Preview, clock: WallClock) -> list[Found]:
    """The rows that are new; the others go to the preview as there, in conflict or refused."""
    read = [(sheet, row, record) for sheet in sheets for row, record in sheet.rows]
    outcome = book.compare([record for _, _, record in read])
    rows = [Found(*each, cells) for each, cells in zip(read, outcome.rows, strict=True)]
    result.there += [rows[place] for place in outcome.there]
    for place, error in outcome.conflicts:
        found = rows[place]
        differs = {name: pair for name, pair in error.differs.items() if not _same_instant(*pair)}
        if not differs or (set(differs) == {"until"} and _followed(book, found.record, *differs["until"])):
            result.there.append(found)
        elif _ends(found.record, differs) and error.there and (found.sheet.kind, error.there) not in result.ending:
            result.ending[found.sheet.kind, error.there] = found
        elif error.there:
            result.conflicts.append(Conflict(found, error.there, _as_cells(found.record, differs, clock)))
        else:
            result.refused += _twice(found, differs, clock)
    return [rows[place] for place in outcome.new]


def _pauses(book: Book, result: Preview) -> list[Pause]:
    """The pauses there will be: those of the book, as the sheets end them, and those that come in."""
    ended = {there for kind, there in result.ending if kind == Pause.KIND}
    held = [stored.record for stored in book.records(Pause) if stored.id not in ended]
    return held + [found.record for found in result.new if isinstance(found.record, Pause)]


def _same_instant(old: object, new: object) -> bool:
    """The same instant written with another offset is no conflict."""
    alike = isinstance(old, Moment) and isinstance(new, Moment)
    return alike and (old.utc, old.exact) == (new.utc, new.exact)  # type: ignore[attr-defined]


def _followed(book: Book, record: Any, there: Any, given: Any) -> bool:
    """Whether a version without an end is ended in the book by the one that follows it: the same, brought in again."""
    slot = {name: getattr(record, name) for name in record.SLOT}
    return given is None and bool(slot) and any(s.record.since == there for s in book.records(type(record), **slot))


def _ends(record: Record, differs: dict[str, tuple[Any, Any]]) -> bool:
    """Whether the row only says when a version ended that has no end in the book."""
    return bool(record.SLOT) and set(differs) == {"until"} and differs["until"][0] is None


def _as_cells(record: Record, differs: dict[str, tuple[Any, Any]], clock: WallClock) -> dict[str, tuple[str, str]]:
    fields = {info.name: info for info in fields_of(type(record))}

    def cell(name: str, value: Any) -> str:
        return str(value) if isinstance(value, Measured) else write_cell(value, fields[name], clock)

    return {name: (cell(name, old), cell(name, new)) for name, (old, new) in differs.items()}


def _twice(found: Found, differs: dict[str, tuple[Any, Any]], clock: WallClock) -> list[Problem]:
    cells = _as_cells(found.record, differs, clock)
    return [
        found.sheet.problem(found.row, name, f"“{old}” as in the row above with the same key, or one of the two rows")
        for name, (old, _) in cells.items()
    ]


def _follow(change: Change, record: Any) -> None:
    """Writes a version down that follows the one which holds on its first day."""
    slot = {name: getattr(record, name) for name in record.SLOT}
    holds = [
        s for s in change.records(type(record), **slot) if s.record.since < record.since and s.record.until is None
    ]
    if not holds:  # the book has changed since the preview
        change.add(record)
        return
    change.change_from(holds[0].id, record.since, record)


def _as_change(found: Found) -> str:
    record: Any = found.record
    thing = " ".join(str(getattr(record, name)) for name in record.SLOT)
    changes = f"{thing} changes on {record.since}; what held until then ends the day before"
    return f"{found.sheet.name}, row {found.row}: {changes}."


def _as_end(found: Found) -> str:
    record: Any = found.record
    thing = " ".join(str(getattr(record, name)) for name in record.SLOT)
    return f"{found.sheet.name}, row {found.row}: {thing}, in the book from {record.since} on, ends on {record.until}."


def _without(rows: list[Found], problems: Iterable[Problem], result: Preview) -> list[Found]:
    found = list(problems)
    result.refused += found
    bad = {(p.file, p.row) for p in found}
    return [f for f in rows if (f.sheet.name, f.row) not in bad] if bad else rows


def _in_words(planned: Preview) -> str:
    counted = Counter((found.sheet.kind, found.sheet.name) for found in planned.new)
    if len(counted) > 3:
        return f"brought in {len(planned.new):,} records from {len(counted)} files"
    parts = [f"{n:,} {_plural(kind, n)} from {name}" for (kind, name), n in counted.items()]
    return f"brought in {', '.join(parts)}" if parts else "brought in nothing new"


def counted_rows(number: int) -> str:
    """``1 row``, ``3 rows``."""
    return f"{number:,} row" if number == 1 else f"{number:,} rows"


def _plural(kind: str, n: int) -> str:
    title = KINDS[kind].TITLE
    if n == 1 or kind in ("rain", "upkeep"):
        return title
    return f"{title[:-1]}ies" if title.endswith("y") and title[-2] not in "aeiou" else f"{title}s"

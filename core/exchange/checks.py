"""What a row refers to is there, and versions of one thing do not overlap."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from difflib import get_close_matches
from typing import Any

from core.book.kinds import (
    FINDING_KINDS,
    KINDS,
    Decision,
    EmitterGroup,
    MeteredUse,
    Pause,
    Planting,
    Program,
    Rain,
    Record,
    Zone,
    fields_of,
)
from core.book.resting import winter_over
from core.book.store import Book
from core.book.stretches import OF, overlaps
from core.days import Moment
from core.errors import Problem
from core.exchange.cells import nearest
from core.exchange.rows import Found
from core.notation import parse_shares
from core.water.tables import PLANT_TYPES, SOILS

SHOWN = 8  # codes named in one sentence
EMPTY_DAYS = 1904  # day numbers of spreadsheets count from 1899, 1900 or 1904, so an empty cell becomes such a day
_CLOCKS_DIFFER = timedelta(hours=1)  # a clock that is ahead, or not yet on winter time, is no slip
_TO_NOON = timedelta(hours=12)  # a whole day is kept as its noon, which may be to come
SOMETHING_ELSE = "other"  # a cause in the person's own words
LISTED: dict[str, tuple[str, Mapping[str, Any]]] = {
    "plant_type": ("a plant type", PLANT_TYPES),
    "soil": ("a soil", SOILS),
}
"""Fields of a planting that name a row of the published tables: what it is, and the rows by code."""
_AN_EMPTY_DAY = "a spreadsheet writes 1899, 1900 or 1904 for an empty one"


class Known:
    """The codes a row may refer to: those of the book and of the good rows so far. Kinds are read when asked for."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self._codes: dict[str, set[str]] = {}
        self._plantings: set[tuple[str, str]] | None = None

    def codes(self, kind: str) -> set[str]:
        """Codes of a kind whose key is its code."""
        if kind not in self._codes:
            self._codes[kind] = {stored.record.key()[0] for stored in self._book.records(KINDS[kind])}
        return self._codes[kind]

    def plantings(self) -> set[tuple[str, str]]:
        """Zone and code of every planting, of any time."""
        if self._plantings is None:
            self._plantings = {(s.record.zone, s.record.code) for s in self._book.records(Planting)}
        return self._plantings

    def add(self, kind: str, records: Sequence[Record]) -> None:
        """Make good rows known."""
        if KINDS[kind].KEY == ("code",):
            self.codes(kind).update(record.key()[0] for record in records)
        elif kind == Planting.KIND:
            self.plantings().update((r.zone, r.code) for r in records if isinstance(r, Planting))


def referring(rows: Sequence[Found], known: Known, kinds: bool = True) -> Iterator[Problem]:
    """Rows of one kind that refer to something that is neither in the book nor coming in, or to no kind of finding:
    a decision about that would be kept and be about nothing. Where ``kinds`` is not set such a one is taken: the
    export of a book that has it comes back whole.
    """
    if not rows:
        return
    kind = type(rows[0].record)
    if kind is Pause:  # all or a zone's code, which no foreign key can hold
        scopes = known.codes(Zone.KIND) | {"all"}
        for found in rows:
            scope = getattr(found.record, "scope", "")
            if scope not in scopes:
                yield found.sheet.problem(found.row, "scope", f"all, or {_one_of(Zone.KIND, scope, scopes - {'all'})}")
    for found in rows if kinds and kind is Decision else ():
        for name, known_kinds in (("finding", FINDING_KINDS), ("cause", (*FINDING_KINDS, SOMETHING_ELSE))):
            code = getattr(found.record, name)
            if code is not None and code not in known_kinds:
                near = get_close_matches(code, known_kinds, n=1, cutoff=0.85)  # a slip, not another word
                expected = f"a kind of finding: {', '.join(known_kinds)}{f', perhaps {near[0]}' if near else ''}"
                yield found.sheet.problem(found.row, name, expected)
    for info in fields_of(kind):
        if info.cell.form != "ref":
            continue
        codes = known.codes(info.cell.to)
        if info.cell.to == kind.KIND:  # a meter may stand in the sheet before the one it is behind
            codes = codes | {found.record.key()[0] for found in rows}
        for found in rows:
            code = getattr(found.record, info.name)
            if code is not None and code not in codes:
                yield found.sheet.problem(found.row, info.name, _one_of(info.cell.to, code, codes))


def doubtful(rows: Sequence[Found], known: Known, now: datetime) -> Iterator[Problem]:
    """Rows that name a planting that is nowhere, where the book does not insist on it, days that a spreadsheet writes
    where there was none, times later than ``now``, plant types and soils of no table, and more rain, wider plants and
    faster emitters than are to be believed.

    A book may hold such names, of a planting since removed for one, and must come out of its own sheets again;
    so they are told and not refused.
    """
    if not rows:
        return
    kind = type(rows[0].record)
    come, today = now + _CLOCKS_DIFFER, now + _TO_NOON
    dated = [info.name for info in fields_of(kind) if info.cell.form in ("day", "moment")]
    dated = [name for name in dated if not _within(name, rows, come)]
    for found in rows if dated or kind is Rain else ():
        for name in dated:
            value = getattr(found.record, name)
            if value is None:
                continue
            is_moment = isinstance(value, Moment)
            if (value.utc if is_moment else value).year <= EMPTY_DAYS:
                yield found.sheet.problem(found.row, name, f"a day after {EMPTY_DAYS}; {_AN_EMPTY_DAY}")
            elif is_moment and value.utc > (today if value.exact == "day" else come):
                yield found.sheet.problem(found.row, name, f"a time that has come; today is {now:%Y-%m-%d}")
        if isinstance(found.record, Rain) and found.record.very_much:
            yield found.sheet.problem(found.row, "rain", "less rain in that time, or a decimal mark that was left out")
    for found in rows if kind in (Planting, EmitterGroup) else ():
        yield from _of_the_garden(found)
    if kind is EmitterGroup or "planting" in kind.model_fields:
        for found in rows:
            yield from _by_word(found, known)


def _within(name: str, rows: Sequence[Found], come: datetime) -> bool:
    """Whether every day or moment of a field is one to be believed: told at once, for nearly always it is so."""
    values = [value for found in rows if (value := getattr(found.record, name)) is not None]
    if not values or not isinstance(values[0], Moment):
        return all(value.year > EMPTY_DAYS for value in values)
    instants = [value.utc for value in values]
    return bool(min(instants).year > EMPTY_DAYS and max(instants) <= come)


def _of_the_garden(found: Found) -> Iterator[Problem]:
    if isinstance(found.record, Planting):
        if found.record.very_wide:
            yield found.sheet.problem(found.row, "canopy", "the width of one plant, in the unit the column names")
        yield from _of_the_tables(found)
    elif isinstance(found.record, EmitterGroup) and found.record.very_fast:
        yield found.sheet.problem(found.row, "flow_each", "the flow of one emitter, in the unit the column names")


def _of_the_tables(found: Found) -> Iterator[Problem]:
    """A plant type or a soil that no table has, without which nothing can be reckoned for that planting."""
    for name, (what, rows) in LISTED.items():
        code = getattr(found.record, name)
        if code in rows:
            continue
        near = get_close_matches(code.replace("_", "-"), rows, n=3, cutoff=0.5)
        told = f"near it: {', '.join(near)}" if near else f"such as {', '.join(list(rows)[:SHOWN])}"
        expected = f"{what} of the tables, {told}; rillbook bring --columns {Planting.KIND} lists them all"
        yield found.sheet.problem(found.row, name, expected)


def _by_word(found: Found, known: Known) -> Iterator[Problem]:
    record = found.record
    if isinstance(record, EmitterGroup):
        here = {code for zone, code in known.plantings() if zone == record.zone}
        for code, _ in parse_shares(record.waters).parts:
            if code not in here:
                yield found.sheet.problem(found.row, "waters", _one_of(Planting.KIND, code, here, f" in {record.zone}"))
    elif getattr(record, "planting", None) is not None:  # of other use, of a month's own factor
        code, zone = getattr(record, "planting", ""), getattr(record, "zone", None)
        here = {known_code for known_zone, known_code in known.plantings() if zone in (None, known_zone)}
        if code not in here:
            yield found.sheet.problem(found.row, "planting", _one_of(Planting.KIND, code, here))


def _one_of(kind: str, code: str, codes: set[str], where: str = "") -> str:
    title = KINDS[kind].TITLE
    if not codes:
        return f"the code of a {title}{where}, but there is none yet; bring in {kind}.csv with it"
    shown = ", ".join(sorted(codes)[:SHOWN]) + (" and others" if len(codes) > SHOWN else "")
    return f"the code of a {title}{where}: {shown}{nearest(code, codes)}"


@dataclass(frozen=True, slots=True)
class _Span:
    since: date
    until: date | None
    where: str

    def meets(self, other: _Span) -> bool:
        return (other.until is None or self.since < other.until) and (self.until is None or other.since < self.until)

    def __str__(self) -> str:
        return f"from {self.since} to {self.until}" if self.until else f"from {self.since} on, without an end,"


def at_once(book: Book, rows: Sequence[Found]) -> Iterator[Problem]:
    """Water of one gauge or meter told for hours of which another row, of the book or above, tells already.

    It is told and not refused: a utility may give days beside hours, and what the book holds must come in again.
    """
    for met in overlaps(book, [found.record for found in rows]):
        found = rows[met.place]
        of = getattr(found.record, OF[found.record.KIND])
        other = "the book" if met.above is None else rows[met.above]
        where = other if isinstance(other, str) else _row(other, found)
        expected = f"hours of {of} that no other row covers; {where} has {met.start} to {met.end} already"
        yield found.sheet.problem(found.row, "start", expected)


def in_winter(rows: Sequence[Found], pauses: Sequence[Pause]) -> Iterator[Problem]:
    """Programs that begin while everything, or their zone, is paused for the winter."""
    for found in rows:
        if not isinstance(found.record, Program) or (pause := winter_over(found.record, pauses)) is None:
            continue
        if pause.until is not None:
            expected = f"{pause.until} or later, for a pause for winter holds until then and it runs from that day on"
        else:
            expected = (
                f"a day on which no pause for winter holds; that from {pause.since} has no end, so that this would "
                "never run: end it with a row of pause.csv or with rillbook stop --on-again"
            )
        yield found.sheet.problem(found.row, "since", expected)


def between_bills(rows: Sequence[Found]) -> Iterator[Problem]:
    """Metered volumes by dates alone that each leave a day before the next, as bills do whose last day is counted.

    An end is the first day no longer counted, so that the water of that day would belong to neither.
    """
    if not rows or type(rows[0].record) is not MeteredUse:
        return
    by_date = [
        (found, found.record)
        for found in rows
        if isinstance(found.record, MeteredUse) and found.record.start.exact == found.record.end.exact == "day"
    ]
    begins = {(use.meter, use.start.local.date()) for _, use in by_date}
    for found, use in by_date:
        last = use.end.local.date()
        following = last + timedelta(days=1)
        if use.start.local.date() < last and (use.meter, following) in begins and (use.meter, last) not in begins:
            yield found.sheet.problem(
                found.row, "end", f"the first day not counted, {following} if {last} is the last day of this row"
            )


def _row(other: Found, found: Found) -> str:
    return f"row {other.row}" if other.sheet.name == found.sheet.name else f"{other.sheet.name}, row {other.row},"


def versions(book: Book, rows: Sequence[Found], ended: Mapping[int, Record]) -> tuple[list[Problem], list[Found]]:
    """Versions that would hold on the same days as another of the same slot, of the book or above, as problems; and
    those that follow one without an end, which ends the day before: a change from their day on. ``ended``: versions
    of the book, by id, as the sheets end them.
    """
    if not rows or not type(rows[0].record).SLOT:
        return [], []
    held: dict[tuple[Any, ...], list[_Span]] = defaultdict(list)
    for stored in book.records(type(rows[0].record)):
        held[_slot(stored.record)].append(_span(ended.get(stored.id, stored.record), "the book"))
    problems, following = [], []
    for found in rows:
        span, others = _span(found.record, f"row {found.row}"), held[_slot(found.record)]
        met = [other for other in others if span.meets(other)]
        if len(met) == 1 and met[0].until is None and met[0].since < span.since:
            others[others.index(met[0])] = replace(met[0], until=span.since)
            following.append(found)
        elif met:
            thing = " ".join(str(part) for part in _slot(found.record))
            expected = f"days on which {thing} has no other version; {met[0].where} has one {met[0]} already"
            problems.append(found.sheet.problem(found.row, "since", expected.rstrip(",")))
            continue
        others.append(span)
    return problems, following


def _slot(record: Record) -> tuple[Any, ...]:
    return tuple(getattr(record, name) for name in record.SLOT)


def _span(record: Any, where: str) -> _Span:
    return _Span(record.since, record.until, where)

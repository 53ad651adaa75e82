"""Writing a program that fits into the book: first exactly what would be written, then all of it in one change set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from core.book.kinds import Program
from core.book.store import Book, Stored
from core.errors import EntryError
from core.notation import Starts, parse_days, parse_starts
from core.review.as_set import program_words
from core.review.fitting import ZoneFit
from core.review.spoken import day_named, listed
from core.water.program import Fitting

Verb = Literal["add", "change", "put right", "end", "remove", "same"]


@dataclass(frozen=True, slots=True)
class Write:
    """One thing that accepting writes.

    Attributes:
        verb: "add" a program; "change" one on a day; "put right" one that begins on that very day; "end" or "remove" a
            second program of the zone; "same": it is set like that already, nothing is written.
        record: as it will stand. stored: what is there now, None for "add".
        words: a sentence.
    """

    verb: Verb
    record: Program
    stored: Stored[Program] | None
    words: str


def planned(book: Book, fits: Sequence[ZoneFit], day: date) -> tuple[Write, ...]:
    """What accepting the programs of these zones from a day on would write, zone by zone.

    The zone's program of that day changes into the fitting one; where the zone has several, the first changes and the
    others end. A setting already written for a later day stays and takes over then.

    Raises:
        EntryError: a zone has no program that fits.
    """
    return tuple(write for fit in fits for write in _of_zone(book, fit, day))


def accept(book: Book, fits: Sequence[ZoneFit], day: date) -> int | None:
    """Writes them, all or none, and returns the number of the change set; None when nothing was different.

    Raises:
        EntryError: a zone has no program that fits. StaleError, OverlapError: the book changed meanwhile.
    """
    names = listed(fit.name for fit in fits)
    with book.change(f"set programs that fit from {day}: {names}") as change:
        for write in planned(book, fits, day):
            seen = write.stored
            if write.verb == "add":
                change.add(write.record)
            elif write.verb == "change" and seen is not None:
                change.change_from(seen.id, day, write.record, seen.change_set)
            elif write.verb in ("put right", "end") and seen is not None:
                change.correct(seen.id, write.record, seen.change_set)
            elif write.verb == "remove" and seen is not None:
                change.remove(seen.id, Program, seen.change_set)
    return change.number


def _of_zone(book: Book, fit: ZoneFit, day: date) -> list[Write]:
    if fit.fit is None or fit.starts is None:
        raise EntryError(f"{fit.name} has no program that fits: {fit.note}")
    versions = book.records(Program, zone=fit.zone)
    held = [s for s in versions if s.record.since <= day and (s.record.until is None or s.record.until > day)]
    held.sort(key=lambda s: s.record.label)
    label = held[0].record.label if held else "a"
    later = min((s.record.since for s in versions if s.record.label == label and s.record.since > day), default=None)
    record = _record(fit.zone, label, day, later, fit.fit, fit.starts)
    words = f"{fit.name}, {program_words(fit.fit.days, fit.starts, fit.fit.minutes)}"
    until = f", until {day_named(later, year=True)} when what is already written takes over" if later else ""
    when = day_named(day, year=True)
    if not held:
        return [Write("add", record, None, f"New from {when}{until}: {words}.")]
    first, others = held[0], held[1:]
    if _alike(first.record, record):
        writes = [Write("same", first.record, first, f"Already so: {words}.")]
    elif first.record.since == day:
        kept = record.model_copy(update={"until": first.record.until})
        writes = [Write("put right", kept, first, f"Put right, since it begins on {when} itself{until}: {words}.")]
    else:
        writes = [Write("change", record, first, f"Changed on {when}{until}: {words}; before that {_before(first)}.")]
    return writes + [_ended(other, fit.name, day) for other in others]


def _ended(stored: Stored[Program], name: str, day: date) -> Write:
    said = f"program {stored.record.label} of {name}, {_before(stored)}"
    if stored.record.since == day:
        return Write("remove", stored.record, stored, f"Removed, since it begins on that day itself: {said}.")
    ended = stored.record.model_copy(update={"until": day})
    return Write("end", ended, stored, f"Ended on {day_named(day, year=True)}: {said}.")


def _record(zone: str, label: str, day: date, until: date | None, fit: Fitting, starts: Starts) -> Program:
    days = replace(fit.days, anchor=day) if fit.days.form == "every" else fit.days
    return Program(
        zone=zone, label=label, since=day, until=until, days=str(days), starts=str(starts), minutes=fit.minutes
    )


def _alike(one: Program, other: Program) -> bool:
    """Whether two programs open the valve alike, whatever their dates. Days every n count from their own first day."""
    days, others = parse_days(one.days), parse_days(other.days)
    same_days = days == others or (days.form == others.form == "every" and days.every == others.every)
    minutes = one.minutes * one.percent == other.minutes * other.percent
    return same_days and parse_starts(one.starts) == parse_starts(other.starts) and minutes


def _before(stored: Stored[Program]) -> str:
    record = stored.record
    minutes = record.minutes * record.percent / 100
    return program_words(parse_days(record.days), parse_starts(record.starts), minutes)

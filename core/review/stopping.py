"""Pausing zones or switching their programs off from a day: first what would be written, then one change set."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

from core.book.kinds import Pause, Program
from core.book.store import Book, Stored
from core.errors import EntryError
from core.notation import parse_days, parse_starts
from core.review.as_set import program_words
from core.review.spoken import day_named, first_up, listed

How = Literal["pause", "off", "on"]
Why = Literal["rain", "away", "repair", "other"]


@dataclass(frozen=True, slots=True)
class Stop:
    """One thing that is written.

    Attributes:
        verb: "add" a pause; "end" a program or a pause, whose record then closes on the day; "remove" one that would
            begin on that very day; "same": it stands like that already, nothing is written.
        record: as it will stand. stored: what is there now, None for "add".
        words: a sentence.
    """

    verb: Literal["add", "end", "remove", "same"]
    record: Pause | Program
    stored: Stored[Program] | Stored[Pause] | None
    words: str


def programmed(book: Book, day: date) -> list[str]:
    """Codes of the zones that have a program on a day, in the order of the book."""
    return list(dict.fromkeys(s.record.zone for s in book.records(Program) if _held(s.record, day)))


def paused_on(book: Book, zones: Iterable[str], day: date) -> list[str]:
    """Those of the zones that a pause holds off on a day."""
    off = {s.record.scope for s in book.records(Pause) if s.record.since <= day and _holds(s.record.until, day)}
    return [code for code in zones if code in off or "all" in off]


def planned_stop(
    book: Book, zones: Mapping[str, str], day: date, how: How, until: date | None = None, why: Why = "other"
) -> tuple[Stop, ...]:
    """What pausing these zones, switching them off, or on again from a day on would write.

    Args:
        zones: code and name of each.
        until: of a pause, the first day on again; None until somebody ends it.

    Raises:
        EntryError: the pause would end before it begins, or a pause of everything would have to end for a part of it.
    """
    if how == "on":
        return _on_again(book, zones, day)
    if how == "pause" and until is not None and until <= day:
        raise EntryError("The first day on again must come after the first day off.")
    made = [_paused(book, code, name, day, until, why) if how == "pause" else _off(book, code, name, day)
            for code, name in zones.items()]  # fmt: skip
    return tuple(stop for stops in made for stop in stops)


def stop(
    book: Book, zones: Mapping[str, str], day: date, how: How, until: date | None = None, why: Why = "other"
) -> int | None:
    """Writes it, all or none, and returns the number of the change set; None when nothing was different.

    Raises:
        EntryError: as :func:`planned_stop`. StaleError, OverlapError, ConflictError: the book changed meanwhile.
    """
    done = {"pause": "paused", "off": "switched off", "on": "on again"}[how]
    with book.change(f"{done} from {day}: {listed(zones.values())}") as change:
        for each in planned_stop(book, zones, day, how, until, why):
            if each.verb == "add":
                change.add(each.record)
            elif each.stored is not None and each.verb == "end":
                change.correct(each.stored.id, each.record, each.stored.change_set)
            elif each.stored is not None and each.verb == "remove":
                change.remove(each.stored.id, type(each.record), each.stored.change_set)
    return change.number


def stops_of(book: Book, zone: str, today: date) -> tuple[str, ...]:
    """The pauses that hold a zone off now or later, and programs that end, in words."""
    found = [s.record for s in book.records(Pause) if s.record.scope in (zone, "all")]
    ahead = sorted((p for p in found if p.until is None or p.until > today), key=lambda p: p.since)
    versions = [s.record for s in book.records(Program, zone=zone)]
    ends = {p.until for p in versions if p.until is not None and p.until > today and p.since <= today}
    followed = {p.since for p in versions}
    return (
        *(first_up(f"paused {_span(p.since, p.until)}.") for p in ahead),
        *(f"Ends on {day_named(day, year=True)}." for day in sorted(ends - followed)),
    )


def first_day_off(book: Book, now: datetime) -> date:
    """The day from which stopping takes back no run that has begun: today, or tomorrow once anything ran today.

    Args:
        now: in the home's time.
    """
    for stored in book.records(Program):
        record = stored.record
        begun = any(t <= now.time() for t in parse_starts(record.starts).times)
        if begun and _held(record, now.date()) and parse_days(record.days).waters_on(now.date()):
            return now.date() + timedelta(days=1)
    return now.date()


def _paused(book: Book, code: str, name: str, day: date, until: date | None, why: Why) -> list[Stop]:
    """A pause from the day on, or from the end of one that holds already, up to one that is written for later; and
    where that ends before ``until``, another from its end on.
    """
    off = [s for s in book.records(Pause) if s.record.scope in (code, "all")]
    begins, made = day, list[Stop]()
    while until is None or begins < until:
        if now := next((s for s in off if s.record.since <= begins and _holds(s.record.until, begins)), None):
            ends = now.record.until
            if ends is None or (until is not None and ends >= until):
                said = f"{name} is paused already, {_span(now.record.since, ends)}."
                return made or [Stop("same", now.record, now, said)]
            begins = ends
            continue
        later = min((s.record.since for s in off if s.record.scope == code and s.record.since > begins), default=None)
        ends = min((d for d in (until, later) if d is not None), default=None)
        record = Pause(scope=code, since=begins, until=ends, reason=why)
        made.append(Stop("add", record, None, f"{name} paused {_span(begins, ends)}."))
        if until is None or ends is None:
            break
        begins = ends
    return made


def _on_again(book: Book, zones: Mapping[str, str], day: date) -> tuple[Stop, ...]:
    """The pauses that hold on the day, each once, ended by it."""
    holding = [s for s in book.records(Pause) if s.record.since <= day and _holds(s.record.until, day)]
    every = next((s for s in holding if s.record.scope == "all"), None)
    others = sorted(set(paused_on(book, programmed(book, day), day)) - set(zones))
    if every is not None and others:
        raise EntryError(
            f"Everything is paused, {_span(every.record.since, every.record.until)}; that ends for all zones or for "
            f"none. Choose {listed(others)} too, or pause those by themselves first."
        )
    found = [s for s in holding if s.record.scope in (*zones, "all")]
    return tuple(_ended(stored, zones.get(stored.record.scope, "Everything"), day) for stored in found)


def _ended(stored: Stored[Pause], name: str, day: date) -> Stop:
    record = stored.record
    if record.since == day:
        return Stop("remove", record, stored, f"{name}: the pause is removed, since it begins on that day itself.")
    ended = record.model_copy(update={"until": day})
    return Stop("end", ended, stored, f"{name} on again on {day_named(day, year=True)}; {_was(record)}.")


def _was(record: Pause) -> str:
    return f"paused since {day_named(record.since, year=True)}" + (" for winter" if record.reason == "winter" else "")


def _off(book: Book, code: str, name: str, day: date) -> list[Stop]:
    found = []
    for stored in book.records(Program, zone=code):
        record = stored.record
        if not _held(record, day):
            continue
        said = program_words(
            parse_days(record.days), parse_starts(record.starts), record.minutes * record.percent / 100
        )
        if record.since == day:
            found.append(
                Stop("remove", record, stored, f"{name}: {said} is removed, since it begins on that day itself.")
            )
        else:
            ended = record.model_copy(update={"until": day})
            found.append(Stop("end", ended, stored, f"{name}: {said} ends on {day_named(day, year=True)}."))
    later = [s.record.since for s in book.records(Program, zone=code) if s.record.since > day]
    if found and later:
        last = found[-1]
        again = f"{last.words} What is already written from {day_named(min(later), year=True)} on stays."
        found[-1] = Stop(last.verb, last.record, last.stored, again)
    return found


def _held(record: Program, day: date) -> bool:
    return record.since <= day and (record.until is None or record.until > day)


def _holds(ends: date | None, day: date) -> bool:
    return ends is None or ends > day


def _span(since: date, until: date | None) -> str:
    begins = f"from {day_named(since, year=True)}"
    return f"{begins}, on again on {day_named(until, year=True)}" if until else f"{begins} until you switch it on again"

"""Somebody moved in or out for good: the usual number of people from a day on, the past kept as it was lived."""

from __future__ import annotations

from datetime import date

from core.book.kinds import Home, Household
from core.book.store import Book, Stored
from core.errors import EntryError
from core.review.spoken import counted, day_named

NOTE = "The usual number until then"  # by which such a record is known from guests and trips
KEPT = ("meter_reading", "metered_use")  # what the number of people explains


def first_day(book: Book) -> date | None:
    """The first local day of what the meters were read; None before there is any, when no past can be rewritten."""
    begun = [book.frame(kind)["at" if kind == "meter_reading" else "start"].min() for kind in KEPT]
    known = [at.tz_convert(book.zone_info).date() for at in begun if at == at]  # noqa: PLR0124 - NaT
    return min(known, default=None)


def people_from(book: Book, day: date, people: int, first: date, seen: Stored[Home] | None = None) -> int | None:
    """Writes that so many people are usually at home from a day on, and returns the number of the change set.

    The home gets the new number, which is the usual one of all days, and a household record of kind "other" says the
    former one from ``first``, the first day of the record, up to ``day``. It begins after what holds on ``first``
    already, such as the number before an earlier move. Guests and trips within it hold as they did: the later beginning
    wins (:func:`core.accounts.presence.presence`), and both say how many were there. All of it is one change set.

    Args:
        seen: the home as it was read, with whatever else of it is put right in the same step; else as it stands.

    Returns:
        None when so many people were usual already.

    Raises:
        EntryError: what was written down as usual until a later day holds on ``day``; it has to be put right first.
            More than 50 people or less than none; none after a time with somebody, which the accounts would take for
            a garden without a house all along.
        StaleError: the home was changed since it was read.
    """
    stored, was = seen or book.records(Home)[0], book.home().people
    if people == was:
        return None
    if not 0 <= people <= 50:
        raise EntryError("People are from 0 to 50. Nothing was stored.")
    if people == 0 and first < day:
        raise EntryError(
            "With nobody usually at home the days before would count as a garden without a house. Write down under "
            "who was at home that nobody is, from that day to one far enough ahead. Nothing was stored."
        )
    rows = [s.record for s in book.records(Household)]
    later = next((r for r in rows if r.note == NOTE and r.until > day), None)
    if later is not None:
        raise EntryError(
            f"{counted(later.people, 'person is', 'people are')} written down as the usual number until "
            f"{day_named(later.until, year=True)}. Choose that day or a later one, or put that right first. "
            "Nothing was stored."
        )
    begins = first
    while over := [r.until for r in rows if r.since <= begins < r.until]:
        begins = max(over)
    now = counted(people, "person", "people")
    with book.change(f"{now} at home from {day} on, {was} before") as change:
        change.correct(stored.id, stored.record.model_copy(update={"people": people}), stored.change_set)
        if begins < day:
            change.add(Household(since=begins, until=day, people=was, reason="other", note=NOTE))
    return change.number

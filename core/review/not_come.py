"""Runs that did not come, of several zones from one time to another: first what would be written, then one change set.

A meter that is read weekly may show that water is missing without vouching for a single run; who was there can. What is
written are runs that did not happen, as one would write them by hand: the day alone where none of its runs came.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import pandas as pd

from core.accounts.findings import Cause, Finding, means_no_water
from core.accounts.runs import runs_between
from core.book.kinds import Run
from core.book.store import Book
from core.days import Moment, day_start, parse_moment
from core.errors import EntryError
from core.review.decide import SETTLED, decision_of, moment_at, put
from core.review.half_shut import with_half_shut
from core.review.spoken import counted, day_named, listed


@dataclass(frozen=True, slots=True)
class NotCome:
    """What would be written of one zone.

    Attributes:
        zone, name: its code and name. runs: how many did not come. days: the days on which they would have.
        there: further runs in that time of which somebody has written down what became of them; that stays.
        records: of these runs.
    """

    zone: str
    name: str
    runs: int
    days: tuple[date, ...]
    there: int
    records: tuple[Run, ...]

    @property
    def words(self) -> str:
        """``Bed: 10 runs from 10 to 26 September 2026. 1 more is written down already and stays.``"""
        if self.runs and self.there:
            kept = counted(self.there, "more is", "more are")
            stays = f" {kept} written down already and {'stays' if self.there == 1 else 'stay'}."
        else:
            stays = ""
        if self.runs:
            return f"{self.name}: {counted(self.runs, 'run')} {_span(self.days)}.{stays}"
        return f"{self.name}: {'what ran is written down already' if self.there else 'no run was set in that time'}."


def zones_of(finding: Finding) -> tuple[str, ...]:
    """The zones whose runs may not have come by a finding: as a person said, else all of its own."""
    if finding.cause is not None and finding.cause.zone is not None:
        return (finding.cause.zone,)
    return finding.group


def may_not_have_come(finding: Finding) -> bool:
    """Whether a finding is of runs that brought no water, by itself or by what a person said of it."""
    return finding.kind == "not_delivered" or means_no_water(finding)


def from_to(since: str, until: str, book: Book) -> tuple[datetime, datetime]:
    """The first and last instant that are meant, each written as a day, with or without a time.

    Raises:
        EntryError: no such time, or the first comes after the last.
    """
    first, last = (parse_moment(text, book.zone_info) for text in (since, until))
    begins, ends = _whole(first, book, 0), _whole(last, book, 1)
    if begins > ends:
        raise EntryError(f"{since.strip()} comes after {until.strip()}: from when to when? Nothing was stored.")
    return begins, ends


def planned_not_come(
    book: Book, zones: Mapping[str, str], since: datetime, until: datetime, now: datetime, why: str = ""
) -> tuple[NotCome, ...]:
    """What would be written of each zone.

    Args:
        zones: code and name of each. since, until: instants; runs that were to begin at them or between are meant.
        now: nobody knows yet of runs that begin later. why: in the person's own words.

    Raises:
        EntryError: no zone, nothing set in that time, or all of it written down already.
    """
    if not zones:
        raise EntryError("Of which zones? Nothing was stored.")
    runs = _runs(book, since, until, now)
    found = tuple(_of_zone(book, code, name, runs, since, min(until, now), why) for code, name in zones.items())
    if any(each.runs for each in found):
        return found
    there = sum(each.there for each in found)
    names, days = listed(zones.values()), _span([t.astimezone(book.zone_info).date() for t in (since, until)])
    if not there:
        raise EntryError(f"No run of {names} was set {days}. Nothing was stored.")
    all_of_it = "The only run" if there == 1 else f"All {there} runs"
    raise EntryError(
        f"{all_of_it} of {names} {days} {'is' if there == 1 else 'are'} written down already. Nothing was stored."
    )


def write_not_come(
    book: Book,
    finding: Finding,
    zones: Mapping[str, str],
    since: datetime,
    until: datetime,
    at: Moment,
    why: str = "",
) -> tuple[int | None, tuple[NotCome, ...]]:
    """Write it, with the verdict "cause found" for a finding that has none yet, in one change set; its number, and
    what was written.

    Raises:
        EntryError: as :func:`planned_not_come`.
    """
    planned = planned_not_come(book, zones, since, until, at.utc, why)
    with book.change(f"runs that did not come: {said(planned)}") as change:
        change.add_many(record for each in planned for record in each.records)
        if finding.decision not in SETTLED:
            cause = Cause("not_delivered")
            put(change, decision_of(finding, "explained", book.zone_info, at, note=why.strip(), cause=cause))
    return change.number, planned


def said(planned: Sequence[NotCome]) -> str:
    """``49 runs of Bed and Pots from 10 to 26 September 2026``."""
    meant = [each for each in planned if each.runs]
    days = sorted({day for each in meant for day in each.days})
    return f"{counted(sum(e.runs for e in meant), 'run')} of {listed(e.name for e in meant)} {_span(days)}"


def _runs(book: Book, since: datetime, until: datetime, now: datetime) -> pd.DataFrame:
    """All runs of the local days that are touched, as the programs and what was written down have them."""
    frames, tz = book.frames(now), book.zone_info
    return runs_between(
        frames["program"],
        with_half_shut(frames["pause"], frames["checklist_step"], frames["zone"]),
        frames["run"],
        frames["controller"],
        frames["clock_check"],
        frames["zone"],
        tz,
        since.astimezone(tz).date(),
        until.astimezone(tz).date(),
    )


def _of_zone(
    book: Book, code: str, name: str, runs: pd.DataFrame, since: datetime, until: datetime, why: str
) -> NotCome:
    mine = runs[runs["zone"] == code]
    inside = mine["start"].between(since, until)
    presumed = mine["basis"] == "presumed"
    meant = mine[inside & presumed]
    taken = {(s.record.at.utc, s.record.nth) for s in book.records(Run, zone=code)}
    records: list[Run] = []
    for day, rows in meant.groupby("day"):
        of_day = mine[(mine["day"] == day) & presumed]
        whole = len(rows) == len(of_day)
        at = [parse_moment(f"{day:%Y-%m-%d}", book.zone_info)] if whole else [
            moment_at(start.to_pydatetime(), book.zone_info) for start in rows["start"]
        ]  # fmt: skip
        for each in at:
            nth = next(n for n in range(1, 100) if (each.utc, n) not in taken)
            taken.add((each.utc, nth))
            records.append(Run(zone=code, at=each, nth=nth, ran=False, why=why.strip()))
    days = tuple(sorted({day.date() for day in meant["day"]}))
    return NotCome(code, name, len(meant), days, int((inside & ~presumed).sum()), tuple(records))


def _whole(moment: Moment, book: Book, after: int) -> datetime:
    """The moment itself, to the end of its minute or hour where that is meant; of a day alone its beginning or end."""
    if moment.exact != "day":
        return moment.utc + after * timedelta(seconds=3599 if moment.exact == "hour" else 59)
    day = moment.utc.astimezone(book.zone_info).date()
    return day_start(day + timedelta(days=after), book.zone_info) - after * timedelta(seconds=1)


def _span(days: Sequence[date]) -> str:
    """``on 9 July 2026``, ``from 6 to 16 July 2026``, ``from 31 August to 27 September 2026``."""
    first, last = days[0], days[-1]
    if first == last:
        return f"on {day_named(first, year=True)}"
    month = f" {first:%B}" if (first.year, first.month) != (last.year, last.month) else ""
    year = f" {first.year}" if first.year != last.year else ""
    return f"from {first.day}{month}{year} to {day_named(last, year=True)}"

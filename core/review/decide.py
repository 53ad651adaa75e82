"""What a person says about a finding, as records: cause found, harmless, repaired, ask again, or logged as use.

Which findings a decision is about says :meth:`core.accounts.findings.Said.covers`. A finding that still goes on is
decided up to the day of the decision: it stays decided however its first day shifts, and the next leak is a finding of
its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from core.accounts.findings import SOMETHING_ELSE, Cause, Finding, Said
from core.accounts.suspects.words import KIND_WORDS
from core.book.change import Change
from core.book.kinds import Decision, Measured, OtherUse
from core.book.store import Book
from core.days import Moment
from core.errors import EntryError
from core.review.month import AskedStay
from core.review.spoken import counted, listed
from core.units import from_base, show, shown_unit

Verdict = Literal["explained", "harmless", "repaired", "ask_again"]
VERDICT_WORDS: dict[str, str] = {
    "explained": "cause found",
    "harmless": "harmless",
    "repaired": "repaired",
    "ask_again": "ask me again",
}
SETTLED = ("explained", "harmless", "repaired")
NEAR = timedelta(hours=3)  # by which the beginning that hourly readings tell may be off
LOGGABLE = ("one_off", "stuck_open")  # kinds that may turn out to be a use nobody wrote down


def moment_at(instant: datetime, zone: ZoneInfo) -> Moment:
    """An instant as the home's clock shows it."""
    offset = instant.astimezone(zone).utcoffset() or timedelta()
    return Moment(instant, int(offset.total_seconds() // 60))


def decision_of(
    finding: Finding,
    verdict: Verdict,
    zone: ZoneInfo,
    at: Moment,
    repaired_on: date | None = None,
    note: str = "",
    cause: Cause | None = None,
) -> Decision:
    """The record of a verdict on a finding, made at ``at`` in a home in ``zone``.

    Raises:
        EntryError: a repair without its day, before the finding began, or in the future; a cause that is something
            else without words for it.
    """
    if cause is not None and cause.kind == SOMETHING_ELSE and not note.strip():
        raise EntryError("Something else: say in your own words what it was. Nothing was stored.")
    since, decided = finding.since.astimezone(zone).date(), at.utc.astimezone(zone).date()
    if verdict == "repaired":
        if repaired_on is None:
            raise EntryError("On which day was it repaired? Nothing was stored.")
        if not since <= repaired_on <= decided:
            raise EntryError(f"{repaired_on} is not between {since}, when it began, and {decided}. Nothing was stored.")
    until = finding.until.astimezone(zone).date() if finding.until else max(decided, since)
    return Decision(
        finding=finding.kind,
        meter=finding.meter or None,
        zone=finding.zone,
        since=since,
        until=until,
        verdict=verdict,
        repaired_on=repaired_on if verdict == "repaired" else None,
        decided_at=at,
        note=note,
        cause=cause.kind if cause else None,
        cause_zone=cause.zone if cause else None,
    )


def said(decision: Decision) -> Said:
    """What of a decision says which findings it is about."""
    repaired = decision.repaired_on if decision.verdict == "repaired" else None
    return Said(
        decision.finding,
        decision.meter,
        decision.zone,
        decision.since,
        decision.until,
        decision.decided_at.utc,
        repaired,
    )


def let_be(book: Book, findings: Sequence[Finding], at: Moment) -> int | None:
    """Call several findings harmless in one change set; returns its number."""
    with book.change(
        f"decided: {VERDICT_WORDS['harmless']}: {counted(len(findings), 'use')} nobody wrote down"
    ) as change:
        for finding in findings:
            put(change, decision_of(finding, "harmless", book.zone_info, at))
    return change.number


def decide(
    book: Book,
    finding: Finding,
    verdict: Verdict,
    at: Moment,
    repaired_on: date | None = None,
    note: str = "",
    cause: Cause | None = None,
) -> int | None:
    """Store a verdict as one change set, in the place of one of the same minute; returns its number.

    Raises:
        EntryError: as :func:`decision_of`.
    """
    record = decision_of(finding, verdict, book.zone_info, at, repaired_on, note, cause)
    day = f" on {repaired_on}" if record.repaired_on else ""
    was = "" if cause is None or cause.kind == finding.kind else f", it was {KIND_WORDS.get(cause.kind, note.strip())}"
    with book.change(f"decided: {VERDICT_WORDS[verdict]}{day}: {KIND_WORDS[finding.kind]}{was}") as change:
        put(change, record)
    return change.number


def it_broke(book: Book, asked: AskedStay, cause: Cause, at: Moment, note: str = "") -> int | None:
    """Store that a stay was neither guests nor a trip but a rival; returns the number of the change set. From then
    on that rival is its finding, with the cause found.
    """
    tz, now = book.zone_info, at.utc
    since, until = (t.astimezone(tz).date() for t in (asked.stay.since, asked.stay.until or now))
    record = Decision(
        finding=cause.kind,
        meter=asked.meter or None,
        zone=cause.zone,
        since=since,
        until=max(until, since),
        verdict="explained",
        decided_at=at,
        note=note,
    )
    with book.change(f"decided: {VERDICT_WORDS['explained']}: {KIND_WORDS[cause.kind]}") as change:
        put(change, record)
    return change.number


def log_as_use(
    book: Book,
    finding: Finding,
    what: str,
    volume: Measured,
    at: Moment,
    *,
    zone: str | None = None,
    start: Moment | None = None,
) -> int | None:
    """Turn a finding into logged other use: the use and the verdict "cause found" in one change set, taken back as one.

    Args:
        what: what the water was for. volume: how much it was.
        at: when the person said so. zone: the zone it watered, if any.
        start: when it began, where the person knows better than the meter.

    Raises:
        EntryError: no words, a volume that is not above 0, or a beginning when the meter shows nothing of it.
    """
    with book.change(f"logged other use: {what.strip()}, {volume}") as change:
        _log(change, book.zone_info, finding, what, volume, at, zone, start)
    return change.number


def log_as_uses(book: Book, findings: Sequence[Finding], what: str, at: Moment) -> int | None:
    """Turn several findings into logged other use by the volumes the meter tells, in one change set.

    Raises:
        EntryError: as :func:`log_as_use`.
    """
    unit = shown_unit("volume", book.home().display)
    said = listed(show(f.volume.value or 0.0, "volume", book.home().display) for f in findings)
    with book.change(f"logged other use: {what.strip()}, {said}") as change:
        for finding in findings:
            litres = from_base(finding.volume.value or 0.0, unit.code, "volume")
            _log(change, book.zone_info, finding, what, Measured(f"{litres:.0f}", unit.code, "volume"), at, None)
    return change.number


def _log(
    change: Change,
    tz: ZoneInfo,
    finding: Finding,
    what: str,
    volume: Measured,
    at: Moment,
    zone: str | None,
    start: Moment | None = None,
) -> None:
    if not what.strip():
        raise EntryError("Enter what it was for, such as filling the pool. Nothing was stored.")
    if volume.base <= 0:
        raise EntryError(f"“{volume.typed}” is no volume of water used. Expected more than 0. Nothing was stored.")
    ended = finding.until or at.utc
    if ended <= finding.since:
        ended = finding.since + timedelta(hours=1)
    begun = start or moment_at(finding.since, tz)
    end = _end_of(start, finding.since, ended, tz) if start else moment_at(ended, tz)
    use = OtherUse(
        start=begun,
        end=end,
        what=what.strip(),
        volume=volume,
        meter=finding.meter or None,
        zone=zone,
    )
    decision = decision_of(finding, "explained", tz, at, note=what.strip())
    taken = {s.record.nth for s in change.records(OtherUse) if s.record.start.utc == use.start.utc}
    change.add(use.model_copy(update={"nth": min(set(range(1, 100)) - taken)}))
    put(change, decision)


def _end_of(start: Moment, since: datetime, ended: datetime, tz: ZoneInfo) -> Moment | None:
    """The end of a use whose beginning a person knows: as found where that is known to hours, else not known.

    Raises:
        EntryError: it began before the meter shows it, or after.
    """
    first, last = (t.astimezone(tz) for t in (since, ended))
    day = start.utc.astimezone(tz).date()
    inside = first.date() <= day <= last.date() if start.exact == "day" else since - NEAR <= start.utc < ended
    if not inside:
        raise EntryError(
            f"The meter shows it between {first:%Y-%m-%d %H:%M} and {last:%Y-%m-%d %H:%M}; a use of another time would "
            "not explain it. Nothing was stored."
        )
    return moment_at(ended, tz) if start.exact != "day" and ended - since <= timedelta(days=1) else None


def put(change: Change, decision: Decision) -> None:
    """Write a decision down; one of the same minute takes the place of the first, which undo brings back.

    What was said with the first is not lost by it, unless a cause or a new question is told in its stead.
    """
    there = change.find(Decision, *decision.key())
    if there is None:
        change.add(decision)
        return
    if decision.verdict in ("harmless", "repaired") and there.record.verdict != "ask_again":
        kept = {name: getattr(decision, name) or getattr(there.record, name) for name in ("note", "cause")}
        zone = decision.cause_zone if decision.cause else there.record.cause_zone
        decision = decision.model_copy(update={**kept, "cause_zone": zone})
    change.correct(there.id, decision)

"""What the watch has told, beside what is found today: which telling is about which finding, and which no longer
stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from core.accounts.findings import Finding, told_then
from core.accounts.suspects import Stay
from core.book.kinds import Decision, OtherUse, Told

NO_LONGER = "no_longer"
RECENT = timedelta(days=120)  # of older tellings nobody waits for word any more; common practice, no source


@dataclass(frozen=True, slots=True)
class NoLonger:
    """A telling that no longer stands, and what its days look like instead, if anything."""

    telling: Told
    instead: Finding | Stay | None


def told_of(telling: Told, finding: Finding, as_of: datetime) -> bool:
    """Whether a telling was of this finding, its dates perhaps shifted since, or told as one of its rivals then."""
    since, until, told_at = telling.since.utc, telling.until.utc if telling.until else None, telling.told_at.utc
    ended = finding.until or max(as_of, finding.since)
    if finding.is_at(telling.finding, telling.meter, telling.zone):
        return _overlap(since, until or max(told_at, since), finding.since, ended)
    renamed = finding.could_be_at(telling.finding, telling.meter, telling.zone)
    return renamed and told_then(since, until, told_at, finding.since, ended)


def in_force(tellings: Iterable[Told]) -> list[Told]:
    """The tellings that nothing told since takes away, in the order they were told."""
    kept: list[Told] = []
    for each in sorted(tellings, key=lambda t: t.told_at.utc):
        if each.why == NO_LONGER:
            # by the days it was told of: one that still went on then did not reach up to the day of taking it back
            known = (t for t in reversed(kept) if _place(t) == _place(each) and t.since.utc == each.since.utc)
            meant = next(known, each)
            kept = [t for t in kept if not _same(t, meant)]
        else:
            kept.append(each)
    return kept


def no_longer(
    tellings: Iterable[Told],
    findings: Sequence[Finding],
    stays: Mapping[str, Sequence[Stay]],
    decisions: Sequence[Decision],
    uses: Sequence[OtherUse],
    as_of: datetime,
) -> list[NoLonger]:
    """What was told lately and is found no more, under whatever name; the last telling of each.

    Silent where a person has spoken of it since, or has written down a use of these days: they know.

    Args:
        findings: of every strength, settled or not. stays: by meter.
    """
    gone: list[NoLonger] = []
    for telling in reversed(in_force(tellings)):
        if telling.told_at.utc < as_of - RECENT or any(_same(telling, g.telling) for g in gone):
            continue
        if any(told_of(telling, f, as_of) for f in findings) or _known(telling, decisions, uses):
            continue
        gone.append(NoLonger(telling, _instead(telling, findings, stays.get(telling.meter or "", ()), as_of)))
    return gone


def _same(one: Told, other: Told) -> bool:
    """Whether two tellings are of one thing: kind, place and days."""
    return _place(one) == _place(other) and _overlap(*_spoken(one), *_spoken(other))


def _place(telling: Told) -> tuple[str, str | None, str | None]:
    return telling.finding, telling.meter, telling.zone


def _spoken(telling: Told) -> tuple[datetime, datetime]:
    since = telling.since.utc
    return since, telling.until.utc if telling.until else max(telling.told_at.utc, since)


def _known(telling: Told, decisions: Sequence[Decision], uses: Sequence[OtherUse]) -> bool:
    until = telling.until or max(telling.told_at, telling.since, key=lambda moment: moment.utc)
    first, last = telling.since.local.date(), until.local.date()  # decisions are of the home's days
    spoke = any(
        d.decided_at.utc >= telling.told_at.utc
        and d.meter in (None, telling.meter)
        and d.since <= last
        and (d.until is None or d.until >= first)
        for d in decisions
    )
    day = timedelta(days=1)
    return spoke or (
        telling.finding == "one_off" and any(first - day <= u.start.local.date() <= last + day for u in uses)
    )


def _instead(
    telling: Told, findings: Sequence[Finding], stays: Sequence[Stay], as_of: datetime
) -> Finding | Stay | None:
    """The strongest finding of about the same days and of the same sort, too much or too little; else who was there."""
    told_at, until = telling.told_at.utc, telling.until.utc if telling.until else None
    sign = telling.volume.base if telling.volume else 0.0

    def alike(volume_l: float, begun: datetime, ended: datetime | None) -> bool:
        then = told_then(telling.since.utc, until, told_at, begun, ended or max(as_of, begun))
        return then and volume_l * sign >= 0

    mine = [f for f in findings if f.meter == telling.meter and alike(f.volume.value or 0.0, f.since, f.until)]
    if mine:
        return max(mine, key=lambda f: f.score)
    return next((s for s in stays if alike(s.volume_l, s.since, s.until)), None)


def _overlap(one: datetime, one_end: datetime, other: datetime, other_end: datetime) -> bool:
    if one == one_end or other == other_end:  # an instant, such as a misread register
        return one <= other_end and other <= one_end
    return one < other_end and other < one_end

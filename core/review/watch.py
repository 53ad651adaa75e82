"""The watch without a screen: what is new since it last told. What it told of is remembered in the book.

Findings are computed anew each time and their dates shift as readings arrive, so a telling is matched as a decision
is: by kind, meter, zone and overlap in time. Told again is only what got worse, what a person asked to be told again,
and a repair that the meter contradicts. What was told and does not stand any more is said once as well.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from core.accounts.findings import Finding
from core.book.kinds import Decision, Measured, OtherUse, Told
from core.book.store import Book
from core.review import see
from core.review.costs import finding_cost
from core.review.decide import SETTLED, moment_at, said
from core.review.odd_uses import is_use
from core.review.picture import Picture
from core.review.tellings import NO_LONGER, NoLonger, in_force, no_longer, told_of
from core.units import System, from_base, shown_unit

Why = Literal["new", "worse", "contradicted", "asked"]
RANK = {"weak": 0, "fair": 1, "strong": 2}
MUCH = 2.0  # so many times what was told before is worth a second word; a choice of our own
AT_ONCE = ("one_off", "misread", "two_meters")  # over when found: how much counts; for the others how fast
OLD = timedelta(days=45)  # before the last telling; two readings a month apart tell of less; common practice, no source
_START, _DAY = datetime.min.replace(tzinfo=UTC), timedelta(days=1)


@dataclass(frozen=True, slots=True)
class News:
    """A finding worth telling, with its money, and why it is told."""

    finding: Finding
    why: Why


@dataclass(frozen=True)
class Watch:
    """What the watch sees in a book as of an instant.

    Attributes:
        picture: what it was worked out from. news: what is new, strongest first, single uses last.
        given: the instant was given, so tellings after it do not count; otherwise it is the present.
        gone: what was told and no longer stands, the latest first.
    """

    picture: Picture
    news: tuple[News, ...]
    given: bool
    gone: tuple[NoLonger, ...] = ()


def look(book: Book, as_of: datetime | None = None, *, weak: bool = False) -> Watch:
    """What is new in a book, without remembering it.

    Args:
        as_of: aware; only readings until then speak, only tellings and decisions until then count. None: now.
        weak: tell weak findings too, not only fair and strong ones.
    """
    instant = (as_of or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    picture = see(book, instant)
    found = [f for a in picture.accounts.values() for f in a.findings if weak or f.strength != "weak"]
    found.sort(key=lambda f: (is_use(f), -RANK[f.strength], -f.score))
    watch = Watch(picture, (), as_of is not None)
    judge = _Judge(watch, *_spoken(book))
    news = [News(f, why) for f in found if (why := judge.why(f)) is not None]
    costed = tuple(News(n.finding.with_cost(finding_cost(picture, n.finding)), n.why) for n in news)
    return replace(watch, news=costed, gone=tuple(judge.gone()))


def tell(
    book: Book, watch: Watch, deliver: Callable[[tuple[News, ...], tuple[NoLonger, ...]], object]
) -> tuple[News | NoLonger, ...]:
    """Hand over what is new or no longer stands and remember it; the book is left alone when nothing is.

    The book is held while ``deliver`` runs: what another watch told in the meantime is left out, and what could not
    be handed over is not remembered. Returns what was told.
    """
    if not watch.news and not watch.gone:
        return ()
    decisions, _, uses = _spoken(book)
    with book.change("the watch told of what is new") as change:
        judge = _Judge(watch, decisions, [s.record for s in change.records(Told)], uses)
        still = tuple(n for n in watch.news if judge.why(n.finding) is not None)
        left = {g.telling.key() for g in judge.gone()}
        gone = tuple(g for g in watch.gone if g.telling.key() in left)
        for record in [*(_telling(n, watch.picture) for n in still), *(_ended(g, watch.picture) for g in gone)]:
            there = change.find(Told, *record.key())
            if there is None:
                change.add(record)
            else:  # told of at this very instant, and readings brought in since say more
                change.correct(there.id, record)
        if still or gone:
            deliver(still, gone)
    return (*still, *gone)


def why_tell(
    finding: Finding, tellings: Iterable[Told], verdict: Decision | None, as_of: datetime, zone: ZoneInfo
) -> Why | None:
    """Why a finding is worth telling, or None: told already, or settled.

    Args:
        tellings: all of the book that count. verdict: the latest decision that matches the finding.
        zone: of the home, whose days the day of a repair is one of.
    """
    repaired_on = verdict.repaired_on if verdict is not None else None
    against = finding.contradicted and (repaired_on is None or finding.ran_past(repaired_on, zone))
    if finding.decision in SETTLED and not against:
        return None
    reopened = verdict is not None and (verdict.verdict == "ask_again" or against)
    after = verdict.decided_at.utc if verdict is not None and reopened else _START
    tellings = list(tellings)
    matching = [t for t in in_force(tellings) if told_of(t, finding, as_of)]
    known = [t for t in matching if t.told_at.utc >= after]
    if not known:
        if not reopened and _over_long_since(finding, tellings):
            return None
        return "contradicted" if against else "asked" if reopened and matching else "new"
    surer = finding.strength == "strong" and all(t.strength != "strong" for t in known)
    more = all(_much_more(finding, t, as_of) for t in known)
    if not surer and not more:
        return None
    return "contradicted" if against else "worse"


def _over_long_since(finding: Finding, tellings: Iterable[Told]) -> bool:
    """Whether it was over so long before the watch last told anything, without a word of it, that it is no news but
    another reading of old days. Its month shows it.
    """
    latest = max((t.told_at.utc for t in tellings), default=None)
    return latest is not None and finding.until is not None and finding.until < latest - OLD


class _Judge:
    """Says why a finding is worth telling and what no longer stands, given what was decided, told and written down."""

    def __init__(self, watch: Watch, decisions: list[Decision], tellings: list[Told], uses: list[OtherUse]) -> None:
        self.picture, self.as_of, self.zone = watch.picture, watch.picture.as_of, watch.picture.tz
        self.findings = [f for account in watch.picture.accounts.values() for f in account.findings]
        self.tellings = [t for t in tellings if not watch.given or t.told_at.utc <= self.as_of]
        self.decisions = [d for d in decisions if d.decided_at.utc <= self.as_of]
        self.uses = [u for u in uses if u.start.utc <= self.as_of]

    def why(self, finding: Finding) -> Why | None:
        matching = [d for d in self.decisions if said(d).is_about(finding, self.findings, self.as_of, self.zone)]
        verdict = max(matching, key=lambda d: d.decided_at.utc, default=None)
        return why_tell(finding, self.tellings, verdict, self.as_of, self.zone)

    def gone(self) -> list[NoLonger]:
        stays = {meter: account.stays for meter, account in self.picture.accounts.items()}
        return no_longer(self.tellings, self.findings, stays, self.decisions, self.uses, self.as_of)


def _spoken(book: Book) -> tuple[list[Decision], list[Told], list[OtherUse]]:
    """What people and the watch itself said so far."""
    return (
        [s.record for s in book.records(Decision)],
        [s.record for s in book.records(Told)],
        [s.record for s in book.records(OtherUse)],
    )


def _ended(gone: NoLonger, picture: Picture) -> Told:
    return gone.telling.model_copy(update={"told_at": moment_at(picture.as_of, picture.tz), "why": NO_LONGER})


def _telling(news: News, picture: Picture) -> Told:
    f, system = news.finding, picture.home.display
    return Told(
        finding=f.kind,
        meter=f.meter or None,
        zone=f.zone,
        since=moment_at(f.since, picture.tz),
        told_at=moment_at(picture.as_of, picture.tz),
        until=moment_at(f.until, picture.tz) if f.until else None,
        strength=f.strength,
        why=news.why,
        rate=_measured(f.rate_lph, "flow", system),
        volume=_measured(f.volume.value, "volume", system),
    )


def _measured(value: float | None, quantity: str, system: System) -> Measured | None:
    if value is None or value != value:  # noqa: PLR0124 - NaN
        return None
    unit = shown_unit(quantity, system)
    return Measured(f"{from_base(value, unit.code, quantity):.2f}", unit.code, quantity)


def _much_more(finding: Finding, telling: Told, as_of: datetime) -> bool:
    """Whether it grew since it was told. Under another name it counts by the day: each has a rate of its own, as a line
    off has one while its zone runs.
    """
    volume, was = abs(finding.volume.value or 0.0), abs(telling.volume.base) if telling.volume else 0.0
    if finding.kind != telling.finding:
        since, ended = telling.since.utc, telling.until.utc if telling.until else telling.told_at.utc
        lasts = (finding.until or max(as_of, finding.since)) - finding.since
        return volume / max(lasts, _DAY).total_seconds() >= MUCH * was / max(ended - since, _DAY).total_seconds() > 0
    if finding.kind not in AT_ONCE and finding.rate_lph is not None and telling.rate is not None:
        return abs(finding.rate_lph) >= MUCH * abs(telling.rate.base) > 0
    return volume >= MUCH * was > 0

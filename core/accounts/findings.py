"""What a finding is. Findings are computed from the book, never stored; decisions about them are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from core.days import day_start
from core.figures import Figure

FindingKind = Literal[
    "steady",  # water moving all the time: a slow leak
    "stuck_open",  # a valve that did not close after its run
    "more_than_set",  # a line off or broken: more flow whenever the zone runs
    "less_than_set",  # clogged emitters or a closed branch: less flow whenever the zone runs
    "not_delivered",  # runs that were expected and brought no water
    "another_schedule",  # it runs at other times or lengths than the book says, or its clock is off
    "one_off",  # one large use nobody wrote down
    "misread",  # a register read or typed wrongly
    "two_meters",  # readings of two registers under one meter
    "after_shutdown",  # water at the drip line after the system was shut down
]
ALL_OF: tuple[FindingKind, ...] = ("not_delivered", "another_schedule")  # kinds whose zones are all meant
Strength = Literal["strong", "fair", "weak"]
# A leak back within a week is the one that was to be mended; a later one is a new one. Common practice, no source.
BACK = timedelta(days=7)
CONTRADICTS = "The meter contradicts the repair"  # how ``after`` begins when it does
OR_ELSE = "It could also be "  # how the sentence of a rival begins
SOMETHING_ELSE = "other"  # a cause that is no kind of finding: the person's own words say it


@dataclass(frozen=True, slots=True)
class Rival:
    """Another explanation that the readings do not exclude; ``zone``, ``group`` and ``share`` as of a finding.

    ``excluded``: a leak hunt does.
    """

    kind: FindingKind
    zone: str | None
    group: tuple[str, ...]
    sentence: str
    excluded: bool = False
    share: float | None = None

    @property
    def words(self) -> str:
        """What it would be, as words that stand alone: "a line off or broken at Hedge, 120 L"."""
        return self.sentence.removeprefix(OR_ELSE).removesuffix(".")

    def is_at(self, kind: str, zone: str | None) -> bool:
        """As :meth:`Finding.is_at`, of the same meter."""
        return kind == self.kind and _among(zone, self.zone, self.group)


@dataclass(frozen=True, slots=True)
class Cause:
    """What a person says a finding was: a kind of finding, or SOMETHING_ELSE, and the zone where it was, if any."""

    kind: str
    zone: str | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """One named explanation of use that does not fit.

    Attributes:
        kind: which of the explanations.
        meter: code of the meter.
        zone: code of the zone, or None; ``group`` holds all zones that cannot be told apart, this one included.
        since, until: UTC; ``until`` None while it goes on.
        rate_lph: litres per hour while it lasts (negative: less than expected); None for a misread.
        volume: litres, with range and working.
        share: for zones that brought more or less, of what their runs should have brought (-0.4: two fifths less); None
            for runs that only came at another time.
        cost: money by the tariff, filled in by the review, or None.
        strength: in words; ``score`` is the evidence in standard deviations.
        evidence: sentences with the numbers behind it.
        check_first: what to look at first; ``caution`` what can hurt.
        rivals: what else it could be.
        decision: the verdict a person gave, or "" ; ``after`` what the meter says since a repair.
        note: the person's own words; ``cause`` what they say it was; ``repaired_on`` the day of a repair.
        hunt: what a leak hunt made while it went on says of it, or "" ; ``hunt_cause`` what it found at a zone.
        one_reading_ends: nothing but the last reading says that it is over.
    """

    kind: FindingKind
    meter: str
    zone: str | None
    group: tuple[str, ...]
    since: datetime
    until: datetime | None
    rate_lph: float | None
    volume: Figure
    strength: Strength
    score: float
    evidence: tuple[str, ...] = ()
    check_first: str = ""
    caution: str = ""
    rivals: tuple[Rival, ...] = ()
    share: float | None = None
    cost: Figure | None = None
    decision: str = ""
    after: str = ""
    note: str = ""
    cause: Cause | None = None
    repaired_on: date | None = None
    hunt: str = ""
    hunt_cause: Cause | None = None
    one_reading_ends: bool = False

    @property
    def key(self) -> str:
        """A name that stays while its dates shift a little: kind, meter, zone and the month it began."""
        return f"{self.kind}.{self.meter}.{self.zone or 'any'}.{self.since:%Y-%m}"

    @property
    def only_in_time(self) -> bool:
        """Whether its water was to come, at another time."""
        return self.kind == "another_schedule" and self.share is None

    @property
    def contradicted(self) -> bool:
        """Whether the meter speaks against the repair that was written down."""
        return self.decision == "repaired" and self.after.startswith(CONTRADICTS)

    def ran_past(self, repaired_on: date, tz: ZoneInfo) -> bool:
        """Whether it went on past the day after a repair; a reading may straddle the repair and end on that day."""
        return self.until is None or self.until > day_start(repaired_on + timedelta(days=2), tz)

    def with_cost(self, cost: Figure | None) -> Finding:
        """The same finding with its money."""
        return replace(self, cost=cost)

    def is_at(self, kind: str, meter: str | None, zone: str | None) -> bool:
        """Whether something written down about a kind, meter and zone (None or "": any) is about this place."""
        return kind == self.kind and meter in (None, "", self.meter) and _among(zone, self.zone, self.group)

    def could_be_at(self, kind: str, meter: str | None, zone: str | None) -> bool:
        """Whether something written down is about one of its rivals: the same water under another name."""
        return meter in (None, "", self.meter) and any(r.is_at(kind, zone) for r in self.rivals)


def means_all(found: Finding | Rival) -> bool:
    """Whether all of its zones are meant, not one of them; minutes may have been changed for one alone."""
    other_minutes = found.kind == "another_schedule" and found.share is not None
    return found.zone is None or (found.kind in ALL_OF and not other_minutes)


def means_no_water(found: Finding) -> bool:
    """Whether a person said that these were runs that brought no water: by what they call it, else by what it is."""
    if found.decision not in ("explained", "repaired"):
        return False
    return (found.cause.kind if found.cause else found.kind) == "not_delivered"


def _among(zone: str | None, first: str | None, group: tuple[str, ...]) -> bool:
    return zone is None or zone in ("", first) or zone in group


def same_time(one: tuple[date, date], other: tuple[date, date]) -> bool:
    """Whether two stretches, first and last days, have at least half of the longer one in common: what is told as one
    thing today and as its rival tomorrow covers about the same readings.
    """
    common = (min(one[1], other[1]) - max(one[0], other[0])).days + 1
    return 2 * common >= max((last - first).days + 1 for first, last in (one, other))


def beside(one: Finding, other: Finding, now: datetime) -> bool:
    """Whether two findings of one meter went on at the same time."""
    return one.meter == other.meter and one.since < (other.until or now) and other.since < (one.until or now)


def told_then(since: datetime, until: datetime | None, told_at: datetime, begun: datetime, ended: datetime) -> bool:
    """Whether what was told of one stretch is about another, under whatever name, as far as that had come by then.

    Args:
        since, until: of what was told; until None while it went on. begun, ended: of what is there now.
    """
    spoken = since, until or max(told_at, since)
    found = begun, min(ended, max(told_at, begun))
    return same_time((spoken[0].date(), spoken[1].date()), (found[0].date(), found[1].date()))


@dataclass(frozen=True, slots=True)
class Said:
    """What of a person's decision says which findings it is about; ``first`` to ``last`` are local days.

    ``last`` is None where it was left open; ``repaired_on`` is the day of a repair, if it tells of one.
    """

    kind: str
    meter: str | None
    zone: str | None
    first: date
    last: date | None
    decided_at: datetime
    repaired_on: date | None = None

    def covers(self, finding: Finding, now: datetime, tz: ZoneInfo) -> bool:
        """Whether the decision is about a finding, whose dates may have shifted since.

        Nobody can speak of what has not begun: left open, it covers what had begun by the day it was made (what begins
        within a reading has that reading's start). A repair covers nothing that began over a week after it. Days must
        truly overlap: where one ends on the day the other begins they are neighbours, except that a finding of less
        than a day is known no better than by its day. What was decided of a rival of the finding is about it as well,
        if it was of the same time.
        """
        begins = finding.since.astimezone(tz).date()
        ends = max((finding.until or now).astimezone(tz).date(), begins)
        made = self.decided_at.astimezone(tz).date()
        if not finding.is_at(self.kind, self.meter, self.zone):
            renamed = finding.could_be_at(self.kind, self.meter, self.zone)
            if not renamed or not self.of_the_time(begins, ends, tz):
                return False
        if begins > (self.last or made) or (self.repaired_on is not None and begins > self.repaired_on + BACK):
            return False
        if ends < self.first:
            return False
        brief = finding.until is not None and finding.until - finding.since < timedelta(days=1)
        before = finding.until is not None and begins < ends == self.first
        after = self.last is not None and self.first < self.last == begins < ends
        return brief or not (before or after)

    def is_about(self, finding: Finding, among: Iterable[Finding], now: datetime, tz: ZoneInfo) -> bool:
        """Whether it is about a finding among others: not where one that went on beside it is covered as well and is
        of the time that was spoken of, as this one is not. Of two leaks at once the other was meant.
        """
        if not self.covers(finding, now, tz):
            return False
        return self._fits(finding, now, tz) or not any(
            self._fits(other, now, tz) and self.covers(other, now, tz)
            for other in among
            if other is not finding and beside(finding, other, now)
        )

    def _fits(self, finding: Finding, now: datetime, tz: ZoneInfo) -> bool:
        begins, ends = (t.astimezone(tz).date() for t in (finding.since, max(finding.until or now, finding.since)))
        return self.of_the_time(begins, ends, tz)

    def of_the_time(self, begins: date, ends: date, tz: ZoneInfo) -> bool:
        """Whether it was decided of about these days, as far as they had come by then."""
        made = self.decided_at.astimezone(tz).date()
        spoken = self.first, max(min(self.last or made, made), self.first)
        return same_time(spoken, (begins, max(min(ends, made), begins)))

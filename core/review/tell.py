"""The month in plain words: the headline sentences and what cannot be known."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pandas as pd

from core.accounts.findings import Finding
from core.accounts.hide import Hide
from core.accounts.suspects import Stay
from core.days import day_start
from core.figures import Figure
from core.review.against import against_sentence
from core.review.ends import BY_ONE
from core.review.enough import too_much_sentence
from core.review.month import PartUse, ZoneMonth
from core.review.naming import called
from core.review.odd_uses import is_use
from core.review.parts import DID_NOT_COME, ONE_READING, one_reading
from core.review.picture import Picture
from core.review.rain_told import rain_assumed
from core.review.settled import ALL_OF_IT, settled_words
from core.review.spoken import counted, days_named
from core.review.unread import not_counted, unread
from core.units import System, show

LATELY = timedelta(days=31)  # before the last reading: of months over by then its pace says nothing
EVENING, MORNING = time(18), time(10)  # what begins after the one and ends before the other was in the night
AT_LEAST = " Meters under-read very low flows, so take such a leak as at least so much."
LEAKS = ("steady", "stuck_open", "more_than_set", "after_shutdown")  # kinds a person would call a leak
MOST_SPANS = 3  # stretches of missed days that a sentence can name


def finding_dates(finding: Finding | Stay, tz: ZoneInfo, *, year: bool = False) -> str:
    """When it was, in the home's days: "on 16 July", "in the night of 3 July" (the evening's day), "from 27 September
    to 8 November", "since 2 October". What one reading alone says to be over is said so.

    Args:
        year: say the years too, where no month stands around it.
    """
    by_one = BY_ONE if isinstance(finding, Finding) and finding.one_reading_ends else ""
    return dates(finding.since, finding.until, tz, year=year, after=by_one)


def dates(since: datetime, until: datetime | None, tz: ZoneInfo, *, year: bool = False, after: str = "") -> str:
    """A stretch of time in the home's days; ``after`` is said of one of several days."""
    first = pd.Timestamp(since).tz_convert(tz)
    if until is None:
        return f"since {_day(first, year)}"
    last = pd.Timestamp(until).tz_convert(tz)
    if last.date() == first.date():
        return f"on {_day(first, year)}"
    if (last.date() - first.date()).days == 1 and first.time() >= EVENING and last.time() <= MORNING:
        return f"in the night of {_day(first, year)}"
    return f"from {_day(first, year)} to {_day(last, year)}{after}"


def headline(
    picture: Picture,
    month_name: str,
    figures: dict[str, Figure],
    parts: tuple[PartUse, ...],
    zones: tuple[ZoneMonth, ...],
    findings: tuple[Finding, ...],
    settled: Mapping[str, float],
    covered: str,
) -> tuple[str, ...]:
    """The month's sentences, most important first. ``settled``: see :func:`core.review.settled.settled_of`;
    ``covered``: of how many days the total is, where that is not all (:mod:`core.review.covered`).
    """
    system, money = picture.home.display, picture.home.currency
    said = [_use(month_name, figures, parts, settled, system, money), covered]
    said += [named(picture, f) for f in worth_saying(findings) if not is_use(f)][:2]
    said.append(_no_leak(picture, figures, findings))
    said.append(_days(figures, _missed(picture, month_name)))
    said.append(_short(zones))
    wet = [(z.name, z.excess.value or 0.0, z.excess_money) for z in zones if z.too_much]
    said.append(too_much_sentence(wet, system, money))
    saved = figures["saved"]
    idle = all(z.resting for z in zones if z.need.value) and abs(saved.value or 0.0) < 1
    if saved.value is not None and not idle:
        said.append(against_sentence(saved, system))
    return tuple(s for s in said if s)


def cannot_know(
    picture: Picture, metered: Figure, days: pd.DataFrame, intervals: pd.DataFrame, first: date, last: date
) -> tuple[str, ...]:
    """What this book cannot tell about the month, each a sentence."""
    said: list[str] = []
    if metered.value is None:
        none = "No meter reading covers this month, so use is only what programs and entries say."
        said.append(ONE_READING if one_reading(picture) else none)
    elif (days["kind"] == "modelled").any() and (reach := _reach(picture, intervals)) < _end(picture, last):
        said.append(f"Readings reach to {_day(reach)}; what came after is presumed, not metered.")
    said += [*picture.left_out, *unread(picture, intervals), *not_counted(picture, intervals, first, last)]
    names = dict(zip(picture.frames["meter"]["code"], picture.frames["meter"]["name"], strict=True))
    for code, account in picture.accounts.items():
        through = account.metered_through
        if through is None or last >= through.astimezone(picture.tz).date() - LATELY:  # it goes by the last readings
            of = f"{names.get(code, code)}: " if len(picture.accounts) > 1 else ""
            hides = _spans_that_tell(account.hide)[:1]
            said += [f"{of}{h.sentence}{AT_LEAST if h.under_read else ''}" for h in hides]
        if note := account.baseline.note:
            said.append(f"Indoor use: {note[:1].lower()}{note[1:]}")
    said += _weather(picture.sky[pd.Timestamp(first) : pd.Timestamp(last)], picture.home.display)
    said += picture.growth.problems
    said.append("Past months may change a little as later readings arrive: a leak shows only after it has run a while.")
    return tuple(dict.fromkeys(said))


def _reach(picture: Picture, intervals: pd.DataFrame) -> pd.Timestamp:
    """The last second of which a reading tells; a gap before it is said with the total."""
    last: pd.Timestamp = intervals.loc[intervals["metered_l"].notna(), "end"].max()
    return last.tz_convert(picture.tz) - pd.Timedelta(seconds=1)


def _end(picture: Picture, last: date) -> pd.Timestamp:
    """The end of a month's last day, or now."""
    closes = pd.Timestamp(day_start(last + timedelta(days=1), picture.tz))
    return min(closes - pd.Timedelta(hours=1), pd.Timestamp(picture.as_of))  # a file by the hour ends within one


def hiding(hides: Iterable[Hide], system: System) -> tuple[str, ...]:
    """What could hide, a sentence for each span; a longer one that tells no smaller leak is said with the shorter, and
    one that tells nothing is left out where another tells something.
    """
    said: list[str] = []
    shown = None
    for each in _spans_that_tell(hides):
        rate = None if each.rate_lph is None else show(each.rate_lph, "flow", system)
        if rate is not None and rate == shown:
            said[-1] += f" Nor do {each.days} days tell a smaller one."
        else:
            said.append(each.sentence)
        shown = rate
    return tuple(said)


def _spans_that_tell(hides: Iterable[Hide]) -> list[Hide]:
    """Those with a rate; without any, the longest alone."""
    each = list(hides)
    return [h for h in each if h.rate_lph is not None] or each[-1:]


def _weather(span: pd.DataFrame, system: System) -> list[str]:
    said = []
    unknown = int((span["method"] == "none").sum())
    guessed = int(span["method"].isin(["normals", "bridged"]).sum())
    if unknown:
        said.append(f"On {counted(unknown, 'day')} no weather is known, so what the plants needed then is not known.")
    if guessed:
        said.append(f"On {counted(guessed, 'day')} the weather is bridged or taken from the month's normals.")
    return said + rain_assumed(span, system)


def _use(
    name: str,
    figures: dict[str, Figure],
    parts: tuple[PartUse, ...],
    settled: Mapping[str, float],
    system: System,
    money: str,
) -> str:
    used, cost = figures["used"], figures["cost"]
    if used.value is None:
        return f"{name}: {used.note[:1].lower()}{used.note[1:]}"
    price = f" and cost {money}{cost.value:,.2f}" if cost.value is not None else ""
    garden = sum(p.volume.value or 0.0 for p in parts if p.part.startswith("zone:"))
    indoor = sum(p.volume.value or 0.0 for p in parts if p.part == "indoor")
    other = sum(p.volume.value or 0.0 for p in parts if p.part == "other")
    left = figures["unexplained"].value or 0.0
    short = sum(
        float(line.value) for p in parts for line in p.volume.working if line.what == DID_NOT_COME
    )  # what the parts close with is what was set; what came is said beside it
    watered = f"{show(garden, 'volume', system)} in the garden"
    if short > 1:
        came = show(garden - short, "volume", system)
        watered = f"{show(garden, 'volume', system)} set for the garden ({came} of it came)"
    pieces = [watered, f"{show(indoor, 'volume', system)} indoors"]
    if other > 1:
        pieces.append(f"{show(other, 'volume', system)} for other things you wrote down")
    known = settled_words(settled, left, system)
    known = f"; {known}" if known in ALL_OF_IT.values() else f": {known}" if known else ""
    if left >= 0:
        tail = f"and {show(left, 'volume', system)} {'left over' if known else 'that nobody can explain'}{known}"
    else:
        tail = f"less {show(-left, 'volume', system)} that was expected but not metered{known}"
    return f"{name}: {show(used.value, 'volume', system)} came through the meter{price}: {', '.join(pieces)}, {tail}."


def worth_saying(findings: Iterable[Finding]) -> list[Finding]:
    """Findings that wait for a decision and are more than weak."""
    return [f for f in findings if (not f.decision or f.contradicted) and f.strength != "weak"]


def rate_speaks(finding: Finding) -> bool:
    """Whether its rate tells a person anything: what did not come has no flow while it lasts, only litres missing."""
    return finding.rate_lph is not None and finding.kind != "not_delivered"


def beside(finding: Finding) -> str:
    """How the amount of a finding stands to what was expected, as words to follow it."""
    if finding.only_in_time:
        return " at other times than the book says"
    return " less than expected" if (finding.volume.value or 0.0) < 0 else ""


def pace(finding: Finding, system: System) -> str:
    """The rate of a finding in words: what runs beside the book has it while its zone runs, other minutes all day."""
    rate = show(abs(finding.rate_lph or 0.0), "flow", system)
    if finding.kind in ("more_than_set", "less_than_set"):
        return f"{rate} {'less' if (finding.rate_lph or 0.0) < 0 else 'more'} while it runs"
    if finding.kind == "another_schedule" and not finding.only_in_time:
        return f"{rate} {'less' if (finding.rate_lph or 0.0) < 0 else 'more'} on average"
    return f"{rate} while it lasts"


def named(picture: Picture, finding: Finding) -> str:
    """A finding in one sentence: what, where, when, how much."""
    system = picture.home.display
    sure = "It looks like" if finding.strength == "strong" else "It may be"
    volume = finding.volume.value
    amount = ""
    if volume is not None and finding.kind != "misread":
        amount = f", about {show(abs(volume), 'volume', system)}{beside(finding)}"
    return f"{sure} {called(finding, picture.zone_names)} {finding_dates(finding, picture.tz)}{amount}."


def _no_leak(picture: Picture, figures: dict[str, Figure], findings: tuple[Finding, ...]) -> str:
    """That no leak shows, where the readings could show one and what is left over may be nothing.

    How small a leak could hide stands in what cannot be known.
    """
    could = any(h.rate_lph is not None for a in picture.accounts.values() for h in a.hide)
    could &= (figures["unexplained"].low or 0.0) <= 0
    shows = any(f.kind in LEAKS or (f.kind == "one_off" and not is_use(f)) for f in findings)
    if figures["used"].value is None or shows or not could:
        return ""
    return "No leak shows in the readings."


def _missed(picture: Picture, month_name: str) -> list[date]:
    """Local days of the month on which some zone is known not to have run."""
    days = picture.zone_days
    gone = days.loc[days["state"] == "missed", "day"].drop_duplicates().sort_values()
    return [d.date() for d in gone if f"{d:%B %Y}" == month_name]


def _days(figures: dict[str, Figure], gone: list[date]) -> str:
    missed, unvouched = figures["missed"].value or 0, figures["unvouched"].value or 0
    if not missed and not unvouched:
        return ""
    known = f"{counted(int(missed), 'day')} known missed" if missed else "No day is known missed"
    spans = 1 + sum(after - before > timedelta(days=1) for before, after in pairwise(gone))
    if gone and spans <= MOST_SPANS:
        known += f" ({days_named(gone)})"
    unsure = unvouched_words(figures["missed"], figures["unvouched"])
    return f"{known}; {unsure}." if unsure else f"{known}."


def unvouched_words(missed: Figure, unvouched: Figure) -> str:
    """On how many days, further than the missed ones, nobody can say whether it ran; "" for none."""
    if not unvouched.value:
        return ""
    days = counted(int(unvouched.value), "more day" if missed.value else "day")
    zones = unvouched.working
    return f"on {days} nobody can vouch for {zones[0].what if len(zones) == 1 else 'every zone'}"


def _short(zones: tuple[ZoneMonth, ...]) -> str:
    dry = [z for z in zones if z.stress_days]
    if not dry:
        return ""
    worst = max(dry, key=lambda z: z.stress_days)
    if len(dry) == 1:
        return f"{worst.name} went short of water on {counted(worst.stress_days, 'day')}."
    more = counted(len(dry) - 1, "other zone")
    return f"{worst.name} and {more} went short of water, {worst.name} on {counted(worst.stress_days, 'day')}."


def _day(stamp: pd.Timestamp, year: bool = False) -> str:
    return f"{stamp.day} {stamp:%B %Y}" if year else f"{stamp.day} {stamp:%B}"

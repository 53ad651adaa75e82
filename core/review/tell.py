"""The month in plain words: the headline sentences and what cannot be known."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, time
from zoneinfo import ZoneInfo

import pandas as pd

from core.accounts.findings import Finding
from core.accounts.hide import Hide
from core.accounts.suspects import Stay
from core.figures import Figure
from core.review.month import PartUse, ZoneMonth
from core.review.odd_uses import is_use
from core.review.parts import ONE_READING, one_reading
from core.review.picture import Picture
from core.review.spoken import counted, listed
from core.review.unread import not_counted, unread
from core.review.zones import MUCH
from core.units import System, show

WORDS = {
    "steady": "a steady leak",
    "stuck_open": "a valve stuck open",
    "more_than_set": "a line off its fitting or broken",
    "less_than_set": "clogged emitters or a closed branch",
    "not_delivered": "runs that brought no water",
    "another_schedule": "another schedule than the book has, or a clock that is off",
    "one_off": "one large use nobody wrote down",
    "misread": "a register read or typed wrongly",
    "two_meters": "readings of two meters under one name",
    "after_shutdown": "water at the drip line after the shutdown",
}

EVENING, MORNING = time(18), time(10)  # what begins after the one and ends before the other was in the night
AT_LEAST = " Meters under-read very low flows, so take such a leak as at least so much."
ALL_OF = ("not_delivered", "another_schedule")  # kinds whose zones are all meant


def finding_place(finding: Finding, names: Mapping[str, str]) -> str:
    """The zone or zones of a finding, or "" for the whole house: joined by "and" where all are meant, else by "or".

    Args:
        names: of zones by code; one without a name is called by its code.
    """
    link = "and" if finding.kind in ALL_OF or finding.zone is None else "or"
    return listed([names.get(z, z) for z in finding.group or ((finding.zone,) if finding.zone else ())], link)


def finding_dates(finding: Finding | Stay, tz: ZoneInfo) -> str:
    """When it was, in the home's days: "on 16 July", "in the night of 3 July" (the evening's day), "from 27 September
    to 8 November", "since 2 October".
    """
    first = pd.Timestamp(finding.since).tz_convert(tz)
    if finding.until is None:
        return f"since {_day(first)}"
    last = pd.Timestamp(finding.until).tz_convert(tz)
    if last.date() == first.date():
        return f"on {_day(first)}"
    if (last.date() - first.date()).days == 1 and first.time() >= EVENING and last.time() <= MORNING:
        return f"in the night of {_day(first)}"
    return f"from {_day(first)} to {_day(last)}"


def headline(
    picture: Picture,
    month_name: str,
    figures: dict[str, Figure],
    parts: tuple[PartUse, ...],
    zones: tuple[ZoneMonth, ...],
    findings: tuple[Finding, ...],
) -> tuple[str, ...]:
    """The month's sentences, most important first."""
    system, money = picture.home.display, picture.home.currency
    said = [_use(month_name, figures, parts, system, money)]
    said += [named(picture, f) for f in worth_saying(findings) if not is_use(f)][:2]
    said.append(_days(figures))
    said.append(_plants(zones, system))
    saved = figures["saved"]
    idle = all(z.resting for z in zones if z.need.value) and abs(saved.value or 0.0) < 1
    if saved.value is not None and not idle:
        amount = f"{show(abs(saved.value), 'volume', system)} {'more' if saved.value >= 0 else 'less'}"
        said.append(f"Overhead sprinklers would have used {amount} for the same plants.")
    return tuple(s for s in said if s)


def cannot_know(
    picture: Picture, metered: Figure, days: pd.DataFrame, intervals: pd.DataFrame, first: date, last: date
) -> tuple[str, ...]:
    """What this book cannot tell about the month, each a sentence."""
    said: list[str] = []
    if metered.value is None:
        none = "No meter reading covers this month, so use is only what programs and entries say."
        said.append(ONE_READING if one_reading(picture) else none)
    elif (days["kind"] == "modelled").any():
        reach = days.loc[days["kind"] == "metered", "day"].max()
        said.append(f"Readings reach to {_day(reach)}; what came after is presumed, not metered.")
    said += [*picture.left_out, *unread(picture, intervals), *not_counted(picture, intervals, first, last)]
    for account in picture.accounts.values():
        said += [f"{h.sentence}{AT_LEAST if h.under_read else ''}" for h in account.hide[:1]]
        if note := account.baseline.note:
            said.append(f"Indoor use: {note[:1].lower()}{note[1:]}")
    said += _weather(picture.sky[pd.Timestamp(first) : pd.Timestamp(last)])
    said += picture.growth.problems
    said.append("Past months may change a little as later readings arrive: a leak shows only after it has run a while.")
    return tuple(dict.fromkeys(said))


def hiding(hides: Iterable[Hide], system: System) -> tuple[str, ...]:
    """What could hide, a sentence for each span; a longer one that tells no smaller leak is said with the shorter."""
    said: list[str] = []
    shown = None
    for each in hides:
        rate = None if each.rate_lph is None else show(each.rate_lph, "flow", system)
        if rate is not None and rate == shown:
            said[-1] += f" Nor do {each.days} days tell a smaller one."
        else:
            said.append(each.sentence)
        shown = rate
    return tuple(said)


def _weather(span: pd.DataFrame) -> list[str]:
    said = []
    unknown = int((span["method"] == "none").sum())
    guessed = int(span["method"].isin(["normals", "bridged"]).sum())
    if unknown:
        said.append(f"On {counted(unknown, 'day')} no weather is known, so what the plants needed then is not known.")
    if guessed:
        said.append(f"On {counted(guessed, 'day')} the weather is bridged or taken from the month's normals.")
    if (span["rain_basis"] == "normals").any():
        said.append(
            "Rain is a share of the month's normal, since no gauge was written up: write down rain to do better."
        )
    if (span["rain_basis"] == "none").any():
        said.append("No rain is written down and no normal is known, so rain counts as none.")
    return said


def _use(name: str, figures: dict[str, Figure], parts: tuple[PartUse, ...], system: System, money: str) -> str:
    used, cost = figures["used"], figures["cost"]
    if used.value is None:
        return f"{name}: {used.note[:1].lower()}{used.note[1:]}"
    price = f" and cost {money}{cost.value:,.2f}" if cost.value is not None else ""
    garden = sum(p.volume.value or 0.0 for p in parts if p.part.startswith("zone:"))
    indoor = sum(p.volume.value or 0.0 for p in parts if p.part == "indoor")
    other = sum(p.volume.value or 0.0 for p in parts if p.part == "other")
    left = figures["unexplained"].value or 0.0
    pieces = [f"{show(garden, 'volume', system)} in the garden", f"{show(indoor, 'volume', system)} indoors"]
    if other > 1:
        pieces.append(f"{show(other, 'volume', system)} for other things you wrote down")
    tail = (
        f"and {show(left, 'volume', system)} that nobody can explain"
        if left >= 0
        else (f"less {show(-left, 'volume', system)} that was expected but not metered")
    )
    return f"{name}: {show(used.value, 'volume', system)} came through the meter{price}: {', '.join(pieces)}, {tail}."


def worth_saying(findings: Iterable[Finding]) -> list[Finding]:
    """Findings that wait for a decision and are more than weak."""
    return [f for f in findings if (not f.decision or f.contradicted) and f.strength != "weak"]


def rate_speaks(finding: Finding) -> bool:
    """Whether its rate tells a person anything: what did not come has no flow while it lasts, only litres missing."""
    return finding.rate_lph is not None and finding.kind != "not_delivered"


def named(picture: Picture, finding: Finding) -> str:
    """A finding in one sentence: what, where, when, how much."""
    system = picture.home.display
    place = finding_place(finding, picture.zone_names)
    where = f" in {place}" if place else ""
    sure = "It looks like" if finding.strength == "strong" else "It may be"
    volume = finding.volume.value
    amount = ""
    if volume is not None and finding.kind != "misread":
        amount = f", about {show(abs(volume), 'volume', system)}{' less than expected' if volume < 0 else ''}"
    return f"{sure} {WORDS[finding.kind]}{where} {finding_dates(finding, picture.tz)}{amount}."


def _days(figures: dict[str, Figure]) -> str:
    missed, unvouched = figures["missed"].value or 0, figures["unvouched"].value or 0
    if not missed and not unvouched:
        return ""
    known = f"{counted(int(missed), 'day')} known missed" if missed else "No day is known missed"
    if not unvouched:
        return f"{known}."
    more = "more day" if missed else "day"
    if len(unsure := figures["unvouched"].working) == 1:
        return f"{known}; on {counted(int(unvouched), more)} nobody can vouch for {unsure[0].what}."
    return f"{known}; {counted(int(unvouched), more)} nobody can vouch for."


def _plants(zones: tuple[ZoneMonth, ...], system: System) -> str:
    dry = [z for z in zones if z.stress_days]
    wet = [
        z
        for z in zones
        if z.need.value and (z.applied.value or 0) > MUCH * max(z.need.value - (z.effective_rain.value or 0), 1)
    ]
    said = ""
    if dry:
        worst = max(dry, key=lambda z: z.stress_days)
        said = f"{worst.name} went short of water on {counted(worst.stress_days, 'day')}"
        if len(dry) > 1:
            more = counted(len(dry) - 1, "other zone")
            said = f"{worst.name} and {more} went short of water, {worst.name} on {counted(worst.stress_days, 'day')}"
    if wet:
        over = sum((z.applied.value or 0) - (z.need.value or 0) + (z.effective_rain.value or 0) for z in wet)
        names = wet[0].name if len(wet) == 1 else f"{counted(len(wet), 'zone')}"
        more = f"{names} got {show(over, 'volume', system)} more than the plants needed"
        said = f"{said}; {more}" if said else more
    return f"{said}." if said else ""


def _day(stamp: pd.Timestamp) -> str:
    return f"{stamp.day} {stamp:%B}"

"""One month, complete: the single thing that dashboard, report and command line show."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import pandas as pd

from core.accounts.findings import Finding
from core.book.store import Book
from core.days import day_start, month_days, same_day
from core.errors import EntryError
from core.figures import Figure, Line
from core.review.against import is_more
from core.review.costs import finding_cost, main_meter, month_cost, worth
from core.review.covered import covered_sentence, unknown_days
from core.review.decide import SETTLED
from core.review.month import LEFT_OVER, MonthReview, PartUse, ZoneMonth
from core.review.odd_uses import is_use
from core.review.parts import month_days_frame, month_intervals, part_uses, used
from core.review.picture import Picture, between, draw
from core.review.settled import settled_of
from core.review.sky import first_event
from core.review.stays import asked
from core.review.steps import next_steps
from core.review.tell import cannot_know, headline
from core.review.zones import zone_months
from core.units import System

__all__ = ["MonthReview", "Picture", "month_of", "months_in", "present", "review_month", "see"]


def present(zone: ZoneInfo, now: datetime | None = None) -> datetime:
    """Now, rounded up to a quarter of an hour of the same local day: what is asked within it shares a picture."""
    moment = (now or datetime.now(UTC)).astimezone(UTC)
    ahead = timedelta(minutes=15 - moment.minute % 15)
    return same_day(moment, moment.replace(second=0, microsecond=0) + ahead, zone)


def see(book: Book, as_of: datetime, system: System | None = None) -> Picture:
    """The picture of a book as of an instant; the change number is part of the key, so it is
    drawn anew only when the book or the instant changed."""
    return _seen(str(book.path), book.number(), as_of, system)


@lru_cache(maxsize=4)
def _seen(path: str, number: int, as_of: datetime, system: System | None) -> Picture:
    return draw(Book.open(path), as_of, system)


def review_month(book: Book, month: str, as_of: datetime | None = None, system: System | None = None) -> MonthReview:
    """Review one month ("2026-07") of a book as of an instant (now when left out).

    ``system`` is the units its sentences speak in, the home's own when left out.

    Raises:
        EntryError: not a month, or one that had not begun.
    """
    instant = as_of or present(book.zone_info)
    return month_of(see(book, instant, system), month)


def months_in(picture: Picture) -> list[str]:
    """The months there is something to say about, first to last: "2026-07". From the first event, if there is one."""
    first = first_event(picture.frames, picture.tz)
    return [
        str(p) for p in pd.period_range(first if first is not None else picture.days[0], picture.days[-1], freq="M")
    ]


def month_of(picture: Picture, month: str) -> MonthReview:
    """Cut one month out of the picture."""
    first, following = month_days(month)
    if first > picture.today:
        raise EntryError(f"{month} has not begun. The latest month there is to review is {picture.today:%Y-%m}.")
    last = min(following - timedelta(days=1), picture.today)
    days = month_days_frame(picture, first, last)
    intervals = month_intervals(picture, first, last)
    findings, stays = _findings(picture, first, last), asked(picture, first, last)
    parts, settled = _settled(picture, part_uses(picture, days), findings, first, last)
    zones = zone_months(picture, first, last)
    span = between(picture.zone_days, first, last)
    figures = _figures(picture, first, last, days, intervals, parts, zones, span)
    name = f"{first:%B %Y}"
    empty = days.empty and span.empty
    unknown = unknown_days(picture, intervals, first, last) if figures["used"].value is not None else []
    covered = covered_sentence(unknown, first, last)
    return MonthReview(
        month=month,
        first=first,
        last=last,
        as_of=picture.as_of,
        household=picture.home.name,
        system=picture.home.display,
        currency=picture.home.currency,
        time_zone=picture.home.timezone,
        metered_through=max((a.metered_through for a in picture.accounts.values() if a.metered_through), default=None),
        sentences=headline(picture, name, figures, parts, zones, findings, settled, covered),
        used=figures["used"],
        cost=figures["cost"],
        saved=figures["saved"],
        saved_money=figures["saved_money"],
        unexplained=figures["unexplained"],
        missed=figures["missed"],
        unvouched=figures["unvouched"],
        stress=figures["stress"],
        parts=parts,
        zones=zones,
        zone_names=picture.zone_names,
        findings=findings,
        stays=stays,
        care_due=picture.care,
        next_steps=next_steps(picture, findings, stays, picture.care, zones, intervals, (first, last)),
        cannot_know=cannot_know(picture, figures["used"], days, intervals, first, last) if not days.empty else (),
        settled=settled,
        empty=empty,
        days=days,
        intervals=intervals,
        zone_days=span,
        plant_days=between(picture.growth.days, first, last),
        weather_days=between(picture.sky.rename_axis("day").reset_index(), first, last),
    )


def _settled(
    picture: Picture, parts: tuple[PartUse, ...], findings: tuple[Finding, ...], first: date, last: date
) -> tuple[tuple[PartUse, ...], dict[str, float]]:
    """The parts, what is left over called so where a person settled some of it, and how much of it that is."""
    left = next((p.volume.value or 0.0 for p in parts if p.part == "unexplained"), 0.0)
    opens, closes = day_start(first, picture.tz), day_start(last + timedelta(days=1), picture.tz)
    metered = [a.metered_through for a in picture.accounts.values() if a.metered_through]
    settled = settled_of(findings, left, opens, closes, max(metered, default=picture.as_of))
    if settled:
        parts = tuple(replace(p, name=LEFT_OVER) if p.part == "unexplained" else p for p in parts)
    return parts, settled


def _figures(
    picture: Picture,
    first: date,
    last: date,
    days: pd.DataFrame,
    intervals: pd.DataFrame,
    parts: tuple[PartUse, ...],
    zones: tuple[ZoneMonth, ...],
    span: pd.DataFrame,
) -> dict[str, Figure]:
    unexplained = next((p.volume for p in parts if p.part == "unexplained"), Figure(None, "volume"))
    saved = _summed([z.saved for z in zones], [z.name for z in zones])
    missed, presumed = span[span["state"] == "missed"], span[span["state"] == "presumed"]
    presumed = presumed[~presumed["day"].isin(missed["day"])]  # kinds of days add up to no more than the month
    return {
        "used": used(picture, parts, days, intervals),
        "cost": month_cost(picture, first, last),
        "saved": saved,
        "saved_money": _saved_money(picture, saved, span),
        "unexplained": unexplained,
        "missed": _day_count(picture, missed, "known not to have run, or contradicted by the meter"),
        "unvouched": _day_count(picture, presumed, "presumed from the program on days not missed; no record, no meter"),
        "stress": _day_count(picture, span[span["stressed"]], "short of water by the FAO-56 balance of some planting"),
    }


def _summed(figures: list[Figure], names: list[str]) -> Figure:
    """Figures of zones added up. Their ranges lean on the same published factors, so the ends are added as well."""
    known = [(n, f) for n, f in zip(names, figures, strict=True) if f.value is not None]
    if not known:
        return Figure(None, "volume", note="Nothing planted is written down.")
    lines = tuple(Line(n, f.value or 0.0, "l", "") for n, f in known)
    working = known[0][1].working[1:2] + lines if known[0][1].working else lines
    notes = dict.fromkeys(f.note for _, f in known if f.note)
    return Figure(
        sum(f.value or 0.0 for _, f in known),
        "volume",
        sum(f.low or 0.0 for _, f in known),
        sum(f.high or 0.0 for _, f in known),
        working,
        " ".join(notes),
    )


def _saved_money(picture: Picture, saved: Figure, span: pd.DataFrame) -> Figure:
    meter = main_meter(picture)
    if saved.value is None or span.empty or not meter:
        return Figure(None, "money")
    weight = span.groupby("day")["need_l"].sum()
    share = weight / weight.sum() if weight.sum() > 0 else pd.Series(1 / len(weight), index=weight.index)
    given = "without the water beyond sprinklers" if is_more(saved) else "with the water saved added"
    found = worth(picture, meter, -saved.value * share, given)
    if found is None or found.value is None:
        return Figure(None, "money", note="Write down your tariff to see it in money.")
    lines = tuple(Line(line.what, -float(line.value), line.unit, line.source) for line in found.working)
    return Figure(-found.value, "money", working=lines)


def _day_count(picture: Picture, rows: pd.DataFrame, meaning: str) -> Figure:
    """Days on which it held for at least one zone, with each zone's days as working."""
    by_zone = rows.groupby("zone", sort=False)["day"].nunique()
    zones = picture.frames["zone"].set_index("code")["name"]
    lines = tuple(Line(str(zones.get(zone, zone)), int(n), "days", meaning) for zone, n in by_zone.items())
    return Figure(float(rows["day"].nunique()), "days", working=lines)


def _findings(picture: Picture, first: date, last: date) -> tuple[Finding, ...]:
    """Findings that touch the month, with their money, strongest first; single uses, then those decided on, last."""
    opens = pd.Timestamp(first).tz_localize(picture.tz)
    closes = (pd.Timestamp(last) + pd.Timedelta(days=1)).tz_localize(picture.tz)
    found = [
        f.with_cost(finding_cost(picture, f))
        for account in picture.accounts.values()
        for f in account.findings
        if f.since < closes and (f.until is None or f.until > opens)
    ]
    rank = {"strong": 0, "fair": 1, "weak": 2}
    return tuple(
        sorted(
            found,
            key=lambda f: (f.decision in SETTLED and not f.contradicted, is_use(f), rank[f.strength], -f.score),
        )
    )

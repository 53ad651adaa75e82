"""Guests and trips that nobody wrote down: asked about in the month they fall in, since slow readings tell them from
what broke by their size alone.
"""

from __future__ import annotations

from datetime import date, timedelta

import pandas as pd

from core.accounts.findings import told_then
from core.accounts.presence import LASTING_DAYS
from core.accounts.suspects import Stay
from core.days import day_start
from core.review.month import AskedStay
from core.review.moved import NOTE
from core.review.naming import called
from core.review.picture import Picture
from core.review.spoken import counted, day_named, first_up, listed
from core.review.tell import finding_dates
from core.review.tellings import NO_LONGER
from core.units import show

MOST = 2  # asked about in one month
_LEFT_ON = "see whether something was left running or a valve did not close"


def asked(picture: Picture, first: date, last: date) -> tuple[AskedStay, ...]:
    """The stays to ask about that touch these local days, the most water first."""
    opens, closes = day_start(first, picture.tz), day_start(last + timedelta(days=1), picture.tz)
    touching = [
        (s, code)
        for code, account in picture.accounts.items()
        for s in account.stays
        if s.since < closes and (s.until is None or s.until > opens)
    ]
    touching.sort(key=lambda each: -abs(each[0].volume_l))
    return tuple(_asked(picture, *each) for each in touching[:MOST])


def _asked(picture: Picture, stay: Stay, meter: str) -> AskedStay:
    when = first_up(finding_dates(stay, picture.tz))
    much = show(abs(stay.volume_l), "volume", picture.home.display)
    before, named = _told(picture, stay, meter), [called(r, picture.zone_names) for r in stay.rivals]
    known = _written(picture, stay)
    if stay.moved_out:
        return _moved_out(picture, stay, meter, before, named)
    if stay.volume_l < 0:
        used = f"{when} the house used about {much} less than usual"
        else_ = f"it may be {listed(named, 'or')}" if named else "see whether every zone ran"
        who = "were you away for longer than written" if known else "was nobody at home"
        short = f"{used}: {who}{'' if stay.hourly else ', or did something not run'}?"
        there = "" if stay.hourly and not named else f"; if somebody was there, {else_}"
        write = f"{known} If it was longer, put that right" if known else " If it did, write down who was at home"
        words = f"{used}, as if it had stood empty.{before}{write}{there}."
    else:
        used = f"{when} the house used about {much} more than usual"
        people = counted(max(stay.people, 1.0), "more person", "more people")
        else_ = f"it may be {listed(named, 'or')}" if named else _LEFT_ON
        who = "were there more guests than written" if known else "were guests there"
        short = f"{used}: {who}, or did something break?"
        write = f"{known} If there were more, put that right" if known else " If guests were there, write them down"
        words = f"{used}, as with {people}.{before}{write}; if not, {else_}."
    return AskedStay(stay, meter, short, words)


def _moved_out(picture: Picture, stay: Stay, meter: str, before: str, named: list[str]) -> AskedStay:
    """Fewer at home for good, or for longer than a trip: what it may be, and what to write down."""
    when, going = first_up(finding_dates(stay, picture.tz, year=True)), stay.until is None
    used = f"{when} the house {'uses' if going else 'used'} about "
    used += f"{show(abs(stay.daily_l), 'volume', picture.home.display)} a day less than before"
    number = max(round(-stay.people), 1)
    fewer = f", as with {counted(number, 'person', 'people')} fewer" if number < picture.home.people else ""
    who = "did somebody move out" if going else "was somebody not living here"
    write = "write down how many live here now" if going else "write down who was at home"
    else_ = "see whether every zone ran, and what no longer draws water"
    if named:
        else_ = f"it may be {listed(named, 'or')}, or something no longer draws water"
    short = f"{used}: {who}, or did something stop drawing water?"
    words = f"{used}{fewer}.{before} If somebody {'moved out' if going else 'was gone'}, {write}; "
    return AskedStay(stay, meter, short, f"{words}if not, {else_}.")


def _written(picture: Picture, stay: Stay) -> str:
    """What the book says already of who was at home then, of the same sort; "" where it says nothing."""
    since, until = (pd.Timestamp(t.astimezone(picture.tz).date()) for t in (stay.since, stay.until or picture.as_of))
    rows = picture.frames["household"]
    alike = rows["people"] < picture.home.people if stay.volume_l < 0 else rows["people"] > picture.home.people
    short = rows["until"] - rows["since"] <= pd.Timedelta(days=LASTING_DAYS)  # longer is who lived there
    found = rows[alike & short & (rows["note"] != NOTE) & (rows["since"] < until) & (rows["until"] > since)]
    if found.empty:
        return ""
    days = listed(
        f"from {day_named(row['since'], month=True)} to {day_named(row['until'], month=True)}"
        for row in found.sort_values("since").to_dict("records")
    )
    return f" You wrote down {'a trip' if stay.volume_l < 0 else 'guests'} {days}."


def _told(picture: Picture, stay: Stay, meter: str) -> str:
    """What the watch said of this water when fewer readings were known, so that it does not change its mind unsaid."""
    told, until = picture.frames["told"], stay.until or picture.as_of
    told = told[(told["told_at"] <= picture.as_of) & (told["why"] != NO_LONGER)].sort_values("told_at", ascending=False)
    for row in told.to_dict("records"):
        rivals = [r for r in stay.rivals if r.is_at(row["finding"], row["zone"])]
        ended = None if pd.isna(row["until"]) else row["until"]
        if not rivals or row["meter"] not in (None, "", meter):
            continue
        if told_then(row["since"], ended, row["told_at"], stay.since, until):
            on = row["told_at"].tz_convert(picture.tz)
            return f" On {on.day} {on:%B} this was told as {called(rivals[0], picture.zone_names)}."
    return ""

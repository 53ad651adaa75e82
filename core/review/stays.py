"""Guests and trips that nobody wrote down: asked about in the month they fall in, since slow readings tell them from
what broke by their size alone.
"""

from __future__ import annotations

from datetime import date, timedelta

from core.accounts.suspects import Stay
from core.days import day_start
from core.review.picture import Picture
from core.review.spoken import counted, first_up
from core.review.tell import finding_dates
from core.units import show


def asked(picture: Picture, first: date, last: date) -> tuple[str, ...]:
    """What to ask about each stay that touches these local days, the most water first."""
    opens, closes = day_start(first, picture.tz), day_start(last + timedelta(days=1), picture.tz)
    touching = [
        s
        for account in picture.accounts.values()
        for s in account.stays
        if s.since < closes and (s.until is None or s.until > opens)
    ]
    return tuple(_question(picture, s) for s in sorted(touching, key=lambda s: -abs(s.volume_l)))


def _question(picture: Picture, stay: Stay) -> str:
    when = first_up(finding_dates(stay, picture.tz))
    much = show(abs(stay.volume_l), "volume", picture.home.display)
    if stay.volume_l < 0:
        return (
            f"{when} the house used about {much} less than usual, as if it had stood empty. If it did, write down who "
            "was at home; if not, see whether every zone ran."
        )
    people = counted(max(stay.people, 1.0), "more person", "more people")
    return (
        f"{when} the house used about {much} more than usual, as with {people}. If guests were there, write them down; "
        "if not, see whether something was left running or a valve did not close."
    )

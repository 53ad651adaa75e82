"""The first reading of a step of a leak hunt while its wait runs.

It stands in the page's address and is kept by the server, so that a phone that slept, a closed window or another device
goes on with it; only the finished test goes into the book.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal, InvalidOperation

import streamlit as st

from core.book.store import Book
from core.care.leak_hunt import STEPS, Code
from core.days import Moment, parse_moment
from core.errors import EntryError
from core.review.hunt import LAPSES
from core.units import parse_number

_NAMES = ("step", "zone", "before", "since")


@dataclass(frozen=True, slots=True)
class Waiting:
    """A step whose first reading was taken."""

    code: Code
    zone: str | None
    before: Decimal
    since: Moment


@st.cache_resource(show_spinner=False)
def _kept() -> dict[str, dict[str, str]]:
    """Waits by book and meter, for as long as the server runs."""
    return {}


def _where(book: Book, meter: str) -> str:
    return f"{book.path}|{meter}"


def waiting(book: Book, meter: str) -> Waiting | None:
    """What is waited for at a meter, from the page's address, or as the server kept it."""
    if st.query_params.get("meter", meter) != meter:
        return None
    given = {name: st.query_params[name] for name in _NAMES if name in st.query_params}
    given = given or _kept().get(_where(book, meter), {})
    code = next((c for c in STEPS if c == given.get("step")), None)
    if code is None:
        return None
    try:
        since = parse_moment(given.get("since", ""), book.zone_info)
        return Waiting(code, given.get("zone") or None, Decimal(given.get("before", "")), since)
    except (EntryError, InvalidOperation):
        return None


@st.cache_resource(show_spinner=False)
def _looked_for() -> dict[str, tuple[float, datetime]]:
    """Rates of suspected leaks by book and meter and when they were asked for, for as long as the server runs."""
    return {}


def sought(book: Book, meter: str, now: datetime) -> float | None:
    """Rate of the suspected leak, litres an hour, that the link to the page carried, for as long as a hunt may last.

    Forgotten with the first press of a button, a register that stands still for two hours would clear it.
    """
    place = _where(book, meter)
    if st.query_params.get("meter", meter) == meter:
        try:
            rate = float(parse_number(st.query_params.get("seek", "")))
        except EntryError:
            rate = 0.0
        if rate > 0:
            _looked_for()[place] = (rate, now)
    rate, asked = _looked_for().get(place, (0.0, now))
    return rate if rate > 0 and now - asked <= LAPSES else None


def wait_for(book: Book, meter: str, one: Waiting) -> None:
    """Begin a wait: another one that ran is given up."""
    given = {"step": one.code, "zone": one.zone or "", "before": format(one.before, "f"), "since": str(one.since)}
    _kept()[_where(book, meter)] = given
    looked_for = {name: st.query_params[name] for name in ("seek", "month") if name in st.query_params}
    st.query_params.from_dict({"meter": meter, **{k: v for k, v in given.items() if v}, **looked_for})


def give_up(book: Book, meter: str) -> None:
    """Forget the wait at a meter."""
    _kept().pop(_where(book, meter), None)
    for name in _NAMES:
        st.query_params.pop(name, None)

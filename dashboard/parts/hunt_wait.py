"""The first reading of a step of a leak hunt while its wait runs.

It stands in the page's address, so that a phone that slept, or another day's look at the same page, goes on with it;
only the finished test goes into the book.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

import streamlit as st

from core.book.store import Book
from core.care.leak_hunt import STEPS, Code
from core.days import Moment, parse_moment
from core.errors import EntryError

_NAMES = ("step", "zone", "before", "since")
_KEPT = "hunt-wait"


@dataclass(frozen=True, slots=True)
class Waiting:
    """A step whose first reading was taken."""

    code: Code
    zone: str | None
    before: Decimal
    since: Moment


def waiting(book: Book, meter: str) -> Waiting | None:
    """What is waited for at a meter, from the page's address, or from this window where the address was left."""
    kept = st.session_state.get(_KEPT, {}).get(f"{book.path}|{meter}")
    if st.query_params.get("meter", meter) != meter:
        return None
    given = {name: st.query_params[name] for name in _NAMES if name in st.query_params} or kept
    code = next((c for c in STEPS if given and c == given.get("step")), None)
    if not given or code is None:
        return None
    try:
        since = parse_moment(given.get("since", ""), book.zone_info)
        return Waiting(code, given.get("zone") or None, Decimal(given.get("before", "")), since)
    except (EntryError, InvalidOperation):
        return None


def wait_for(book: Book, meter: str, one: Waiting) -> None:
    """Begin a wait: another one that ran is given up."""
    given = {"step": one.code, "zone": one.zone or "", "before": format(one.before, "f"), "since": str(one.since)}
    st.session_state[_KEPT] = {**st.session_state.get(_KEPT, {}), f"{book.path}|{meter}": given}
    st.query_params.from_dict({"meter": meter, **{k: v for k, v in given.items() if v}})


def give_up(book: Book, meter: str) -> None:
    """Forget the wait at a meter."""
    st.session_state.get(_KEPT, {}).pop(f"{book.path}|{meter}", None)
    for name in _NAMES:
        st.query_params.pop(name, None)

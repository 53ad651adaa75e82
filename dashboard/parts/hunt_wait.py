"""The first reading of a step of a leak hunt while its wait runs.

It stands in the page's address and is kept in the user's data folder, so that a phone that slept, a closed window,
another device or a server that was stopped goes on with it; only the finished test goes into the book.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

import streamlit as st
from platformdirs import user_data_path

from core.book.store import Book
from core.care.leak_hunt import STEPS, Code
from core.days import Moment, parse_moment
from core.errors import EntryError
from core.review.hunt import LAPSES
from core.units import parse_number
from dashboard import data

_NAMES, _SOUGHT = ("step", "zone", "before", "since"), ("seek", "sought")


@dataclass(frozen=True, slots=True)
class Waiting:
    """A step whose first reading was taken."""

    code: Code
    zone: str | None
    before: Decimal
    since: Moment


def _file() -> Path:
    return user_data_path("rillbook") / "hunts-begun.json"


def _kept(book: Book, meter: str) -> dict[str, str]:
    """What is kept of a meter's hunt; {} where nothing is, or nothing can be read."""
    found = _all().get(_where(book, meter), {})
    return {str(k): str(v) for k, v in found.items()} if isinstance(found, dict) else {}


def _keep(book: Book, meter: str, kept: dict[str, str]) -> None:
    """Whole or not at all; where the folder cannot be written to, the page's address still goes on with it."""
    others = {where: each for where, each in _all().items() if where != _where(book, meter)}
    fresh = _file().with_suffix(".fresh")
    with suppress(OSError):
        fresh.parent.mkdir(parents=True, exist_ok=True)
        fresh.write_text(json.dumps({**others, _where(book, meter): kept} if kept else others), encoding="utf-8")
        fresh.replace(_file())


def _only(names: tuple[str, ...], kept: dict[str, str]) -> dict[str, str]:
    return {name: kept[name] for name in names if name in kept}


def _all() -> dict[str, Any]:
    try:
        found = json.loads(_file().read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _where(book: Book, meter: str) -> str:
    return f"{Path(book.path).resolve()}|{meter}"


def waiting(book: Book, meter: str) -> Waiting | None:
    """What is waited for at a meter, from the page's address, or as it was kept."""
    if st.query_params.get("meter", meter) != meter:
        return None
    given = {name: st.query_params[name] for name in _NAMES if name in st.query_params}
    given = given or _kept(book, meter)
    code = next((c for c in STEPS if c == given.get("step")), None)
    if code is None:
        return None
    try:
        since = parse_moment(given.get("since", ""), book.zone_info)
        if data.present() - since.utc > LAPSES:  # nobody knows any more what ran in between
            return None
        return Waiting(code, given.get("zone") or None, Decimal(given.get("before", "")), since)
    except (EntryError, InvalidOperation):
        return None


def sought(book: Book, meter: str, now: datetime) -> float | None:
    """Rate of the suspected leak, litres an hour, that the link to the page carried, for as long as a hunt may last.

    Forgotten with the first press of a button, a register that stands still for two hours would clear it.
    """
    kept = _kept(book, meter)
    if st.query_params.get("meter", meter) == meter:
        try:
            rate = float(parse_number(st.query_params.get("seek", "")))
        except EntryError:
            rate = 0.0
        if rate > 0:
            _keep(book, meter, {**kept, "seek": repr(rate), "sought": now.isoformat()})
            return rate
    try:
        rate, asked = float(kept["seek"]), datetime.fromisoformat(kept["sought"])
    except (KeyError, ValueError):
        return None
    return rate if rate > 0 and now - asked <= LAPSES else None


def wait_for(book: Book, meter: str, one: Waiting) -> None:
    """Begin a wait: another one that ran is given up."""
    given = {"step": one.code, "zone": one.zone or "", "before": format(one.before, "f"), "since": str(one.since)}
    _keep(book, meter, {**_only(_SOUGHT, _kept(book, meter)), **given})
    looked_for = {name: st.query_params[name] for name in ("seek", "month") if name in st.query_params}
    st.query_params.from_dict({"meter": meter, **{k: v for k, v in given.items() if v}, **looked_for})


def give_up(book: Book, meter: str) -> None:
    """Forget the wait at a meter."""
    _keep(book, meter, _only(_SOUGHT, _kept(book, meter)))
    for name in _NAMES:
        st.query_params.pop(name, None)

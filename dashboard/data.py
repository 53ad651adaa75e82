"""What the pages read: which book, what it holds, and the month's review, kept until the book changes.

Every call opens its own connection. What is kept is keyed by the book's path and the number of its latest change set.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pandas as pd
import streamlit as st
from platformdirs import user_data_path

import core
from core.accounts.findings import Finding
from core.book.kinds import Home, Record
from core.book.store import Book, Stored
from core.care.cautions import for_home
from core.days import Moment, month_days, same_day
from core.exchange.folder import new_from_folder
from core.figures import Figure
from core.review import review_month, see
from core.review.month import MonthReview
from core.review.tell import hiding
from core.units import System

BOOK, CHOSEN = "RILLBOOK_BOOK", "book"  # in the environment; in the session
SAMPLE_MONTH = "2026-07"  # the month in which the sample household has most to tell
AS_OF = "RILLBOOK_AS_OF"  # an ISO instant that stands for now, so that tests and pictures stay the same


def own_path() -> Path:
    """Where a person's own book lies unless they chose another place."""
    return user_data_path("rillbook") / "home.rillbook"


def _last() -> Path:
    return user_data_path("rillbook") / "last-book.txt"


def book_path() -> Path | None:
    """The book to show: the one the command named, the one chosen last, or one's own; None for the first screen."""
    named = os.environ.get(BOOK) or st.session_state.get(CHOSEN)
    if named:
        return Path(named)
    if CHOSEN in st.session_state:
        return None
    if _last().is_file():
        last = Path(_last().read_text(encoding="utf-8").strip())
        if last.is_file():
            return last
    return own_path() if own_path().exists() else None


def named_by_command() -> bool:
    """Whether the command that opened the dashboard said which book; then no other is chosen here."""
    return bool(os.environ.get(BOOK))


def choose(path: Path) -> None:
    """Show this book from now on, also after the window was closed."""
    st.session_state[CHOSEN] = str(path)
    _last().parent.mkdir(parents=True, exist_ok=True)
    _last().write_text(str(path), encoding="utf-8")


def put_away() -> None:
    """Show no book in this window, but the first screen."""
    st.session_state[CHOSEN] = ""


def book() -> Book:
    """The book, freshly opened."""
    path = book_path()
    if path is None:
        st.stop()
    return Book.open(path)


def present() -> datetime:
    """The present instant, to the minute."""
    fixed = os.environ.get(AS_OF)
    moment = datetime.fromisoformat(fixed).astimezone(UTC) if fixed else datetime.now(UTC)
    return moment.replace(second=0, microsecond=0)


def as_of(home_book: Book) -> datetime:
    """The present to the end of its hour, so that what was worked out serves for a while; never of the day to come."""
    return same_day(present(), present().replace(minute=0) + timedelta(hours=1), home_book.zone_info)


def today(home_book: Book) -> date:
    """The home's local day."""
    return present().astimezone(home_book.zone_info).date()


def present_moment(home_book: Book) -> Moment:
    """The present as it would be written down."""
    local = present().astimezone(home_book.zone_info)
    offset = local.utcoffset() or timedelta()
    return Moment(present(), int(offset.total_seconds() // 60))


def system(home: Home) -> System:
    """The units this reader looks in: their choice on the screen, else the book's."""
    chosen = st.session_state.get("units")
    return chosen if chosen in ("us", "metric") else home.display


def mind(book: Book, caution: str) -> str:
    """A caution for this home, in the reader's units."""
    home = book.home()
    return for_home(caution, home.timezone, system(home))


@st.cache_data(show_spinner="Working out the month", max_entries=60)
def _review(path: str, number: int, month: str, until: datetime, units: System) -> MonthReview:
    return review_month(Book.open(Path(path)), month, until, units)


def review(opened: Book, month: str) -> MonthReview:
    """The month's review as of now."""
    return _review(str(opened.path), opened.number(), month, as_of(opened), system(opened.home()))


@st.cache_data(show_spinner=False, max_entries=200)
def _frame(path: str, number: int, kind: str) -> pd.DataFrame:
    return Book.open(Path(path)).frame(kind)


def frame(opened: Book, kind: type[Record]) -> pd.DataFrame:
    """All records of a kind as a frame."""
    return _frame(str(opened.path), opened.number(), kind.KIND)


@st.cache_data(show_spinner=False, max_entries=100)
def _records(path: str, number: int, kind: type[Record]) -> list[Stored[Record]]:
    return Book.open(Path(path)).records(kind)


def names(opened: Book, kind: type[Record]) -> dict[str, str]:
    """Code to name of a kind that has both, in the order written."""
    stored = _records(str(opened.path), opened.number(), kind)
    return {s.record.code: getattr(s.record, "name", "") or s.record.code for s in stored}  # type: ignore[attr-defined]


@dataclass(frozen=True)
class MeterSide:
    """What one meter's account tells besides its balance: see :class:`core.accounts.account.MeterAccount`."""

    baseline: Figure
    delivery: pd.DataFrame
    hide: tuple[str, ...]


@st.cache_data(show_spinner="Working out the meter", max_entries=20)
def _meters(path: str, number: int, until: datetime, units: System) -> dict[str, MeterSide]:
    accounts = see(Book.open(Path(path)), until, units).accounts
    return {code: MeterSide(a.baseline, a.delivery, hiding(a.hide, units)) for code, a in accounts.items() if code}


def meters(opened: Book) -> dict[str, MeterSide]:
    """Baseline, delivery and what could hide, by meter, as of now."""
    return _meters(str(opened.path), opened.number(), as_of(opened), system(opened.home()))


@st.cache_data(show_spinner="Working out the meter", max_entries=20)
def _findings(path: str, number: int, until: datetime, units: System) -> dict[str, tuple[Finding, ...]]:
    accounts = see(Book.open(Path(path)), until, units).accounts
    return {code: a.findings for code, a in accounts.items()}


def findings(opened: Book, meter: str) -> tuple[Finding, ...]:
    """Everything found at a meter, as of now."""
    return _findings(str(opened.path), opened.number(), as_of(opened), system(opened.home())).get(meter, ())


_DATED = {"meter_reading": "at", "metered_use": "end", "rain": "end", "run": "at", "other_use": "start"}


@st.cache_data(show_spinner=False, max_entries=20)
def _bounds(path: str, number: int, zone: str) -> tuple[date, date] | None:
    opened = Book.open(Path(path))
    ends = [end for kind, column in _DATED.items() for end in _ends(opened.frame(kind)[column], zone)]
    ends = ends or _ends(opened.frame("weather")["day"], zone)  # a long weather file alone makes no month to review
    return (min(ends), max(ends)) if ends else None


def _ends(days: pd.Series[Any], zone: str) -> list[date]:
    if days.empty:
        return []
    local = days.dt.tz_convert(zone) if isinstance(days.dtype, pd.DatetimeTZDtype) else days
    return [local.min().date(), local.max().date()]


def months(opened: Book) -> list[str]:
    """Every month the book can tell of, newest first: from the first thing written down to this month."""
    last = today(opened)
    bounds = _bounds(str(opened.path), opened.number(), str(opened.zone_info))
    first = min(bounds[0], last) if bounds else last
    listing = pd.period_range(first, last, freq="M")
    return [str(p) for p in listing[::-1]]


def usual_month(opened: Book) -> str:
    """The month a reader most likely wants: that of the latest thing written down, never one to come."""
    bounds = _bounds(str(opened.path), opened.number(), str(opened.zone_info))
    last = today(opened)
    return f"{min(bounds[1], last) if bounds else last:%Y-%m}"


def month_chosen(opened: Book) -> str:
    """The month in the page's address, or the one the command opened the book at, or the usual one."""
    asked = st.query_params.get("month", "")
    if asked:
        month_days(asked)
        return asked
    return st.session_state.get("month") or os.environ.get("RILLBOOK_MONTH") or usual_month(opened)


def sample_book() -> Path:
    """The sample household's book, made in the user's data folder the first time it is asked for."""
    path = user_data_path("rillbook") / "sample.rillbook"
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        new_from_folder(path, Path(core.__file__).parents[1] / "sample_data" / "household")
    return path

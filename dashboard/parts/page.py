"""A page about one month: book, review, the reader's look, and drawings kept until the book changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

import streamlit as st

from core.book.store import Book
from core.review.month import MonthReview
from core.units import System
from dashboard import data
from dashboard.charts import (
    Drawing,
    Look,
    days_drawing,
    depletion_drawing,
    intervals_drawing,
    need_drawing,
    reference_drawing,
    unexplained_drawing,
    use_drawing,
)
from dashboard.colours import palette
from dashboard.parts.choose import month_chooser
from dashboard.parts.drawing import show_drawing

_MAKERS: dict[str, Callable[..., Drawing]] = {
    "use": use_drawing,
    "days": days_drawing,
    "need": need_drawing,
    "intervals": intervals_drawing,
    "unexplained": unexplained_drawing,
    "depletion": depletion_drawing,
    "reference": reference_drawing,
}
Key = tuple[str, int, str, datetime, System, str]


@dataclass(frozen=True)
class MonthPage:
    """What a page about a month works with."""

    book: Book
    month: str
    review: MonthReview
    system: System
    look: Look
    key: Key

    def draw(self, name: str, *args: str, note: str = "", with_key: bool = True) -> None:
        """Show one of the drawings; made anew only when book, month, units or ground changed."""
        drawing = _drawing(self.key, name, args, self.review, self.look)
        show_drawing(drawing, "-".join((name, *args)), note, with_key)


def month_page() -> MonthPage:
    """The page's month, chosen at its top, with everything it needs."""
    book = data.book()
    month = month_chooser(book)
    system = data.system(book.home())
    review = data.review(book, month)
    ground = "dark" if st.context.theme.type == "dark" else "light"
    key = (str(book.path), book.number(), month, data.as_of(book), system, ground)
    return MonthPage(book, month, review, system, Look.of(review, system, palette(ground)), key)


@st.cache_data(show_spinner=False, max_entries=300)
def _drawing(key: Key, name: str, args: tuple[str, ...], _review: MonthReview, _look: Look) -> Drawing:
    return _MAKERS[name](_review, _look, *args)

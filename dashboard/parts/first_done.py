"""Which of the first steps a book has, and whether their page still has something to ask."""

from __future__ import annotations

import streamlit as st

from core.book.kinds import MeteredUse, MeterReading, Normal, Record, Supply, Tariff, Weather, Zone
from core.book.store import Book
from dashboard.parts.first_home import home_known

LATER = "steps-later"  # steps the reader put off
NEEDED = ("water", "zones", "weather")  # what a first month needs


def first_done(book: Book) -> dict[str, bool]:
    """Each step by its key, in their order, and whether it is written down."""

    def has(*kinds: type[Record]) -> bool:
        return any(book.latest(kind, 1) for kind in kinds)

    return {
        "home": home_known(book),
        "water": has(Supply),
        "zones": has(Zone),
        "weather": has(Weather, Normal),
        "reading": has(MeterReading, MeteredUse),
        "price": has(Tariff),
    }


def unfinished(book: Book) -> bool:
    """Whether a step is neither written down nor put off; until then the page stands among the others."""
    later: set[str] = st.session_state.get(LATER, set())
    return any(not done and key not in later for key, done in first_done(book).items())


def nothing_to_review(book: Book) -> bool:
    """Whether no month could show anything yet: neither a garden written down nor two readings or a volume."""
    done = first_done(book)
    if all(done[key] for key in NEEDED):
        return False
    return not book.latest(MeteredUse, 1) and len(book.latest(MeterReading, 2)) < 2

"""The units at the head of every page: what is chosen there the book remembers, and another window follows."""

from __future__ import annotations

import logging

import streamlit as st

from core.book.kinds import Home
from core.errors import RillbookError
from core.units import System
from dashboard import data
from dashboard.words import UNITS

_SEEN = "units-seen"  # the book and its units when this window last looked


def follow_book(home: Home) -> None:
    """Show the units of the book when it is opened, and again when they were changed elsewhere."""
    seen = (str(data.book_path()), home.display)
    if st.session_state.get(_SEEN) != seen or "units" not in st.session_state:
        st.session_state["units"] = home.display
    st.session_state[_SEEN] = seen


def remember_units() -> None:
    """Write the units chosen into the book. Where it cannot be written they hold for this window.

    To choose back takes the choice back, so that the home is as it was and an earlier change of it can be undone.
    """
    chosen = st.session_state["units"]
    if chosen not in UNITS:
        return
    try:
        book = data.book()
        stored = book.records(Home)[0]
        last = next((c for c in book.change_sets() if c.number == stored.change_set), None)
        if last is not None and last.what == _words(stored.record.display):  # of two, so what was before is chosen
            book.undo(last.number)
        else:
            with book.change(_words(chosen)) as change:
                change.correct(stored.id, stored.record.model_copy(update={"display": chosen}), stored.change_set)
    except RillbookError:
        logging.getLogger("rillbook").warning("the units chosen could not be written into the book", exc_info=True)
        return
    st.session_state[_SEEN] = (str(data.book_path()), chosen)


def _words(units: System) -> str:
    return f"chose to show {UNITS[units]}"

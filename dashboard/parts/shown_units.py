"""The units at the head of every page: what is chosen there the book remembers, and another window follows."""

from __future__ import annotations

import logging

import streamlit as st

from core.book.kinds import Home
from core.errors import RillbookError
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
    """Write the units chosen into the book. Where it cannot be written they hold for this window."""
    chosen = st.session_state["units"]
    if chosen not in UNITS:
        return
    try:
        book = data.book()
        stored = book.records(Home)[0]
        with book.change(f"chose to show {UNITS[chosen]}") as change:
            change.correct(stored.id, stored.record.model_copy(update={"display": chosen}), stored.change_set)
    except RillbookError:
        logging.getLogger("rillbook").warning("the units chosen could not be written into the book", exc_info=True)
        return
    st.session_state[_SEEN] = (str(data.book_path()), chosen)

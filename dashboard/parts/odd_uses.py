"""Single uses that nobody wrote down: one friendly question for all of a month, settled in one step."""

from __future__ import annotations

import streamlit as st

from core.accounts.findings import Finding
from core.book.store import Book
from core.errors import RillbookError
from core.review.decide import let_be, log_as_uses
from core.review.month import MonthReview
from core.review.odd_uses import ASK, NAMED
from core.review.spoken import counted
from core.units import System
from dashboard import data
from dashboard.parts.deciding import SUSPECTS
from dashboard.parts.say import refuse, tell
from dashboard.parts.suspect import how_much, show_suspect, when
from dashboard.words import plain

MEANT = (
    "A yes writes it down as other use, with the meter's times and amounts; the fold below takes your own. If it was "
    "nobody, look for a hose or a tap left open, and read the meter again tomorrow: a leak begins like this."
)


def show_uses(book: Book, review: MonthReview, uses: list[Finding], system: System) -> None:
    """The question, each use with its time and amount, and one answer to all; one by one in a fold."""
    with st.container(border=True, key="odd-uses"):
        st.markdown(f"**{ASK}?** Nobody wrote down:")
        st.markdown("\n".join(f"- {plain(when(book, f))} {plain(how_much(f, review, system))}" for f in uses))
        st.caption(plain(MEANT))
        with st.container(horizontal=True, gap="small"):
            if st.button("Yes, that was us", key="uses-yes", type="primary"):
                _settle(book, uses, ours=True)
            if st.button("Nobody knows, let it be", key="uses-let-be"):
                _settle(book, uses, ours=False)
        with st.expander("What it was for, and the evidence" if len(uses) == 1 else "One by one, with the evidence"):
            for use in uses:
                show_suspect(book, review, use, 0, system)


def _settle(book: Book, uses: list[Finding], *, ours: bool) -> None:
    at = data.present_moment(book)
    try:
        number = log_as_uses(book, uses, NAMED, at) if ours else let_be(book, uses, at)
    except RillbookError as error:
        refuse(str(error))
        return
    many = counted(len(uses), "use")
    words = f"Stored as other use: {many}, {NAMED}." if ours else f"Let be: {many} nobody wrote down."
    tell(words, number, SUSPECTS)
    st.rerun()

"""Guests or a trip that nobody wrote down, as a card: the question, and the two answers a person can give."""

from __future__ import annotations

import streamlit as st

from core.book.kinds import Household
from core.book.store import Book
from core.errors import RillbookError
from core.review.causes import instead_of
from core.review.decide import it_broke
from core.review.month import AskedStay, MonthReview, card_of
from core.review.spoken import first_up
from dashboard import data
from dashboard.parts.deciding import SUSPECTS, unfolded
from dashboard.parts.go import garden_link
from dashboard.parts.say import refuse, tell, turn
from dashboard.words import plain

TITLES = {True: "Guests, or something that broke?", False: "Nobody at home, or something that did not run?"}
NOT_PEOPLE = {True: "It was not guests", False: "Somebody was at home"}


def show_stay(book: Book, review: MonthReview, asked: AskedStay) -> None:
    """One card."""
    more = asked.stay.volume_l > 0
    key = card_of(asked)
    with st.container(border=True, key=key):
        title = "Was nobody at home?" if asked.stay.hourly and not more else TITLES[more]
        st.markdown(f"**{title}**  \n{plain(asked.words)}")
        garden_link("Write down who was at home", Household.KIND)
        choices = instead_of(asked.stay, review.zone_names)
        if not choices:
            return
        with unfolded(NOT_PEOPLE[more], key), st.form(turn(f"form-{key}"), border=False):
            cause = st.radio(
                "What was it?",
                list(choices),
                index=None,
                format_func=lambda one: plain(first_up(choices[one])),
                key=f"which-{key}",
            )
            note = st.text_input("In your own words (optional)", key=f"note-{key}")
            if not st.form_submit_button("Write down the cause", type="primary"):
                return
        if cause is None:
            refuse("Choose what it was. Nothing was stored.")
            return
        try:
            number = it_broke(book, asked, cause, data.present_moment(book), note.strip())
        except RillbookError as error:
            refuse(str(error))
            return
        tell(f"Cause found: {choices[cause]}.", number, SUSPECTS)
        st.rerun()

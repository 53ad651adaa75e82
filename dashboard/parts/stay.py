"""Guests, a trip or a move that nobody wrote down, as a card: the question, and the answers a person can give."""

from __future__ import annotations

import streamlit as st

from core.book.kinds import Household
from core.book.store import Book
from core.errors import RillbookError
from core.review.causes import instead_of
from core.review.decide import it_broke
from core.review.month import AskedStay, MonthReview, card_of
from core.review.moved import first_day, people_from
from core.review.spoken import counted, first_up
from dashboard import data
from dashboard.parts.deciding import SUSPECTS, unfolded
from dashboard.parts.fields import FIRST_DAY
from dashboard.parts.go import garden_link
from dashboard.parts.say import refuse, sentence, tell, turn
from dashboard.words import day_words, plain

TITLES = {True: "Guests, or something that broke?", False: "Nobody at home, or something that did not run?"}
MOVED_OUT = "Did somebody move out, or did something stop drawing water?"
NOT_PEOPLE = {True: "It was not guests", False: "Somebody was at home"}
NOBODY_MOVED = "Nobody moved out"


def show_stay(book: Book, review: MonthReview, asked: AskedStay) -> None:
    """One card."""
    more = asked.stay.volume_l > 0
    key = card_of(asked)
    with st.container(border=True, key=key):
        title = "Was nobody at home?" if asked.stay.hourly and not more else TITLES[more]
        st.markdown(f"**{MOVED_OUT if asked.stay.moved_out else title}**  \n{plain(asked.words)}")
        if asked.stay.moved_out and asked.stay.until is None:
            _live_here_now(book, asked, key)
        else:
            garden_link("Write down who was at home", Household.KIND)
        choices = instead_of(asked.stay, review.zone_names)
        if not choices:
            return
        other = NOBODY_MOVED if asked.stay.moved_out else NOT_PEOPLE[more]
        with unfolded(other, key), st.form(turn(f"form-{key}"), border=False):
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


def _live_here_now(book: Book, asked: AskedStay, key: str) -> None:
    """So many people from a day on, in one step that undo takes back; the days before keep their number."""
    was, began = book.home().people, asked.stay.since.astimezone(book.zone_info).date()
    with st.form(turn(f"live-{key}"), border=False):
        with st.container(horizontal=True):
            people = st.number_input(
                "People who live here now",
                min_value=0,
                max_value=50,
                value=max(was - max(round(-asked.stay.people), 1), min(was, 1)),
                key=f"people-{key}",
                width=220,
            )
            day = st.date_input(
                "First day with so many",
                value=began,
                min_value=FIRST_DAY,
                max_value=data.today(book),
                format="YYYY-MM-DD",
                key=f"day-{key}",
                width=220,
            )
        sentence(f"The days before keep {counted(was, 'person', 'people')}.")
        if not st.form_submit_button("Write it down", type="primary"):
            return
    try:
        number = people_from(book, day, people, first_day(book) or day)
    except RillbookError as error:
        refuse(str(error))
        return
    if number is None:
        refuse(f"{was} are written down already. Nothing was stored.")
        return
    tell(f"Stored: {counted(people, 'person', 'people')} at home from {day_words(day)} on, {was} before.", number)
    st.rerun()

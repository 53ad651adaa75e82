"""Another number of people at home: since when, so that the years before are not reckoned anew unasked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import streamlit as st

from core.book.kinds import Home
from core.book.store import Book, Stored
from core.errors import RillbookError
from core.review.moved import first_day, people_from
from core.review.spoken import counted
from dashboard import data
from dashboard.parts.describe import Names
from dashboard.parts.fields import FIRST_DAY
from dashboard.parts.say import refuse, sentence, tell
from dashboard.parts.store import correct
from dashboard.words import day_words

_ASKED = "since-when"


@dataclass(frozen=True, slots=True)
class _Asked:
    form: str
    stored: Stored[Any]
    record: Home


def ask_since_when(book: Book, form: str, stored: Stored[Any], record: Home) -> bool:
    """Whether it has to be asked since when: another number, and readings it would explain anew."""
    st.session_state.pop(_ASKED, None)
    if record.people == stored.record.people or first_day(book) is None:
        return False
    st.session_state[_ASKED] = _Asked(form, stored, record)
    return True


def since_when(book: Book, names: Names, form: str) -> bool:
    """The question this form raised; whether it was answered and stored."""
    asked: _Asked | None = st.session_state.get(_ASKED)
    first = first_day(book)
    if asked is None or asked.form != form or first is None:
        return False
    now, was = asked.record.people, asked.stored.record.people
    with st.container(border=True, key="since-when"):
        people = counted(now, "person is", "people are")
        st.markdown(f"**{people} usually at home, no longer {was}. From when?**")
        sentence(f"The days before it keep {was}.")
        today = data.today(book)
        day = st.date_input(
            f"First day with {now}",
            value=None,
            min_value=FIRST_DAY,
            max_value=today,
            format="YYYY-MM-DD",
            key="since-when-day",
            width=260,
        )
        with st.container(horizontal=True):
            from_then = st.button("From that day on", key="since-when-from", type="primary")
            always = st.button(f"It was always {now}: {was} was wrong", key="since-when-always")
    if always:
        done = correct(book, asked.stored, asked.record, names)
    elif from_then and day is None:
        refuse("Enter the day, or say that it was always so. Nothing was stored.")
        return False
    elif from_then and day is not None:
        try:
            seen = Stored(asked.stored.id, asked.record, asked.stored.change_set)
            number = people_from(book, day, now, first, seen)
        except RillbookError as error:
            refuse(str(error))
            return False
        tell(f"Stored: {counted(now, 'person', 'people')} at home from {day_words(day)} on, {was} before.", number)
        done = True
    else:
        return False
    if done:
        st.session_state.pop(_ASKED, None)
    return done

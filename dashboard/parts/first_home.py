"""What only the household knows: how many live there, what draws water by itself, and when its winter is."""

from __future__ import annotations

import streamlit as st
from pydantic import ValidationError

from core.book.kinds import Home
from core.book.store import Book
from core.care.leak_hunt import DRINKERS, drinkers
from core.errors import EntryError, RillbookError
from core.notation import parse_month_day
from core.review.spoken import listed
from core.units import parse_number
from dashboard.parts.fields import Setting
from dashboard.parts.moved import ask_since_when, since_when
from dashboard.parts.say import next_turn, refuse, tell, turn
from dashboard.words import choice, yearly

HOW_SHOWN = {"display", "currency"}  # of the home, said at the head of a page and with the price of water
SAID = "home-said"  # books whose home was looked at and left as it was


def home_known(book: Book) -> bool:
    """Whether somebody has said it: the frost days are there, or the home was put right or left as it is.

    Other units or another currency sign say nothing of who lives there.
    """
    home = book.home()
    if home.shutdown_due or home.startup_due or str(book.path) in st.session_state.get(SAID, ()):
        return True
    return bool(set(home.differs_from(book.home_as_begun())) - HOW_SHOWN)


def home_form(book: Book, setting: Setting) -> None:
    """People, what draws water by itself and the usual days of the year, each with why it is asked."""
    stored = book.records(Home)[0]
    home = stored.record
    form = turn("first-home")
    north = home.latitude >= 0
    with st.form(form, border=False):
        people = st.text_input("People usually at home", value=str(home.people), key=f"{form}.people", width=220)
        st.caption("Until the meter has shown it, what the house itself uses is reckoned from them.")
        drinks = st.pills(
            "What draws water by itself, if anything",
            list(DRINKERS),
            selection_mode="multi",
            default=drinkers(home.drinks)[0],
            format_func=choice,
            key=f"{form}.drinks",
        )
        st.caption("So that what these take in their season is not put down to a leak or to a zone.")
        frost = st.text_input(
            f"Usual last day before hard frost (month-day, such as {'10-20' if north else '05-25'})",
            value=home.shutdown_due,
            key=f"{form}.shutdown",
        )
        st.caption(
            "Water that freezes in lines and valves splits them: you are reminded to shut down before that day. "
            "Leave it empty where it never freezes."
        )
        spring = st.text_input(
            f"Usual first day of watering (month-day, such as {'04-20' if north else '09-05'})",
            value=home.startup_due,
            key=f"{form}.startup",
        )
        st.caption("You are reminded to start up, and no program is fitted to the months between.")
        sent = st.form_submit_button("Store the household", type="primary")
    if since_when(book, setting.refs, "first-home"):
        next_turn("first-home")
        st.rerun()
    if not sent:
        return
    try:
        days = {"shutdown_due": parse_month_day(frost), "startup_due": parse_month_day(spring)}
        said_drinks = ", ".join([*drinks, *drinkers(home.drinks)[1]])
        if drinkers(said_drinks)[0] == drinkers(home.drinks)[0]:
            said_drinks = home.drinks  # in the words of whoever wrote it
        asked = {**days, "people": _people(people), "drinks": said_drinks}
        changed = Home.model_validate({**dict(home), **asked})
        if ask_since_when(book, "first-home", stored, changed):
            st.rerun()
        with book.change("wrote down people and the usual days of the year") as change:
            change.correct(stored.id, changed, stored.change_set)
    except RillbookError as error:
        refuse(f"{error} Nothing was stored.")
    except ValidationError:
        refuse("People are from 0 to 50. Nothing was stored.")
    else:
        said = [f"{changed.people} at home"]
        said += [f"with {listed(choice(d) for d in drinkers(changed.drinks)[0])}"] if drinks else []
        said += [f"hard frost after {yearly(changed.shutdown_due)}"] if changed.shutdown_due else []
        said += [f"watering from {yearly(changed.startup_due)}"] if changed.startup_due else []
        tell(f"{'Stored' if change.number else 'It stays'}: {', '.join(said)}.", change.number)
        st.session_state[SAID] = {*st.session_state.get(SAID, ()), str(book.path)}
        next_turn("first-home")
        st.rerun()


def _people(text: str) -> int:
    if not text.strip():
        raise EntryError("Enter how many people are usually at home.")
    number = parse_number(text)
    if number != int(number):
        raise EntryError(f"“{text}” is not a whole number.")
    return int(number)

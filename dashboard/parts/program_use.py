"""Using programs that fit: which zones, from which day, exactly what will be written, and one button."""

from __future__ import annotations

from datetime import date, timedelta

import streamlit as st

from core.book.store import Book
from core.errors import RillbookError
from core.review.accept import Write, accept, planned
from core.review.fitting import FittingMonth, ZoneFit
from core.review.spoken import counted, listed
from dashboard import data
from dashboard.parts.fields import FIRST_DAY, LAST_DAY
from dashboard.parts.say import refuse, sentence, tell
from dashboard.words import day_words, plain

_SHOWN = "use-shown"


def use_form(book: Book, month: FittingMonth) -> None:
    """Choose zones and a day, see what would be written, write it."""
    st.subheader("Use what fits")
    fitted = {z.zone: z for z in month.zones if z.fit is not None}
    if not fitted:
        sentence("There is no program to write down for this month.")
        return
    sentence("Set your controller first; Rillbook controls nothing. Then write down here what it is set to.")
    chosen = st.pills(
        "Zones to write down",
        list(fitted),
        selection_mode="multi",
        default=list(fitted),
        format_func=lambda z: fitted[z].name if z in fitted else z,
        key=f"use-zones-{month.month}",
    )
    today = data.today(book)
    day = st.date_input(
        "Set from",
        value=max(today, month.first),
        min_value=FIRST_DAY,
        max_value=min(LAST_DAY, today + timedelta(days=730)),
        format="YYYY-MM-DD",
        key=f"use-day-{month.month}",
        width=220,
    )
    fits = [fitted[z] for z in chosen if z in fitted]
    if not fits or day is None:
        sentence("Choose a zone and a day.", "small")
        return
    try:
        writes = planned(book, fits, day)
    except RillbookError as error:
        refuse(str(error))
        return
    with st.container(border=True, key="use-preview", gap="small"):
        st.markdown("**This will be written**")
        st.markdown("\n".join(f"- {plain(w.words)}" for w in writes))
    changes = [w for w in writes if w.verb != "same"]
    words = f"Use this from {day_words(day)}" if changes else "Nothing would change"
    seen, now = st.session_state.get(_SHOWN), tuple(w.words for w in writes)
    st.session_state[_SHOWN] = now
    if st.button(words, type="primary", key="use-it", disabled=not changes):
        if seen != now:  # the book changed between what was read and the tap
            refuse("The book has changed since this was shown. Look at it again. Nothing was stored.")
            return
        _write(book, fits, writes, day)


def _write(book: Book, fits: list[ZoneFit], shown: tuple[Write, ...], day: date) -> None:
    try:
        number = accept(book, fits, day)
    except RillbookError as error:
        refuse(str(error))
        return
    names = listed(z.name for z in fits)
    written = counted(sum(w.verb != "same" for w in shown), "program")
    tell(f"Stored: {names} set to what fits from {day_words(day)} on, {written} written.", number)
    st.rerun()

"""Pausing zones, switching them off or on again from a day: what will be written, and one button."""

from __future__ import annotations

from datetime import date, timedelta

import streamlit as st

from core.book.kinds import Pause
from core.book.store import Book
from core.errors import RillbookError
from core.review.fitting import FittingMonth
from core.review.spoken import listed
from core.review.stopping import How, Stop, Why, first_day_off, paused_on, planned_stop, programmed, stop
from dashboard import data
from dashboard.parts.fields import FIRST_DAY, LAST_DAY
from dashboard.parts.go import garden_link
from dashboard.parts.say import refuse, sentence, tell
from dashboard.words import day_words, plain

_SHOWN = "stop-shown"
HOWS: dict[How, str] = {"pause": "Pause for a time", "off": "Switch off", "on": "End a pause"}
DONE: dict[How, str] = {"pause": "Paused", "off": "Switched off", "on": "On again"}
WHYS: dict[Why, str] = {"rain": "rain is enough", "away": "away", "repair": "repair", "other": "another reason"}


def stop_form(book: Book, month: FittingMonth) -> None:
    """Choose pause or off, zones and a day, see what would be written, write it. Nothing where no program is set."""
    today = data.today(book)
    names = {z.zone: z.name for z in month.zones}
    zones = [code for code in programmed(book, today) if code in names]
    if not zones:
        return
    first = first_day_off(book, data.present().astimezone(book.zone_info))
    running = [z for z in zones if any(s.verb != "same" for s in planned_stop(book, {z: names[z]}, first, "pause"))]
    paused = paused_on(book, zones, today)
    st.subheader("Pause or switch off")
    if not running:
        sentence("Every zone that has a program is paused already, until you switch it on again.")
    if not running and not paused:  # those that are written for later
        garden_link("Look at the pauses, or end one", Pause.KIND)
        return
    hows: list[How] = [h for h in HOWS if (paused if h == "on" else running)]
    idle = [z.zone for z in month.zones if z.zone in running and z.fit is None and z.fit_l == 0]
    sentence("Do it at your controller first; Rillbook controls nothing. Then write down here what you did.")
    how: How = st.segmented_control(
        "What did you do?", hows, default=hows[0], format_func=lambda h: HOWS[h], key="stop-how", required=True
    )
    on = how == "on"
    chosen = st.pills(
        "Zones that are on again" if on else "Zones to stop",
        paused if on else zones,
        selection_mode="multi",
        default=paused if on else idle if month.running else [],
        format_func=lambda z: names.get(z, z),
        key=f"stop-zones-{how if on else ''}{month.month}",
    )
    with st.container(horizontal=True, vertical_alignment="top", gap="medium"):
        if on:
            day = _day("First day on again", today, "stop-on", today)
        else:
            day = _day("First day off", first, "stop-day", today)
        until: date | None = None
        why: Why = "other"
        if how == "pause":
            until = _day("First day on again, if you know it", None, "stop-until", today)
            why = st.selectbox(
                "Why",
                list(WHYS),
                index=0 if idle and month.running else 3,
                format_func=lambda w: WHYS[w],
                key=f"stop-why-{month.month}",
                width=220,
            )
    if not chosen or day is None:
        sentence("Choose a zone and a day.", "small")
        return
    picked = {zone: names[zone] for zone in chosen}
    try:
        stops = planned_stop(book, picked, day, how, until, why)
    except RillbookError as error:
        refuse(str(error))
        return
    _offer(book, picked, day, how, until, why, stops)


def _offer(
    book: Book, zones: dict[str, str], day: date, how: How, until: date | None, why: Why, stops: tuple[Stop, ...]
) -> None:
    with st.container(border=True, key="stop-preview", gap="small"):
        st.markdown("**This will be written**")
        st.markdown("\n".join(f"- {plain(s.words)}" for s in stops) if stops else "Nothing is set on that day.")
    changes = [s for s in stops if s.verb != "same"]
    done = DONE[how]
    words = f"{done} from {day_words(day)}: write it down" if changes else "Nothing would be written"
    seen, now = st.session_state.get(_SHOWN), tuple(s.words for s in stops)
    st.session_state[_SHOWN] = now
    if not st.button(words, type="primary", key="stop-it", disabled=not changes):
        return
    if seen != now:  # the book changed between what was read and the tap
        refuse("The book has changed since this was shown. Look at it again. Nothing was stored.")
        return
    try:
        number = stop(book, zones, day, how, until, why)
    except RillbookError as error:
        refuse(str(error))
        return
    tell(f"Stored: {listed(zones.values())} {done.lower()} from {day_words(day)} on.", number)
    st.rerun()


def _day(words: str, value: date | None, key: str, today: date) -> date | None:
    found: date | None = st.date_input(
        words,
        value=value,
        min_value=FIRST_DAY,
        max_value=min(LAST_DAY, today + timedelta(days=730)),
        format="YYYY-MM-DD",
        key=key,
        width=260,
    )
    return found

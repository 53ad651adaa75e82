"""The guided shutdown or start-up: one step open at a time, each done, not needed, or skipped and why."""

from __future__ import annotations

from datetime import date
from typing import get_args

import streamlit as st

from core.book.store import Book
from core.care.cautions import cautions
from core.care.checklist import SEASON_WORDS, Checklist, Step, settle
from core.care.keeping import asks_for_no_shutdown, finish, open_checklist, propose, write_step
from core.care.seasons import SeasonState
from core.care.shutdown_steps import SHUTDOWN
from core.care.steps import Season
from core.errors import RillbookError
from dashboard import data
from dashboard.parts.fields import FIRST_DAY
from dashboard.parts.go import garden_link
from dashboard.parts.row import row_field, row_label
from dashboard.parts.say import refuse, sentence, show_told, tell
from dashboard.words import choice, day_words, plain

PLACE = "list"
LIST = "shutdown-and-start-up"  # the heading's place in the page
LATE_DAYS = 30  # a list is written down so long after the work, if late; common practice, no source
SIGNS = {"open": "○", "done": "✓", "not_needed": "–", "skipped": "↷"}
_BUTTONS = (("done", "Done"), ("not_needed", "Not needed"), ("skipped", "Skipped"))


def checklist_walk(book: Book, state: SeasonState) -> None:
    """Choose a list, walk it, finish it. It can be left at any step and goes on from there."""
    if asks_for_no_shutdown(book, state) and not _wanted(book):
        return
    today = data.today(book)
    seasons: tuple[Season, ...] = get_args(Season)
    years = sorted({state.list_year, today.year, today.year - 1, today.year + 1})
    with st.container(horizontal=True, vertical_alignment="top", key="which-list"):
        season = st.segmented_control(
            "Which list",
            seasons,
            default=state.list_season,
            format_func=lambda s: SEASON_WORDS[s].capitalize(),
            key="list-season",
            required=True,
        )
        year = st.selectbox("Year", years, index=years.index(state.list_year), key="list-year", width=120)
        walked = open_checklist(book, season, year, today)
        day = st.date_input(
            "Day of the work",
            value=_working_day(walked, today),
            min_value=FIRST_DAY,
            max_value=today,
            format="YYYY-MM-DD",
            width=200,
        )
    if not walked.steps:
        sentence("No step fits what is installed. Write down the supply, the controller and the zones first.")
        return
    show_told(PLACE)
    progress = walked.progress
    settled = progress.total - progress.open
    st.progress(settled / progress.total if progress.total else 1.0, text=plain(progress.sentence))
    if not walked.open_steps:
        _finish(book, walked)
    for place, step in enumerate(walked.steps, 1):
        _step(book, walked, step, place, day)
    if walked.open_steps:
        count = len(walked.open_steps)
        st.caption(plain(f"{count} {'step is' if count == 1 else 'steps are'} open. You can leave and go on later."))


def _wanted(book: Book) -> bool:
    """Where no hard freeze is known: what one cold night asks for, and whether the whole list is wanted."""
    sentence(
        "No hard freeze is on record here and none is usual, so no shutdown is asked for. One can come all the same: "
        "follow the forecast and what is done where you live."
    )
    wrap = next(kind for kind in SHUTDOWN if kind.code == "wrap")
    with st.container(border=True, key="cold-night"):
        st.markdown(f"**Before a cold night:** {plain(wrap.words)}")
        st.markdown(f"**Mind:** {plain(data.mind(book, cautions(*wrap.cautions)))}")
    garden_link("Write down the usual last day before hard frost, if there is one", "home")
    return st.toggle("Show the whole shutdown and start-up", key="whole-list")


def _working_day(walked: Checklist, today: date) -> date:
    """The day the next step is taken to be of: that of the last one, of a list written down afterwards."""
    last = walked.last_day
    return last if last is not None and walked.open_steps and (today - last).days <= LATE_DAYS else today


def _step(book: Book, walked: Checklist, step: Step, place: int, day: date) -> None:
    key = f"{walked.season}-{walked.year}-{step.kind.code}-{step.subject}"
    state = step.state
    label = f"{SIGNS[state]}  {place}. {plain(step.title)}"
    if step.record:
        label += f" :gray[({choice(state)}, {plain(day_words(step.record.day))})]"
    elif step.kind.optional:
        label += " :gray[(where it applies)]"
    with st.expander(label, expanded=step == walked.next_step):
        sentence(step.kind.words)
        if step.caution:
            st.markdown(f"**Mind:** {plain(data.mind(book, step.caution))}")
        if step.kind.why:
            st.caption(plain(f"{step.kind.why} (Source: {step.kind.source})"))
        with st.form(f"step-{key}", border=False):
            why = st.text_input(
                row_field("Note (when you skip it, say why)", step.title),
                value=step.record.why if step.record else "",
                key=f"why-{key}",
            )
            with st.container(horizontal=True, key=f"row-{key}"):
                pressed = [
                    word
                    for word, words in _BUTTONS
                    if st.form_submit_button(
                        row_label(words, step.title),
                        key=f"{word}-{key}",
                        type="primary" if word == "done" and state == "open" else "secondary",
                    )
                ]
        if pressed:
            _settle(book, walked, step, pressed[0], day, why)


def _settle(book: Book, walked: Checklist, step: Step, state: str, day: date, why: str) -> None:
    try:
        record = settle(walked, step, state, day, why)  # type: ignore[arg-type]
        number = write_step(book, record)
    except RillbookError as error:
        refuse(f"{error} Nothing was stored.")
        return
    tell(f"{step.title}: {choice(state)} on {day_words(day)}.", number, PLACE)
    st.rerun()


def _finish(book: Book, walked: Checklist) -> None:
    """What finishing would write, and the button for it; above the steps, of which none is open any more."""
    words = SEASON_WORDS[walked.season]
    chosen: date | None = None
    if walked.water_turned is None:
        picked = st.date_input(
            f"On which day was the water {'shut' if walked.season == 'shutdown' else 'opened'}",
            value=None,
            min_value=FIRST_DAY,
            max_value=data.today(book),
            format="YYYY-MM-DD",
            width=220,
        )
        chosen = picked if isinstance(picked, date) else None
    try:
        proposal = propose(book, walked, chosen)
    except RillbookError as error:
        sentence(str(error))
        return
    sentence(proposal.words)
    if proposal.add or proposal.correct:
        if st.button(f"Finish the {words}", type="primary", key="finish-list"):
            number = finish(book, proposal)
            tell(f"The {words} of {walked.year} is finished.", number, PLACE, more=proposal.words)
            st.rerun()
    else:
        st.caption(plain(f"The {words} of {walked.year} is finished."))

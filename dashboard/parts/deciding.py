"""What a person decides about a finding: cause found, harmless, repaired, logged as use, ask again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from core.accounts.findings import Cause, Finding
from core.book.kinds import Measured, Zone
from core.book.store import Book
from core.days import Moment, parse_moment
from core.errors import RillbookError
from core.review.causes import may_be
from core.review.decide import LOGGABLE, SETTLED, VERDICT_WORDS, Verdict, decide, log_as_use
from core.review.not_come import may_not_have_come
from core.review.spoken import first_up
from core.units import System, from_base, shown_unit
from dashboard import data
from dashboard.parts.fields import NONE
from dashboard.parts.not_come import not_come_form
from dashboard.parts.say import refuse, tell, turn
from dashboard.words import day_words, moment_words, plain

VERDICTS = {verdict: first_up(words) for verdict, words in VERDICT_WORDS.items()}
SUSPECTS = "suspects"  # where a decision is told of, with its Undo: beside the cards, not at the page's top


def decide_form(book: Book, finding: Finding, title: str, key: str, system: System, zones: Mapping[str, str]) -> None:
    """The buttons of a card. ``zones``: the name of each zone by its code."""
    with st.container(horizontal=True, gap="small", key=f"decide-{key}"):
        if may_not_have_come(finding):
            with unfolded("These runs did not come", f"gone-{key}"):
                not_come_form(book, finding, key, SUSPECTS)
        if finding.kind in LOGGABLE and finding.decision not in SETTLED:
            with unfolded("Log it as other use", f"log-{key}"):
                _log_form(book, finding, key, system)
        with unfolded(VERDICTS["explained"], f"cause-{key}"), st.form(turn(f"cause-{key}"), border=False):
            _cause_form(book, finding, title, key, zones)
        if st.button(VERDICTS["harmless"], key=f"harmless-{key}"):
            _store(book, finding, "harmless", title)
        with unfolded("Repaired on", f"repair-{key}"), st.form(turn(f"repair-{key}"), border=False):
            today = data.today(book)
            begun, ended = (
                t.astimezone(book.zone_info).date() for t in (finding.since, finding.until or data.present())
            )
            # beside the day, since its calendar opens over whatever is below
            with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
                day = st.date_input(
                    "Day of the repair",
                    value=min(ended, today),
                    min_value=min(begun, today),
                    max_value=today,
                    format="YYYY-MM-DD",
                    width=130,
                )
                sent = st.form_submit_button("Write it down", type="primary")
            if sent:
                _store(book, finding, "repaired", title, day)
        if finding.decision in SETTLED and st.button(VERDICTS["ask_again"], key=f"ask-{key}"):
            _store(book, finding, "ask_again", title)


def unfolded(words: str, key: str) -> DeltaGenerator:
    """What opens a form in its place, as wide as its words while closed (style.css).

    A popover lies at the end of the page, where Tab does not lead from its button, and Escape closes it together with
    a calendar that is open in it.
    """
    return st.expander(words, key=f"unfold-{key}")


def _cause_form(book: Book, finding: Finding, title: str, key: str, zones: Mapping[str, str]) -> None:
    """What it was: the finding's own kind and zone, a rival's, or something else in words."""
    choices = may_be(finding, zones)
    listed = list(choices)
    cause = st.radio(
        "What was it?",
        listed,
        index=listed.index(finding.cause) if finding.cause in listed else None,
        format_func=lambda one: plain(first_up(choices[one])),
        key=f"cause-which-{key}",
    )
    note = st.text_input("In your own words (optional)", value=finding.note, key=f"cause-{key}")
    if st.form_submit_button("Write down the cause", type="primary"):
        _store(book, finding, "explained", title, note=note, cause=cause)


def _store(
    book: Book,
    finding: Finding,
    verdict: Verdict,
    title: str,
    repaired_on: date | None = None,
    note: str = "",
    cause: Cause | None = None,
) -> None:
    try:
        number = decide(book, finding, verdict, data.present_moment(book), repaired_on, note, cause)
    except RillbookError as error:
        refuse(str(error))
        return
    day = f", repaired on {day_words(repaired_on)}" if repaired_on else ""
    own = cause is None or (cause.kind, cause.zone) == (finding.kind, finding.zone)
    was = "" if cause is None or own else f", it was {may_be(finding, data.names(book, Zone))[cause]}"
    tell(f"{VERDICTS[verdict]}: {title}{was}{day}.", number, SUSPECTS)
    st.rerun()


def _log_form(book: Book, finding: Finding, key: str, system: System) -> None:
    unit = shown_unit("volume", system)
    guess = from_base(finding.volume.value or 0.0, unit.code, "volume")
    with st.form(turn(f"log-{key}"), border=False):
        what = st.text_input("What was it for?", key=f"log-what-{key}")
        moment = _began(book, finding, key)
        text = st.text_input(f"How much, {unit.symbol}", value=f"{guess:.0f}", key=f"log-much-{key}")
        zones = data.names(book, Zone)
        zone = st.selectbox(
            "Which zone it watered, if any",
            ["", *zones],
            format_func=lambda code: zones.get(code, NONE),
            key=f"log-zone-{key}",
        )
        if not st.form_submit_button("Store as other use", type="primary"):
            return
    try:
        volume = Measured.read(text, "volume", unit.code)
        number = log_as_use(book, finding, what, volume, data.present_moment(book), zone=zone or None, start=moment())
    except RillbookError as error:
        refuse(str(error))
        return
    tell(f"Stored: {what.strip()}, {volume}, as other use.", number, SUSPECTS)
    st.rerun()


def _began(book: Book, finding: Finding, key: str) -> Callable[[], Moment | None]:
    """Day and time at which it began, as found unless changed; called, the moment typed, None for the one found."""
    tz = book.zone_info
    found = finding.since.astimezone(tz)
    ended = (finding.until or data.present()).astimezone(tz)
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        day = st.date_input(
            "It began on",
            value=found.date(),
            min_value=found.date(),
            max_value=max(ended.date(), found.date()),
            format="YYYY-MM-DD",
            key=f"log-day-{key}",
            width=150,
        )
        clock = st.text_input("Time (may be empty)", value=f"{found:%H:%M}", key=f"log-time-{key}", width=145)
    st.caption(plain(f"The meter shows it between {moment_words(found, tz)} and {moment_words(ended, tz)}."))

    def moment() -> Moment | None:
        if (day, clock.strip()) == (found.date(), f"{found:%H:%M}"):
            return None
        return parse_moment(f"{day} {clock.strip()}".strip(), tz)

    return moment
